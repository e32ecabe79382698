"""The deck strip: demand, and strength as built, as found, open and repaired."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from deckcalc.base.fields import JobError
from deckcalc.core import tables, units
from deckcalc.core.bars import bar_area, bar_diameter
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length, MomentPerWidth, Quantity, Ratio, Stress, quantity
from deckcalc.patch.design import PatchDesign
from deckcalc.steel.design.results import BUILT, MAIN, MOMENTS, BarDesign, State, Steel, SteelWanted, mat_item
from deckcalc.steel.formulas.bars import strip_area
from deckcalc.steel.formulas.flexure import flexure
from deckcalc.steel.formulas.pits import corroded_yield
from deckcalc.steel.formulas.punching import SHEAR_FACTOR, Edge, punching, punching_aashto
from deckcalc.steel.formulas.rating import (
    DeadMoments,
    dead_moments,
    deck_moment,
    deck_moment_old,
    rating,
    strip_widths,
)
from deckcalc.steel.formulas.serviceability import crack_spacing, crack_spacing_aashto, cracked_section
from deckcalc.steel.formulas.steel_wanted import (
    least_moment_aashto,
    missing_steel,
    steel_for_moment,
    strip_moment,
)
from deckcalc.steel.formulas.strip_states import (
    BarDepth,
    added_in_strip,
    area_left,
    depth_to_bars,
    depth_under_removal,
    open_slab,
    service_moment,
)
from deckcalc.steel.formulas.two_layers import balanced_depth, flexure_layers, least_steel
from deckcalc.steel.inputs import DeckStrip, Reinforcement

Section = Mapping[str, Any]
UNMEASURED = "no top main bar of it was measured"
NOISE = 2e-6  # metres
LEAST = Cite("mccormac", "ACI 318-11, 10.5.1, as reproduced in section 3.8")
LEAST_LRFD = Cite("aashto-lrfd", "5.6.3.3, as given in public code")


def old_yield(steel: Steel) -> Quantity:
    """Return the yield strength of the old bars: given, or by year and grade; that of the added bars without a strip."""
    strip, how = steel.inputs.deck_strip, steel.inputs.reinforcement
    if strip is None:
        assert how
        return how.added_yield
    return strip.steel_yield if strip.steel_yield is not None else default_strengths(strip, steel.deck.year_built).f_y


@dataclass(frozen=True)
class Defaults:
    """Yield and concrete strength of an old deck by its year and the grade of its steel, each with its source in words."""

    f_y: Quantity
    steel: str
    f_c: Quantity
    concrete: str


def default_strengths(strip: DeckStrip, year: int | None) -> Defaults:
    """Return what an old deck is taken to be made of where nothing was tested."""
    row: str = strip.steel_grade
    year = 0 if year is None else year  # asked for where a default is taken, when the job was read
    if row == "unknown":
        row = "unknown before 1954" if year < 1954 else "unknown from 1954"
    concrete = "unknown before 1959" if year < 1959 else "unknown from 1959"
    return Defaults(
        *in_table("old_steel", "steel", row, "f_y [psi]"), *in_table("old_concrete", "concrete", concrete, "f_c [psi]")
    )


def in_table(table: str, column: str, key: str, name: str) -> tuple[Quantity, str]:
    """Return a strength of a table of old materials, and its source in words."""
    row = tables.load(table).row(column, key)
    cite = Cite(row["source"], row["where"], row["provenance"])  # type: ignore[arg-type]
    return quantity(float(row[name]), "psi"), f"“{key}”, {cite}"


class StripRating:
    """Rates the deck strip against its demand, state by state.

    Parameters
    ----------
    steel : Steel
        With its bars and mats; states, checks and decisions are put into it.
    strip, how : DeckStrip, Reinforcement
        Its sections.
    """

    def __init__(self, steel: Steel, strip: DeckStrip, how: Reinforcement) -> None:
        self.steel, self.strip, self.how, self.deck = steel, strip, how, steel.deck
        self.b = quantity(1.0, "ft" if steel.system == "US" else "m")
        spacing = steel.patches.marked.girder_spacing
        assert spacing is not None  # asked for when the job was read
        self.S = spacing
        default = default_strengths(strip, steel.deck.year_built)
        self.f_y = old_yield(steel)
        self.f_c = strip.concrete_strength if strip.concrete_strength is not None else default.f_c
        if strip.steel_yield is None:
            steel.notes.append(
                f"Yield strength of the old bars {steel.show(default.f_y, Stress)} is a default: {default.steel}."
            )
        if strip.concrete_strength is None:
            steel.notes.append(
                f"Strength of the old concrete {steel.show(default.f_c, Stress)} is a default: {default.concrete}."
            )
        self.common = {
            "f_c": self.f_c,
            "b": self.b,
            "E_s": strip.steel_modulus,
            "code": strip.code,
            "form": steel.system,
        }
        self.dead = self.dead_load()
        self.live = self.live_load()
        self.factors = {
            "phi_cs": strip.condition, "m_DC": self.dead.m_DC, "m_DW": self.dead.m_DW, "gamma_DC": strip.gamma_slab,
            "gamma_DW": strip.gamma_overlay, "gamma_LL": strip.gamma_live,
        }  # fmt: skip
        self.area: dict[str, Quantity] = {}
        self.depth: dict[str, BarDepth] = {}

    def dead_load(self) -> DeadMoments:
        """Return the moments of slab and overlay."""
        strip, item = self.strip, BUILT
        dead = self.steel.run(
            dead_moments, item, rho=self.deck.unit_weight, h=self.deck.slab_thickness, w_DW=strip.overlay,
            S=self.S, k_m=strip.moment_coefficient,
        )  # fmt: skip
        self.steel.run(strip_widths, item, S=self.S)
        return dead

    def live_load(self) -> dict[str, Quantity]:
        """Return the moment of the wheels by its sign: the engineer's own, by the table, or by older specifications."""
        strip, run, marked = self.strip, self.steel.run, self.steel.patches.marked
        live = {"positive": strip.positive_moment, "negative": strip.negative_moment}
        ours = [sign for sign, own in live.items() if own is None]
        for sign in ours:
            where = f"{BUILT}, {sign} moment"
            if strip.live_load == "table A4-1":
                live[sign] = run(deck_moment, where, S=self.S, x=strip.section_offset, sign=sign)
            else:
                live[sign] = run(
                    deck_moment_old, where, S_c=marked.clear_span, P=strip.wheel, k_c=quantity(0.8), k_i=quantity(1.3)
                ).m_LI
        table = "table A4-1" if strip.live_load == "table A4-1" else "the older specifications"
        self.steel.live_load = " and ".join([table] * bool(ours) + ["the engineer"] * (len(ours) < len(live)))
        return live

    def rate(self, item: str, patch: PatchDesign | None, state: str, sign: str, section: Section, found: Any) -> None:
        """Rate the strength of one state and check it against the limit."""
        rated = self.steel.run(rating, item, m_r=found.m_r, m_LL=self.live[sign], **self.factors)
        why = {
            "as found": "add bars, or keep traffic off",
            "open": "keep wheels off the strip while it is open, or shore it; the engineer decides",
        }.get(state, "the engineer decides: the strip falls short of the demand in this state")
        where, moment = patch.item if patch else BUILT, MOMENTS[sign]
        enough = Check(
            where, f"capacity to demand {moment}, {state}", rated.r_cd, self.steel.limit("capacity_ratio"), "at least", why
        )  # fmt: skip
        strain = Check(
            where, f"strain of the bars {moment}, {state}", found.epsilon_t, self.steel.limit("tension_strain"), "at least",
            "the section has too much steel for a slab",
        )  # fmt: skip
        self.steel.checks += [enough, strain]
        self.steel.states.append(State(patch, state, sign, section, found.m_r, rated, enough.verdict == SATISFIED))

    def as_built(self) -> None:
        """Strength over the girder and in the span with all of the steel; least strength; cracks."""
        run, strip, deck, h = self.steel.run, self.strip, self.deck, self.deck.slab_thickness
        size = {"negative": deck.top_bar_outer, "positive": strip.bottom_bar}
        cover = {"negative": strip.top_cover, "positive": strip.bottom_cover}
        spacing = {"negative": deck.bar_spacing, "positive": strip.bottom_spacing}
        for sign in ("negative", "positive"):
            item = built_item(sign)
            A_b = bar_area(size[sign], self.how.area_basis)
            A_s = self.area[sign] = run(strip_area, item, A_b=A_b, s=spacing[sign], b=self.b).A_s
            depth = self.depth[sign] = run(depth_to_bars, item, h=h, c=cover[sign], d_b=bar_diameter(size[sign]))
            section = {"A_s": A_s, "f_y": self.f_y, "d": depth.d, **self.common}
            self.rate(item, None, "as built", sign, section, run(flexure, item, **section))
            self.least(item, sign, A_s, depth.d)
        self.cracks(built_item("negative"))

    def least(self, item: str, sign: str, A_s: Quantity, d: Quantity) -> None:
        """Check the strip against the least steel, or the least strength, of its code."""
        steel, strip, h = self.steel, self.strip, self.deck.slab_thickness
        why = "lightly reinforced: it may crack and yield at once"
        if strip.code == "AASHTO LRFD":
            state = steel.states[-1]
            M_u = steel.run(strip_moment, item, m_u=state.rated.m_u, phi_cs=strip.condition, b=self.b)
            moment = steel.run(least_moment_aashto, item, M_u=M_u, f_c=self.f_c, f_y=self.f_y, b=self.b, h=h).M_min
            limit = Limit(
                "least_strength",
                "least strength of the strip",
                moment / self.b,
                units.kind_of(MomentPerWidth),
                LEAST_LRFD,
            )
            title, demand = f"strength against the least strength, {sign} moment", state.strength
        else:
            found = steel.run(least_steel, item, f_c=self.f_c, f_y=self.f_y, b=self.b, h=h, d=d, form=steel.system)
            limit = Limit("least_steel", "least steel of the strip", found.A_min, units.kind_of(units.BarArea), LEAST)
            title, demand = f"steel against the least steel, {sign} moment", A_s
        steel.checks.append(Check(BUILT, title, demand, limit, "at least", why))

    def cracks(self, item: str) -> None:
        """Spacing of the top bars against crack control by the code of the strip."""
        run, strip, deck, depth = self.steel.run, self.strip, self.deck, self.depth["negative"]
        moment = run(
            service_moment, item, m_DC=self.dead.m_DC, m_DW=self.dead.m_DW, m_LL=self.live["negative"], b=self.b
        )
        stress = run(
            cracked_section, item, M=moment, A_s=self.area["negative"], b=self.b, d=depth.d, n=strip.modular_ratio
        )
        if strip.code == "AASHTO LRFD":
            cite = Cite("aashto-lrfd", "5.6.7", "memory")
            greatest = run(
                crack_spacing_aashto, item, f_ss=stress.f_ss, f_y=self.f_y, d_c=depth.d_c, h=deck.slab_thickness,
                gamma_e=strip.exposure_factor,
            ).s_max  # fmt: skip
        else:
            cite = Cite("mccormac", "section 6.11 (ACI 318-11, 10.6.4)")
            greatest = run(crack_spacing, item, f_s=stress.f_ss, c_c=strip.top_cover, form=self.steel.system).s_max
        limit = Limit("crack", "greatest spacing for crack control", greatest, units.kind_of(Length), cite)
        self.steel.checks.append(
            Check(f"{BUILT} as built", "spacing of the top bars for crack control", deck.bar_spacing, limit)
        )

    def at_patch(self, patch: PatchDesign) -> None:
        """Strength at one patch as found, open and repaired, where the strip reaches it."""
        steel, limit = self.steel, self.steel.limit("capacity_ratio")
        reason = self.beyond(patch)
        if reason:
            steel.not_covered(patch.item, "strength of the slab as found, open and repaired", limit, reason)
            steel.decisions[f"strip at {patch.item}"] = f"not covered: {reason}; engineer to assess before it is opened"
            return
        over = self.near_girder(patch)
        bars = [bar for bar in steel.bars_in(patch.name) if bar.row.layer == MAIN]
        if over and bars:
            self.found_and_repaired(patch, bars)
        elif over:
            steel.not_covered(patch.item, f"capacity to demand {MOMENTS['negative']}, as found", limit, UNMEASURED)
        holds = self.open(patch)
        if over:
            steel.not_covered(
                patch.item, f"strength {MOMENTS['negative']} under wheels, open", limit,
                "its top bars are bare, and what the slab beside it would carry for it is not computed: no wheel over this girder "
                "beside the hole",
            )  # fmt: skip
        mine = [state for state in steel.states if state.patch is patch]
        words = ", ".join(f"{state.state} {state.moment} {steel.show(state.rated.r_cd, Ratio)}" for state in mine)
        hole = "; the open hole is full depth and carries nothing" if patch.full else ""
        told = verdict(mine, holds and not over, over, bool(bars))
        steel.decisions[f"strip at {patch.item}"] = f"{told}{f': capacity to demand {words}' if words else ''}{hole}"

    def beyond(self, patch: PatchDesign) -> str:
        """Return why the strip does not reach a patch; empty where it does."""
        steel, place, zone = self.steel, patch.location, self.steel.limit("joint_zone").value
        if place.in_overhang:
            return f"it lies {place.kind}; removal bares the top bars that alone carry a cantilever, and a strip between girders says nothing of it"
        if place.near_joint(zone):
            apart = steel.show(quantity(place.joint, "m"), Length)
            return f"it lies {apart} from a joint or deck end, nearer than {steel.show(zone, Length)}: the end of a slab carries otherwise than the strip"
        return ""

    def near_girder(self, patch: PatchDesign) -> bool:
        """Whether a patch reaches so near to a girder that its top bars carry the moment over it."""
        zone = float(self.steel.limit("girder_zone").value.m_as("")) * float(self.S.m_as("m"))
        return patch.location.to_girder < zone - NOISE

    def found_and_repaired(self, patch: PatchDesign, bars: list[BarDesign]) -> None:
        """Strength over the girder with the mean loss, and with the added bars."""
        run, item, steel = self.steel.run, f"{patch.item} as found", self.steel
        loss = steel.mat[patch.name, MAIN]
        left = run(area_left, item, A_s=self.area["negative"], loss=loss)
        f_y = self.f_y
        if self.strip.reduced_yield and loss.m_as("") > 0:
            f_y = run(corroded_yield, item, f_y=self.f_y, loss=loss).f_yc
            if any(bar.governs == "pit" for bar in bars):
                steel.notes.append(
                    f"{patch.item.capitalize()}: pits are deducted from the area and the yield strength is reduced as well: the pits are counted twice."
                )
        d = run(
            depth_to_bars, item, h=self.deck.slab_thickness, c=patch.cover.greatest, d_b=bar_diameter(self.deck.top_bar_outer)
        ).d  # fmt: skip
        section = {"A_s": left, "f_y": f_y, "d": d, **self.common}
        self.rate(item, patch, "as found", "negative", section, run(flexure, item, **section))
        self.wanted(patch, left, d)
        added = [bar.supplement.A_added for bar in bars if bar.supplement is not None]
        if not added:
            return
        item = f"{patch.item} repaired"
        total, count = sum(added[1:], start=added[0]), quantity(float(len(bars)))
        new = run(added_in_strip, item, A_added=total, N=count, s=self.deck.bar_spacing, b=self.b)
        d_2 = run(
            depth_to_bars, item, h=self.deck.slab_thickness, c=self.how.added_cover, d_b=bar_diameter(self.how.added_bar)
        ).d  # fmt: skip
        layers = {
            "A_1": left, "f_y1": f_y, "d_1": d, "A_2": new.A_2, "f_y2": self.how.added_yield, "d_2": d_2, **self.common,
        }  # fmt: skip
        both = run(flexure_layers, item, c=balanced_depth(**layers), **layers)
        self.rate(item, patch, "repaired", "negative", layers, both)

    def open(self, patch: PatchDesign) -> bool:
        """Strength in the span while concrete is out, and punching; return whether what is left holds against a wheel."""
        run, strip, item = self.steel.run, self.strip, f"{patch.item} open"
        limit = self.steel.limit("capacity_ratio")
        if patch.full:
            self.steel.checks.append(
                Check(patch.item, "strength of the open hole", None, limit, "at least",
                      "a full-depth hole carries nothing: wheels stay off it and off the slab beside it until the engineer allows them")
            )  # fmt: skip
            self.punched(
                patch.item, item, self.depth["positive"].d, "hole at one side", "wheel beside the full-depth hole"
            )
            return False
        assert patch.removal
        left = run(
            depth_under_removal, item, h=self.deck.slab_thickness, h_r=patch.removal.h, c=strip.bottom_cover,
            d_b=bar_diameter(strip.bottom_bar),
        )  # fmt: skip
        section = {"A_s": self.area["positive"], "f_y": self.f_y, "d": left.d, **self.common}
        found = run(flexure, item, **section)
        self.rate(item, patch, "open", "positive", section, found)
        self.own_weight(patch, found.m_r)
        return self.punched(patch.item, item, left.d, "no hole near", "wheel on the slab left under the removal")

    def own_weight(self, patch: PatchDesign, m_r: Quantity) -> None:
        """Check the open slab under dead and construction load alone: a simple span where its top bars over a girder are bare."""
        steel, strip, over = self.steel, self.strip, self.near_girder(patch)
        found = steel.run(
            open_slab, f"{patch.item} open", w_DC=self.dead.w_DC, w_DW=strip.overlay, q_c=steel.limit("construction_load").value,
            gamma_DC=strip.gamma_slab, gamma_DW=strip.gamma_overlay, gamma_c=steel.limit("construction_factor").value, S=self.S,
            k_s=quantity(8.0) if over else strip.moment_coefficient, m_r=m_r,
        )  # fmt: skip
        steel.checks.append(
            Check(patch.item, "open, under dead and construction load alone", found.r_o, steel.limit("capacity_ratio"), "at least",
                  "shore the slab before the concrete is broken out, or break out in parts")
        )  # fmt: skip

    def punched(self, patch: str, item: str, d: Quantity, edge: Edge, words: str) -> bool:
        """Check the slab that is left against punching by the code of the strip, and return whether it holds."""
        strip, limit = self.strip, self.steel.limit("capacity_ratio")
        given = {
            "P": strip.wheel, "k_P": strip.wheel_factor, "w_1": strip.wheel_width, "w_2": strip.wheel_length, "d": d,
            "f_c": self.f_c, "edge": edge, "phi": shear_factor(strip),
        }  # fmt: skip
        if strip.code == "AASHTO LRFD":
            ratio = self.steel.run(punching_aashto, item, **given).r_v
        else:
            ratio = self.steel.run(punching, item, **given, form=self.steel.system).r_v
        check = Check(patch, f"punching, {words}", ratio, limit, "at least", "keep wheels off, or shore")
        self.steel.checks.append(check)
        return check.verdict == SATISFIED

    def wanted(self, patch: PatchDesign, left: Quantity, d: Quantity) -> None:
        """Steel over the girder that the demand wants at a patch, and what is missing of it."""
        steel, item = self.steel, f"{patch.item} as found"
        m_u = steel.states[-1].rated.m_u
        M_u = steel.run(strip_moment, item, m_u=m_u, phi_cs=self.strip.condition, b=self.b)
        given = {"M_u": M_u, "b": self.b, "d": d, "f_c": self.f_c, "f_y": self.f_y, "form": steel.system}
        try:
            area = steel.run(steel_for_moment, item, **given).A_s
        except JobError:
            steel.notes.append(
                f"{patch.item.capitalize()}: no area of steel gives the strip its demand over the girder."
            )
            return
        missing = steel.run(missing_steel, item, A_s=area, A_l=left, A_b=bar_area(self.how.added_bar))
        steel.wanted.append(SteelWanted(patch, M_u, area, left, missing))


def shear_factor(strip: DeckStrip) -> Quantity:
    """Return the factor of resistance in shear: the engineer's, else that of the code."""
    return quantity(SHEAR_FACTOR[strip.code]) if strip.shear_factor is None else strip.shear_factor


def built_item(sign: str) -> str:
    """Return what the runs of the strip as built are called."""
    return f"{BUILT} as built, {sign} moment"


def verdict(states: list[State], holds: bool, over: bool, measured: bool) -> str:
    """Say in words what the states of a patch come to: clean, add bars, stop, or not covered."""
    enough = {state.state: state.sufficient for state in states}
    if not over:
        told = "in mid-bay: its top bars carry no moment over a girder, and are judged by their loss alone"
    elif not measured:
        told = f"not covered over the girder, {UNMEASURED}"
    elif enough.get("as found", False):
        told = "the strip is sufficient over the girder as found"
    elif enough.get("repaired", False):
        told = "add the bars; with them the strip is sufficient"
    else:
        told = "stop; the strip stays short, the engineer decides"
    return told + ("; no wheel on it while it is open" if not holds or not enough.get("open", True) else "")


def rate_strip(steel: Steel) -> None:
    """Rate the strip as built and at every patch."""
    strip, how = steel.inputs.deck_strip, steel.inputs.reinforcement
    assert strip and how
    work = StripRating(steel, strip, how)
    work.as_built()
    for patch in steel.patches:
        work.at_patch(patch)
    if strip.shear_factor is not None and strip.shear_factor.m_as("") != SHEAR_FACTOR[strip.code]:
        steel.notes.append(
            f"Factor of resistance in shear {steel.show(strip.shear_factor, Ratio)} by the engineer; that of {strip.code} is "
            f"{SHEAR_FACTOR[strip.code]:.2f}."
        )
    steel.notes += [
        "The strip is one foot (one metre in SI) of deck on three or more girders at least 4.3 m (14 ft) apart in all, main bars across "
        "traffic; overhangs, edges, cantilevers, deck ends and fatigue are not in it. Strength as found takes the mean loss of the bars measured in "
        "the patch, at the greatest cover read there; a patch farther from a girder than a share of the spacing is not judged over it.",
        "While a patch is open its top bars are bare: no strength over the girder is counted in it, and the slab under it is checked as a simple "
        "span under dead and construction load.",
        "A repaired strip is as strong as this only when the new concrete has its strength and the added bars have their laps on sound bar.",
    ]


def weakest(steel: Steel) -> PatchDesign | None:
    """Return the patch with the least capacity to demand over the girder; where no bars were measured, while it is open."""
    found = [(state, state.patch) for state in steel.states if state.patch]
    if not found:
        return None
    return min(found, key=lambda pair: (pair[0].state == "open", pair[0].rated.r_cd.m_as("")))[1]


def written_out(patch: PatchDesign) -> list[str]:
    """Return what is written out of the strip: demand, the strip as built, and one patch."""
    return [
        BUILT, f"{BUILT}, negative moment", built_item("negative"), mat_item(patch.name, MAIN),
        *(f"{patch.item} {state}" for state in ("as found", "repaired", "open")),
    ]  # fmt: skip


def strength_by_bar(steel: Steel) -> Quantity:
    """Return the strength over the girder as if all of the steel had lost what one bar has: bar by bar, top main bars."""
    built = built_over_girder(steel)
    assert built
    sound = quantity([1 - float(bar.loss.m_as("")) for bar in steel if bar.row.layer == MAIN])
    return flexure(**{**built.section, "A_s": built.section["A_s"] * sound}).m_r


def built_over_girder(steel: Steel) -> State | None:
    """Return the strength of the strip as built over the girder; None where no strength is computed."""
    return next((state for state in steel.states if state.patch is None and state.sign == "negative"), None)
