"""What the job folder says of the forms: the section [formwork] with its holes, and the tables of materials in stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple, get_args

from pydantic import Field

from deckcalc import formwork
from deckcalc.base.context import Context
from deckcalc.base.fields import NOT_GIVEN, Id, InRange, Remark, Strict, Text
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.core.tables import TableError
from deckcalc.core.units import (
    SYSTEMS,
    Count,
    Coverage,
    Distance,
    InputError,
    Length,
    MassPerArea,
    Pressure,
    Quantity,
    quantity,
)
from deckcalc.formwork.formulas import lumber, panels, regional
from deckcalc.patch.design import Marked
from deckcalc.steel.design.strip import default_strengths
from deckcalc.steel.inputs import DeckStrip

SUSPENDED, SHORED = "suspended", "shored"
#: What comes off the form of a full-depth hole, in order: of a shored one the form alone, of a suspended one all three.
TakenOff = Literal["strongbacks", "hangers", "form"]
BELOW, THROUGH = "from below", "through the hole"


class Hole(Strict):
    """How the form of one full-depth hole is held: answers of the survey form; what lies below it stands in [plan]."""

    carried: Literal["suspended", "shored"] = Field(description="“suspended” from the deck or “shored” from below")
    access_below: bool = Field(description="whether the underside can be reached from a ladder or platform")
    height: Annotated[Quantity, InRange(Distance, "0.5 m", "12 m")] | None = Field(
        None, description="to the underside of the slab; wanted where it is shored"
    )
    height_from: Literal["sill", "ground"] = Field(
        "sill", description="whether the height was measured from the top of the sill or from the ground"
    )
    sill_thickness: Annotated[Quantity, InRange(Length, "20 mm", "300 mm")] | None = Field(
        None, description="thickness of the sill; wanted where the height was measured from the ground"
    )
    assembled: Literal["from below", "through the hole"] | None = Field(
        None, description="from where the form is put together; left out: from below where the underside is reached"
    )
    taken_away: Text | None = Field(
        None, description="what holds the form as it is stripped, such as a boat, a lift or a platform"
    )
    sill: Annotated[Quantity, InRange(Length, "50 mm", "1000 mm")] | None = Field(
        None, description="side of the square sill under each shore"
    )
    ground_pressure: Annotated[Quantity, InRange(Pressure, "20 kPa", "2000 kPa")] | None = Field(
        None, description="pressure that the ground below may get"
    )

    @property
    def sill_taken_off(self) -> Quantity:
        """What the sill takes off the height: nothing where that was measured from its top."""
        assert self.height is not None
        from_ground = self.height_from == "ground" and self.sill_thickness is not None
        return (
            self.sill_thickness if from_ground and self.sill_thickness is not None else quantity(0.0, self.height.units)
        )

    @property
    def clear_height(self) -> Quantity | None:
        """Height from the top of the sill to the underside of the slab."""
        return self.height - self.sill_taken_off if self.height is not None else None

    @property
    def shored_height(self) -> Quantity | None:
        """Clear height of a form that is shored."""
        return self.clear_height if self.carried == SHORED else None

    @property
    def put_together(self) -> str:
        """From where the form is put together."""
        return self.assembled or (BELOW if self.access_below else THROUGH)

    @property
    def away(self) -> str | None:
        """What holds the form as it is stripped; None where nobody has said."""
        return self.taken_away or ("the platform or ladder below" if self.access_below else None)


class Plates(Strict):
    """Steel plates that close an open hole to traffic: the fallback of a night; all of it is the engineer's."""

    wheel: Annotated[Quantity | None, InRange.of(formwork.plate_bending, "P")] = Field(
        None, description="load of one wheel, in a job without [deck_strip], which has it otherwise"
    )
    impact: Annotated[Quantity, InRange.of(formwork.plate_bending, "i")] = Field(description="impact of the wheel")
    tyre_width: Annotated[Quantity | None, InRange.of(formwork.plate_bending, "w")] = Field(
        None, description="footprint of the tyre, across traffic; likewise"
    )
    tyre_length: Annotated[Quantity | None, InRange.of(formwork.plate_bending, "l_w")] = Field(
        None, description="footprint of the tyre, along traffic; likewise"
    )
    thickness: Annotated[Quantity, InRange.of(formwork.plate_bending, "t")] = Field(description="of the plate")
    yield_strength: Annotated[Quantity, InRange.of(formwork.plate_bending, "f_y")] = Field(description="of its steel")
    yield_share: Annotated[Quantity, InRange.of(formwork.plate_bending, "k_y")] = Field(
        description="share of it allowed"
    )
    bedded_from: Annotated[Quantity, InRange.of(formwork.plate_bending, "e_s")] = Field(
        description="from the edge of the hole to where the bedding begins on sound concrete"
    )
    bedding: Annotated[Quantity, InRange.of(formwork.plate_bearing, "l_b")] = Field(description="width of the bedding")
    concrete_strength: Annotated[Quantity | None, InRange.of(formwork.plate_bearing, "f_c1")] = Field(
        None, description="strength of the existing concrete below the bedding; likewise"
    )
    overlap: Annotated[Quantity, InRange.of(formwork.plate_size, "o")] = Field(
        description="of the plate beyond every edge of the hole"
    )
    bolts: Annotated[Quantity, InRange.of(formwork.plate_bolts, "n")] = Field(description="number of bolts of a plate")
    bolt_shear: Annotated[Quantity, InRange.of(formwork.plate_bolts, "V_a")] = Field(
        description="allowable shear on a bolt, by its manufacturer"
    )
    bolt_tension: Annotated[Quantity, InRange.of(formwork.plate_bolts, "T_a")] = Field(
        description="allowable tension of a bolt, by its manufacturer"
    )
    braking: Annotated[Quantity, InRange.of(formwork.plate_bolts, "k_h")] = Field(
        description="push of braking, as a share of the wheel"
    )
    rebound: Annotated[Quantity, InRange.of(formwork.plate_bolts, "k_u")] = Field(
        description="uplift in rebound, as a share of the wheel"
    )
    ramp: Annotated[Quantity, InRange.of(formwork.plate_size, "m_r")] = Field(
        description="run of the ramps over their rise"
    )
    source: Text = Field(description="who set these")


OwnFactor = Annotated[Quantity, InRange.of(formwork.own_lumber, "K_b")]
OwnStress = Annotated[Quantity, InRange.of(formwork.own_lumber, "F_b0")]
OwnModulus = Annotated[Quantity, InRange.of(formwork.own_lumber, "E_0")]


class OwnGrade(Strict):
    """Lumber by the engineer's own reference values, each with the product of its factors."""

    F_b: OwnStress = Field(description="reference value in bending")
    F_v: OwnStress = Field(description="in shear")
    F_cp: OwnStress = Field(description="perpendicular to grain")
    F_c: OwnStress = Field(description="parallel to grain")
    E: OwnModulus = Field(description="modulus")
    E_min: OwnModulus = Field(description="modulus for stability")
    K_b: OwnFactor = Field(description="product of all factors in bending")
    K_v: OwnFactor = Field(description="in shear")
    K_p: OwnFactor = Field(description="perpendicular to grain")
    K_c: OwnFactor = Field(description="parallel to grain")
    K_E: OwnFactor = Field(description="of both moduli")
    source: Text = Field(description="where they come from")


class OwnBoard(Strict):
    """A panel by the engineer's own reference values, for the way in which it is laid."""

    thickness: Annotated[Quantity, InRange.of(formwork.panel_check, "t")] = Field(description="thickness")
    mass: Annotated[Quantity, InRange(MassPerArea, "2 kg/m²", "60 kg/m²")] = Field(description="mass of an area")
    F_b: OwnStress = Field(description="reference value in bending")
    F_s: OwnStress = Field(description="in rolling shear")
    K_b: OwnFactor = Field(description="product of all factors in bending")
    K_s: OwnFactor = Field(description="in rolling shear")
    E: Annotated[Quantity, InRange.of(formwork.panel_check, "E")] = Field(description="modulus")
    S: Annotated[Quantity, InRange.of(formwork.panel_check, "S")] = Field(description="section modulus per width")
    I: Annotated[Quantity, InRange.of(formwork.panel_check, "I")] = Field(description="second moment of area per width")
    Q: Annotated[Quantity, InRange.of(formwork.panel_check, "Q")] = Field(
        description="rolling shear constant Ib/Q per width"
    )
    source: Text = Field(description="where they come from")


class Formwork(Strict):
    """Loads, service and hangers of the forms; all of it is the engineer's."""

    load_set: Literal["aci347", "title8", "quebec", "caltrans", "permanent"] = Field(
        "aci347", description="set of minimum loads"
    )
    placing: Literal["no carts", "hand carts", "motorised carts"] = Field(description="how the concrete comes")
    tables: Literal["SI", "US"] = Field(
        NOT_GIVEN, description="minimum loads as printed in SI or US units; left out, by the units of the job"
    )
    unit_weight: Annotated[Quantity, InRange.of(formwork.form_load.form("SI"), "w_c")] = Field(
        "23.6 kN/m^3",
        validate_default=True,
        description="minimum unit weight of fresh concrete with its bars; a concrete that is heavier by its materials counts as it is; left out, 150 lb/ft³ by common practice",
    )
    self_weight: Annotated[Quantity, InRange.of(formwork.form_load.form("SI"), "g_f")] = Field(
        "0.6 kN/m^2",
        validate_default=True,
        description="weight of the form allowed for; left out, 12 psf by common practice; what is found is held against it",
    )
    impact: Annotated[Quantity, InRange.of(formwork.form_load.form("SI"), "i_c")] = Field(
        "0 %",
        validate_default=True,
        description="impact of placing as a share of the concrete, beyond what the minimum live load counts in",
    )
    suction: Annotated[Quantity, InRange.of(formwork.form_load.form("SI"), "q_s")] = Field(
        "0 kPa", validate_default=True, description="downward suction by traffic or wind"
    )
    uplift: Annotated[Quantity, InRange.of(formwork.net_uplift, "p_up")] = Field(
        description="uplift by wind or traffic on the empty form"
    )
    loads_source: Text = Field(description="where impact, suction and uplift come from")
    coefficients: Literal["even", "uneven", "handbook"] = Field(
        "uneven", description="set of beam coefficients; left out, by the worst loading of some spans"
    )
    shear: Literal["at the support", "a depth away"] = Field(
        "at the support", description="where the shear of joists is taken"
    )
    deflection: Literal["limited", "no limit"] = Field(
        "limited", description="“no limit” where the engineer sets none, as under a soffit that nobody sees"
    )
    service: Literal["wet", "dry"] = Field("wet", description="service of the lumber; left out, wet, on the safe side")
    k_mod: Annotated[Quantity, InRange.of(formwork.class_values, "k_mod")] = Field(
        NOT_GIVEN,
        description="factor for duration and moisture of lumber by strength class; wanted with such lumber or panels in millimetres",
    )
    gamma_M: Annotated[Quantity, InRange.of(formwork.class_values, "gamma_M")] = Field(
        NOT_GIVEN, description="partial factor of lumber by strength class; likewise"
    )
    gamma_F: Annotated[Quantity, InRange.of(formwork.class_values, "gamma_F")] = Field(
        NOT_GIVEN, description="partial factor on loads, for lumber by strength class; likewise"
    )
    twist: Annotated[Quantity, InRange.of(formwork.hanger_check, "k_t")] = Field(
        "0.75",
        validate_default=True,
        description="share of its strength that twisted wire keeps; left out, an estimate: no value is published",
    )
    bar_stress: Annotated[Quantity, InRange.of(formwork.bar_support, "f_a")] = Field(
        description="allowable stress in a sound bar that a hanger might be tied to"
    )
    oil: Remark = Field("", description="form oil; left out, none is listed")
    oil_coats: Annotated[Quantity, InRange(Count, "1", "4")] = Field(
        "2", validate_default=True, description="coats of oil"
    )
    oil_coverage: Annotated[Quantity, InRange(Coverage, "1 m²/L", "60 m²/L")] = Field(
        NOT_GIVEN, description="coverage by its manufacturer; wanted with an oil"
    )
    own_lumber: dict[str, OwnGrade] = Field(
        default_factory=dict, description="grades of the engineer's own, by the name in lumber.csv"
    )
    own_panels: dict[str, OwnBoard] = Field(
        default_factory=dict, description="panels of the engineer's own, by the type in panels.csv"
    )
    plates: Plates | None = Field(None, description="plates over an open hole; without them none may be closed so")
    holes: dict[str, Hole] = Field(default_factory=dict, description="one entry for each full-depth patch")


GRADES = (*get_args(lumber.Grade), *get_args(lumber.StrengthClass))
METRIC = get_args(regional.MetricPanel)


class PanelRow(Strict):
    """panels.csv: one kind of panel in stock a row."""

    panel: Id = Field(description="name of the panel")
    type: Text = Field(description="kind and thickness, as the tables of panels have it, or one of formwork.own_panels")
    grain: Literal["across", "along"] = Field(description="way of the face grain over the joists")
    length: Annotated[Quantity, InRange(Distance, "0.3 m", "4 m")] = Field(description="length of a panel")
    width: Annotated[Quantity, InRange(Distance, "0.3 m", "2.5 m")] = Field(description="width of a panel")
    pieces: Annotated[Quantity, InRange(Count, "1", "1000")] = Field(description="number in stock")


class LumberRow(Strict):
    """lumber.csv: one size, grade and length in stock a row."""

    lumber: Id = Field(description="name of the size")
    grade: Text = Field(
        description="species and grade, or strength class, as the tables have it, or one of formwork.own_lumber"
    )
    breadth: Annotated[Quantity, InRange.of(formwork.beam_check, "b")] = Field(description="breadth as dressed")
    depth: Annotated[Quantity, InRange.of(formwork.beam_check, "d")] = Field(description="depth as dressed")
    length: Annotated[Quantity, InRange(Distance, "0.3 m", "12 m")] = Field(description="length of a piece")
    pieces: Annotated[Quantity, InRange(Count, "1", "1000")] = Field(description="number in stock")


class HangerRow(Strict):
    """hangers.csv: one kind of wire or rod in stock a row."""

    hanger: Id = Field(description="name of the hanger")
    kind: Literal["wire", "rod"] = Field(description="wire or rod")
    size: Text = Field(description="gauge or diameter of a wire, or thread of a rod")
    strands: Annotated[Quantity, InRange.of(formwork.hanger_check, "n_w")] = Field(
        description="strands of wire that carry, or 1 for a rod"
    )
    strength: Annotated[Quantity, InRange.of(formwork.hanger_check, "f_u")] = Field(
        description="strength of the steel that is counted on"
    )
    plate: Annotated[Quantity, InRange(Length, "30 mm", "300 mm")] = Field(
        description="side of the square plate under it"
    )
    source: Text = Field(description="where the strength comes from")


SECTIONS = {"formwork": Formwork}
ROWS: dict[str, type[Strict]] = {"panels": PanelRow, "lumber": LumberRow, "hangers": HangerRow}
NEEDS = Needs(
    "forms", ("formwork",), (("patch",), ("panels",), ("lumber",), ("hangers",)), "forms of the full-depth holes"
)
#: A job about forms begins with one hole, of the name that its patch has.
START = Start(
    {
        "formwork.holes": {key: {"P1": {"carried": "suspended", "access_below": False}} for key in SYSTEMS},
        **{f"formwork.{name}": {"SI": None} for name in ("k_mod", "gamma_M", "gamma_F")}, "plan.below": None, "mix.full_depth": {"SI": "C35-10", "US": "C3"},
    },
    {
        "patches": {"SI": ("P1,5.5,3.3,0.8,0.9,220",), "US": ("P1,20,12.5,2.5,3,8",)}, "hangers": "*",
        "panels": {"SI": "B18 B21", "US": "PLY19 PLY16"},
        "lumber": {"SI": "50x100-3 50x150-3 100x100-3 100x100-4", "US": "2x4-8 2x6-8 4x4-8 4x4-12"},
    },
    own=("formwork.holes",),
)  # fmt: skip


class PlateLoad(NamedTuple):
    """One wheel with the footprint of its tyre, across and along traffic, and the strength of the existing concrete."""

    wheel: Quantity
    width: Quantity
    length: Quantity
    strength: Quantity


@dataclass(frozen=True)
class Inputs:
    """What forms are designed from."""

    formwork: Formwork | None
    deck_strip: DeckStrip | None
    panels: list[PanelRow]
    lumber: list[LumberRow]
    hangers: list[HangerRow]

    def plate_load(self, year: int | None) -> PlateLoad:
        """Return what the plates carry and bear on: as the deck strip has it, or by the plates themselves where there is none."""
        strip, own = self.deck_strip, self.formwork.plates if self.formwork else None
        if strip is None:
            assert own and own.wheel is not None and own.tyre_width is not None
            assert own.tyre_length is not None and own.concrete_strength is not None
            return PlateLoad(own.wheel, own.tyre_width, own.tyre_length, own.concrete_strength)
        f_c = strip.concrete_strength if strip.concrete_strength is not None else default_strengths(strip, year).f_c
        return PlateLoad(strip.wheel, strip.wheel_width, strip.wheel_length, f_c)


#: What stands in the plates as well as in the deck strip, by their names there.
TWICE = {
    "wheel": "wheel", "tyre_width": "wheel_width", "tyre_length": "wheel_length", "concrete_strength": "concrete_strength",
}  # fmt: skip


def check_plates(inputs: Inputs, faults: list[str]) -> None:
    """Check that wheel, print and strength stand in one place: the deck strip, or the plates where there is none."""
    plates = inputs.formwork.plates if inputs.formwork else None
    for name, there in TWICE.items() if plates is not None else ():
        place = f"job.toml: formwork.plates.{name}"
        if inputs.deck_strip is not None and getattr(plates, name) is not None:
            faults.append(f"{place}: deck_strip.{there} says it for the whole job; take it out here")
        elif inputs.deck_strip is None and getattr(plates, name) is None:
            faults.append(f"{place}: missing; a job without [deck_strip] gives it here")


def check_given(inputs: Inputs, want: Formwork, faults: list[str]) -> None:
    """Check that what the stock and the oil want is there."""
    by_class = [f"lumber.csv has {row.grade}" for row in inputs.lumber if row.grade in get_args(lumber.StrengthClass)]
    by_class += [f"panels.csv has {row.type}" for row in inputs.panels if row.type in METRIC]
    missing = [
        (name, by_class[0]) for name in ("k_mod", "gamma_M", "gamma_F") if by_class and getattr(want, name) is None
    ]
    missing += [("oil_coverage", "formwork.oil is given")] if want.oil and want.oil_coverage is None else []
    faults += [f"job.toml: formwork.{name}: missing, and {why}" for name, why in missing]


def check_below(name: str, hole: Hole, below: tuple[str, ...], faults: list[str]) -> None:
    """Check that the plan says what is under a hole, and that shores can stand there."""
    if not below:
        faults.append(
            f"job.toml: plan.below: names nothing under hole {name}; say what lies or passes there, by area, since parts may fall on it"
        )
    if hole.carried == SHORED and "water" in below:
        faults.append(
            f"job.toml: formwork.holes.{name}.carried: shores stand on ground, and plan.below has water there; carry the form suspended"
        )


def check(context: Context[Inputs], marked: Marked, faults: list[str]) -> None:
    """Check holes against patches, and the stock against what a form needs."""
    inputs, want = context.inputs, context.inputs.formwork
    if want is None:
        return
    patches = {one.patch: one for one in marked.patches}
    for name, hole in want.holes.items():
        place = f"job.toml: formwork.holes.{name}"
        if name not in patches:
            faults.append(f"{place}: the survey gives no patch “{name}”")
        else:
            check_below(name, hole, patches[name].location.below, faults)
        if hole.assembled == BELOW and not hole.access_below:
            faults.append(
                f"{place}.assembled: from below wants access from below; set access_below, or assemble it through the hole"
            )
        if hole.height_from == "ground" and hole.height is not None and hole.sill_thickness is None:
            faults.append(f"{place}.sill_thickness: missing; a height measured from the ground wants it")
        if hole.carried == SHORED:
            if not hole.access_below:
                faults.append(f"{place}: shores want access from below; set access_below, or carry the form suspended")
            for key in ("height", "sill", "ground_pressure"):
                if getattr(hole, key) is None:
                    faults.append(f"{place}.{key}: missing; a shored form wants it")
    check_given(inputs, want, faults)
    check_plates(context.inputs, faults)
    if (plates := want.plates) is not None and plates.overlap < plates.bedded_from + plates.bedding:
        faults.append(
            "job.toml: formwork.plates.overlap: less than bedded_from and bedding together; the plate would not lie on its bedding"
        )
    for row in inputs.panels:
        if row.type in want.own_panels or row.type in METRIC:
            continue
        try:
            panels.panel_property(row.type, "S", row.grain)
        except TableError as error:
            faults.append(
                f"panels.csv, panel {row.panel}, column type: {error}; or one of {', '.join(METRIC)}, or of formwork.own_panels"
            )
    for piece in inputs.lumber:
        if piece.grade not in GRADES and piece.grade not in want.own_lumber:
            faults.append(
                f"lumber.csv, lumber {piece.lumber}, column grade: found “{piece.grade}”, which no table holds; they hold "
                f"{', '.join(GRADES)}; or one of formwork.own_lumber"
            )
    taken = [*(set(want.own_lumber) & set(GRADES)), *(name for name in want.own_panels if name in METRIC)]
    faults += [f"job.toml: formwork: “{name}” is a name of the tables; give your own values another" for name in taken]
    for hanger in inputs.hangers:
        try:
            formwork.steel_area(hanger.kind, hanger.size)
        except InputError as error:
            faults.append(f"hangers.csv, hanger {hanger.hanger}, column size: {error}")
