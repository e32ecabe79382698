"""Steel plates over open holes: whether a hole may be closed with one, the fallback of a night."""

from __future__ import annotations

from dataclasses import dataclass, field

from deckcalc import formwork
from deckcalc.base.subject import Material
from deckcalc.core import units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.units import Quantity, quantity
from deckcalc.formwork.design.forms import Forms
from deckcalc.formwork.formulas.plates import PlateBending, PlateSize
from deckcalc.formwork.inputs import Plates

STEEL = quantity(7850.0, "kg/m³")  # density
MODULUS = quantity(200000.0, "MPa")


@dataclass(frozen=True)
class PlateDesign:
    """The plate of one hole.

    Attributes
    ----------
    name : str
        Number of the patch.
    bending : PlateBending
        Result of the calculation of this name.
    size : PlateSize
        Result of the calculation of this name.
    checks : list of Check
    """

    name: str
    bending: PlateBending
    size: PlateSize
    checks: list[Check] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        """Whether every check is satisfied."""
        return all(check.verdict == SATISFIED for check in self.checks)


def design_plates(forms: Forms, names: list[str]) -> None:
    """Check the plate of every full-depth hole, or say that no hole may be closed with one."""
    want = forms.inputs.formwork.plates if forms.inputs.formwork else None
    if want is None:
        if names:
            forms.notes.append(
                "No plate over an open hole is designed in this job (formwork.plates): closing a hole with plates is no fallback of it."
            )
        return
    for name in names:
        forms.plates[name] = plate_of(forms, want, name)
    thickness = forms.show(want.thickness, units.Length)
    for plate in forms.plates.values():
        sides = " × ".join(forms.show(side, units.Distance) for side in (plate.size.L_p, plate.size.B_p))
        mass = forms.show(plate.size.m, units.Mass)
        if plate.holds:
            verdict = f"may be closed by a plate {thickness} thick, {sides}, {mass}, bedded all round and held by {want.bolts.m_as(''):.0f} bolts"
            spare = f"{want.bolts.m_as(''):.0f} bolts, bedding, ramps"
            forms.materials.append(
                Material(f"Steel plate {thickness}, {sides}, hole {plate.name}", f"1, {mass}", spare, "05 Formwork")
            )
        else:
            verdict = "may not be closed by this plate: " + ", ".join(
                check.title for check in plate.checks if check.verdict != SATISFIED
            )
        forms.decisions[f"plate over hole {plate.name}"] = verdict
    forms.notes.append(
        "Plates: one wheel on a plate that is bedded all round; whether the slab beside the open hole carries the wheel is not covered "
        "here: engineer to assess. Look at plates, bolts and ramps every shift, and post the bump."
    )


def plate_of(forms: Forms, want: Plates, name: str) -> PlateDesign:
    """Run every calculation of one plate and check it."""
    item, load = f"plate over hole {name}", forms.inputs.plate_load(forms.deck.year_built)
    limits = forms.patches[name].limits
    sides = {"L": limits.L, "B": limits.B}
    ratio, overlap = forms.limit("plate_deflection_ratio"), forms.limit("plate_overlap")
    bending = forms.run(
        formwork.plate_bending, item, P=load.wheel, i=want.impact, w=load.width, l_w=load.length, **sides,
        e_s=want.bedded_from, t=want.thickness, f_y=want.yield_strength, k_y=want.yield_share, E=MODULUS, r_d=ratio.value,
    )  # fmt: skip
    shorter = min(load.width, load.length)
    bearing = forms.run(
        formwork.plate_bearing, item, P_i=bending.P_i, l_b=want.bedding, l_e=shorter, f_c1=load.strength,
        k_c=quantity(0.3),
    )  # fmt: skip
    bolts = forms.run(
        formwork.plate_bolts, item, P=load.wheel, k_h=want.braking, k_u=want.rebound, n=want.bolts, V_a=want.bolt_shear,
        T_a=want.bolt_tension,
    )  # fmt: skip
    size = forms.run(formwork.plate_size, item, **sides, o=want.overlap, t=want.thickness, rho=STEEL, m_r=want.ramp)
    plate = PlateDesign(name, bending, size)

    def check(title: str, demand: Quantity, allowed: Quantity, kind: type, why: str) -> None:
        limit = Limit("plate", title, allowed, units.kind_of(kind), "hand calculation on this sheet")
        plate.checks.append(Check(item, title, demand, limit, "at most", why))

    check("thickness required, against the plate", bending.t_req, want.thickness, units.Diameter, "a thicker plate")
    check("deflection under the wheel", bending.delta, bending.delta_a, units.Deflection, "a thicker plate")
    check("bearing beside the hole", bearing.f_c, bearing.f_ca, units.WoodStress, "a wider bedding")
    check("bolts, shear and tension", bolts.u, quantity(1.0), units.Ratio, "more or stronger bolts")
    plate.checks.append(Check(item, "overlap beyond the edge", want.overlap, overlap, "at least", "a larger plate"))
    forms.checks += plate.checks
    return plate
