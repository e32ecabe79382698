"""The widget in which a page of live calculations stands in a notebook: what was typed in, what is shown out.

The browser sends what was typed with the number of the asking; the answer carries that number back, so that the page knows
when none comes. Both are held by the widget, and so by a notebook that is saved.
"""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import anywidget
import traitlets

from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.forms import ByForm, chosen
from deckcalc.core.units import InputError
from deckcalc.live.pages import Page, Part


def asset(name: str) -> str:
    """Return a file that travels with the package."""
    return (files("deckcalc.live") / name).read_text(encoding="utf-8")


class Workbook(anywidget.AnyWidget):
    """A page of live calculations; see `workbook` and `chain`.

    Attributes
    ----------
    typed : dict of str
        What stands in each field, by “part.argument”.
    system : {"SI", "US"}
    asked : int
        Number of the last asking.
    shown : dict
        The answer to it.
    """

    _esm = asset("make.js") + asset("form.js")
    _css = asset("form.css")
    typed = traitlets.Dict(key_trait=traitlets.Unicode(), value_trait=traitlets.Unicode()).tag(sync=True)
    system: Any = traitlets.Enum(("SI", "US"), "SI").tag(sync=True)
    asked = traitlets.Int(0).tag(sync=True)
    declared: Any = traitlets.List().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)

    def __init__(self, page: Page) -> None:
        self.page = page
        typed = page.begin()
        super().__init__(
            typed=typed, system=page.system, declared=page.declared(), shown={"asked": 0, **page.answer(typed)}
        )
        self.observe(self.work, names=["asked"])

    def work(self, change: Any = None) -> None:
        """Answer what was asked last."""
        with self.hold_sync():
            if self.system != self.page.system:
                self.typed = self.page.restated(self.typed, self.system)
                self.declared = self.page.declared()
            self.shown = {"asked": self.asked, **self.page.answer(self.typed)}

    def type(self, system: str = "", **values: str) -> dict[str, Any]:
        """Type into fields, as a person does in the browser, and return what the page then shows.

        Parameters
        ----------
        system : {"SI", "US"}, optional
            Switches the units first.
        **values : str
            By argument; where several parts of the page have one of the name, all of them.
        """
        if system and system != self.system:
            self.system = system
            self.asked += 1
        if unknown := set(values) - {key.rsplit(".", 1)[1] for key in self.typed}:
            raise InputError(f"the page has no field {', '.join(sorted(unknown))}")
        self.typed = {key: values.get(key.rsplit(".", 1)[1], text) for key, text in self.typed.items()}
        self.asked += 1
        return self.shown

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """Show the hand calculation alone where no form can be shown: printed, exported, read as text."""
        made = super()._repr_mimebundle_(**kwargs)
        data, metadata = made if isinstance(made, tuple) else (made or {}, {})
        titles = "; ".join(part.calculation.title for part in self.page.parts.values())
        return {**data, "text/markdown": self.page.markdown(), "text/plain": titles}, metadata


def workbook(calculation: Calculation | ByForm, system: units.System = "SI", **start: str) -> Workbook:
    """Return the form of a calculation, with the hand calculation beside it.

    Parameters
    ----------
    calculation : Calculation
        Any declared calculation; its declaration is all that the form needs.
    system : {"SI", "US"}
        Unit system to begin with.
    **start : str
        Values to begin with, as people write them: ``d="15.2 mm, 14.9 mm"``; and `form`, where there are forms.

    Returns
    -------
    Workbook

    Raises
    ------
    InputError
        If a value is given for something that is no argument.
    """
    calculation, start = chosen(calculation, start)
    if strange := set(start) - set(calculation.params):
        raise InputError(
            f"{calculation.key} has no argument {', '.join(sorted(strange))}; it takes {', '.join(calculation.params)}"
        )
    return Workbook(Page([Part(calculation.name, calculation, start)], system))
