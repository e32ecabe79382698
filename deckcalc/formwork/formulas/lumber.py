"""Design values of sawn lumber, from a table of grades with its factors or from a strength class."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core import tables, units
from deckcalc.core.calculation import Range, above, calculation, constant, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Elasticity, Length, Ratio, WoodStress
from deckcalc.formwork.formulas.panels import Duration

Grade = Literal[
    "Douglas Fir-Larch No. 2", "Douglas Fir-Larch No. 1", "Hem-Fir Select Structural", "Douglas Fir-South No. 2"
]  # fmt: skip
StrengthClass = Literal["C14", "C16", "C18", "C20", "C22", "C24", "C27", "C30", "C35", "C40"]
Service = Literal["wet", "dry"]
Breadth = Annotated[Length, Range("15 mm", "400 mm")]
MemberDepth = Annotated[Length, Range("15 mm", "600 mm")]
ReferenceStress = Annotated[WoodStress, Range("0.1 MPa", "60 MPa")]

VALUES = (
    Cite(
        "nds-supplement", "reference design values, as used in published lecture notes and by Peurifoy and Oberlender"
    ),
)
FACTORS = (
    Cite("peurifoy-formwork", "tables 4-3a, 4-4 and 4-5"),
    Cite("nds", "adjustment of reference design values"),
)
CLASSES = (
    Cite("en338", "strength classes of softwood, edition of 2016, as restated in public libraries of timber design"),
)


def _value(table: str, key: str, name: str, column: str) -> Any:
    row = tables.load(table).row(key, name)
    unit = column.partition("[")[2].rstrip("]")
    return float(units.registry().Quantity(float(row[column]), units.unit(unit)).m_as("Pa"))


@lookup("of {grade}")
def bending_value(grade: Grade) -> WoodStress:
    """Return the reference value in bending."""
    return _value("lumber_values", "grade", grade, "F_b [psi]")


@lookup("of {grade}")
def shear_value(grade: Grade) -> WoodStress:
    """Return the reference value in shear."""
    return _value("lumber_values", "grade", grade, "F_v [psi]")


@lookup("of {grade}")
def side_value(grade: Grade) -> WoodStress:
    """Return the reference value in compression perpendicular to grain."""
    return _value("lumber_values", "grade", grade, "F_cp [psi]")


@lookup("of {grade}")
def compression_value(grade: Grade) -> WoodStress:
    """Return the reference value in compression parallel to grain."""
    return _value("lumber_values", "grade", grade, "F_c [psi]")


@lookup("of {grade}")
def elasticity_value(grade: Grade) -> Elasticity:
    """Return the reference modulus."""
    return _value("lumber_values", "grade", grade, "E [psi]")


@lookup("of {grade}")
def least_elasticity_value(grade: Grade) -> Elasticity:
    """Return the reference modulus for stability."""
    return _value("lumber_values", "grade", grade, "E_min [psi]")


def _size(d: Any, column: str) -> Any:
    for row in tables.load("lumber_size_factor").rows:
        if not above(d, float(row["dressed up to [in]"]) * 0.0254):
            return float(row[column])
    raise tables.TableError(f"depth {d:g} m lies outside the table of size factors, which runs to 24 in")


THIN = "3 in"  # to this breadth the first column holds: 2 and 3 in nominal


@lookup(
    "for a member {b} by {d}; the column for thick members above {thin}",
    thin=THIN,
    source=(Cite("peurifoy-formwork", "table 4-3a"),),
)
def size_factor(b: Breadth, d: MemberDepth) -> Ratio:
    """Return the size factor in bending; 4 in nominal and thicker gets the second column."""
    return _size(d, "C_F thick" if above(b, constant(THIN)) else "C_F thin")


@lookup("for a depth of {d}", source=(Cite("peurifoy-formwork", "table 4-3a"),))
def size_factor_compression(d: MemberDepth) -> Ratio:
    """Return the size factor in compression parallel to grain."""
    return _size(d, "C_F compression")


def _wet(service: str, value: float) -> Any:
    return value if service == "wet" else 1.0


PSI = 6894.757293168361  # Pa
DRY_BENDING, DRY_COMPRESSION = 1150, 750  # psi: up to these, wet service takes nothing off


@lookup(
    "{service} service; one where {F_b0} times {C_F} is at most {most} psi ({mpa:.3f} MPa)", most=DRY_BENDING,
    mpa=DRY_BENDING * PSI / 1e6, source=(Cite("peurifoy-formwork", "table 4-5"),),
)  # fmt: skip
def wet_bending(service: Service, F_b0: ReferenceStress, C_F: Ratio) -> Ratio:
    """Return the wet service factor in bending."""
    held: Any = _wet(service, 0.85) if above(F_b0 * C_F, DRY_BENDING * PSI) else 1.0
    return held


@lookup("{service} service")
def wet_shear(service: Service) -> Ratio:
    """Return the wet service factor in shear."""
    return _wet(service, 0.97)


@lookup("{service} service")
def wet_side(service: Service) -> Ratio:
    """Return the wet service factor in compression perpendicular to grain."""
    return _wet(service, 0.67)


@lookup(
    "{service} service; one where {F_c0} times {C_Fc} is at most {most} psi ({mpa:.3f} MPa)", most=DRY_COMPRESSION,
    mpa=DRY_COMPRESSION * PSI / 1e6, source=(Cite("peurifoy-formwork", "table 4-5, its note read as compression"),),
)  # fmt: skip
def wet_compression(service: Service, F_c0: ReferenceStress, C_Fc: Ratio) -> Ratio:
    """Return the wet service factor in compression parallel to grain."""
    held: Any = _wet(service, 0.8) if above(F_c0 * C_Fc, DRY_COMPRESSION * PSI) else 1.0
    return held


@lookup("{service} service")
def wet_elasticity(service: Service) -> Ratio:
    """Return the wet service factor of the moduli."""
    return _wet(service, 0.9)


class LumberValues(NamedTuple):
    """Result of `lumber_values`."""

    F_b0: WoodStress
    F_v0: WoodStress
    F_cp0: WoodStress
    F_c0: WoodStress
    E_0: Elasticity
    E_min0: Elasticity
    C_F: Ratio
    C_Fc: Ratio
    C_Mb: Ratio
    C_Mv: Ratio
    C_Mp: Ratio
    C_Mc: Ratio
    C_ME: Ratio
    F_b: WoodStress
    F_v: WoodStress
    F_cp: WoodStress
    F_c: WoodStress
    E: Elasticity
    E_min: Elasticity


@calculation(
    title="Design values of lumber",
    source=VALUES + FACTORS,
    notes=(
        "The factor for duration is not put on moduli nor on compression perpendicular to grain. The repetitive factor may "
        "be taken from three joists on, at most 24 in (610 mm) apart; the layout here does not take it. Incising and "
        "temperature are 1.",
        "Grades of Southern Pine are not held: their values fell in 2013. Old and new values must not be mixed; check the "
        "edition against the grade stamp.",
    ),
)
def lumber_values(
    grade: Grade, b: Breadth, d: MemberDepth, C_D: Duration, service: Service,
    C_r: Annotated[Ratio, Range("1", "1.15")], C_fu: Annotated[Ratio, Range("1", "1.2")],
) -> LumberValues:  # fmt: skip
    r"""Reference design values with their factors.

    .. math:: F_b = F_{b0} C_D C_M C_F C_r C_{fu}

    Parameters
    ----------
    grade : str
        species and grade
    b : quantity of length
        breadth as dressed
    d : quantity of length
        depth as dressed
    C_D : quantity without dimension
        load duration factor
    service : str
        wet or dry service
    C_r : quantity without dimension
        repetitive member factor
    C_fu : quantity without dimension
        flat use factor

    Returns
    -------
    LumberValues
        Reference values `F_b0`, `F_v0`, `F_cp0`, `F_c0`, `E_0`, `E_min0`; size factors `C_F`, `C_Fc`; wet factors `C_Mb`, `C_Mv`,
        `C_Mp`, `C_Mc`, `C_ME`; design values `F_b` bending, `F_v` shear, `F_cp` compression perpendicular to grain, `F_c`
        along it before stability, `E` and `E_min`.

    Raises
    ------
    InputError
        If the grade is not in the table or the size outside it.

    Notes
    -----
    Visually graded lumber 2 to 4 in thick. Source: NDS and its supplement as named.

    Examples
    --------
    >>> from deckcalc import Q
    >>> v = lumber_values("Douglas Fir-Larch No. 1", Q(3.5, "in"), Q(3.5, "in"), 1.25, "dry", 1, 1)
    >>> f"{v.F_b.to('psi').magnitude:.0f}, {v.F_v.to('psi').magnitude:.0f}"
    '1875, 225'
    """
    F_b0 = bending_value(grade)  # reference value in bending
    F_v0 = shear_value(grade)  # reference value in shear
    F_cp0 = side_value(grade)  # reference value perpendicular to grain
    F_c0 = compression_value(grade)  # reference value parallel to grain
    E_0 = elasticity_value(grade)  # reference modulus
    E_min0 = least_elasticity_value(grade)  # reference modulus for stability
    C_F = size_factor(b, d)  # size factor in bending
    C_Fc = size_factor_compression(d)  # size factor in compression
    C_Mb = wet_bending(service, F_b0, C_F)  # wet factor in bending
    C_Mv = wet_shear(service)  # wet factor in shear
    C_Mp = wet_side(service)  # wet factor perpendicular to grain
    C_Mc = wet_compression(service, F_c0, C_Fc)  # wet factor parallel to grain
    C_ME = wet_elasticity(service)  # wet factor of the moduli
    F_b = F_b0 * C_D * C_Mb * C_F * C_r * C_fu  # design value in bending
    F_v = F_v0 * C_D * C_Mv  # design value in shear
    F_cp = F_cp0 * C_Mp  # design value perpendicular to grain
    F_c = F_c0 * C_D * C_Mc * C_Fc  # design value parallel to grain, before stability
    E = E_0 * C_ME  # modulus
    E_min = E_min0 * C_ME  # modulus for stability
    return LumberValues(
        F_b0, F_v0, F_cp0, F_c0, E_0, E_min0, C_F, C_Fc, C_Mb, C_Mv, C_Mp, C_Mc, C_ME, F_b, F_v, F_cp, F_c, E, E_min,
    )  # fmt: skip


@lookup("of class {strength_class}")
def class_bending(strength_class: StrengthClass) -> WoodStress:
    """Return the characteristic bending strength."""
    return _value("timber_classes", "class", strength_class, "f_m [MPa]")


@lookup("of class {strength_class}")
def class_shear(strength_class: StrengthClass) -> WoodStress:
    """Return the characteristic shear strength."""
    return _value("timber_classes", "class", strength_class, "f_v [MPa]")


@lookup("of class {strength_class}")
def class_side(strength_class: StrengthClass) -> WoodStress:
    """Return the characteristic strength perpendicular to grain."""
    return _value("timber_classes", "class", strength_class, "f_c90 [MPa]")


@lookup("of class {strength_class}")
def class_compression(strength_class: StrengthClass) -> WoodStress:
    """Return the characteristic strength parallel to grain."""
    return _value("timber_classes", "class", strength_class, "f_c0 [MPa]")


@lookup("of class {strength_class}")
def class_elasticity(strength_class: StrengthClass) -> Elasticity:
    """Return the mean modulus."""
    return _value("timber_classes", "class", strength_class, "E [MPa]")


@lookup("of class {strength_class}")
def class_least_elasticity(strength_class: StrengthClass) -> Elasticity:
    """Return the modulus at the lower 5 % point."""
    return _value("timber_classes", "class", strength_class, "E_05 [MPa]")


class ClassValues(NamedTuple):
    """Result of `class_values`."""

    f_m: WoodStress
    f_v: WoodStress
    f_c_90: WoodStress
    f_c_0: WoodStress
    E: Elasticity
    E_05: Elasticity
    gamma: Ratio
    F_b: WoodStress
    F_v: WoodStress
    F_cp: WoodStress
    F_c: WoodStress
    E_min: Elasticity


@calculation(
    title="Working stresses of a strength class",
    source=(Cite("en1995", "design values with k_mod and gamma_M", "memory"), *CLASSES),
    notes=(
        "Characteristic strengths are taken to working stresses: the factor on the loads stands under the line with that of "
        "the material, so that the same checks serve for both kinds of lumber. No factor for shallow depth, none for cracks, is taken.",
    ),
)  # fmt: skip
def class_values(
    strength_class: StrengthClass, k_mod: Annotated[Ratio, Range("0.4", "1.1")],
    gamma_M: Annotated[Ratio, Range("1", "2")], gamma_F: Annotated[Ratio, Range("1", "2")],
) -> ClassValues:  # fmt: skip
    r"""Working stresses of graded timber from its strength class.

    .. math:: F = \frac{k_{mod}}{\gamma_M \gamma_F} f_k

    Parameters
    ----------
    strength_class : str
        strength class of softwood
    k_mod : quantity without dimension
        factor for duration and moisture
    gamma_M : quantity without dimension
        partial factor of the material
    gamma_F : quantity without dimension
        partial factor on the loads

    Returns
    -------
    ClassValues
        Characteristic `f_m`, `f_v`, `f_c_90`, `f_c_0`, `E`, `E_05`; `gamma` both factors; working stresses `F_b`, `F_v`, `F_cp`, `F_c`
        and modulus for stability `E_min`.

    Raises
    ------
    InputError
        If the class is not in the table or a factor is not one that the method has.

    Notes
    -----
    Source: EN 338; EN 1995-1-1 from memory.

    Examples
    --------
    >>> v = class_values("C24", 0.7, 1.3, 1.5)
    >>> f"{v.F_b.to('MPa'):.2f~P}"
    '8.62 MPa'
    """
    f_m = class_bending(strength_class)  # bending strength
    f_v = class_shear(strength_class)  # shear strength
    f_c_90 = class_side(strength_class)  # strength perpendicular to grain
    f_c_0 = class_compression(strength_class)  # strength parallel to grain
    E = class_elasticity(strength_class)  # mean modulus
    E_05 = class_least_elasticity(strength_class)  # modulus at the lower 5 % point
    gamma = gamma_M * gamma_F  # factors of material and loads
    F_b = k_mod * f_m / gamma  # working stress in bending
    F_v = k_mod * f_v / gamma  # working stress in shear
    F_cp = k_mod * f_c_90 / gamma  # working stress perpendicular to grain
    F_c = k_mod * f_c_0 / gamma  # working stress parallel to grain, before stability
    E_min = E_05 / gamma  # modulus for stability
    return ClassValues(f_m, f_v, f_c_90, f_c_0, E, E_05, gamma, F_b, F_v, F_cp, F_c, E_min)
