"""The bar tables: nominal diameter, area and mass of the bar sizes of every system."""

from __future__ import annotations

import math
from typing import Literal

from deckcalc.core import tables, units
from deckcalc.core.units import Quantity, quantity

AreaBasis = Literal["nominal", "diameter"]


def bar_diameter(size: str) -> Quantity:
    """Return the nominal diameter of a bar size (the side of a square bar), in the unit of its own table.

    Parameters
    ----------
    size : str
        ``#5`` (US inch-pound), ``M16`` (US soft metric), ``15M`` (CSA), ``16`` (ISO), ``square 3/4 in`` or
        ``round 3/4 in`` (existing bars), or another usual name of one, as `deckcalc.core.tables.bar` reads it.

    Raises
    ------
    TableError
        If no bar table has the size, or two have it.

    Examples
    --------
    >>> print(f"{bar_diameter('#5'):~P}")
    0.625 in
    """
    return _nominal(size, "d [in]", "d [mm]")


def bar_area(size: str, basis: AreaBasis = "nominal") -> Quantity:
    """Return the area of a bar size, in the unit of its own table; see `bar_diameter`.

    Parameters
    ----------
    size : str
    basis : {"nominal", "diameter"}
        The rounded area of the table, or the area of the nominal diameter.

    Examples
    --------
    >>> print(f"{bar_area('M16'):~P} {bar_area('#5', 'diameter'):.4f~P}")
    199.0 mm² 0.3068 in²
    """
    if basis == "diameter":
        d = bar_diameter(size)
        return d**2 if is_square(size) else math.pi * d**2 / 4
    return _nominal(size, "A [in²]", "A [mm²]")


def bar_mass(size: str) -> Quantity:
    """Return the nominal mass per length of a bar size; where its table prints none, that of its area.

    Examples
    --------
    >>> print(f"{bar_mass('#5'):~P}")
    1.043 lb/ft
    """
    row = tables.bar(size)
    if not (row["mass [lb/ft]"] or row["mass [kg/m]"]):
        return bar_area(size) * quantity(7850.0, "kg/m³")
    return _nominal(size, "mass [lb/ft]", "mass [kg/m]")


def is_square(size: str) -> bool:
    """Whether the bar is an old square bar."""
    return tables.bar(size)["system"] == "old square"


def _nominal(size: str, us: str, si: str) -> Quantity:
    row = tables.bar(size)
    column = us if row[us] else si
    return quantity(float(row[column]), units.unit(column.partition("[")[2].rstrip("]")))
