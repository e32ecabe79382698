"""What a page of live calculations holds: fields as typed, values as read, and the answer to show, as plain data.

Nothing here knows a browser. A value that cannot be used leaves the last good calculation in its place, marked as old;
nothing is clamped. What was typed is kept with its unit, so that a switch of the units and back changes nothing.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from deckcalc import published
from deckcalc.core import units
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation
from deckcalc.core.check import SATISFIED
from deckcalc.core.ranges import in_system, speaking
from deckcalc.core.units import InputError, Quantity
from deckcalc.live import slider, verdicts
from deckcalc.live.pictures import picture
from deckcalc.live.sheet import inline, lines, symbol_html
from deckcalc.show.hand import HandCalculation
from deckcalc.show.hand import chain as same_digits
from deckcalc.show.proof import ReadBackError

NOTHING_YET = "Nothing can be worked out yet."
OLD = "What stands below is of the last good values."
#: A low end below so much, and below so large a part of the high end, is not told.
NEXT_TO_NOTHING = 1e-3
#: A range from nothing to so much is told as one without an end.
WITHOUT_END = 1e7


@dataclass(frozen=True)
class Source:
    """Where a chained argument comes from: an argument or a result of an earlier part."""

    part: str
    name: str


@dataclass
class Part:
    """One calculation of a page."""

    name: str
    calculation: Calculation
    start: Mapping[str, str]
    takes: Mapping[str, Source] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)  # of the last good calculation
    sheet: HandCalculation | None = None

    @property
    def fields(self) -> Iterator[tuple[str, Param]]:
        """Arguments that have a field: all but those that can be nothing else."""
        for name, param in self.calculation.params.items():
            if not (param.range and param.range.low == param.range.high and not param.required):
                yield name, param

    @property
    def results(self) -> dict[str, Any]:
        """Results of the last good calculation."""
        if self.sheet is None:
            return {}
        answer = self.sheet.result if self.calculation.record else (self.sheet.result,)
        return dict(zip(self.calculation.kinds, answer, strict=True))


Typed = dict[str, str]  # “part.argument”: text


class Page:
    """Calculations on one page, in the order in which they hand results on.

    Parameters
    ----------
    parts : sequence of Part
    system : {"SI", "US"}
    """

    def __init__(self, parts: Sequence[Part], system: units.System) -> None:
        self.parts = {part.name: part for part in parts}
        self.system: units.System = system
        #: What was typed, and what stands for it in the other unit system.
        self.written: dict[str, dict[str, str]] = {}
        self.stops: dict[str, list[str]] = {}
        #: Parts whose last good calculation is not that of the values typed.
        self.old: set[str] = set()

    def begin(self) -> Typed:
        """Return what the fields begin with."""
        found = {}
        for part in self.parts.values():
            known = {**published.example(part.calculation, self.system)[0], **part.start}
            for name, param in part.fields:
                if name not in part.takes:
                    found[f"{part.name}.{name}"] = known.get(name) or first(param, self.system)
        return found

    def restated(self, typed: Typed, system: units.System) -> Typed:
        """Return the same physical values in the other unit system; what cannot be read stays as it is."""
        found = {}
        for key, text in typed.items():
            part, name = key.rsplit(".", 1)
            param = self.parts[part].calculation.params[name]
            pair = self.written.get(key, {})
            if pair.get(self.system) != text:
                pair = {self.system: text}
            if param.kind and system not in pair:
                try:
                    param.read(text)
                    pair[system] = published.restated(param, text, system, digits=5)
                except InputError:
                    pair = {}
            if pair:
                self.written[key] = pair
            found[key] = pair.get(system, text)
        self.system = system
        self.stops.clear()
        return found

    def origin(self, key: str, text: str) -> str:
        """Return what somebody typed for what stands in a field, which may be the same in other units."""
        pair = self.written.get(key, {})
        return next(iter(pair.values())) if text in pair.values() else text

    def answer(self, typed: Typed) -> dict[str, Any]:
        """Work everything out, and return what the page is to show."""
        self.old.clear()
        with speaking(self.system):
            return {"parts": [self.part(part, typed) for part in self.parts.values()]}

    def part(self, part: Part, typed: Typed) -> dict[str, Any]:
        """Work one calculation out."""
        values, messages, waits, fields = {}, {}, [], {}
        for name, param in part.fields:
            key = f"{part.name}.{name}"
            if name in part.takes:
                found, said = self.handed(part, name)
                if isinstance(found, str):
                    waits.append(found)
                else:
                    values[name] = found
                fields[name] = {"text": said}
                continue
            text = typed.get(key, "")
            try:
                values[name] = read(part.calculation, name, self.origin(key, text))
            except InputError as error:
                messages[name] = str(error)
            fields[name] = {"text": text, "message": messages.get(name, ""), **self.slid(key, param, values.get(name))}
        status = self.work(part, values) if not messages and not waits else said_of(messages, waits)
        if status:
            self.old.add(part.name)
        shown: dict[str, Any] = {"fields": fields, "old": bool(status), "status": status}
        if part.sheet is not None:
            judged = list(verdicts.checks(part.calculation, part.results, self.system))
            shown |= {
                "lines": lines(part.sheet),
                "remarks": inline(part.sheet.remarks()),
                "result": self.result(part, {one.title for one in judged}),
                "verdicts": [
                    {"good": one.verdict == SATISFIED, "text": verdicts.words(one, self.system)} for one in judged
                ],
            }
            shown["picture"] = picture(part.calculation, part.values, part.results, self.system)
        elif status:
            shown["status"] = f"{status} {NOTHING_YET}"
        if status and part.sheet is not None:
            shown["status"] = f"{status} {OLD}"
        return shown

    def work(self, part: Part, values: dict[str, Any]) -> str:
        """Work a calculation out; return why it could not be."""
        try:
            sheet = HandCalculation(part.calculation, self.system, values)
            earlier = [one.sheet for one in self.parts.values() if one.sheet is not None and one is not part]
            if part.takes:
                same_digits([*earlier, sheet])
            assert sheet.lines
        except (InputError, ReadBackError) as error:
            return sentence(str(error).removeprefix(f"{part.calculation.name}: "))
        part.sheet, part.values = sheet, values
        return ""

    def handed(self, part: Part, name: str) -> tuple[Any, str]:
        """Return a value that comes from an earlier part, and how it is shown; or the title of what it waits for."""
        source = part.takes[name]
        giver = self.parts[source.part]
        where = f"from “{giver.calculation.title}”"
        known = {**giver.values, **giver.results}
        kind = part.calculation.params[name].kind
        if source.name not in known or giver.name in self.old:
            return giver.calculation.title, f"waits, {where}"
        value = known[source.name]
        text = str(value) if kind is None else units.show(value, kind, self.system)
        return value, f"{text}, {where}"

    def slid(self, key: str, param: Param, value: Any) -> dict[str, Any]:
        """Return the stops of a slider, laid anew where the value has left them, and which of them is nearest."""
        found = self.stops.get(key, [])
        quantity = value if isinstance(value, Quantity) else None if value is None or param.kind is None else units.quantity(value)  # fmt: skip
        if quantity is None or units.np.ndim(quantity.magnitude):
            return {"stops": found, "at": -1}
        at = slider.nearest(found, quantity, param, self.system) if found else -1
        if at < 0:
            found = self.stops[key] = slider.stops(param, quantity, self.system)
            at = slider.nearest(found, quantity, param, self.system) if found else -1
        return {"stops": found, "at": at}

    def result(self, part: Part, judged: Container[str]) -> list[str]:
        """Return what is handed on, or else the last line where no verdict tells it, as sentences."""
        assert part.sheet is not None
        handed = {
            source.name for one in self.parts.values() for source in one.takes.values() if source.part == part.name
        }
        told = [line for line in part.calculation.lines if line.name in handed] or part.calculation.lines[-1:]
        told = [line for line in told if line.name in handed or verdicts.title(line) not in judged]
        return [f"{capital(line.comment)}: {part.sheet.text(line.name)}" for line in told]

    def declared(self) -> list[dict[str, Any]]:
        """Return what a page is made of: title, fields with label, hint and choices."""
        with speaking(self.system):
            return [
                {
                    "name": part.name,
                    "title": part.calculation.title,
                    "fields": [
                        {
                            "name": name,
                            "label": capital(param.meaning or name),
                            "symbol": symbol_html(name) if param.kind else "",
                            "choices": list(param.choices),
                            "hint": "" if name in part.takes else hint(param, self.system),
                            "handed": name in part.takes,
                        }
                        for name, param in part.fields
                    ],
                }
                for part in self.parts.values()
            ]

    def markdown(self) -> str:
        """Return the hand calculations alone, for where no form can be shown."""
        return "\n\n".join(part.sheet.markdown() for part in self.parts.values() if part.sheet is not None)


def first(param: Param, system: str) -> str:
    """Return what a field begins with where nobody says."""
    return param.choices[0] if param.choices else published.middle(param, system)


def capital(text: str) -> str:
    """Return words with a capital letter; a symbol, such as pH, stays as it is."""
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]


def read(calculation: Calculation, name: str, text: str) -> Any:
    """Read a field; what was found is told as it was typed."""
    param = calculation.params[name]
    value = published.read_argument(calculation, name, text)
    try:
        param.plain(value, calculation.name)
    except InputError as error:
        if isinstance(value, Quantity | int | float) or param.choices:
            raise InputError(f"found “{units.clipped(text)}”, wanted {param.wanted}") from None
        raise InputError(str(error).removeprefix(f"{calculation.name}: ")) from None
    return value


def said_of(messages: Mapping[str, str], waits: Sequence[str]) -> str:
    """Return why nothing was worked out."""
    if messages:
        count = len(messages)
        return "One value cannot be used." if count == 1 else f"{count} values cannot be used."
    return f"It waits for “{waits[0]}”."


def sentence(text: str) -> str:
    """Return a fault as a sentence."""
    return capital(text) + ("" if text.endswith(".") else ".")


def hint(param: Param, system: str) -> str:
    """Return what a field may be, in short numbers in the units of the form, each end rounded into the range."""
    if param.choices or param.kind is None:
        return ""
    readings = "; several readings, a comma between them" if param.several else ""
    if param.range is None:
        return f"such as {units.example(param.kind)}{readings}"
    low, high = (in_system(text, param.kind, system, rounding) for text, rounding in ((param.range.low, "ROUND_CEILING"), (param.range.high, "ROUND_FLOOR")))  # fmt: skip
    least, most = (float(units.magnitude(units.read(text, param.kind), param.kind, system)) for text in (low, high))
    first, symbol = short(low)
    last, unit = short(high)
    if most >= WITHOUT_END and least == 0:
        return f"{first} or more {unit}".strip() + readings
    if not param.kind.is_temperature and 0 < least < NEXT_TO_NOTHING * min(1.0, most):
        return f"up to {last} {unit}".strip() + readings
    first = first if symbol == unit else f"{first} {symbol}"
    return f"{'more than ' if param.range.above else ''}{first} to {last} {unit}".strip() + readings


def short(text: str) -> tuple[str, str]:
    """Return the number of a value without nils at its end, in groups where it is long, and its unit."""
    number, _, symbol = text.partition(" ")
    number = number.rstrip("0").rstrip(".") if "." in number else number
    whole, point, rest = number.partition(".")
    if whole.isdigit() and len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", "\u202f")
    return f"{whole}{point}{rest}", symbol
