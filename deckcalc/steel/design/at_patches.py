"""Strength of the deck strip at each patch, for the places that the strip reaches: as found, open and repaired."""

from __future__ import annotations

from typing import Any

from deckcalc.base.fields import GIRDERS, JobError
from deckcalc.core.bars import bar_area, bar_diameter
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.core.units import Length, Quantity, Ratio, Share, quantity
from deckcalc.patch.design import PatchDesign
from deckcalc.steel.design.results import MAIN, MOMENTS, NOT_ASKED, BarDesign, Reach, Steel, SteelWanted
from deckcalc.steel.design.strip import StripRating
from deckcalc.steel.formulas.flexure import flexure
from deckcalc.steel.formulas.pits import corroded_yield
from deckcalc.steel.formulas.punching import SHEAR_FACTOR, Edge, punching, punching_aashto
from deckcalc.steel.formulas.steel_wanted import missing_steel, steel_for_moment, strip_moment
from deckcalc.steel.formulas.strip_states import (
    added_in_strip,
    area_left,
    depth_to_bars,
    depth_under_removal,
    open_slab,
)
from deckcalc.steel.formulas.two_layers import balanced_depth, flexure_layers
from deckcalc.steel.inputs import DeckStrip

#: Titles of the checks that say what is not covered.
WHOLE, BESIDE = "strength of the slab as found, open and repaired", "slab beside the open patch, under wheels"
UNMEASURED = "no top main bar of it was measured"
NOISE = 2e-6  # metres


def beyond(steel: Steel, patch: PatchDesign) -> str:
    """Return why no strip between girders reaches a patch; empty where one does."""
    place, zone = patch.location, steel.limit("joint_zone").value
    if place.no_lines:
        return "the plan gives no girder lines, so that nobody knows whether it lies in a bay, over a girder or in an overhang"
    if not place.girder_deck:
        return "the deck is a slab span, which carries along traffic; the strip here spans between girders"
    if place.in_overhang:
        return (
            f"it lies {place.kind}; removal bares the top bars that alone carry a cantilever, and a strip between girders says nothing "
            "of it"
        )
    if place.near_joint(zone):
        apart = steel.show(quantity(place.joint, "m"), Length)
        return (
            f"it lies {apart} from a joint or deck end, nearer than {steel.show(zone, Length)}: the end of a slab carries otherwise than "
            "the strip"
        )
    return ""


def refuse(steel: Steel, patch: PatchDesign, why: str) -> None:
    """Say that no strength is known at a patch, and leave it to the engineer."""
    steel.not_covered(patch.item, WHOLE, steel.limit("capacity_ratio"), why)
    steel.decisions[f"strip at {patch.item}"] = f"not covered: {why}; engineer to assess before it is opened"
    steel.reach[patch.name] = Reach(why)


class AtPatch:
    """Rates the strip at one patch that it reaches.

    Parameters
    ----------
    work : StripRating
        With the strip as built; states, checks and decisions are put into its `steel`.
    patch : PatchDesign

    Attributes
    ----------
    over : bool
        Whether the patch reaches so near to a girder that its top bars carry the moment over it.
    outer : bool
        Whether that girder is an outer one, beyond which slab projects: its top bars carry the overhang.
    bars : list of BarDesign
        The top main bars that were measured in it.
    light : Check or None
        Of the open slab under dead and construction load alone.
    """

    def __init__(self, work: StripRating, patch: PatchDesign) -> None:
        self.work, self.patch, self.steel = work, patch, work.steel
        zone = float(self.steel.limit("girder_zone").value.m_as("")) * float(work.S.m_as("m"))
        self.over = patch.location.to_girder < zone - NOISE
        self.outer = patch.location.to_outer < zone - NOISE
        self.bars = [bar for bar in self.steel.bars_in(patch.name) if bar.row.layer == MAIN]
        self.light: Check | None = None

    def judge(self) -> None:
        """Rate every state that the strip reaches, and say which it does not."""
        steel, patch, limit = self.steel, self.patch, self.steel.limit("capacity_ratio")
        why = self.not_over()
        if self.over and not why:
            self.found_and_repaired()
        elif self.over:
            steel.not_covered(patch.item, f"capacity to demand {MOMENTS['negative']}, as found", limit, why)
        held = self.opened()
        beside = self.beside(held)
        if beside:
            steel.not_covered(patch.item, BESIDE, limit, beside)
        steel.decisions[f"strip at {patch.item}"] = self.words(why, held)
        steel.reach[patch.name] = self.reach(why, held, beside)

    def reach(self, why: str, held: bool, beside: str) -> Reach:
        """Return how far the strip reaches here, and what came of it."""
        enough = {state.state: state.sufficient for state in self.steel.states if state.patch is self.patch}
        word = {True: SATISFIED, False: NOT_SATISFIED}
        over, found = enough.get("repaired", enough.get("as found", False)), enough.get("as found", False)
        return Reach(
            over=NOT_ASKED if not self.over else NOT_COVERED if why else word[over or found],
            in_span=word[held] if "open" in enough else NOT_COVERED,
            own_weight=NOT_COVERED if self.light is None else self.light.verdict,
            beside=NOT_COVERED if beside else NOT_ASKED, bars_help=over and not found,
        )  # fmt: skip

    def not_over(self) -> str:
        """Return why the strength over the girder is not computed."""
        if self.outer:
            return (
                "it reaches to an outer girder, where the top bars carry the overhang and what stands on it, which a strip between "
                "girders does not know"
            )
        return "" if self.bars else UNMEASURED

    def beside(self, held: bool) -> str:
        """Return why it is not known what the slab beside the open patch carries; empty where nothing is asked of it."""
        if self.patch.full:
            return (
                "a full-depth hole carries nothing, and what the slab beside it carries for it is not computed: wheels stay off the hole "
                "and off the slab beside it"
            )
        if self.outer:
            return (
                "the top bars that hold the overhang are bare: nothing stands on the overhang beside the open patch before the engineer "
                "has assessed it, shored if need be"
            )
        if self.over:
            return (
                "its top bars are bare, and what the slab beside it carries for it over the girder is not computed: no wheel over this "
                "girder beside the open patch"
            )
        if not held:
            return (
                "the slab left under the removal does not carry the wheel by itself, and what the slab beside it carries for it is not "
                "computed: no wheel beside the open patch"
            )
        return ""

    def words(self, why: str, held: bool) -> str:
        """Say in words what the states of the patch come to: clean, add bars, stop, or not covered."""
        steel, patch = self.steel, self.patch
        mine = [state for state in steel.states if state.patch is patch]
        enough = {state.state: state.sufficient for state in mine}
        if not self.over:
            told = "in mid-bay: its top bars carry no moment over a girder, and are judged by their loss alone"
        elif why:
            told = f"not covered over the girder: {why}"
        elif enough.get("as found", False):
            told = "the strip is sufficient over the girder as found"
        elif enough.get("repaired", False):
            told = "add the bars; with them the strip is sufficient"
        else:
            told = "stop; the strip stays short, the engineer decides"
        if not held or self.over or not enough.get("open", True):
            told += "; no wheel on it or beside it while it is open"
        else:
            told += "; while it is open, the slab left under the removal carries the wheel and asks nothing of the slab beside it"
        if self.over and not why:
            worst = max(self.bars, key=lambda bar: bar.loss)
            told += (
                f"; strength over the girder goes by the mean loss {steel.show(steel.mat[patch.name, MAIN], Share)}, the worst bar "
                f"{worst.name} has lost {steel.show(worst.loss, Share)}"
            )
        rated = ", ".join(f"{state.state} {state.moment} {steel.show(state.rated.r_cd, Ratio)}" for state in mine)
        hole = "; the open hole is full depth and carries nothing" if patch.full else ""
        return f"{told}{f'; capacity to demand {rated}' if rated else ''}{hole}"

    def found_and_repaired(self) -> None:
        """Strength over the girder with the mean loss, and with the added bars; bars at the maximum cover that was read."""
        work, patch, steel, run = self.work, self.patch, self.steel, self.steel.run
        item, loss, f_y = f"{patch.item} as found", steel.mat[patch.name, MAIN], work.f_y
        left = run(area_left, item, A_s=work.area["negative"], loss=loss)
        if work.strip.reduced_yield and loss.m_as("") > 0:
            f_y = run(corroded_yield, item, f_y=work.f_y, loss=loss).f_yc
            if any(bar.governs == "pit" for bar in self.bars):
                steel.notes.append(
                    f"{patch.item.capitalize()}: pits are deducted from the area and the yield strength is reduced as well: the pits are counted twice."
                )
        d = run(
            depth_to_bars, item, h=work.deck.slab_thickness, c=patch.cover.greatest, d_b=bar_diameter(work.deck.top_bar_outer)
        ).d  # fmt: skip
        section = {"A_s": left, "f_y": f_y, "d": d, **work.common}
        found = work.rate(item, patch, "as found", "negative", section, run(flexure, item, **section))
        self.wanted(left, d)
        added = [bar.supplement.A_added for bar in self.bars if bar.supplement is not None]
        if not added:
            return
        item = f"{patch.item} repaired"
        total, count = sum(added[1:], start=added[0]), quantity(float(len(self.bars)))
        new = run(added_in_strip, item, A_added=total, N=count, s=work.deck.bar_spacing, b=work.b)
        d_2 = run(
            depth_to_bars, item, h=work.deck.slab_thickness, c=work.how.added_cover, d_b=bar_diameter(work.how.added_bar)
        ).d  # fmt: skip
        layers = {
            "A_1": left, "f_y1": f_y, "d_1": d, "A_2": new.A_2, "f_y2": work.how.added_yield, "d_2": d_2, **work.common,
        }  # fmt: skip
        both = run(flexure_layers, item, c=balanced_depth(**layers), **layers)
        repaired = work.rate(item, patch, "repaired", "negative", layers, both)
        if found.verdict != SATISFIED and repaired.verdict == SATISFIED:
            assert repaired.demand is not None
            steel.settle(
                found,
                f"{repaired_by(self.bars)} added: capacity to demand {steel.show(repaired.demand, Ratio)} repaired",
            )

    def opened(self) -> bool:
        """Strength in the span while concrete is out, and punching; return whether what is left holds against a wheel.

        What is left is calculated under the deepest reading.
        """
        work, patch, steel = self.work, self.patch, self.steel
        item, bar = f"{patch.item} open", bar_diameter(work.strip.bottom_bar)
        if patch.full:
            self.punched(item, work.depth["positive"].d, "hole at one side", "wheel beside the full-depth hole")
            return False
        assert patch.left
        left = work.deck.slab_thickness - patch.left.h_d - work.strip.bottom_cover - bar / 2
        if left < bar:
            steel.not_covered(
                patch.item, f"capacity to demand {MOMENTS['positive']}, open", steel.limit("capacity_ratio"),
                f"under the deepest removal {steel.show(patch.left.h_d, Length)} less than a bar diameter is left above the bottom bars: "
                "shore it, or treat it as full depth",
            )  # fmt: skip
            return False
        under = steel.run(
            depth_under_removal,
            item,
            h=work.deck.slab_thickness,
            h_r=patch.left.h_d,
            c=work.strip.bottom_cover,
            d_b=bar,
        )
        section = {"A_s": work.area["positive"], "f_y": work.f_y, "d": under.d, **work.common}
        found = steel.run(flexure, item, **section)
        spans = work.rate(item, patch, "open", "positive", section, found)
        self.own_weight(found.m_r)
        held = self.punched(item, under.d, "no hole near", "wheel on the slab left under the removal")
        return held and spans.verdict == SATISFIED

    def own_weight(self, m_r: Quantity) -> None:
        """Check the open slab under dead and construction load alone: a simple span where its top bars over a girder are bare."""
        work, steel = self.work, self.steel
        found = steel.run(
            open_slab, f"{self.patch.item} open", w_DC=work.dead.w_DC, w_DW=work.strip.overlay, q_c=steel.limit("construction_load").value,
            gamma_DC=work.strip.gamma_slab, gamma_DW=work.strip.gamma_overlay, gamma_c=steel.limit("construction_factor").value, S=work.S,
            k_s=quantity(8.0) if self.over else work.strip.moment_coefficient, m_r=m_r,
        )  # fmt: skip
        self.light = Check(
            self.patch.item, "open, under dead and construction load alone", found.r_o, steel.limit("capacity_ratio"), "at least",
            "shore the slab before the concrete is broken out, or break out in parts",
        )  # fmt: skip
        steel.checks.append(self.light)

    def punched(self, item: str, d: Quantity, edge: Edge, words: str) -> bool:
        """Check the slab that is left against punching by the code of the strip, and return whether it holds."""
        strip, limit = self.work.strip, self.steel.limit("capacity_ratio")
        given: dict[str, Any] = {
            "P": strip.wheel, "k_P": strip.wheel_factor, "w_1": strip.wheel_width, "w_2": strip.wheel_length, "d": d,
            "f_c": self.work.f_c, "edge": edge, "phi": shear_factor(strip),
        }  # fmt: skip
        if strip.code == "AASHTO LRFD":
            ratio = self.steel.run(punching_aashto, item, **given).r_v
        else:
            ratio = self.steel.run(punching, item, **given, form=self.steel.system).r_v
        check = Check(self.patch.item, f"punching, {words}", ratio, limit, "at least", "keep wheels off, or shore")
        self.steel.checks.append(check)
        return check.verdict == SATISFIED

    def wanted(self, left: Quantity, d: Quantity) -> None:
        """Steel over the girder that the demand wants at a patch, and what is missing of it."""
        work, steel, item = self.work, self.steel, f"{self.patch.item} as found"
        m_u = steel.states[-1].rated.m_u
        M_u = steel.run(strip_moment, item, m_u=m_u, phi_cs=work.strip.condition, b=work.b)
        given = {"M_u": M_u, "b": work.b, "d": d, "f_c": work.f_c, "f_y": work.f_y, "form": steel.system}
        try:
            area = steel.run(steel_for_moment, item, **given).A_s
        except JobError:
            steel.notes.append(
                f"{self.patch.item.capitalize()}: no area of steel gives the strip its demand over the girder."
            )
            return
        missing = steel.run(missing_steel, item, A_s=area, A_l=left, A_b=bar_area(work.how.added_bar))
        steel.wanted.append(SteelWanted(self.patch, M_u, area, left, missing))


def repaired_by(bars: list[BarDesign]) -> str:
    """Name the bars that are added."""
    added = [bar for bar in bars if bar.supplement is not None]
    count = sum(int(bar.supplement.n.magnitude) for bar in added if bar.supplement is not None)
    return f"{count} bar{'' if count == 1 else 's'} {added[0].size} beside {', '.join(bar.name for bar in added)}"


def shear_factor(strip: DeckStrip) -> Quantity:
    """Return the resistance factor for shear: the engineer's, else that of the code."""
    return quantity(SHEAR_FACTOR[strip.code]) if strip.shear_factor is None else strip.shear_factor


def rate_strip(steel: Steel) -> None:
    """Rate the strip as built and at every patch."""
    strip, how = steel.inputs.deck_strip, steel.inputs.reinforcement
    assert strip and how
    work = StripRating(steel, strip, how)
    work.as_built()
    for patch in steel.patches:
        why = beyond(steel, patch)
        if why:
            refuse(steel, patch, why)
        else:
            AtPatch(work, patch).judge()
    if strip.shear_factor is not None and strip.shear_factor.m_as("") != SHEAR_FACTOR[strip.code]:
        steel.notes.append(
            f"Resistance factor for shear {steel.show(strip.shear_factor, Ratio)} by the engineer; that of {strip.code} is "
            f"{SHEAR_FACTOR[strip.code]:.2f}."
        )
    steel.notes += [
        "The strip is one foot (one metre in SI) of deck on three or more girders at least 4.3 m (14 ft) apart in all, main bars across "
        "traffic; overhangs, edges, cantilevers, deck ends and fatigue are not in it. Strength as found takes the mean loss of the bars measured in "
        "the patch, at the maximum cover read there; a patch farther from a girder than a share of the spacing is not judged over it.",
        "While a patch is open its top bars are bare: no strength over the girder is counted in it, and the slab under it, as it is at the deepest "
        "reading, is checked as a simple span under dead and construction load.",
        "A repaired strip is as strong as this only when the new concrete has its strength and the added bars have their laps on sound bar.",
    ]


def no_strip(steel: Steel) -> None:
    """Say for every patch that no strength is computed, and why."""
    for patch in steel.patches:
        if patch.location.girder_deck:
            refuse(steel, patch, "the job has no section deck_strip")
        else:
            refuse(steel, patch, beyond(steel, patch))
    plan = steel.patches.marked.plan
    steel.notes.append(
        "No strength is computed: the job has no section deck_strip."
        if plan is None or plan.girders or steel.deck.kind == GIRDERS
        else "No strength is computed: the deck is a slab span, and the strip of this sheet spans between girders."
    )
