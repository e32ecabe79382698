"""Form panels: their tables, and design stresses."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from deckcalc.core import tables, units
from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Elasticity, Ratio, WoodStress

PanelStresses = Literal[
    "Class I", "Class II", "Structural I", "Group 2 S-2 wet", "Group 1 S-1 wet", "Group 1 S-2 dry"
]  # fmt: skip
Grain = Literal["across", "along"]
Duration = Annotated[Ratio, Range("0.9", "2")]

STRESSES = (
    Cite("peurifoy-formwork", "table 9-4 and p. 137"),
    Cite("allen-temporary-structures", "wall and slab forms"),
    Cite("apa-concrete-forming", "Class II and Structural I", "memory", only=("Class II", "Structural I")),
)


def panel_row(name: str) -> dict[str, str]:
    """Return the properties of a panel.

    Raises
    ------
    TableError
        If the table has no such panel; the message lists what it has.

    Examples
    --------
    >>> panel_row("Class I 3/4 in")["S across [in³/ft]"]
    '0.455'
    """
    return tables.load("form_panels").row("panel", name)


def panel_property(name: str, what: str, grain: str) -> Any:
    """Return I, S or Q of a panel for a way of laying it, as a quantity.

    Raises
    ------
    TableError
        If the table does not hold it.
    """
    row = panel_row(name)
    column = next(key for key in row if key.startswith(f"{what} {grain} "))
    if not row[column]:
        raise TableError(f"panel “{name}” has no {what} with face grain {grain} the supports; lay it the other way")
    return units.registry().Quantity(float(row[column]), units.unit(column.partition("[")[2].rstrip("]")))


def _stress(stresses: str, column: str) -> Any:
    row = tables.load("form_panel_stresses").row("stresses", stresses)
    return float(units.registry().Quantity(float(row[column]), "psi").m_as("Pa"))


@lookup("of {stresses} panels")
def panel_bending(stresses: PanelStresses) -> WoodStress:
    """Return the tabulated bending stress."""
    return _stress(stresses, "F_b [psi]")


@lookup("of {stresses} panels")
def panel_rolling(stresses: PanelStresses) -> WoodStress:
    """Return the tabulated rolling shear stress."""
    return _stress(stresses, "F_s [psi]")


@lookup("of {stresses} panels")
def panel_elasticity(stresses: PanelStresses) -> Elasticity:
    """Return the modulus for deflection without shear deflection."""
    return _stress(stresses, "E [psi]")


@lookup("of {stresses} panels")
def panel_elasticity_shear(stresses: PanelStresses) -> Elasticity:
    """Return the modulus for the shear part of deflection."""
    return _stress(stresses, "E_s [psi]")


@lookup("{C_D} where the tabulated stresses of {stresses} panels do not count duration in, else one")
def panel_duration(stresses: PanelStresses, C_D: Duration) -> Ratio:
    """Return the duration factor that the tabulated stresses still take."""
    row = tables.load("form_panel_stresses").row("stresses", stresses)
    taken: Any = 1.0 if row["duration counted in"] == "yes" else C_D
    return taken


class PanelValues(NamedTuple):
    """Result of `panel_values`."""

    F_b0: WoodStress
    F_s0: WoodStress
    E: Elasticity
    E_s: Elasticity
    k_D: Ratio
    F_b: WoodStress
    F_s: WoodStress


@calculation(
    title="Design stresses of a form panel",
    source=STRESSES,
    notes=("The factor for duration is not put on moduli, nor a second time on stresses that count it in.",),
)
def panel_values(stresses: PanelStresses, C_D: Duration) -> PanelValues:
    r"""Design stresses of a panel for the time that the load lies on it.

    .. math:: F_b = k_D F_{b0},\quad F_s = k_D F_{s0}

    Parameters
    ----------
    stresses : str
        class of the panel
    C_D : quantity without dimension
        load duration factor

    Returns
    -------
    PanelValues
        Tabulated `F_b0`, `F_s0`, `E`, `E_s`; `k_D` factor taken; `F_b`, `F_s` design stresses.

    Raises
    ------
    InputError
        If the class is not in the table.

    Notes
    -----
    Class I, Class II and Structural I hold for wet panels. Source: table of stresses.

    Examples
    --------
    >>> values = panel_values("Group 2 S-2 wet", 1.25)
    >>> f"{values.F_b.to('psi').magnitude:.0f}"
    '1025'
    """
    F_b0 = panel_bending(stresses)  # tabulated bending stress
    F_s0 = panel_rolling(stresses)  # tabulated rolling shear stress
    E = panel_elasticity(stresses)  # modulus of elasticity, shear deflection not worked apart
    E_s = panel_elasticity_shear(stresses)  # modulus for shear deflection
    k_D = panel_duration(stresses, C_D)  # duration factor taken
    F_b = k_D * F_b0  # design stress in bending
    F_s = k_D * F_s0  # design stress in rolling shear
    return PanelValues(F_b0, F_s0, E, E_s, k_D, F_b, F_s)
