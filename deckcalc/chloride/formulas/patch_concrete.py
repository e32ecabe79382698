"""Diffusion in the concrete of a patch, before any of it has been measured: published values by binder."""

from __future__ import annotations

from typing import Any, Literal

from deckcalc.chloride.formulas.distributions import Law
from deckcalc.core import tables
from deckcalc.core.calculation import calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Diffusion

Binder = Literal["CEM I", "CEM I with fly ash", "CEM III/B"]
WaterCement = Literal["0.40", "0.45", "0.50", "0.55", "0.60"]
FIB = Cite("fib-34", "Annex B2, as given in a public text")


@lookup("from the table of migration coefficients for {binder} at w/c {w_c}", source=FIB)
def tabulated_migration(binder: Binder, w_c: WaterCement) -> Diffusion:
    """Return the migration coefficient at 28 days in mm²/yr; the table has it in 1e-12 m²/s, with a year of 365.25 days."""
    coefficient: Any = 31.5576 * float(tables.load("migration_coefficients").row("binder", binder)[w_c])
    return coefficient


@calculation(
    title="Migration coefficient of the patch concrete",
    source=FIB,
    units={"D_28": "mm²/yr"},
    notes=(
        "From a rapid test at 28 days and 20 °C; the table has no value between its columns, and its coefficient of "
        "variation is 0.20.",
        "A proprietary repair mortar has its own value, from its maker's test.",
    ),
)
def migration_coefficient(binder: Binder, w_c: WaterCement) -> Diffusion:
    r"""Migration coefficient of a concrete at 28 days, by its binder and its ratio of water to cement.

    .. math:: D_{28}(\text{binder}, w/c)

    Parameters
    ----------
    binder : {"CEM I", "CEM I with fly ash", "CEM III/B"}
        binder of the concrete
    w_c : {"0.40", "0.45", "0.50", "0.55", "0.60"}
        ratio of water to cement

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
    As tabulated for the binder and water-binder ratio; nothing is read beyond the table. Source: fib Bulletin 34, as given in a public text.

    Examples
    --------
    >>> f"{migration_coefficient('CEM I', '0.40').m_as('mm**2/yr'):.0f}"
    '281'
    """
    D_28 = tabulated_migration(binder, w_c)  # migration coefficient at 28 days
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
