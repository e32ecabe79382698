"""How things look in a notebook: the one place where the core asks the room of showing, when somebody looks.

The core knows nobody and imports nobody. Whoever displays a calculation, a record, a check or a run has a notebook or
a table in mind; only then is `deckcalc.show.display` imported, by its name.
"""

from __future__ import annotations

import importlib
from collections.abc import Sequence
from typing import Any, Protocol


class Hand(Protocol):
    """A calculation written out by hand, as far as the core knows it."""

    result: Any

    @property
    def lines(self) -> Sequence[Any]:
        """The printed lines."""

    def markdown(self, remarks: bool = True) -> str:
        """Return it as Markdown."""


def shown() -> Any:
    """Return the module that shows things, imported when it is first asked for."""
    return importlib.import_module("deckcalc.show.display")


class Shown:
    """Something that a notebook shows as a small table."""

    def _repr_html_(self) -> str:
        return str(shown().html(self))


def show_record(record: type) -> None:
    """Give a record of results its table in notebooks."""
    if "_repr_html_" not in vars(record):
        record._repr_html_ = Shown._repr_html_  # type: ignore[attr-defined]
        record._repr_latex_ = lambda self: str(shown().record_latex(self))  # type: ignore[attr-defined]


def frame(thing: Any, system: str = "SI") -> Any:
    """Return records, runs or checks as a pandas DataFrame, units in the heads.

    Parameters
    ----------
    thing : record, Run, Check, sequence of such, or Job
        A record whose fields are arrays gives a row for each element; runs are all of one calculation; a job gives
        its checks, in its own units.
    system : {"SI", "US"}

    Returns
    -------
    pandas.DataFrame
        Numbers in full, not rounded. Checks stand in rows of different kinds, so that a column of theirs has the unit.

    Raises
    ------
    InputError
        If it is none of these.

    Examples
    --------
    >>> from deckcalc.steel import section_loss
    >>> frame(section_loss("0.31 in^2", "0.60 in, 0.55 in"), "US").round(3).iloc[0].to_dict()
    {'d_mean [in]': 0.575, 'd_r [in]': 0.55, 'A_r [in²]': 0.238, 'A_lost [in²]': 0.072, 'loss [%]': 23.36}
    """
    return shown().frame(thing, system)
