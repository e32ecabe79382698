"""The deck strip: demand, and strength as built, as found, open and repaired."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from deckcalc.core import units
from deckcalc.core.bars import bar_area, bar_diameter
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length, MomentPerWidth, Quantity, Stress, quantity
from deckcalc.patch.design import PatchDesign
from deckcalc.steel.design.results import BUILT, MAIN, MOMENTS, State, Steel
from deckcalc.steel.design.strengths import default_strengths, old_yield
from deckcalc.steel.formulas.bars import strip_area
from deckcalc.steel.formulas.flexure import flexure
from deckcalc.steel.formulas.rating import (
    DeadMoments,
    dead_moments,
    deck_moment,
    deck_moment_old,
    rating,
    strip_widths,
)
from deckcalc.steel.formulas.serviceability import crack_spacing, crack_spacing_aashto, cracked_section
from deckcalc.steel.formulas.steel_wanted import least_moment_aashto, strip_moment
from deckcalc.steel.formulas.strip_states import BarDepth, depth_to_bars, service_moment
from deckcalc.steel.formulas.two_layers import least_steel
from deckcalc.steel.inputs import DeckStrip, Reinforcement

Section = Mapping[str, Any]
LEAST = Cite("mccormac", "ACI 318-11, 10.5.1, as reproduced in section 3.8")
LEAST_LRFD = Cite("aashto-lrfd", "5.6.3.3, as given in public code")


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
                f"Yield strength of the existing bars {steel.show(default.f_y, Stress)} is a default: {default.steel}."
            )
        if strip.concrete_strength is None:
            steel.notes.append(
                f"Strength of the existing concrete {steel.show(default.f_c, Stress)} is a default: {default.concrete}."
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

    def rate(self, item: str, patch: PatchDesign | None, state: str, sign: str, section: Section, found: Any) -> Check:
        """Rate the strength of one state, check it against the limit, and return that check."""
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
        return enough

    def as_built(self) -> None:
        """Strength over the girder and in the span with all of the steel; minimum strength; cracks."""
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
        """Check the strip against the minimum reinforcement, or the minimum strength, of its code."""
        steel, strip, h = self.steel, self.strip, self.deck.slab_thickness
        why = "lightly reinforced: it may crack and yield at once"
        if strip.code == "AASHTO LRFD":
            state = steel.states[-1]
            M_u = steel.run(strip_moment, item, m_u=state.rated.m_u, phi_cs=strip.condition, b=self.b)
            moment = steel.run(least_moment_aashto, item, M_u=M_u, f_c=self.f_c, f_y=self.f_y, b=self.b, h=h).M_min
            limit = Limit(
                "least_strength",
                "minimum strength of the strip",
                moment / self.b,
                units.kind_of(MomentPerWidth),
                LEAST_LRFD,
            )
            title, demand = f"strength against the minimum strength, {sign} moment", state.strength
        else:
            found = steel.run(least_steel, item, f_c=self.f_c, f_y=self.f_y, b=self.b, h=h, d=d, form=steel.system)
            limit = Limit(
                "least_steel", "minimum reinforcement of the strip", found.A_min, units.kind_of(units.BarArea), LEAST
            )
            title, demand = f"steel against the minimum reinforcement, {sign} moment", A_s
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
        limit = Limit("crack", "maximum spacing for crack control", greatest, units.kind_of(Length), cite)
        self.steel.checks.append(
            Check(f"{BUILT} as built", "spacing of the top bars for crack control", deck.bar_spacing, limit)
        )


def built_item(sign: str) -> str:
    """Return what the runs of the strip as built are called."""
    return f"{BUILT} as built, {sign} moment"


def strength_by_bar(steel: Steel) -> Quantity:
    """Return the strength over the girder as if all of the steel had lost what one bar has: bar by bar, top main bars."""
    built = built_over_girder(steel)
    assert built
    sound = quantity([1 - float(bar.loss.m_as("")) for bar in steel if bar.row.layer == MAIN])
    return flexure(**{**built.section, "A_s": built.section["A_s"] * sound}).m_r


def built_over_girder(steel: Steel) -> State | None:
    """Return the strength of the strip as built over the girder; None where no strength is computed."""
    return next((state for state in steel.states if state.patch is None and state.sign == "negative"), None)
