"""Formwork: full-depth holes with how each is carried, the yard, and the lightest form that passes every check."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, get_args

import numpy as np
from pydantic import BeforeValidator, Field

from deckcalc import formwork, patch
from deckcalc.base.fields import FULL, Id, Strict, Text, Written
from deckcalc.base.subject import Subject
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.tables import TableError
from deckcalc.core.units import Count, Coverage, Distance, InputError, Length, Pressure, Quantity, Ratio
from deckcalc.formwork.formulas import layout, lumber, panels

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.job.file import Head

SUSPENDED, SHORED = "suspended", "shored"
LUMBER_DENSITY = 650.0  # kg/m³, wet softwood: common practice


class Hole(Strict):
    """How one full-depth hole is carried: answers of the survey form."""

    carried: Literal["suspended", "shored"] = Field(description="“suspended” from the deck or “shored” from below")
    below: Literal["ground", "water", "traffic"] = Field(description="what lies or passes below the hole")
    access_below: bool = Field(description="whether the underside can be reached from a ladder or platform")
    height: Annotated[Quantity, Written(Distance, "0.5 m", "12 m")] | None = Field(
        None, description="from the sill to the underside of the slab; wanted where it is shored"
    )
    sill: Annotated[Quantity, Written(Length, "50 mm", "1000 mm")] | None = Field(
        None, description="side of the square sill under each shore"
    )
    ground_pressure: Annotated[Quantity, Written(Pressure, "20 kPa", "2000 kPa")] | None = Field(
        None, description="pressure that the ground below may get"
    )


class Formwork(Strict):
    """Loads, service and hangers of the forms; all of it is the engineer's."""

    load_set: Literal["aci347", "title8", "quebec", "caltrans", "permanent"] = Field(description="set of least loads")
    placing: Literal["no carts", "hand carts", "motorised carts"] = Field(description="how the concrete comes")
    tables: Literal["SI", "US"] = Field(description="least loads as printed in SI or US units")
    unit_weight: Annotated[Quantity, Written.argument(formwork.form_load, "w_c")] = Field(
        description="unit weight of fresh concrete with its bars"
    )
    self_weight: Annotated[Quantity, Written.argument(formwork.form_load, "g_f")] = Field(
        description="weight of the form allowed for"
    )
    impact: Annotated[Quantity, Written.argument(formwork.form_load, "i_c")] = Field(
        description="impact of placing as a share of the concrete, beyond what the least live load counts in"
    )
    suction: Annotated[Quantity, Written.argument(formwork.form_load, "q_s")] = Field(
        description="downward suction by traffic or wind"
    )
    uplift: Annotated[Quantity, Written.argument(formwork.net_uplift, "p_up")] = Field(
        description="uplift by wind or traffic on the empty form"
    )
    loads_source: Text = Field(description="where impact, suction and uplift come from")
    coefficients: Literal["even", "uneven", "handbook"] = Field(description="set of beam coefficients")
    service: Literal["wet", "dry"] = Field(description="service of the lumber")
    k_mod: Annotated[Quantity, Written.argument(formwork.class_values, "k_mod")] = Field(
        description="factor for duration and moisture of lumber by strength class"
    )
    gamma_M: Annotated[Quantity, Written.argument(formwork.class_values, "gamma_M")] = Field(
        description="partial factor of lumber by strength class"
    )
    gamma_F: Annotated[Quantity, Written.argument(formwork.class_values, "gamma_F")] = Field(
        description="partial factor on loads, for lumber by strength class"
    )
    twist: Annotated[Quantity, Written.argument(formwork.hanger_check, "k_t")] = Field(
        description="share of its strength that twisted wire keeps"
    )
    bar_stress: Annotated[Quantity, Written.argument(formwork.bar_support, "f_a")] = Field(
        description="stress allowed in a sound bar that a hanger might be tied to"
    )
    oil: Text = Field(description="form oil")
    oil_coats: Annotated[Quantity, Written(Count, "1", "4")] = Field(description="coats of oil")
    oil_coverage: Annotated[Quantity, Written(Coverage, "1 m²/L", "60 m²/L")] = Field(
        description="coverage by its maker"
    )
    strip_strength: Annotated[Quantity, Written(units.Stress, "3 MPa", "60 MPa")] = Field(
        description="strength of the concrete in place at which the form may be struck"
    )
    strip_source: Text = Field(description="who set it")
    holes: dict[str, Hole] = Field(default_factory=dict, description="one entry for each full-depth patch")


GRADES = (*get_args(lumber.Grade), *get_args(lumber.StrengthClass))


def panel_type(value: object) -> str:
    """Check a panel against the table."""
    try:
        panels.panel_row(str(value))
    except TableError as error:
        raise InputError(str(error)) from None
    return str(value)


def lumber_grade(value: object) -> str:
    """Check a grade or strength class against the tables."""
    if str(value) not in GRADES:
        raise InputError(f"found “{value}”, which no table holds; they hold {', '.join(GRADES)}")
    return str(value)


class PanelRow(Strict):
    """panels.csv: one kind of panel in the yard a row."""

    panel: Id
    type: Annotated[str, BeforeValidator(panel_type)]
    grain: Literal["across", "along"]
    length: Annotated[Quantity, Written(Distance, "0.3 m", "4 m")]
    width: Annotated[Quantity, Written(Distance, "0.3 m", "2.5 m")]
    pieces: Annotated[Quantity, Written(Count, "1", "1000")]


class LumberRow(Strict):
    """lumber.csv: one size, grade and length in the yard a row."""

    lumber: Id
    grade: Annotated[str, BeforeValidator(lumber_grade)]
    breadth: Annotated[Quantity, Written.argument(formwork.beam_check, "b")]
    depth: Annotated[Quantity, Written.argument(formwork.beam_check, "d")]
    length: Annotated[Quantity, Written(Distance, "0.3 m", "12 m")]
    pieces: Annotated[Quantity, Written(Count, "1", "1000")]


class HangerRow(Strict):
    """hangers.csv: one kind of wire or rod in the yard a row."""

    hanger: Id
    kind: Literal["wire", "rod"]
    size: Text
    strands: Annotated[Quantity, Written.argument(formwork.hanger_check, "n_w")]
    strength: Annotated[Quantity, Written.argument(formwork.hanger_check, "f_u")]
    plate: Annotated[Quantity, Written(Length, "30 mm", "300 mm")]
    source: Text


SECTIONS = {"formwork": Formwork}
ROWS: dict[str, type[Strict]] = {}
OPTIONAL_ROWS: dict[str, type[Strict]] = {"panels": PanelRow, "lumber": LumberRow, "hangers": HangerRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold holes against patches, and the yard against what a form needs."""
    want = head.formwork
    if want is None:
        return
    for name in OPTIONAL_ROWS:
        if not rows[name]:
            faults.append(f"{name}.csv: missing; the section [formwork] wants a list of the {name} in the yard")
    patches = {row.patch for row in rows["patches"]}
    for name, hole in want.holes.items():
        place = f"job.toml: formwork.holes.{name}"
        if name not in patches:
            faults.append(f"{place}: the survey gives no patch “{name}”")
        if hole.carried == SHORED:
            if not hole.access_below:
                faults.append(f"{place}: shores want access from below; set access_below, or carry the form suspended")
            for key in ("height", "sill", "ground_pressure"):
                if getattr(hole, key) is None:
                    faults.append(f"{place}.{key}: missing; a shored form wants it")
    for row in rows["panels"]:
        try:
            panels.panel_property(row.type, "S", row.grain)
        except TableError as error:
            faults.append(f"panels.csv, panel {row.panel}: {error}")
    for row in rows["hangers"]:
        try:
            formwork.steel_area(row.kind, row.size)
        except InputError as error:
            faults.append(f"hangers.csv, hanger {row.hanger}, column size: {error}")


@dataclass(frozen=True)
class Layout:
    """One form as laid out, with what the drawing and the lists need; lengths in metres."""

    name: str
    hole: Hole
    a: float  # along the joists
    b: float
    t: float
    found: layout.Found
    s_b: float
    o_b: float
    s_a: float
    o_a: float
    s_p: float
    o_p: float
    panel: PanelRow
    joist: LumberRow
    carrier: LumberRow
    hanger: HangerRow | None
    shore: LumberRow | None
    rules: layout.Rules
    governs: str = ""

    @property
    def item(self) -> str:
        """Name of the hole on sheets."""
        return f"hole {self.name}"


@dataclass
class Forms(Subject):
    """Formwork, with the layouts that the sheet draws.

    Attributes
    ----------
    layouts : list of Layout
    missing : dict of str
        By hole: why there is no layout, and what would work.
    """

    key: ClassVar = "formwork"
    title: ClassVar = "Formwork"
    layouts: list[Layout] = field(default_factory=list)
    missing: dict[str, str] = field(default_factory=dict)


def si(value: Any, unit: str) -> float:
    """Return a quantity as a plain number."""
    return float(value.m_as(unit))


def rules_of(job: Job) -> layout.Rules:
    """Return the rules of a layout from the limits of the job."""
    assert job.head.formwork
    length = lambda key: si(job.limit(key).value, "m")  # noqa: E731
    return layout.Rules(
        job.head.formwork.coefficients, si(job.limit("form_deflection_ratio").value, ""), length("form_deflection_cap"),
        length("form_step"), length("hanger_edge"), length("form_lap"), length("strongback_clear"),
        length("strongback_bearing"), si(job.limit("shore_slenderness").value, ""),
    )  # fmt: skip


@dataclass(frozen=True)
class Yard:
    """What is in the yard, as rows, as design values, and as the arrays of the search."""

    panel_rows: list[PanelRow]
    lumber_rows: list[LumberRow]
    hanger_rows: list[HangerRow]
    panel_values: list[dict[str, Any]]
    lumber_values: list[dict[str, Any]]
    panels: layout.Panels
    members: layout.Members
    hangers: layout.Hangers


def yard_of(job: Job, subject: Subject) -> Yard:
    """Work the design values of everything in the yard out."""
    want, rows = job.head.formwork, job.file.rows
    assert want
    C_D = job.limit("form_duration").value
    panel_values, lumber_values = [], []
    for row in rows["panels"]:
        made = subject.run(
            formwork.panel_values, f"panel {row.panel}", stresses=panels.panel_row(row.type)["stresses"], C_D=C_D
        )
        section = {key: panels.panel_property(row.type, key, row.grain) for key in ("S", "I", "Q")}
        t = units.registry().Quantity(float(panels.panel_row(row.type)["t [in]"]), "in")
        C_s = units.registry().Quantity(120.0 if row.grain == "across" else 60.0, "")
        panel_values.append(
            {"F_b": made.F_b, "F_s": made.F_s, "E": made.E, "E_s": made.E_s, "t": t, "C_s": C_s, **section}
        )
    for row in rows["lumber"]:
        item = f"lumber {row.lumber}"
        if row.grade in get_args(lumber.StrengthClass):
            found: tuple[Quantity, ...] = subject.run(
                formwork.class_values, item, strength_class=row.grade, k_mod=want.k_mod, gamma_M=want.gamma_M,
                gamma_F=want.gamma_F,
            )  # fmt: skip
        else:
            one = units.registry().Quantity(1.0, "")
            found = subject.run(
                formwork.lumber_values, item, grade=row.grade, b=row.breadth, d=row.depth, C_D=C_D,
                service=want.service, C_r=one, C_fu=one,
            )  # fmt: skip
        lumber_values.append({key: getattr(found, key) for key in ("F_b", "F_v", "F_cp", "F_c", "E", "E_min")})
    column = lambda values, key, unit: np.array([si(v[key], unit) for v in values])  # noqa: E731
    field_of = lambda name, key, unit: np.array([si(getattr(row, key), unit) for row in rows[name]])  # noqa: E731
    across = np.array([row.grain == "across" for row in rows["panels"]])
    long, wide = field_of("panels", "length", "m"), field_of("panels", "width", "m")
    mass = np.array([float(panels.panel_row(row.type)["mass [lb/ft²]"]) for row in rows["panels"]])
    boards = layout.Panels(
        column(panel_values, "t", "m"), mass * 4.882428, column(panel_values, "F_b", "Pa"),
        column(panel_values, "F_s", "Pa"), column(panel_values, "E", "Pa"), column(panel_values, "E_s", "Pa"),
        column(panel_values, "S", "m**2"), column(panel_values, "I", "m**3"), column(panel_values, "Q", "m"),
        column(panel_values, "C_s", ""),
        np.where(across, long, wide), np.where(across, wide, long), field_of("panels", "pieces", ""),
    )  # fmt: skip
    b, d = field_of("lumber", "breadth", "m"), field_of("lumber", "depth", "m")
    members = layout.Members(
        b, d, column(lumber_values, "F_b", "Pa"), column(lumber_values, "F_v", "Pa"), column(lumber_values, "F_cp", "Pa"),
        column(lumber_values, "F_c", "Pa"), column(lumber_values, "E", "Pa"), column(lumber_values, "E_min", "Pa"), LUMBER_DENSITY * b * d,
        field_of("lumber", "length", "m"), field_of("lumber", "pieces", ""),
    )  # fmt: skip
    allowed = [
        si(row.strength * formwork.steel_area(row.kind, row.size), "N") * si(row.strands, "") * si(twist_of(row, want), "")
        / si(job.limit("hanger_safety").value, "") for row in rows["hangers"]
    ]  # fmt: skip
    hangers = layout.Hangers(np.array(allowed), field_of("hangers", "plate", "m"))
    return Yard(rows["panels"], rows["lumber"], rows["hangers"], panel_values, lumber_values, boards, members, hangers)


def twist_of(row: HangerRow, want: Formwork) -> Any:
    """Return the share of strength that a hanger keeps: only wire is twisted."""
    return want.twist if row.kind == "wire" else units.registry().Quantity(1.0, "")


def carry(job: Job) -> Forms:
    """Design a form for every full-depth hole that the job says how to carry."""
    from deckcalc.formwork.design import search as forming

    subject = Forms(job)
    want = job.head.formwork
    full = [name for name, kind in job.patch.depth_class.items() if kind == FULL]
    if want is None:
        if full:
            subject.notes.append(f"No form is designed here for {', '.join(full)}: the job has no section [formwork].")
        return subject
    for name in full:
        if name not in want.holes:
            subject.missing[name] = (
                f"patch {name} is full depth, and no form is given for it: add formwork.holes.{name} to job.toml and say how it is carried"
            )
    for name in want.holes:
        if name not in full:
            subject.decisions[f"hole {name}"] = "the patch is not full depth: no form"
    holes = [name for name in full if name in want.holes]
    if holes:
        forming.design(job, subject, holes, yard_of(job, subject))
    for name, why in subject.missing.items():
        one = Limit(
            "form", "a form from the yard", units.registry().Quantity(1.0, ""), units.kind_of(Ratio), "geometry"
        )
        subject.checks.append(Check(f"hole {name}", "form designed", None, one, "at most", why))
        subject.decisions[f"hole {name}"] = f"no layout: {why}"
    strip = job.show(want.strip_strength, units.Stress)
    subject.notes += [
        "Every member and its deflection is worked with the full load, live load included; shear at the support; spans to centres.",
        "Joists, strongbacks and stringers stand on edge: block or cleat them against tipping, and nail the panel to every joist. Wires "
        "pass through the panel close beside the joist, one strand on each side, and are made tight over a plate.",
        "No camber: the soffit is drawn up tight under the slab, and what it sinks is held to the deflection limit. Seal the gap at the "
        "edge all round; a chamfer is not needed under a deck.",
        f"Strike the form only on the word of the engineer, and not before the concrete in place has {strip} "
        f"({want.strip_source}), shown by cylinders cured beside it, by maturity or by pull-out.",
        "Place in even layers from both sides; do not dump on one side. Nobody stands under the form while concrete is placed; watch "
        "it before, during and after placing. No traffic beside an unsupported edge of the hole.",
    ]
    return subject


def patch_sides(job: Job, name: str) -> tuple[Quantity, Quantity]:
    """Return the marked sides of a patch."""
    run = next(run for run in job.patch.runs_of(patch.patch_limits) if run.item == f"patch {name}")
    return run.result.L, run.result.B
