"""Calculations for permanent concrete patch repairs of highway bridge decks, written out as hand calculations.

>>> import deckcalc
>>> from deckcalc.steel import section_loss
>>> loss = section_loss(deckcalc.Q(0.31, "in²"), deckcalc.Q([0.58, 0.56], "in"))
>>> f"{loss.loss:.1f~P}"
'20.5 %'
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

if not sys.flags.safe_path and ("-m", "deckcalc") in zip(sys.orig_argv, sys.orig_argv[1:], strict=False):
    del sys.path[0]  # the working folder may be a job: what lies in it is data, and nothing of it is imported


if TYPE_CHECKING:
    from deckcalc.core.looks import frame
    from deckcalc.core.units import InputError, Quantity, read, registry, show

__version__ = "0.1.0"
__all__ = ["InputError", "Q", "Quantity", "__version__", "frame", "read", "registry", "show"]


def __getattr__(name: str) -> Any:
    """Read the units when they are first asked for, so that the command line can be interrupted from its start."""
    from importlib import import_module

    if name in __all__:
        return getattr(import_module(f"deckcalc.core.{'looks' if name == 'frame' else 'units'}"), name)
    raise AttributeError(f"module “{__name__}” has no “{name}”")


def __dir__() -> list[str]:
    return __all__


def Q(value: Any, unit: str = "") -> Quantity:
    """Return a quantity: a number or array with a unit as people write it.

    Examples
    --------
    >>> Q(4000, "psi").to("MPa").magnitude.__round__(1)
    27.6
    """
    from deckcalc.core import units

    return units.registry().Quantity(value, units.unit(unit))
