"""Patches: from the survey to limits, depth class, removal and volume."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, ClassVar, NamedTuple

import numpy as np
from shapely import affinity, box

from deckcalc import patch
from deckcalc.base.concrete import Concretes
from deckcalc.base.context import Context
from deckcalc.base.fields import FULL, PARTIAL, JobError
from deckcalc.base.subject import Material, Subject, joined
from deckcalc.core import units
from deckcalc.core.bars import bar_area, bar_diameter
from deckcalc.core.check import SATISFIED, Check, Limit, Sense
from deckcalc.core.units import Length, Mass, Quantity, Volume
from deckcalc.patch.design.edges import TO_EDGE, EdgeStrip, strips_beside
from deckcalc.patch.design.location import Location, locate
from deckcalc.patch.design.marking import Marked, Patch, metres, rules_of, survey
from deckcalc.patch.design.survey import strip_of
from deckcalc.patch.formulas.outlines import widened
from deckcalc.patch.formulas.triangulation import Floor, floor
from deckcalc.patch.inputs import Inputs

__all__ = ["EdgeStrip", "Marked", "Patch", "PatchDesign", "Patches", "SpanShare", "compute", "part_words", "survey"]

NOISE = 2e-6  # metres


@dataclass
class PatchDesign:
    """What is worked out for one patch.

    Attributes
    ----------
    marked : Patch
        The patch as marked, with its readings.
    full : bool
        Whether it is full depth, in all of its area or in a part.
    limits, depth, volume : PatchLimits, PatchDepth, PatchVolume
        Results of the calculations of these names.
    cover : PatchCover
        Minimum, mean and maximum cover of its readings.
    saw : Quantity
        Maximum saw cut that stays clear of the bars.
    h : Quantity
        Depth that gives the net volume over its area.
    through : shapely.Polygon or None
        Outline of the part that goes through, in metres, where it is a part only.
    clear : Quantity or None
        Clear space under its exposed bars, by the stone of its concrete; None where all of it goes through.
    part : Location or None
        Where that part stands on the deck.
    removal, left : RemovalDepth, RemainingSlab or None
        Removal and slab that remains, of a patch that does not go through in all of its area.
    floor : Floor or None
        Triangles between its depth readings.
    strips : list of EdgeStrip
        Narrow strips of sound concrete that are left beside it.
    bond, wet_cover : BondArea, CuringArea
        Faces to bond, and what is kept wet over it.
    grout : Quantity or None
        Volume of bonding grout, where the job wants it.
    """

    marked: Patch
    full: bool
    limits: Any
    depth: Any
    cover: Any
    saw: Any = None
    h: Any = None
    volume: Any = None
    through: Any = None
    clear: Any = None
    part: Location | None = None
    removal: Any = None
    left: Any = None
    floor: Floor | None = None
    strips: list[EdgeStrip] = field(default_factory=list)
    bond: Any = None
    grout: Any = None
    wet_cover: Any = None

    @property
    def name(self) -> str:
        """Its number, P1, P2, ..."""
        return self.marked.patch

    @property
    def item(self) -> str:
        """What its runs are called."""
        return f"patch {self.name}"

    @property
    def location(self) -> Location:
        """Where it stands on the deck."""
        return self.marked.location

    @property
    def places(self) -> list[tuple[str, Location]]:
        """Where it stands, and where the part stands that goes through, if a part only does."""
        return [
            (self.name, self.location),
            *([(f"{self.name}, part that goes through", self.part)] if self.part else []),
        ]

    @property
    def depth_class(self) -> str:
        """Partial depth or full depth."""
        return FULL if self.full else PARTIAL


class SpanShare(NamedTuple):
    """Unsound share of a span: its number, unsound area, area surveyed, share."""

    number: int
    unsound: Quantity
    surveyed: Quantity
    share: Quantity


@dataclass
class Patches(Subject[Inputs]):
    """Patches, found by their numbers.

    Attributes
    ----------
    marked : Marked
        The survey with its patches.
    concretes : Concretes
        Which concrete each patch takes: bars are exposed for its stone.
    each : dict of PatchDesign
        By number.
    clear : dict of Quantity
        Clear space under exposed bars, by the concrete that partial-depth patches take.
    spans : list of SpanShare
        Unsound share of every span.
    order_volume : Quantity
        Concrete to order for all patches.
    deep : Limit
        What makes a place full depth: a share of the slab, the bottom mat or a panel.
    """

    key: ClassVar = "patch"
    title: ClassVar = "Patches"
    marked: Marked = field(kw_only=True)
    concretes: Concretes = field(kw_only=True)
    each: dict[str, PatchDesign] = field(default_factory=dict)
    clear: dict[str, Quantity] = field(default_factory=dict)
    spans: list[SpanShare] = field(default_factory=list)
    order_volume: Any = None
    deep: Any = None

    @property
    def depth_class(self) -> dict[str, str]:
        """Partial depth or full depth, by number."""
        return {one.name: one.depth_class for one in self}

    @property
    def cover_by_drawings(self) -> list[str]:
        """The patches at which a cover was not measured: it is that of the drawings."""
        assumed = {row.patch for row in self.inputs.patches if row.cover is None}
        return [
            one.name for one in self if assumed & {read.name for read in one.marked.readings if read.cover is not None}
        ]

    @property
    def through_from(self) -> Quantity:
        """Depth from which a place goes through."""
        deep = self.deep.value
        return deep * self.deck.slab_thickness if self.deep.name == "partial_depth_ratio" else deep

    def __getitem__(self, name: str) -> PatchDesign:
        """Return a patch by its number.

        Raises
        ------
        JobError
            If none of that number was worked out.
        """
        if name not in self.each:
            raise JobError([f"patch {name} is not worked out"])
        return self.each[name]

    def __iter__(self) -> Iterator[PatchDesign]:
        """Give the patches in order."""
        return iter(self.each.values())

    def __contains__(self, name: object) -> bool:
        """Whether there is a patch of that number."""
        return name in self.each


def compute(context: Context[Inputs], marked: Marked, concretes: Concretes) -> Patches:
    """Limits, depth class, removal and volume of every patch, then what holds for all of them."""
    patches = Patches(context, marked=marked, concretes=concretes)
    common = common_of(patches)
    patches.deep = common.deep
    for one in marked.patches:
        design(patches, one, common)
    splits(patches)
    spans(patches)
    totals(patches)
    notes(patches)
    return patches


@dataclass(frozen=True)
class Common:
    """What is the same for all patches."""

    d_1: Quantity
    d_2: Quantity
    deep: Limit
    panel: Quantity | None


def common_of(patches: Patches) -> Common:
    """Bars, and the depth from which a place goes through."""
    deck, everything = patches.deck, "all patches"
    deep = patches.limit("partial_depth_ratio")
    if patches.inputs.removal.full_depth_rule == "bottom mat":
        assert deck.bottom_bar_outer and deck.bottom_bar_inner  # held when the job was read
        bottom = patches.run(
            patch.bottom_mat, everything, t=deck.slab_thickness, c_b=deck.bottom_cover,
            d_b1=bar_diameter(deck.bottom_bar_outer), d_b2=bar_diameter(deck.bottom_bar_inner),
        )  # fmt: skip
        deep = Limit("bottom_mat", "depth of the bottom mat", bottom, units.kind_of(Length), "geometry")
    panel = None
    if deck.panel is not None:
        panel = patches.run(patch.panel_depth, everything, t=deck.slab_thickness, t_p=deck.panel)
        deep = Limit("panel", "depth of the panel", panel, units.kind_of(Length), "geometry")
    bars = bar_diameter(deck.top_bar_outer), bar_diameter(deck.top_bar_inner)
    return Common(*bars, deep, panel)


def clear_space(patches: Patches, one: PatchDesign) -> Quantity:
    """Return the clear space under the exposed bars of a patch, by the stone of its concrete."""
    name, size, item = "", patches.limit("aggregate_size").value, "patches, for the largest stone allowed"
    if patches.concretes.each:
        concrete = patches.concretes.of(one.name, one.depth_class)
        name, size, item = concrete.name, concrete.nominal_size, f"patches of {concrete.name}"
    if name not in patches.clear:
        patches.clear[name] = patches.run(
            patch.clear_space, item, s_min=patches.limit("clear_space").value, D_max=size, e=patches.limit("clear_over_aggregate").value,
        ).s_c  # fmt: skip
    return patches.clear[name]


def design(patches: Patches, marked: Patch, common: Common) -> None:
    """Work one patch out, from its limits to its volume."""
    item, removal, t = f"patch {marked.patch}", patches.inputs.removal, patches.deck.slab_thickness
    sides = limits_of(patches, marked)
    depth = patches.run(patch.patch_depth, item, h=marked.depths, t=t)
    cover = patches.run(patch.patch_cover, item, c=marked.covers)
    found = depth.r_h if common.deep.name == "partial_depth_ratio" else depth.h_max
    sense: Sense = "at most" if common.deep.name == "panel" else "less than"
    full = Check(item, "", found, common.deep, sense).verdict != SATISFIED
    one = patches.each[marked.patch] = PatchDesign(marked, full, sides, depth, cover)
    if full and removal.full_depth_area == "where deep":
        one.through = through_part(patches, marked)
        one.part = None if one.through is None else locate(patches.inputs.plan, one.through, patches.deck.kind)
    partial = not full or one.through is not None
    if partial:
        one.clear = clear_space(patches, one)
    one.h = partial_depth(patches, one, common) if partial else t
    said = decided(patches, depth, common, full) + longer(patches, marked.patch)
    if one.through is not None:
        said = f"{said}, in a part of its area only: {part_words(patches, one.through)}"
    one.strips = strips_beside(patches, patches.marked.found.panels, marked)
    patches.decisions[item] = said + "".join(
        f"; a strip of {patches.show(strip.width, Length)} of sound concrete is left to the {strip.edge}: {TO_EDGE}"
        for strip in one.strips
    )
    one.saw = patches.run(patch.saw_cut, item, c_min=cover.least, m_saw=patches.limit("saw_margin").value)
    under = metres(0, 3)
    if removal.undercut is not None and partial:
        under = patches.run(
            patch.undercut_volume, item, P_e=sides.P_cut, h=one.h, d_saw=patches.limit("saw_depth").value,
            u=removal.undercut,
        ).V_u  # fmt: skip
    one.volume = patches.run(
        patch.patch_volume, item, A=sides.A, h=one.h, V_u=under, q_grow=none_is_zero(removal.growth),
        q_over=removal.overbreak, q_waste=patches.limit("waste").value,
    )  # fmt: skip
    faces(patches, one)
    side_checks(patches, one)


def none_is_zero(share: Quantity | None) -> Quantity:
    """Return a share, nothing where the job states none."""
    return units.registry().Quantity(0.0, "%") if share is None else share


def limits_of(patches: Patches, one: Patch) -> Any:
    """Repair limits of one patch, with what changes its sides."""
    piece, m = one.piece, float(patches.limit("margin").value.m_as("m"))
    change = [side - extent - 2 * m for side, extent in zip(piece.sides, piece.extent, strict=True)]
    cut_off = piece.sides[0] * piece.sides[1] - piece.outline.area
    free = 2 * sum(piece.sides) - piece.cut
    clean = lambda value, least: value if abs(value) > least else 0.0  # noqa: E731
    return patches.run(
        patch.patch_limits, f"patch {one.patch}", L_u=one.length, B_u=one.width,
        A_u=metres(piece.unsound.area, 2), m=patches.limit("margin").value, e_L=metres(clean(change[0], NOISE)),
        e_B=metres(clean(change[1], NOISE)), A_n=metres(clean(cut_off, 1e-5), 2), P_n=metres(round(clean(free, 1e-5), 6)),
    )  # fmt: skip


def decided(patches: Patches, depth: Any, common: Common, full: bool) -> str:
    """Say why a patch is of partial or of full depth."""
    shown, t = patches.show(depth.h_max, Length), patches.show(patches.deck.slab_thickness, Length)
    word = FULL if full else PARTIAL
    limit = common.deep
    if limit.name == "partial_depth_ratio":
        return (
            f"{word}: the deepest reading {shown} is {patches.show(depth.r_h, units.Ratio)} of the slab thickness {t}, "
            f"{'not less' if full else 'less'} than {patches.show(limit.value, units.Ratio)}"
        )
    held = patches.show(limit.value, Length)
    past = "more than" if limit.name == "panel" else "not less than"
    return f"{word}: the deepest reading {shown} is {past if full else past.replace('not less', 'less').replace('more', 'not more')} the {limit.meaning} {held}"


def longer(patches: Patches, name: str) -> str:
    """Say by how much the engineer made a patch longer, and why."""
    want = patches.inputs.marking.longer.get(name)
    if want is None:
        return ""
    sides = (("length", want.along), ("width", want.across))
    added = " and ".join(f"{patches.show(value, Length)} in {side}" for side, value in sides if value is not None)
    return f"; repair limits are longer by {added}: {want.why}"


def part_words(patches: Patches, part: Any) -> str:
    """Name the part that goes through by its corner nearest the start and its size."""
    x_1, y_1, x_2, y_2 = part.bounds
    show = lambda value: patches.show(metres(value), units.Distance)  # noqa: E731
    return f"{show(x_2 - x_1)} by {show(y_2 - y_1)} from station {show(x_1)}, offset {show(y_1)}"


def through_part(patches: Patches, one: Patch) -> Any:
    """Return the outline of the part that goes through, or None if it is more than half of the patch."""
    h = float(patches.through_from.m_as("m"))
    found = floor(one.piece.outline, one.places, one.depths.m_as("m")).deeper(h)
    rules, outline = rules_of(patches.context), one.piece.outline
    pivot = outline.centroid
    turned, limits = (affinity.rotate(s, -rules.turn, origin=pivot, use_radians=True) for s in (found, outline))
    x_1, y_1, x_2, y_2 = turned.bounds
    a = widened(x_1, x_2, rules.least_side, limits.bounds[0], limits.bounds[2])
    b = widened(y_1, y_2, rules.least_side, limits.bounds[1], limits.bounds[3])
    part = box(a[0], b[0], a[1], b[1]).intersection(limits)
    part = affinity.rotate(part, rules.turn, origin=pivot, use_radians=True)
    return part if part.area < outline.area / 2 else None


def partial_depth(patches: Patches, one: PatchDesign, common: Common) -> Any:
    """Removal and neat volume of a patch of partial depth, and the depth that gives that volume."""
    item, t, marked, sides = one.item, patches.deck.slab_thickness, one.marked, one.limits
    readings = np.array([r.depth for r in marked.deep])
    if common.panel is not None:
        readings = np.maximum(readings, float(common.panel.m_as("m")))
    one.removal = removed = patches.run(
        patch.removal_depth, item, h_i=marked.depths if common.panel is None else metres(readings), c_min=one.cover.least,
        c_max=one.cover.greatest, d_1=common.d_1, d_2=common.d_2, s_c=one.clear,
    )  # fmt: skip
    least = float(removed.h_r.m_as("m"))
    made = floor(marked.piece.outline, marked.places, np.maximum(readings, least))
    one.floor = made
    neat = metres(made.volume, 3)
    part = one.through
    if part is not None:
        neat = patches.run(
            patch.through_part, item, V_all=neat, V_f=metres(made.volume_within(part), 3),
            A_f=metres(part.area, 2), t=t,
        ).V_t  # fmt: skip
    depth = patches.run(patch.neat_volume, item, A=sides.A, h_m=removed.h, V_t=neat).h_t
    one.left = left = patches.run(patch.remaining_slab, item, h_max=removed.h_max, h_r=removed.h_r, t=t)
    slab = Limit("slab", "slab thickness, so that slab remains under the patch", t, units.kind_of(Length), "geometry")
    patches.checks += [
        Check(item, "removal in the mean of its readings, against the minimum depth of a patch", removed.h,
              patches.limit("least_patch_depth"), "at least", "remove to the minimum depth"),
        Check(item, "removal at its shallowest reading, against the minimum depth of a patch", metres(max(float(readings.min()), least)),
              patches.limit("least_patch_depth"), "at least", "remove to the minimum depth there too"),
        Check(item, "deepest removal leaves slab below it", left.h_d, slab, "less than",
              "the removal goes through: treat as full depth"),
    ]  # fmt: skip
    if float(removed.n_r.magnitude):
        area = (bar_area(name) for name in (patches.deck.top_bar_outer, patches.deck.top_bar_inner))
        patches.run(
            patch.bars_in_hole, item, A=sides.A, **dict(zip(("A_b1", "A_b2"), area, strict=True)),
            s=patches.deck.bar_spacing, V_net=neat,
        )  # fmt: skip
    return depth


def faces(patches: Patches, one: PatchDesign) -> None:
    """Faces to bond and to cure, and the overlay over the patch."""
    item, deck, sides, h = one.item, patches.deck, one.limits, one.h
    floor_area = sides.A
    if one.full:
        floor_area = metres(0, 2) if one.through is None else sides.A - metres(one.through.area, 2)
    one.bond = patches.run(patch.bond_area, item, A_f=floor_area, P=sides.P_cut, h=h)
    if patches.inputs.removal.grout is not None and one.bond.A_b.magnitude > 0:
        one.grout = patches.run(patch.bonding_grout, item, A_b=one.bond.A_b, t_g=patches.inputs.removal.grout)
    one.wet_cover = patches.run(patch.curing_area, item, L=sides.L, B=sides.B, o=patches.limit("cure_overlap").value)
    if deck.overlay is not None:
        patches.run(patch.overlay_volume, item, A=sides.A, t_o=deck.overlay)


def side_checks(patches: Patches, one: PatchDesign) -> None:
    """Hold the saw cut against the bars and the sides against the minimum side."""
    greatest = Limit(
        "saw_depth", "maximum saw cut that stays clear of the bars", one.saw, units.kind_of(Length),
        "minimum measured cover less the margin",
    )  # fmt: skip
    patches.checks += [
        Check(one.item, "planned saw cut", patches.limit("saw_depth").value, greatest, "at most",
              "cut shallower, or locate the bars"),
        Check(one.item, "shorter side of the repair limits", min(one.limits.L, one.limits.B), patches.limit("least_side"), "at least",
              "enlarge the limits"),
        *(
            Check(one.item, f"sound concrete left to the {strip.edge}", strip.width, patches.limit("merge_distance"), "at least", TO_EDGE)
            for strip in one.strips
        ),
    ]  # fmt: skip


def splits(patches: Patches) -> None:
    """Compare one rectangle with several wherever several were found."""
    want = patches.inputs.marking
    for group in {id(one.marking): one.marking for one in patches.marked.patches}.values():
        if group.split is None:
            continue
        names = [one.patch for one in patches.marked.patches if one.marking is group]
        item = f"region of {' and '.join(names)}"
        made = patches.run(
            patch.box_or_split, item, A_1=metres(group.boxed[0], 2), P_1=metres(round(group.boxed[1], 6)),
            A_s=metres(group.split[0], 2), P_s=metres(round(group.split[1], 6)), n_s=units.registry().Quantity(group.split[2], ""), k_A=want.removal_price,
            k_P=want.cut_price, k_1=want.piece_price,
        )  # fmt: skip
        gain = patches.show(made.K_gain, units.Price)
        patches.decisions[item] = (
            f"marked as {len(names)} rectangles, which save {gain} against one" if len(names) > 1
            else f"marked as one rectangle; several would save {gain}, which is nothing"
        )  # fmt: skip


def spans(patches: Patches) -> None:
    """Hold the unsound share of every span against the job's limit, and the soundings against their spacing."""
    plan, low_high, marked = patches.inputs.plan, strip_of(patches.inputs), patches.marked
    for number, (a, b, unsound) in enumerate(
        zip(plan.joints, plan.joints[1:], marked.unsound, strict=False), plan.first_span
    ):
        item = f"span {number}"
        share = patches.run(
            patch.distress_share, item, A_u=metres(unsound, 2), L_s=metres(b - a),
            W_s=metres(low_high[1] - low_high[0]),
        )  # fmt: skip
        patches.spans.append(SpanShare(number, metres(unsound, 2), share.A_d, share.q_u))
        patches.checks.append(
            Check(item, "unsound share of the deck surveyed", share.q_u, patches.limit("distress_share"), "less than",
                  "reconsider patching alone")
        )  # fmt: skip
    survey = patches.inputs.survey
    if patches.inputs.soundings:
        widest = metres(max(survey.spacing_along or 0, survey.spacing_across or 0))
        patches.checks.append(
            Check(
                "survey",
                "spacing of the soundings",
                widest,
                patches.limit("sounding_spacing"),
                "at most",
                "sound closer",
            )
        )


def totals(patches: Patches) -> None:
    """Order volume, batches or bags, debris."""
    everything = "all patches"
    senses: dict[str, Sense] = {"margin_least": "at least", "margin_most": "at most"}
    for key, sense in senses.items():
        patches.checks.append(
            Check(
                everything,
                "margin beyond the unsound concrete",
                patches.limit("margin").value,
                patches.limit(key),
                sense,
            )
        )
    patches.order_volume = patches.run(
        patch.order_total, everything, V=joined(one.volume.V_order for one in patches)
    ).V_total
    waste = f"waste {patches.show(patches.limit('waste').value, units.Share)} included"
    ordered = patches.show(patches.order_volume, units.OrderVolume)
    patches.materials.append(Material("Concrete in place with waste", ordered, waste, "01 Patches"))
    if patches.inputs.removal.bag_yield is not None:
        bags = patches.run(
            patch.whole_number, "bags of repair concrete", V=patches.order_volume, V_1=patches.inputs.removal.bag_yield
        )
        patches.materials.append(
            Material("Packaged repair concrete", f"{bags.n.magnitude:.0f} bags", waste, "01 Patches")
        )
    if patches.inputs.haulage is not None:
        haul, placed = patches.inputs.haulage, [one.volume.V_placed for one in patches]
        out = patches.run(
            patch.debris, everything, V=sum(placed[1:], placed[0]), rho=patches.deck.unit_weight, q_b=haul.bulking,
            m_1=haul.truck_mass, V_1=haul.truck_volume,
        )  # fmt: skip
        patches.decisions["debris"] = (
            f"{patches.show(out.m_d, Mass)} to haul away, {patches.show(out.V_loose, Volume)} loose; truck loads: {out.n.magnitude:.0f}"
        )


def notes(patches: Patches) -> None:
    """Simplifications and cautions."""
    hammer = [patches.show(patches.limit(key).value, Mass, 0) for key in ("hammer", "hammer_near_bars")]
    patches.notes += [
        "A delaminated reading stands for a rectangle of the spacing of the soundings round it; delaminated concrete commonly runs past "
        "what the sounding finds: sound again along the saw cut and on the floor after removal, and measure what is added.",
        f"Hammers: at most {hammer[0]}, and at most {hammer[1]} near and below bars.",
        "The slab that remains under an open partial-depth patch, and any load on or beside it, is not checked on this sheet; where the "
        "sheet of the reinforcement checks it, it says for which places.",
        "Saw cuts are dry or wet work with silica dust: use water or extraction, and respirators as the local rules ask.",
        "A full-depth hole is a fall edge and opens above whatever passes below: barricade it, keep the ground below "
        "clear, and have the formwork designed by a licensed engineer.",
    ]
    if patches.inputs.patches:
        patches.notes.append(
            "A patch of patches.csv has one depth, the mean by tape measure: its deepest place is not known, and its class, the slab left below "
            "it and its volume go by the mean. Read depths as concrete comes out, and stop where it is deeper."
        )
    if unread := patches.cover_by_drawings:
        patches.leave_open(
            f"{', '.join(unread)}: cover of the bars not measured", "it is that of the drawings: locate the bars with a cover meter before "
            "the saw cut", *unread, stops="removal", by="before the removal begins",
        )  # fmt: skip
    if patches.inputs.removal.growth is None:
        patches.notes.append("No growth between survey and removal is allowed for.")
