"""The deck strip: demand, and strength as built, as found, open and repaired."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from deckcalc import patch as patches
from deckcalc import steel
from deckcalc.base.fields import BarSize, Strict, Written
from deckcalc.core import tables, units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import (  # fmt: skip
    Distance,
    Force,
    Length,
    LoadPerArea,
    MomentPerWidth,
    Quantity,
    Ratio,
    Stress,
)

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head
    from deckcalc.steel.design import Steel

OldSteel = Literal["unknown", "structural grade", "intermediate grade", "hard grade or rail steel", "grade 60"]
MAIN = "top main"


def number(text: str, kind: Any = Ratio) -> Any:
    """Return a quantity written as text."""
    return units.read(text, kind)


class DeckStrip(Strict):
    """The strip of deck whose strength is followed; main bars across traffic, on three or more girders."""

    girder_spacing: Annotated[Quantity, Written(Distance, "1.2 m", "4.6 m")] = Field(
        description="spacing of the girders"
    )
    section_offset: Annotated[Quantity, Written(Length, "0 mm", "609.6 mm")] = Field(
        description="from the girder centre line to the design section for negative moment"
    )
    top_cover: Annotated[Quantity, Written(Length, "10 mm", "300 mm")] = Field(description="cover of the top main bars")
    bottom_cover: Annotated[Quantity, Written(Length, "10 mm", "300 mm")] = Field(
        description="cover of the bottom main bars"
    )
    bottom_bar: BarSize = Field(description="bottom main bars")
    bottom_spacing: Annotated[Quantity, Written(Length, "50 mm", "600 mm")] = Field(
        description="spacing of the bottom main bars"
    )
    year_built: int = Field(ge=1890, le=2100, description="year in which the deck was cast")
    concrete_strength: Annotated[Any, Written(Stress, "10 MPa", "70 MPa")] = Field(
        None, description="strength f'c of the old concrete; left out, a default by year"
    )
    steel_yield: Annotated[Any, Written(Stress, "150 MPa", "600 MPa")] = Field(
        None, description="yield strength of the old bars; left out, a default by year and grade"
    )
    steel_grade: OldSteel = Field("unknown", description="grade of the old bars where the yield strength is left out")
    steel_modulus: Annotated[Quantity, Written(units.Modulus, "180 GPa", "220 GPa")] = Field(
        description="modulus of elasticity of the bars"
    )
    modular_ratio: Annotated[Quantity, Written(Ratio, "5", "15")] = Field(description="modulus of steel over concrete")
    overlay: Annotated[Quantity, Written(LoadPerArea, "0 kN/m²", "10 kN/m²")] = Field(
        description="weight of overlay and later layers"
    )
    moment_coefficient: Annotated[Quantity, Written(Ratio, "7", "16")] = Field(
        description="dead-load moment is weight times span squared over this"
    )
    live_load: Literal["table A4-1", "older specifications"] = Field(
        "table A4-1", description="where the live-load moment comes from, unless the engineer gives one"
    )
    clear_span: Annotated[Any, Written(Distance, "0.6 m", "7.3 m")] = Field(
        None, description="clear span between girders, for the older specifications"
    )
    positive_moment: Annotated[Any, Written(MomentPerWidth, "0.1 kN·m/m", "500 kN·m/m")] = Field(
        None, description="the engineer's own live-load moment in the span; replaces the table"
    )
    negative_moment: Annotated[Any, Written(MomentPerWidth, "0.1 kN·m/m", "500 kN·m/m")] = Field(
        None, description="the engineer's own live-load moment over the girder; replaces the table"
    )
    code: Literal["ACI 318-11", "AASHTO LRFD"] = Field("AASHTO LRFD", description="whose factor of resistance")
    gamma_slab: Annotated[Quantity, Written(Ratio, "0.8", "2")] = Field(description="load factor of the slab")
    gamma_overlay: Annotated[Quantity, Written(Ratio, "0.6", "2")] = Field(description="load factor of the overlay")
    gamma_live: Annotated[Quantity, Written(Ratio, "1", "2.5")] = Field(description="load factor of the live load")
    condition: Annotated[Quantity, Written(Ratio, "0.7", "1")] = Field(
        description="product of condition and system factors"
    )
    reduced_yield: bool = Field(False, description="reduce the yield strength of corroded bars as well as their area")
    exposure_factor: Annotated[Quantity, Written(Ratio, "0.5", "1")] = Field(
        description="crack control: 1.00 for class 1, 0.75 for class 2"
    )
    wheel: Annotated[Quantity, Written(Force, "10 kN", "300 kN")] = Field(description="wheel load for punching")
    wheel_factor: Annotated[Quantity, Written(Ratio, "1", "4")] = Field(
        description="load factor, impact and multiple presence of the wheel"
    )
    wheel_width: Annotated[Quantity, Written(Length, "100 mm", "1 m")] = Field(description="wheel across traffic")
    wheel_length: Annotated[Quantity, Written(Length, "100 mm", "1 m")] = Field(description="wheel along traffic")
    shear_factor: Annotated[Quantity, Written(Ratio, "0.5", "1")] = Field(description="factor of resistance in shear")


@dataclass(frozen=True)
class State:
    """Strength of the strip in one state."""

    where: str  # “deck strip” or a patch
    state: str
    moment: str  # over the girder, in the span
    strength: Any
    rated: Any
    item: str


def check(head: Head, faults: list[str]) -> None:
    """Hold covers against the slab."""
    one, t = head.deck_strip, head.deck.slab_thickness
    assert one
    if head.reinforcement is None:
        faults.append("job.toml: deck_strip: wants a section reinforcement beside it")
    if one.live_load == "older specifications" and one.clear_span is None:
        faults.append(
            "job.toml: deck_strip.clear_span: missing; the older specifications take the clear span between girders"
        )
    for name in ("top_cover", "bottom_cover"):
        if getattr(one, name) >= t:
            faults.append(
                f"job.toml: deck_strip.{name}: {getattr(one, name):.4g~P} is not less than the slab thickness {t:.4g~P}"
            )


def form(job: Job) -> str:
    """Return the form of the standard's equations: hard metric in an SI job."""
    return "US" if job.system == "US" else "SI 1/1.1"


def old_yield(job: Job) -> Quantity:
    """Return the yield strength of the old bars: given, or by year and grade."""
    one = job.head.deck_strip
    if one is None:
        assert job.head.reinforcement
        return job.head.reinforcement.added_yield
    return one.steel_yield if one.steel_yield is not None else assumed(job)[0]


def assumed(job: Job) -> tuple[Quantity, str, Quantity, str]:
    """Return yield and concrete strength by year and grade, each with its provenance in words."""
    one = job.head.deck_strip
    assert one
    row: str = one.steel_grade
    if row == "unknown":
        row = "unknown before 1954" if one.year_built < 1954 else "unknown from 1954"
    concrete = "unknown before 1959" if one.year_built < 1959 else "unknown from 1959"
    found: list[Any] = []
    for table, column, key, name in (
        ("old_steel", "steel", row, "f_y [psi]"),
        ("old_concrete", "concrete", concrete, "f_c [psi]"),
    ):
        data = tables.load(table).row(column, key)
        cite = Cite(data["source"], data["where"], data["provenance"])  # type: ignore[arg-type]
        found += [units.registry().Quantity(float(data[name]), "psi"), f"“{key}”, {cite}"]
    return tuple(found)


class Walk:
    """Carries the strip of one job through its states."""

    def __init__(self, job: Job, subject: Steel) -> None:
        self.job, self.subject = job, subject
        assert job.head.deck_strip and job.head.reinforcement
        self.how = job.head.reinforcement
        self.strip, self.deck = job.head.deck_strip, job.head.deck
        self.b = number("1 ft", Length) if job.system == "US" else number("1 m", Length)
        f_y, steel_words, f_c, concrete_words = assumed(job)
        self.f_y = old_yield(job)
        self.f_c = self.strip.concrete_strength if self.strip.concrete_strength is not None else f_c
        if self.strip.steel_yield is None:
            subject.notes.append(f"Yield strength of the old bars {job.show(f_y, Stress)} is a default: {steel_words}.")
        if self.strip.concrete_strength is None:
            subject.notes.append(
                f"Strength of the old concrete {job.show(f_c, Stress)} is a default: {concrete_words}."
            )
        self.common = {"f_c": self.f_c, "b": self.b, "E_s": self.strip.steel_modulus, "code": self.strip.code,
                       "form": job.system}  # fmt: skip

    def demand(self) -> None:
        """Dead and live moments."""
        run, one, item = self.subject.run, self.strip, "deck strip"
        dead = run(
            steel.dead_moments, item, rho=self.deck.unit_weight, h=self.deck.slab_thickness, w_DW=one.overlay,
            S=one.girder_spacing, k_m=one.moment_coefficient,
        )  # fmt: skip
        run(steel.strip_widths, item, S=one.girder_spacing)
        live = {"positive": one.positive_moment, "negative": one.negative_moment}
        for sign in [sign for sign, own in live.items() if own is None]:
            where = f"{item}, {sign} moment"
            if one.live_load == "table A4-1":
                live[sign] = run(steel.deck_moment, where, S=one.girder_spacing, x=one.section_offset, sign=sign)
            else:
                live[sign] = run(
                    steel.deck_moment_old, where, S_c=one.clear_span, P=one.wheel, k_c=number("0.8"), k_i=number("1.3")
                ).m_LI
        self.dead, self.live = dead, live
        self.factors = {
            "phi_cs": one.condition, "m_DC": dead.m_DC, "m_DW": dead.m_DW, "gamma_DC": one.gamma_slab,
            "gamma_DW": one.gamma_overlay, "gamma_LL": one.gamma_live,
        }  # fmt: skip

    def rate(self, item: str, where: str, state: str, sign: str, strength: Any) -> None:
        """Rate one state and hold it against the limit."""
        rated = self.subject.run(steel.rating, item, m_r=strength.m_r, m_LL=self.live[sign], **self.factors)
        moment = "over the girder" if sign == "negative" else "in the span"
        self.subject.states.append(State(where, state, moment, strength.m_r, rated, item))
        why = {
            "as found": "add bars, or keep traffic off",
            "open": "keep wheels off the strip while it is open, or shore it; the engineer decides",
        }.get(state, "the engineer decides: the strip falls short of the demand in this state")
        limit = self.job.limit("capacity_ratio")
        title = f"capacity to demand {moment}, {state}"
        self.subject.checks.append(Check(where, title, rated.r_cd, limit, "at least", why))
        strain = Check(
            where, f"strain of the bars {moment}, {state}", strength.epsilon_t, self.job.limit("tension_strain"), "at least",
            "the section has too much steel for a slab",
        )  # fmt: skip
        self.subject.checks.append(strain)

    def as_built(self) -> None:
        """Strength over the girder and in the span with all of the steel; least steel; cracks."""
        run, one, deck, h = self.subject.run, self.strip, self.deck, self.deck.slab_thickness
        size = {"negative": deck.top_bar_outer, "positive": one.bottom_bar}
        cover = {"negative": one.top_cover, "positive": one.bottom_cover}
        spacing = {"negative": deck.bar_spacing, "positive": one.bottom_spacing}
        self.steel, self.depth = {}, {}
        for sign in ("negative", "positive"):
            item = f"deck strip as built, {sign} moment"
            d_b = steel.bar_diameter(size[sign])
            A_b = steel.bar_area(size[sign], self.how.area_basis)
            self.steel[sign] = run(steel.strip_area, item, A_b=A_b, s=spacing[sign], b=self.b).A_s
            self.depth[sign] = run(steel.depth_to_bars, item, h=h, c=cover[sign], d_b=d_b)
            strength = run(steel.flexure, item, A_s=self.steel[sign], f_y=self.f_y, d=self.depth[sign].d, **self.common)
            self.rate(item, "deck strip", "as built", sign, strength)
            least = run(
                steel.least_steel,
                item,
                f_c=self.f_c,
                f_y=self.f_y,
                b=self.b,
                h=h,
                d=self.depth[sign].d,
                form=self.job.system,
            )
            limit = Limit(
                "least_steel", "least steel of the strip", least.A_min, units.kind_of(units.BarArea), steel_source()
            )
            self.subject.checks.append(
                Check("deck strip", f"steel against the least steel, {sign} moment", self.steel[sign], limit, "at least",
                      "lightly reinforced: it may crack and yield at once")
            )  # fmt: skip
        self.cracks("deck strip as built, negative moment", self.steel["negative"])

    def cracks(self, item: str, area: Any) -> None:
        """Spacing of the top bars against crack control."""
        run, one, deck = self.subject.run, self.strip, self.deck
        moment = run(
            steel.service_moment, item, m_DC=self.dead.m_DC, m_DW=self.dead.m_DW, m_LL=self.live["negative"], b=self.b
        )
        stress = run(
            steel.cracked_section, item, M=moment, A_s=area, b=self.b, d=self.depth["negative"].d, n=one.modular_ratio
        )
        run(steel.crack_spacing, item, f_s=stress.f_ss, c_c=one.top_cover, form=self.job.system)
        lrfd = run(
            steel.crack_spacing_aashto, item, f_ss=stress.f_ss, f_y=self.f_y, d_c=self.depth["negative"].d_c,
            h=deck.slab_thickness, gamma_e=one.exposure_factor,
        )  # fmt: skip
        limit = Limit(
            "crack",
            "greatest spacing for crack control",
            lrfd.s_max,
            units.kind_of(Length),
            Cite("aashto-lrfd", "5.6.7", "memory"),
        )
        where = item.removesuffix(", negative moment")
        self.subject.checks.append(Check(where, "spacing of the top bars for crack control", deck.bar_spacing, limit))

    def at_patch(self, row: Any) -> None:
        """Strength at one patch as found, open and repaired."""
        subject, name = self.subject, f"patch {row.patch}"
        bars = [bar for bar in self.job.file.rows["bars"] if bar.patch == row.patch and bar.layer == MAIN]
        if bars:
            self.found_and_repaired(name, row.patch, bars)
        full = self.job.patch.depth_class[row.patch] == "full depth"
        self.open(name, row.patch, full)
        mine = [state for state in subject.states if state.where == name]
        words = ", ".join(f"{state.state} {state.moment} {self.job.show(state.rated.r_cd, Ratio)}" for state in mine)
        if words:
            hole = "; the open hole is full depth and carries nothing" if full else ""
            subject.decisions[f"strip at {name}"] = f"{self.verdict(mine, full)}: capacity to demand {words}{hole}"

    def verdict(self, states: list[State], full: bool) -> str:
        """Say in words what the states of a patch come to: clean, add bars, or stop."""
        least = self.job.limit("capacity_ratio").value
        enough = {state.state: bool(state.rated.r_cd >= least * (1 - 1e-9)) for state in states}
        if enough.get("as found", True):
            told = "clean; the strip is sufficient over the girder as found"
        elif enough.get("repaired", False):
            told = "add the bars; with them the strip is sufficient"
        else:
            told = "stop; the strip stays short, the engineer decides"
        return told + ("; no wheel on it while it is open" if full or not enough.get("open", True) else "")

    def found_and_repaired(self, name: str, patch: str, bars: list[Any]) -> None:
        """Strength over the girder with the mean loss, and with the added bars."""
        run, item, subject = self.subject.run, f"{name} as found", self.subject
        loss = subject.mat[patch, MAIN]
        left = run(steel.area_left, item, A_s=self.steel["negative"], loss=loss)
        f_y = self.f_y
        if self.strip.reduced_yield and loss.m_as("") > 0:
            f_y = run(steel.corroded_yield, item, f_y=self.f_y, loss=loss).f_yc
            if any(subject.governs[bar.bar] == "pit" for bar in bars):
                subject.notes.append(
                    f"{name.capitalize()}: pits are deducted from the area and the yield strength is reduced as well: the pits are counted twice."
                )
        d = self.depth["negative"].d
        strength = run(steel.flexure, item, A_s=left, f_y=f_y, d=d, **self.common)
        self.rate(item, name, "as found", "negative", strength)
        added = [subject.added[bar.bar] for bar in bars if bar.bar in subject.added]
        if not added:
            return
        item = f"{name} repaired"
        how = self.how
        total = sum(added[1:], start=added[0])
        count = units.registry().Quantity(float(len(bars)), "")
        new = run(steel.added_in_strip, item, A_added=total, N=count, s=self.deck.bar_spacing, b=self.b)
        d_2 = run(
            steel.depth_to_bars, item, h=self.deck.slab_thickness, c=how.added_cover,
            d_b=steel.bar_diameter(how.added_bar),
        ).d  # fmt: skip
        section = {
            "A_1": left,
            "f_y1": f_y,
            "d_1": d,
            "A_2": new.A_2,
            "f_y2": how.added_yield,
            "d_2": d_2,
            **self.common,
        }
        both = run(steel.flexure_layers, item, c=steel.balanced_depth(**section), **section)
        self.rate(item, name, "repaired", "negative", both)

    def open(self, name: str, patch: str, full: bool) -> None:
        """Strength in the span while concrete is out, and punching."""
        run, one, item = self.subject.run, self.strip, f"{name} open"
        d_b, limit = steel.bar_diameter(one.bottom_bar), self.job.limit("capacity_ratio")
        if full:
            self.subject.checks.append(
                Check(name, "strength of the open hole", None, limit, "at least",
                      "a full-depth hole carries nothing: wheels stay off it and off the slab beside it until the engineer allows them")
            )  # fmt: skip
            d, edge, words = self.depth["positive"].d, "hole at one side", "wheel beside the full-depth hole"
        else:
            removed = next(run.result for run in self.job.patch.runs_of(patches.removal_depth) if run.item == name)
            left = run(
                steel.depth_under_removal, item, h=self.deck.slab_thickness, h_r=removed.h, c=one.bottom_cover, d_b=d_b
            )
            strength = run(steel.flexure, item, A_s=self.steel["positive"], f_y=self.f_y, d=left.d, **self.common)
            self.rate(item, name, "open", "positive", strength)
            d, edge, words = left.d, "no hole near", "wheel on the slab left under the removal"
        punched = run(
            steel.punching, item, P=one.wheel, k_P=one.wheel_factor, w_1=one.wheel_width, w_2=one.wheel_length, d=d,
            f_c=self.f_c, edge=edge, phi=one.shear_factor, form=self.job.system,
        )  # fmt: skip
        self.subject.checks.append(
            Check(name, f"punching, {words}", punched.r_v, limit, "at least", "keep wheels off, or shore")
        )


def steel_source() -> Cite:
    """Return where the least steel stands."""
    return Cite("mccormac", "ACI 318-11, 10.5.1, as reproduced in section 3.8")


def carry(job: Job, subject: Steel) -> None:
    """Carry the strip through its states."""
    walk = Walk(job, subject)
    walk.demand()
    walk.as_built()
    for row in job.file.rows["patches"]:
        walk.at_patch(row)
    subject.notes += [
        "The strip is one foot (one metre in SI) of deck on three or more girders at least 4.3 m (14 ft) apart in all, main bars across "
        "traffic; overhangs, edges, cantilevers and fatigue are not in it. Strength as found takes the mean loss of the bars measured in the patch.",
        "While a patch is open its top bars are bare: no strength over the girder is counted in it; the strip beside it carries that moment.",
        "A repaired strip is as strong as this only when the new concrete has its strength and the added bars have their laps on sound bar.",
    ]
