"""A rule that is in print in two unit systems, rounded apart: one body, and the constants and units of each form."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Generic

from deckcalc.core import looks, units
from deckcalc.core.boundary import Form, Given, Words
from deckcalc.core.calculation import REGISTER, Calculation, R
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError

__all__ = ["BOTH", "ByForm", "Form", "calculation_by_form", "chosen"]


class ByForm(Generic[R]):
    """A calculation that has forms. Call it with quantities and a form; `form` gives one form alone.

    Examples
    --------
    >>> from deckcalc.curing import modulus
    >>> f"{modulus('28 MPa', form='SI').to('MPa'):.0f~P}"
    '24870 MPa'
    >>> modulus.form("US").key
    'curing.modulus (US)'
    """

    def __init__(self, function: Callable[..., R], forms: Mapping[str, Calculation[..., R]]) -> None:
        self.forms = dict(forms)
        self.name = self.__name__ = self.__qualname__ = function.__name__
        self.__doc__, self.__module__, self.__wrapped__ = function.__doc__, function.__module__, function
        self.__signature__ = self.worded()

    def __repr__(self) -> str:
        return f"{self.__module__}.{self.name}"

    def __get__(self, instance: object, owner: type | None = None) -> ByForm[R]:
        """Return itself: what has this is a routine, so that help() prints its signature."""
        return self

    def __reduce__(self) -> str:
        """Pickle and copy as what it is: the one declaration of its name."""
        return self.name

    def worded(self) -> inspect.Signature:
        """Return the signature in words; where the forms differ, the words of each."""
        signatures = {name: one.worded() for name, one in self.forms.items()}
        first = next(iter(signatures.values()))
        shown = []
        for name, parameter in first.parameters.items():
            said = {form: str(one.parameters[name].annotation) for form, one in signatures.items()}
            alike = len(set(said.values())) == 1
            words = said.popitem()[1] if alike else "; ".join(f"{form}: {text}" for form, text in said.items())
            shown.append(parameter.replace(annotation=Words(words)))
        wanted = Words(f"one of {', '.join(self.forms)}")
        form = inspect.Parameter("form", inspect.Parameter.KEYWORD_ONLY, annotation=wanted)
        return first.replace(parameters=[*shown, form])

    def form(self, name: str) -> Calculation[..., R]:
        """Return the calculation in one form.

        Raises
        ------
        InputError
            If it has no such form; the message names those that it has.
        """
        if name not in self.forms:
            found = f"form is “{name}”" if name else "no form is given"
            raise InputError(f"{self.name}: {found}, wanted one of {', '.join(self.forms)}")
        return self.forms[name]

    def __call__(self, *args: Any, form: str = "", **kwargs: Any) -> R:
        """Calculate in one form with quantities, scalars or arrays, or with values as people write them."""
        return self.form(form)(*args, **kwargs)

    def by_hand(self, *args: Given, form: str = "", system: units.System = "SI", **arguments: Given) -> looks.Hand:
        """Write one form out by hand, as `Calculation.by_hand`."""
        return self.form(form).by_hand(*args, system=system, **arguments)

    def table(self, frame: Any, system: units.System = "SI", *, form: str = "", **same: Given) -> Any:
        """Calculate every row of a pandas DataFrame in one form, as `Calculation.table`."""
        return self.form(form).table(frame, system, **same)

    def __iter__(self) -> Iterator[Calculation[..., R]]:
        return iter(self.forms.values())

    def __contains__(self, calculation: object) -> bool:
        return calculation in self.forms.values()


#: The forms of a calculation whose look-ups alone differ: they take the name of the form.
BOTH: dict[str, Form] = {"SI": Form(), "US": Form()}


def chosen(
    calculation: Calculation[..., R] | ByForm[R], given: Mapping[str, Any]
) -> tuple[Calculation[..., R], dict[str, Any]]:
    """Return the calculation in the form that is given among the arguments, and the other arguments."""
    if isinstance(calculation, Calculation):
        return calculation, dict(given)
    others = {name: value for name, value in given.items() if name != "form"}
    return calculation.form(str(given.get("form", ""))), others


def calculation_by_form(
    *, title: str, forms: Mapping[str, Form], source: Cite | tuple[Cite, ...] = (), notes: tuple[str, ...] = (),
    unchecked: str = "",
) -> Callable[[Callable[..., R]], ByForm[R]]:  # fmt: skip
    """Declare a calculation whose forms differ in constants, units, ranges and sources alone.

    The body takes the constants as keyword-only arguments; the caller gives none of them and chooses a form.

    Parameters
    ----------
    title, source, notes, unchecked
        As for `calculation`, where a form has none of its own.
    forms : dict of Form
        By name, for instance SI and US.

    Returns
    -------
    decorator

    Raises
    ------
    TypeError
        At import, as for `calculation`, or if a constant is missing or unknown.
    """

    def declare(function: Callable[..., R]) -> ByForm[R]:
        made = {}
        for name, form in forms.items():
            cites = form.source or source
            one = Calculation(
                function, form.title or title, cites if isinstance(cites, tuple) else (cites,), form.units,
                form.notes or notes, form.unchecked or unchecked, form, name,
            )  # fmt: skip
            made[name] = REGISTER[one.key] = one
        return ByForm(function, made)

    return declare
