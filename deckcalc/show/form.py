"""A calculation under sliders: a form made from its declaration, with the hand calculation beside it.

Values are text with a unit, as in a job file. Nothing is clamped: a value that cannot be used gets a message under
its field, and the last good hand calculation stays, marked as such.
"""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from deckcalc import published
from deckcalc.core import units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation
from deckcalc.core.forms import ByForm, chosen
from deckcalc.core.units import InputError
from deckcalc.published import middle, written
from deckcalc.show.hand import HandCalculation
from deckcalc.show.proof import ReadBackError

STALE = "The hand calculation is that of the last good values."
FORM = widgets.Layout(flex="0 0 26em")
BESIDE = widgets.Layout(flex="1 1 46em")  # under the form where the page is narrow
SCROLLED = widgets.Layout(max_height="48em", overflow="auto")  # the form stays in sight
UNDER = widgets.Layout(margin="0 1em 2px 7.7em")
NAME = {"description_width": "7em"}


class Workbook(widgets.Box):
    """The form of one calculation.

    Parameters
    ----------
    calculation : Calculation
    start : dict of str
        Values to begin with, as people write them; where missing, the middle of the range.
    system : {"SI", "US"}
    """

    def __init__(self, calculation: Calculation, start: dict[str, str], system: str) -> None:
        self.calculation, self.quiet = calculation, True
        systems = [(f"{name} units", name) for name in units.SYSTEMS]
        self.system = widgets.ToggleButtons(options=systems, value=system, style={"button_width": "7em"}, layout=UNDER)
        self.fields: dict[str, Any] = {}
        self.hints: dict[str, Any] = {}
        self.messages: dict[str, Any] = {}
        rows = []
        for name, param in calculation.params.items():
            if param.range and param.range.low == param.range.high and not param.required:
                continue  # can be nothing else: the sheet shows it
            if param.choices:
                field: Any = widgets.Dropdown(options=list(param.choices), value=start.get(name, param.choices[0]))
            else:
                field = widgets.Text(value=start.get(name, middle(param, system)), continuous_update=False)
            field.description, field.tooltip, field.style = name, param.meaning, NAME
            field.observe(self.refresh, names="value")
            self.fields[name] = field
            self.hints[name] = widgets.HTML(small(hint(param, system)), layout=UNDER)
            self.messages[name] = widgets.HTML(layout=UNDER)
            rows.append(widgets.VBox([field, self.hints[name], self.messages[name]]))
        self.status = widgets.HTML()
        least = 2 * len(calculation.params) + 6 * len(calculation.lines)  # stays scrolled where it is while redrawn
        self.sheet = widgets.Output(layout=widgets.Layout(min_height=f"{least}em"))
        self.shown = ""
        self.system.observe(self.restate, names="value")
        form = widgets.VBox([self.system, *rows], layout=FORM)
        beside = widgets.VBox([self.status, widgets.Box([self.sheet], layout=SCROLLED)], layout=BESIDE)
        super().__init__([form, beside], layout=widgets.Layout(flex_flow="row wrap"))
        self.quiet = False
        self.refresh()

    def values(self) -> dict[str, Any]:
        """Read every field; a message stands under each one that cannot be used."""
        found: dict[str, Any] = {}
        for name, field in self.fields.items():
            self.messages[name].value = ""
            try:
                value = published.read_argument(self.calculation, name, field.value)
                self.calculation.params[name].plain(value, self.calculation.name)
                found[name] = value
            except InputError as error:
                self.messages[name].value = small(str(error), "b")
        return found

    def refresh(self, change: Any = None) -> None:
        """Work the calculation out again and show it."""
        if self.quiet:
            return
        found = self.values()
        if len(found) < len(self.fields):
            self.status.value = small(STALE, "b")
            return
        try:
            self.shown = HandCalculation(self.calculation, self.system.value, found)._repr_markdown_()
        except (InputError, ReadBackError) as error:
            self.status.value = small(f"{error}. {STALE}", "b")
            return
        self.status.value = ""
        self.sheet.outputs = ({"output_type": "display_data", "data": {"text/markdown": self.shown}, "metadata": {}},)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """Show the hand calculation alone where no form can be shown."""
        alone = {"text/markdown": self.shown, "text/plain": self.calculation.title}
        return {**super()._repr_mimebundle_(**kwargs), **alone}

    def restate(self, change: Any) -> None:
        """Restate every field in the other unit system, the same physical values."""
        found = self.values()
        self.quiet = True
        for name, mark in self.hints.items():
            mark.value = small(hint(self.calculation.params[name], self.system.value))
        for name, value in found.items():
            kind = self.calculation.params[name].kind
            if kind is not None:
                number = units.magnitude(value, kind, self.system.value)
                self.fields[name].value = written(number, kind, self.system.value)
        self.quiet = False
        self.refresh()


def hint(param: Param, system: str) -> str:
    """Return what a field means and what it may be, in the units of the form."""
    if param.range is None or param.kind is None:
        return param.meaning if param.choices else f"{param.meaning}; {param.wanted}"
    exact = [
        float(units.magnitude(units.read(text, param.kind), param.kind, system))
        for text in (param.range.low, param.range.high)
    ]
    low, high = (float(f"{x:.4g}") for x in exact)
    about = "" if units.np.allclose([low, high], exact, rtol=1e-9, atol=0) else "about "
    start = f"more than {low:g}, to" if param.range.above else f"{low:g} to"
    return f"{param.meaning}; {about}{start} {high:g} {param.kind.symbol(system)}".strip()


def small(text: str, tag: str = "span") -> str:
    """Set a text in close lines, safe in HTML."""
    safe = text.replace("&", "&amp;").replace("<", "&lt;").replace("\n", "<br>")
    return f'<{tag} style="display: block; line-height: 1.3">{safe}</{tag}>'


def workbook(calculation: Calculation | ByForm, system: str = "SI", **start: str) -> Workbook:
    """Return the form of a calculation.

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
    return Workbook(calculation, start, system)
