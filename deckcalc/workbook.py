"""A calculation under sliders: a form made from its declaration, with the hand calculation beside it.

Values are text with a unit, as in a job file. Nothing is clamped: a value that cannot be used gets a message under
its field, and the last good hand calculation stays, marked as such.
"""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
from IPython.display import Markdown

from deckcalc import published, units
from deckcalc.boundary import Param
from deckcalc.calculation import Calculation
from deckcalc.readback import ReadBackError
from deckcalc.sheet import HandCalculation
from deckcalc.units import InputError

STALE = "The hand calculation is that of the last good values."
FORM = widgets.Layout(flex="0 1 25em")
SHEET = widgets.Layout(flex="1 1 48em", max_height="50em", overflow="auto")  # the form stays in sight beside it
UNDER = widgets.Layout(margin="0 0 0 6.5em")
NARROW = {"description_width": "6em"}


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
        self.system = widgets.ToggleButtons(
            options=list(units.SYSTEMS), value=system, description="units", style={**NARROW, "button_width": "5em"}
        )
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
            field.description, field.tooltip, field.style = name, param.meaning, NARROW
            field.observe(self.refresh, names="value")
            self.fields[name] = field
            self.hints[name], self.messages[name] = widgets.HTML(layout=UNDER), widgets.HTML(layout=UNDER)
            rows.append(widgets.VBox([field, self.hints[name], self.messages[name]]))
        self.status = widgets.HTML()
        self.sheet = widgets.Output(layout=SHEET)
        self.shown = ""
        self.system.observe(self.restate, names="value")
        form = widgets.VBox([self.system, *rows, self.status], layout=FORM)
        super().__init__([form, self.sheet], layout=widgets.Layout(flex_flow="row wrap"))
        self.quiet = False
        self.refresh()

    def values(self) -> dict[str, Any]:
        """Read every field; a message stands beside each one that cannot be used."""
        found: dict[str, Any] = {}
        for name, field in self.fields.items():
            self.messages[name].value = ""
            try:
                value = published.read_argument(self.calculation, name, field.value)
                self.calculation.params[name].plain(value, self.calculation.name)
                found[name] = value
            except InputError as error:
                self.messages[name].value = f"<i>{escaped(str(error))}</i>"
        return found

    def refresh(self, change: Any = None) -> None:
        """Work the calculation out again and show it."""
        if self.quiet:
            return
        found = self.values()
        if len(found) < len(self.fields):
            self.status.value = f"<i>{STALE}</i>"
            return
        try:
            shown = HandCalculation(self.calculation, self.system.value, found)._repr_markdown_()
        except (InputError, ReadBackError) as error:
            self.status.value = f"<i>{escaped(str(error))}. {STALE}</i>"
            return
        self.status.value = ""
        self.sheet.outputs = ()
        self.sheet.append_display_data(Markdown(shown))

    def restate(self, change: Any) -> None:
        """Restate every field in the other unit system, the same physical values."""
        found = self.values()
        self.quiet = True
        for name, value in found.items():
            kind = self.calculation.params[name].kind
            if kind is not None:
                number = units.magnitude(value, kind, self.system.value)
                self.fields[name].value = written(number, kind, self.system.value)
        self.quiet = False
        self.refresh()


def written(number: Any, kind: units.Kind, system: str) -> str:
    """Write a value, or readings, as in a job file: short, but without loss that matters."""
    return ", ".join(f"{float(x):.7g} {kind.symbol(system)}".strip() for x in units.np.atleast_1d(number))


def middle(param: Param, system: str) -> str:
    """Return a value to begin with: the default, else the geometric middle of the range."""
    assert param.kind
    if not param.required:
        return written(units.magnitude(param.default, param.kind, system), param.kind, system)
    if param.range is None:
        return units.example(param.kind)
    low, high = (
        units.magnitude(units.read(text, param.kind), param.kind, system)
        for text in (param.range.low, param.range.high)
    )
    centre = (low * high) ** 0.5 if low > 0 else low + (high - low) / 8
    text = f"{float(f'{centre:.2g}'):g} {param.kind.symbol(system)}".strip()
    return ", ".join([text] * param.several.least) if param.several else text


def escaped(text: str) -> str:
    """Make text safe for a message in HTML."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace("\n", "<br>")


def workbook(calculation: Calculation, system: str = "SI", **start: str) -> Workbook:
    """Return the form of a calculation.

    Parameters
    ----------
    calculation : Calculation
        Any declared calculation; its declaration is all that the form needs.
    system : {"SI", "US"}
        Unit system to begin with.
    **start : str
        Values to begin with, as people write them: ``d="15.2 mm, 14.9 mm"``.

    Returns
    -------
    Workbook

    Raises
    ------
    InputError
        If a value is given for something that is no argument.
    """
    if strange := set(start) - set(calculation.params):
        raise InputError(
            f"{calculation.key} has no argument {', '.join(sorted(strange))}; it takes {', '.join(calculation.params)}"
        )
    return Workbook(calculation, start, system)
