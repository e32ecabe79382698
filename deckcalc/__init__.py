"""Calculations for permanent concrete patch repairs of highway bridge decks, written out as hand calculations.

>>> import deckcalc
>>> from deckcalc.steel import section_loss
>>> loss = section_loss(deckcalc.Q(0.31, "in²"), deckcalc.Q([0.58, 0.56], "in"))
>>> f"{loss.loss:.1f~P}"
'20.5 %'
"""

from __future__ import annotations

from typing import Any

from deckcalc.core.looks import frame
from deckcalc.core.units import InputError, Quantity, read, registry, show

__version__ = "0.1.0"
__all__ = ["InputError", "Q", "Quantity", "__version__", "frame", "read", "registry", "show"]


def Q(value: Any, unit: str = "") -> Quantity:
    """Return a quantity: a number or array with a unit as people write it.

    Examples
    --------
    >>> Q(4000, "psi").to("MPa").magnitude.__round__(1)
    27.6
    """
    from deckcalc.core import units

    return registry().Quantity(value, units.unit(unit))
