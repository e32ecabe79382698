"""Patches: from the survey to marked limits, depth class, removal and volume."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely import affinity, box

from deckcalc import patch, steel
from deckcalc.base.doubts import usual
from deckcalc.base.fields import Faults, Strict
from deckcalc.base.subject import Material, Subject, joined
from deckcalc.core import units
from deckcalc.core.check import SATISFIED, Check, Limit, Sense
from deckcalc.core.units import Length, Mass, Quantity, Volume
from deckcalc.patch.design.marking import hold_readings, mark, metres, read_depths, rules_of
from deckcalc.patch.formulas.outlines import widened
from deckcalc.patch.formulas.triangulation import Floor, floor
from deckcalc.patch.inputs.sections import Haulage, Marking, Removal, Sensitivity
from deckcalc.patch.inputs.survey import FORMS, Plan, ReadingRow, Survey, find, strip_of

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

PARTIAL, FULL = "partial depth", "full depth"
NOISE = 2e-6  # metres
SECTIONS: dict[str, type[Strict]] = {
    "plan": Plan, "survey": Survey, "marking": Marking, "removal": Removal, "haulage": Haulage,
    "sensitivity": Sensitivity,
}  # fmt: skip
ROWS: dict[str, type[Strict]] = {"depths": ReadingRow}
OPTIONAL_ROWS = FORMS


def check(head: Head, rows: dict[str, list[Any]], limits: Mapping[str, Limit], faults: Faults) -> None:
    """Hold the survey against the deck, and set the marked patches beside the tables, for the other subjects."""
    want, deck = head.removal, head.deck
    if want.full_depth_rule == "bottom mat" and None in (
        deck.bottom_bar_outer,
        deck.bottom_bar_inner,
        deck.bottom_cover,
    ):
        faults.append(
            "job.toml: removal.full_depth_rule: “bottom mat” wants deck.bottom_bar_outer, bottom_bar_inner and bottom_cover"
        )
    if deck.panel is not None and deck.panel >= deck.slab_thickness:
        faults.append("job.toml: deck.panel: the panel is not thinner than the slab that includes it")
    if want.growth is not None and not want.growth_source:
        faults.append("job.toml: removal.growth_source: missing; say where the growth comes from")
    prices = head.marking.removal_price, head.marking.cut_price, head.marking.piece_price
    if 0 < sum(price is None for price in prices) < 3:
        faults.append("job.toml: marking: removal_price, cut_price and piece_price go together")
    usual(head, faults)
    readings = read_depths(head, rows, faults)
    found = find(head, rows, faults)
    rows["patches"] = []
    if faults:
        return
    marked = mark(head, limits, found, readings, faults)
    hold_readings(head, marked, readings, faults)
    if not marked.patches:
        faults.append("the survey holds nothing hollow: there is no patch to design")
    rows["patches"], rows["survey"] = marked.patches, [marked]


@dataclass
class Patches(Subject):
    """Patches, with what other subjects need of them.

    Attributes
    ----------
    depth_class : dict of str
        By patch: `PARTIAL` or `FULL`; a patch that goes through in a part of its area is `FULL`.
    order_volume : Quantity
        Concrete to order for all patches.
    remaining : dict of Quantity
        By patch of partial depth: slab that remains under it while it is open.
    through : dict
        By patch that goes through in a part of its area only: outline of that part, in metres.
    marked : Marked
        The survey with its patches.
    floors : dict of Floor
        By patch: triangles between its depth readings.
    """

    depth_class: dict[str, str] = field(default_factory=dict)
    order_volume: Any = None
    remaining: dict[str, Quantity] = field(default_factory=dict)
    through: dict[str, Any] = field(default_factory=dict)
    marked: Any = None
    floors: dict[str, Floor] = field(default_factory=dict)


def carry(job: Job) -> Patches:
    """Limits, depth class, removal and volume of every patch, then what holds for all of them."""
    subject = Patches("patch", "Patches")
    subject.marked = job.file.rows["survey"][0]
    common = common_of(job, subject)
    orders, placed = [], []
    for one in subject.marked.patches:
        volume = carry_patch(job, subject, one, common)
        orders.append(volume.V_order)
        placed.append(volume.V_placed)
    splits(job, subject)
    spans(job, subject)
    totals(job, subject, orders, placed)
    notes(job, subject)
    return subject


@dataclass(frozen=True)
class Common:
    """What is the same for all patches."""

    s_c: Quantity
    d_1: Quantity
    d_2: Quantity
    deep: Limit
    panel: Quantity | None


def common_of(job: Job, subject: Patches) -> Common:
    """Clear space, bars, and the depth from which a place goes through."""
    deck, everything = job.head.deck, "all patches"
    concretes = job.head.mix.concretes
    stone = concretes.get(PARTIAL, next(iter(concretes.values()))).coarse  # bars are freed in partial-depth patches
    aggregate = next(row for row in job.file.rows["aggregates"] if row.aggregate == stone)
    clear = subject.run(
        patch.clear_space, everything, s_min=job.limit("clear_space").value,
        D_max=units.read(aggregate.nominal_size, units.Length), e=job.limit("clear_over_aggregate").value,
    )  # fmt: skip
    deep = job.limit("partial_depth_ratio")
    if job.head.removal.full_depth_rule == "bottom mat":
        assert deck.bottom_bar_outer and deck.bottom_bar_inner  # held when the job was read
        bottom = subject.run(
            patch.bottom_mat, everything, t=deck.slab_thickness, c_b=deck.bottom_cover,
            d_b1=steel.bar_diameter(deck.bottom_bar_outer), d_b2=steel.bar_diameter(deck.bottom_bar_inner),
        )  # fmt: skip
        deep = Limit("bottom_mat", "depth of the bottom mat", bottom, units.kind_of(Length), "geometry")
    panel = None
    if deck.panel is not None:
        panel = subject.run(patch.panel_depth, everything, t=deck.slab_thickness, t_p=deck.panel)
        deep = Limit("panel", "depth of the panel", panel, units.kind_of(Length), "geometry")
    bars = steel.bar_diameter(deck.top_bar_outer), steel.bar_diameter(deck.top_bar_inner)
    return Common(clear.s_c, *bars, deep, panel)


def carry_patch(job: Job, subject: Patches, one: Any, common: Common) -> Any:
    """Carry one patch from its limits to its volume."""
    item, removal, t = f"patch {one.patch}", job.head.removal, job.head.deck.slab_thickness
    sides = limits_of(job, subject, one)
    depth = subject.run(patch.patch_depth, item, h=one.depths, t=t)
    demand = depth.r_h if common.deep.name == "partial_depth_ratio" else depth.h_max
    sense: Sense = "at most" if common.deep.name == "panel" else "less than"
    full = Check(item, "", demand, common.deep, sense).verdict != SATISFIED
    part = None
    if full and removal.full_depth_area == "where deep":
        part = through_part(job, one, common)
    subject.depth_class[one.patch] = FULL if full else PARTIAL
    h_net = t
    if not full or part is not None:
        h_net = partial_depth(job, subject, one, common, sides, part)
    said = decided(job, depth, common, full) + longer(job, one.patch)
    subject.decisions[item] = said if part is None else f"{said}, in a part of its area only: {part_words(job, part)}"
    saw = subject.run(patch.saw_cut, item, c_min=one.least_cover, m_saw=job.limit("saw_margin").value)
    under = metres(0, 3)
    if removal.undercut is not None and (not full or part is not None):
        under = subject.run(
            patch.undercut_volume,
            item,
            P_e=sides.P_cut,
            h=h_net,
            d_saw=job.limit("saw_depth").value,
            u=removal.undercut,
        ).V_u
    volume = subject.run(
        patch.patch_volume, item, A=sides.A, h=h_net, V_u=under, q_grow=none_is_zero(removal.growth),
        q_over=removal.overbreak, q_waste=job.limit("waste").value,
    )  # fmt: skip
    faces(job, subject, one, sides, h_net, volume)
    side_checks(job, subject, item, sides, saw)
    return volume


def none_is_zero(share: Quantity | None) -> Quantity:
    """Return a share, nothing where the job states none."""
    return units.registry().Quantity(0.0, "%") if share is None else share


def limits_of(job: Job, subject: Patches, one: Any) -> Any:
    """Marked limits of one patch, with what changes its sides."""
    piece, m = one.piece, float(job.limit("margin").value.m_as("m"))
    change = [side - extent - 2 * m for side, extent in zip(piece.sides, piece.extent, strict=True)]
    cut_off = piece.sides[0] * piece.sides[1] - piece.outline.area
    free = 2 * sum(piece.sides) - piece.cut
    clean = lambda value, least: value if abs(value) > least else 0.0  # noqa: E731
    return subject.run(
        patch.patch_limits, f"patch {one.patch}", L_u=one.length, B_u=one.width,
        A_u=metres(piece.unsound.area, 2), m=job.limit("margin").value, e_L=metres(clean(change[0], NOISE)),
        e_B=metres(clean(change[1], NOISE)), A_n=metres(clean(cut_off, 1e-5), 2), P_n=metres(round(clean(free, 1e-5), 6)),
    )  # fmt: skip


def decided(job: Job, depth: Any, common: Common, full: bool) -> str:
    """Say why a patch is of partial or of full depth."""
    shown, t = job.show(depth.h_max, Length), job.show(job.head.deck.slab_thickness, Length)
    word = FULL if full else PARTIAL
    limit = common.deep
    if limit.name == "partial_depth_ratio":
        return (
            f"{word}: the deepest reading {shown} is {job.show(depth.r_h, units.Ratio)} of the slab thickness {t}, "
            f"{'not less' if full else 'less'} than {job.show(limit.value, units.Ratio)}"
        )
    held = job.show(limit.value, Length)
    past = "more than" if limit.name == "panel" else "not less than"
    return f"{word}: the deepest reading {shown} is {past if full else past.replace('not less', 'less').replace('more', 'not more')} the {limit.meaning} {held}"


def longer(job: Job, name: str) -> str:
    """Say by how much the engineer made a patch longer, and why."""
    want = job.head.marking.longer.get(name)
    if want is None:
        return ""
    sides = (("length", want.along), ("width", want.across))
    added = " and ".join(f"{job.show(value, Length)} in {side}" for side, value in sides if value is not None)
    return f"; marked limits are longer by {added}: {want.why}"


def part_words(job: Job, part: Any) -> str:
    """Name the part that goes through by its corner nearest the start and its size."""
    x_1, y_1, x_2, y_2 = part.bounds
    show = lambda value: job.show(metres(value), units.Distance)  # noqa: E731
    return f"{show(x_2 - x_1)} by {show(y_2 - y_1)} from station {show(x_1)}, offset {show(y_1)}"


def through_part(job: Job, one: Any, common: Common) -> Any:
    """Return the outline of the part that goes through, or None if it is more than half of the patch."""
    deep = common.deep.value
    h = float((deep * job.head.deck.slab_thickness if common.deep.name == "partial_depth_ratio" else deep).m_as("m"))
    found = floor(one.piece.outline, one.places, one.depths.m_as("m")).deeper(h)
    rules, outline = rules_of(job.head, job.file.limits), one.piece.outline
    pivot = outline.centroid
    turned, limits = (affinity.rotate(s, -rules.turn, origin=pivot, use_radians=True) for s in (found, outline))
    x_1, y_1, x_2, y_2 = turned.bounds
    a = widened(x_1, x_2, rules.least_side, limits.bounds[0], limits.bounds[2])
    b = widened(y_1, y_2, rules.least_side, limits.bounds[1], limits.bounds[3])
    part = box(a[0], b[0], a[1], b[1]).intersection(limits)
    part = affinity.rotate(part, rules.turn, origin=pivot, use_radians=True)
    return part if part.area < outline.area / 2 else None


def partial_depth(job: Job, subject: Patches, one: Any, common: Common, sides: Any, part: Any) -> Any:
    """Removal and neat volume of a patch of partial depth, and the depth that gives that volume."""
    item, t = f"patch {one.patch}", job.head.deck.slab_thickness
    readings = np.array([r.depth for r in one.deep])
    if common.panel is not None:
        readings = np.maximum(readings, float(common.panel.m_as("m")))
    removed = subject.run(
        patch.removal_depth, item, h_i=one.depths if common.panel is None else metres(readings), c=one.least_cover,
        d_1=common.d_1, d_2=common.d_2, s_c=common.s_c,
    )  # fmt: skip
    least = float(removed.h_r.m_as("m"))
    made = floor(one.piece.outline, one.places, np.maximum(readings, least))
    subject.floors[one.patch] = made
    neat = metres(made.volume, 3)
    if part is not None:
        subject.through[one.patch] = part
        neat = subject.run(
            patch.through_part, item, V_all=neat, V_f=metres(made.volume_within(part), 3),
            A_f=metres(part.area, 2), t=t,
        ).V_t  # fmt: skip
    depth = subject.run(patch.neat_volume, item, A=sides.A, h_m=removed.h, V_t=neat).h_t
    left = subject.run(patch.remaining_slab, item, h_max=removed.h_max, h_r=removed.h_r, t=t)
    subject.remaining[one.patch] = left.t_r
    slab = Limit("slab", "slab thickness, so that slab remains under the patch", t, units.kind_of(Length), "geometry")
    subject.checks += [
        Check(item, "removal against the least depth of a patch", removed.h, job.limit("least_patch_depth"), "at least",
              "remove to the least depth"),
        Check(item, "deepest removal leaves slab below it", left.h_d, slab, "less than",
              "the removal goes through: treat as full depth"),
    ]  # fmt: skip
    if float(removed.n_r.magnitude):
        area = (steel.bar_area(name) for name in (job.head.deck.top_bar_outer, job.head.deck.top_bar_inner))
        subject.run(
            patch.bars_in_hole, item, A=sides.A, **dict(zip(("A_b1", "A_b2"), area, strict=True)),
            s=job.head.deck.bar_spacing, V_net=neat,
        )  # fmt: skip
    return depth


def faces(job: Job, subject: Patches, one: Any, sides: Any, h: Any, volume: Any) -> None:
    """Faces to bond and to cure, and the overlay over the patch."""
    item, deck = f"patch {one.patch}", job.head.deck
    floor_area = sides.A
    if subject.depth_class[one.patch] == FULL:
        part = subject.through.get(one.patch)
        floor_area = metres(0, 2) if part is None else sides.A - metres(part.area, 2)
    bond = subject.run(patch.bond_area, item, A_f=floor_area, P=sides.P_cut, h=h)
    if job.head.removal.grout is not None and bond.A_b.magnitude > 0:
        subject.run(patch.bonding_grout, item, A_b=bond.A_b, t_g=job.head.removal.grout)
    subject.run(patch.curing_area, item, L=sides.L, B=sides.B, o=job.limit("cure_overlap").value)
    if deck.overlay is not None:
        subject.run(patch.overlay_volume, item, A=sides.A, t_o=deck.overlay)


def side_checks(job: Job, subject: Patches, item: str, sides: Any, saw: Any) -> None:
    """Hold the saw cut against the bars and the sides against the least side."""
    greatest = Limit(
        "saw_depth", "greatest saw cut that stays clear of the bars", saw, units.kind_of(Length),
        "least measured cover less the margin",
    )  # fmt: skip
    subject.checks += [
        Check(item, "planned saw cut", job.limit("saw_depth").value, greatest, "at most",
              "cut shallower, or locate the bars"),
        Check(item, "lesser side of the marked limits", min(sides.L, sides.B), job.limit("least_side"), "at least",
              "enlarge the limits"),
    ]  # fmt: skip


def splits(job: Job, subject: Patches) -> None:
    """Compare one rectangle with several wherever several were found."""
    want = job.head.marking
    for group in {id(one.marking): one.marking for one in subject.marked.patches}.values():
        if group.split is None:
            continue
        names = [one.patch for one in subject.marked.patches if one.marking is group]
        item = f"region of {' and '.join(names)}"
        made = subject.run(
            patch.box_or_split, item, A_1=metres(group.boxed[0], 2), P_1=metres(round(group.boxed[1], 6)),
            A_s=metres(group.split[0], 2), P_s=metres(round(group.split[1], 6)), n_s=units.registry().Quantity(group.split[2], ""), k_A=want.removal_price,
            k_P=want.cut_price, k_1=want.piece_price,
        )  # fmt: skip
        gain = job.show(made.K_gain, units.Price)
        subject.decisions[item] = (
            f"marked as {len(names)} rectangles, which save {gain} against one" if len(names) > 1
            else f"marked as one rectangle; several would save {gain}, which is nothing"
        )  # fmt: skip


def spans(job: Job, subject: Patches) -> None:
    """Hold the unsound share of every span against the job's limit, and the soundings against their spacing."""
    plan, low_high, marked = job.head.plan, strip_of(job.head), subject.marked
    for number, (a, b, unsound) in enumerate(
        zip(plan.joints, plan.joints[1:], marked.unsound, strict=False), plan.first_span
    ):
        item = f"span {number}"
        share = subject.run(
            patch.distress_share, item, A_u=metres(unsound, 2), L_s=metres(b - a),
            W_s=metres(low_high[1] - low_high[0]),
        )  # fmt: skip
        subject.checks.append(
            Check(item, "unsound share of the deck surveyed", share.q_u, job.limit("distress_share"), "less than",
                  "patching alone deserves another look")
        )  # fmt: skip
    survey = job.head.survey
    if job.file.rows.get("soundings"):
        widest = metres(max(survey.spacing_along or 0, survey.spacing_across or 0))
        subject.checks.append(
            Check(
                "survey", "spacing of the soundings", widest, job.limit("sounding_spacing"), "at most", "sound closer"
            )
        )


def totals(job: Job, subject: Patches, orders: list[Any], placed: list[Any]) -> None:
    """Order volume, batches or bags, debris."""
    everything = "all patches"
    senses: dict[str, Sense] = {"margin_least": "at least", "margin_most": "at most"}
    for key, sense in senses.items():
        subject.checks.append(
            Check(everything, "margin beyond the unsound concrete", job.limit("margin").value, job.limit(key), sense)
        )
    subject.order_volume = subject.run(patch.order_total, everything, V=joined(orders)).V_total
    waste = f"waste {job.show(job.limit('waste').value, units.Share)} included"
    ordered = job.show(subject.order_volume, units.OrderVolume)
    subject.materials.append(Material("Concrete in place with waste", ordered, waste, "01 Patches"))
    subject.run(patch.whole_number, "mixer loads", V=subject.order_volume, V_1=job.head.mix.load)
    if job.head.removal.bag_yield is not None:
        bags = subject.run(
            patch.whole_number, "bags of repair concrete", V=subject.order_volume, V_1=job.head.removal.bag_yield
        )
        subject.materials.append(
            Material("Packaged repair concrete", f"{bags.n.magnitude:.0f} bags", waste, "01 Patches")
        )
    if job.head.haulage is not None:
        haul = job.head.haulage
        out = subject.run(
            patch.debris, everything, V=sum(placed[1:], placed[0]), rho=job.head.deck.unit_weight, q_b=haul.bulking,
            m_1=haul.truck_mass, V_1=haul.truck_volume,
        )  # fmt: skip
        subject.decisions["debris"] = (
            f"{job.show(out.m_d, Mass)} to carry off, {job.show(out.V_loose, Volume)} loose; truck loads: {out.n.magnitude:.0f}"
        )


def notes(job: Job, subject: Patches) -> None:
    """Simplifications and cautions."""
    hammer = [job.show(job.limit(key).value, Mass, 0) for key in ("hammer", "hammer_near_bars")]
    subject.notes += [
        "A hollow sounding stands for a rectangle of the spacing of the soundings round it; hollow concrete commonly runs past "
        "what the sounding finds: sound again along the saw cut and on the floor after removal, and measure what is added.",
        f"Hammers: at most {hammer[0]}, and at most {hammer[1]} near and below bars.",
        "The slab that remains under an open partial-depth patch, and any load on or beside it, is for the engineer in "
        "charge to check; it is not checked here.",
        "Saw cuts are dry or wet work with silica dust: use water or extraction, and respirators as the local rules ask.",
        "A full-depth hole is a fall edge and opens above whatever passes below: barricade it, keep the ground below "
        "clear, and have the formwork designed by a licensed engineer.",
    ]
    if job.head.removal.growth is None:
        subject.notes.append("No growth between survey and removal is allowed for.")
