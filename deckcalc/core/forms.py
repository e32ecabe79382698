"""A rule that is in print in two unit systems, rounded apart: one body, and the constants and units of each form."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from deckcalc.core.boundary import Form
from deckcalc.core.calculation import REGISTER, Calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError

__all__ = ["BOTH", "ByForm", "Form", "calculation_by_form", "chosen"]


class ByForm:
    """A calculation that has forms. Call it with quantities and a form; `form` gives one form alone.

    Examples
    --------
    >>> from deckcalc import Q
    >>> from deckcalc.curing import modulus
    >>> f"{modulus(Q(28, 'MPa'), form='SI').to('MPa'):.0f~P}"
    '24870 MPa'
    >>> modulus.form("US").key
    'curing.modulus (US)'
    """

    def __init__(self, function: Callable[..., Any], forms: Mapping[str, Calculation]) -> None:
        self.forms = dict(forms)
        self.name = self.__name__ = function.__name__
        self.__doc__, self.__module__, self.__wrapped__ = function.__doc__, function.__module__, function
        own = next(iter(self.forms.values())).signature
        form = inspect.Parameter("form", inspect.Parameter.KEYWORD_ONLY, annotation=f"Literal{[*self.forms]}")
        self.__signature__ = own.replace(parameters=[*own.parameters.values(), form])

    def __repr__(self) -> str:
        return f"{self.__module__}.{self.name}"

    def form(self, name: str) -> Calculation:
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

    def __call__(self, *args: Any, form: str = "", **kwargs: Any) -> Any:
        """Calculate in one form with quantities, scalars or arrays."""
        return self.form(form)(*args, **kwargs)

    def __iter__(self) -> Iterator[Calculation]:
        return iter(self.forms.values())

    def __contains__(self, calculation: object) -> bool:
        return calculation in self.forms.values()


#: The forms of a calculation whose look-ups alone differ: they take the name of the form.
BOTH: dict[str, Form] = {"SI": Form(), "US": Form()}


def chosen(calculation: Calculation | ByForm, given: Mapping[str, Any]) -> tuple[Calculation, dict[str, Any]]:
    """Return the calculation in the form that is given among the arguments, and the other arguments."""
    if isinstance(calculation, Calculation):
        return calculation, dict(given)
    others = {name: value for name, value in given.items() if name != "form"}
    return calculation.form(str(given.get("form", ""))), others


def calculation_by_form(
    *, title: str, forms: Mapping[str, Form], source: Cite | tuple[Cite, ...] = (), notes: tuple[str, ...] = (),
    unchecked: str = "",
) -> Callable[[Callable[..., Any]], ByForm]:  # fmt: skip
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

    def declare(function: Callable[..., Any]) -> ByForm:
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
