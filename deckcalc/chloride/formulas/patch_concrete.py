"""Diffusion in the concrete of a patch, before any of it has been measured: published values by binder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from deckcalc.chloride.formulas.distributions import Law
from deckcalc.core import tables
from deckcalc.core.boundary import above, below
from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Diffusion, Ratio

Binder = Literal["CEM I", "CEM I with fly ash", "CEM III/B"]
WaterCement = Annotated[Ratio, Range("0.20", "0.60")]
#: Shares of the binder for which a row of the table holds: fly ash of cements with 20 to 35 %, slag of CEM III/B with 66 to 80 %
#: (classes of cement from memory).
FLY_ASH, SLAG = (0.20, 0.35), (0.66, 0.80)
FIB = Cite("fib-34", "Annex B2, as given in a public text")


@lookup(
    "from the table of migration coefficients for {binder}, in the column of the smallest w/c that is not less than {w_cm}"
)
def tabulated_migration(binder: Binder, w_cm: WaterCement) -> Diffusion:
    """Return the migration coefficient at 28 days in mm²/yr; the table has it in 1e-12 m²/s, with a year of 365.25 days."""
    row = tables.load("migration_coefficients").row("binder", binder)
    column = next(name for name in row if name != "binder" and not above(float(w_cm), float(name)))
    coefficient: Any = 31.5576 * float(row[column])
    return coefficient


def binder_of(shares: Mapping[str, float], portland: bool) -> tuple[Binder | None, str]:
    """Return the row of the table for a binder, or None and why there is none.

    Parameters
    ----------
    shares : dict of float
        Of fly ash, slag cement and silica fume in the cementitious material.
    portland : bool
        Whether the rest is portland cement.

    Examples
    --------
    >>> binder_of({}, True)[0], binder_of({"fly ash": 0.15}, True)[1]
    ('CEM I', 'the row with fly ash is of 20 to 35 % of it, the binder has 15 %')
    """
    if not portland:
        return None, "its binder is not stated as portland cement with fly ash or slag"
    used = {name: share for name, share in shares.items() if share > 0}
    if not used:
        return "CEM I", ""
    rows: dict[str, tuple[Binder, tuple[float, float]]] = {
        "fly ash": ("CEM I with fly ash", FLY_ASH), "slag cement": ("CEM III/B", SLAG),
    }  # fmt: skip
    name, share = next(iter(used.items()))
    if len(used) > 1 or name not in rows:
        return None, f"no row is of a binder with {' and '.join(used)}"
    binder, (low, high) = rows[name]
    if below(share, low) or above(share, high):
        return (
            None,
            f"the row with {name} is of {100 * low:.0f} to {100 * high:.0f} % of it, the binder has {100 * share:.0f} %",
        )
    return binder, ""


@calculation(
    title="Migration coefficient of the patch concrete",
    source=FIB,
    units={"w_cm": "", "D_28": "mm²/yr"},
    notes=(
        "From a rapid test at 28 days and 20 °C; the table has no value between its columns: the next column up is taken, "
        "which is the safe side. Its coefficient of variation is 0.20.",
        "A proprietary repair mortar has its own value, from its manufacturer's test.",
    ),
)
def migration_coefficient(binder: Binder, w_cm: WaterCement) -> Diffusion:
    r"""Migration coefficient of a concrete at 28 days, by its binder and its ratio of water to cement.

    .. math:: D_{28}(\text{binder}, w/cm)

    Parameters
    ----------
    binder : {"CEM I", "CEM I with fly ash", "CEM III/B"}
        binder of the concrete
    w_cm : quantity without dimension
        ratio of water to cementitious material

    Returns
    -------
    Diffusion
        `D_28`, migration coefficient at 28 days.

    Raises
    ------
    InputError
        If the table has no such binder or ratio.

    Notes
    -----
    As tabulated for the binder and water-binder ratio; nothing is read beyond the table, and a ratio between its columns takes the greater one. Source: fib Bulletin 34, as given in a public text.

    Examples
    --------
    >>> f"{migration_coefficient('CEM I', 0.40).m_as('mm**2/yr'):.0f}"
    '281'
    """
    D_28 = tabulated_migration(binder, w_cm)  # migration coefficient at 28 days
    return D_28


def ageing_law(binder: str) -> Law:
    """Return the law of the ageing exponent (apparent coefficient) for a binder.

    Examples
    --------
    >>> ageing_law("CEM I").mean
    0.3
    """
    row = tables.load("ageing_exponents").row("binder", binder)
    return Law("beta", float(row["mean"]), float(row["sd"]), float(row["low"]), float(row["high"]))
