"""How the trade spells numbers, lengths and stations: all that one text can be, so that nobody has to guess.

A text has one reading, several (which the reader refuses, and names), or none; `right` says what would be right then. The
decimal sign is the point; a comma is one where it can be nothing else.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from typing import NamedTuple

#: The longest text that is read.
LONGEST = 60
#: Signs of print and of the typewriter that stand for one another.
ALIKE = str.maketrans({"−": "-", "‐": "-", "‑": "-", "′": "'", "’": "'", "″": '"', "”": '"', "⁄": "/"})
VULGAR = {sign: Fraction(unicodedata.numeric(sign)).limit_denominator(10) for sign in "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"}
BESIDE = re.compile(rf"(?<=\d)(?=[{''.join(VULGAR)}])")
MARKS = {"'": "ft", '"': "in"}
FRACTION = re.compile(r"(?:(\d+)[ -])?(\d+) ?/ ?(\d+)(?![\d.,])", re.A)
#: Groups of three digits and a decimal sign, where two signs, or two groups, tell which is which.
POINT = r"[1-9]\d{0,2}(?:,\d{3})+\.\d*|[1-9]\d{0,2}(?:,\d{3}){2,}"
COMMA = r"[1-9]\d{0,2}(?:\.\d{3})+,\d+|[1-9]\d{0,2}(?:\.\d{3}){2,}|\d*,\d+"
BLANK = r"[1-9]\d{0,2}(?: \d{3})+(?:[.,]\d+)?"
NUMBER = re.compile(
    rf"(?:(?:\d+\.?\d*|\.\d+)[eE][-+]?\d+)|(?:(?P<blank>{BLANK})|(?P<comma>{COMMA})|{POINT})(?![\d.,])|"
    r"(?:\d+\.?\d*|\.\d+)(?![\d,])",
    re.A,
)
FEET = re.compile(
    r"""(?P<sign>[-+]?)(?P<feet>\d+)[ ]?(?:'|ft\.?|feet|foot)[ ]?[-–]?[ ]?
    (?P<inches>(?:\d+[ -])?\d+[ ]?/[ ]?\d+|\d+(?:[.,]\d+)?)[ ]?(?P<mark>"|inch(?:es)?|in\.?)?""",
    re.A | re.I | re.X,
)
STATION = re.compile(
    r"(?P<sign>[-+]?)(?P<before>\d+)\+(?P<after>\d+)(?P<decimals>[.,]\d+)? ?(?P<unit>'|[a-z]+\.?)?", re.A | re.I
)
PREFIX = re.compile(r"sta(?:tion\b|\b|(?=\d))\.? ?", re.I)
#: Units of a station by the digits after its plus: those of 100 ft or 100 m have two, those of 1000 m have three.
UNITS = {"ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "m": "m"}


SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
#: Units whose letters may stand in either case, where no other unit of the kind is meant.
USUAL = {
    name.casefold(): name
    for name in (
        "mm", "cm", "m", "km", "in", "ft", "yd", "sq", "cu", "MPa", "kPa", "GPa", "psi", "ksi", "psf", "pcf", "plf", "klf",
        "kip", "kips", "kN", "lb", "lbs", "lbf", "kg", "oz", "gal", "mL", "mV", "min",
    )
}  # fmt: skip
#: A unit: names (micro, ohm and angstrom in either coding) with powers up to 4, joined by signs or blanks, or such a product in brackets; no deeper.
_LETTER = r"A-Za-z°\u00b5\u03bc\u03a9\u2126\u00c5\u212b"
_NAME = rf"[{_LETTER}][{_LETTER}0-9_]*(?: ?\*\* ?(?:-?[1-4]|\(-?[1-4]\)))?"
_SIGN = r"(?: ?[*/] ?| )"
_PART = rf"(?:{_NAME}|\( ?{_NAME}(?:{_SIGN}{_NAME})* ?\))"
UNIT = re.compile(rf"(?:(?:1 ?/ ?)?{_PART}(?:{_SIGN}{_PART})*)?")


class Reading(NamedTuple):
    """One thing that a text can be: a number, and its unit as written."""

    number: Fraction | float
    unit: str

    def __str__(self) -> str:
        return f"{float(self.number):.15g} {self.unit}".strip()


def plain(text: str) -> str:
    """Return a text with single blanks, and its signs of print as those of the typewriter.

    Examples
    --------
    >>> plain("−2½″")
    '-2 1/2 "'
    """
    text = text.replace("''", '"')
    if not text.isascii():
        text = BESIDE.sub(" ", text.translate(ALIKE))
        text = "".join(f"{VULGAR[sign]} " if sign in VULGAR else sign for sign in text)
    return " ".join(text.split())


def readings(text: str, along: bool = False) -> tuple[Reading, ...]:
    r"""Return all that a text can be, without a look at its unit.

    Parameters
    ----------
    text : str
        One cell of a table, or one field.
    along : bool
        Whether it may be a station, such as ``12+34.5 ft``.

    Returns
    -------
    tuple of Reading
        None if it begins with no number, or with one that has to be written in another way.

    Examples
    --------
    >>> [str(one) for one in readings("22,000 mm")]
    ['22 mm', '22000 mm']
    >>> [str(one) for text in ("0,5 m", "1,250.5 lb", "2'-6 1/2\"", "2½ in", "1 250 mm") for one in readings(text)]
    ['0.5 m', '1250.5 lb', '30.5 in', '2.5 in', '1250 mm']
    >>> [str(one) for one in readings("sta 12+60", along=True)]
    ['1260 ft', '1260 m']
    """
    if len(text) > LONGEST:
        return ()
    text = plain(text)
    if along:
        text = PREFIX.sub("", text, count=1) if PREFIX.match(text) else text
        if match := STATION.fullmatch(text):
            return _station(match)
    if (match := FEET.fullmatch(text)) and match["mark"]:
        return _feet(match)
    sign = -1 if text.startswith("-") else 1
    text = text[1:] if text[:1] in ("-", "+") else text
    if match := FRACTION.match(text):
        whole, over, under = (int(part or 0) for part in match.groups())
        numbers: list[Fraction | float] = [whole + Fraction(over, under)] if under else []
    elif match := NUMBER.match(text):
        numbers = _numbers(match)
    else:
        return ()
    unit = text[match.end() :].strip()
    return tuple(Reading(sign * number, MARKS.get(unit, unit)) for number in numbers)


def _numbers(match: re.Match[str]) -> list[Fraction | float]:
    """Return what a number without a fraction bar can be."""
    text = match[0]
    if match["blank"]:
        return [Fraction(text.replace(" ", "").replace(",", "."))]
    if not match["comma"]:
        return [float(text.replace(",", ""))]
    decimal = Fraction("0" + text.replace(".", "").replace(",", "."))
    return [decimal, Fraction(text.replace(",", ""))] if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text) else [decimal]


def _feet(match: re.Match[str]) -> tuple[Reading, ...]:
    """Return feet and inches as inches; none if the inches make a foot."""
    inches = readings(match["inches"].replace(",", "."))
    if not inches or inches[0].number >= 12:
        return ()
    number = 12 * int(match["feet"]) + inches[0].number
    return (Reading(-number if match["sign"] == "-" else number, "in"),)


def _station(match: re.Match[str]) -> tuple[Reading, ...]:
    """Return what a station can be, in the units that stations have."""
    digits = len(match["after"])
    written = (match["unit"] or "").rstrip(".").lower()
    units = [UNITS[written]] if written in UNITS else [] if written or digits != 2 else ["ft", "m"]
    if digits not in (2, 3) or (digits == 3 and units != ["m"]):
        return ()
    number = Fraction(match["before"] + match["after"] + (match["decimals"] or "").replace(",", "."))
    return tuple(Reading(-number if match["sign"] == "-" else number, unit) for unit in units)


def right(text: str, along: bool = False) -> str:
    r"""Return what would be right for a text that has no reading, or a reading with something left over; may be empty.

    Examples
    --------
    >>> right("2'-6")
    'its inches have no mark; write 2\'-6" or 2 ft 6 in'
    >>> right("12+6 ft", along=True)
    'a station has two digits after the plus, 12+06 or 12+60, or three in metres'
    """
    text = plain(text[:LONGEST])
    if along and (match := STATION.fullmatch(PREFIX.sub("", text, count=1))):
        before, after, rest = match["before"], match["after"], match["decimals"] or ""
        if len(after) == 1:
            return (
                f"a station has two digits after the plus, {before}+0{after} or {before}+{after}0, or three in metres"
            )
        if len(after) == 3:
            return f"a station with three digits after the plus is in metres, 1000 m to a station; write {before}+{after}{rest} m"
        return "a station is in ft or m, with two digits after the plus, or three in metres"
    if match := FEET.fullmatch(text):
        feet, inches = match["feet"], match["inches"]
        if not match["mark"]:
            return f"its inches have no mark; write {feet}'-{inches}\" or {feet} ft {inches} in"
        return "inches beside feet are less than 12"
    if re.match(r"[-+]?[\d.]*,", text):
        return "write the decimal point as “.”"
    return ""


def lacks_unit(cell: str) -> bool:
    """Whether a cell of a table has a number and no unit, so that it takes that of its column.

    Examples
    --------
    >>> [lacks_unit(cell) for cell in ("12+60", "sta 12+60", "2½", "1e3", "2'-6", "65 mm", "#5", "5 %")]
    [True, True, True, True, False, False, False, False]
    """
    number = re.sub(r"(?<=[\d.])[eE](?=[-+]?\d)", "", PREFIX.sub("", plain(cell), count=1))
    return not re.search(r"[^\W\d_]|[%#°'\"]", number)


def in_usual_case(unit: str) -> str:
    """Return a unit with the letters of the trade's own units in their usual case.

    Examples
    --------
    >>> in_usual_case("LB/YD^3"), in_usual_case("Mpa")
    ('lb/yd^3', 'MPa')
    """
    return re.sub(r"[A-Za-z]+", lambda match: USUAL.get(match[0].casefold(), match[0]), unit)


def unit(text: str) -> str | None:
    """Return a unit as people write it in the signs of a formula; None if it is no unit by its form.

    Examples
    --------
    >>> unit("lb/yd³"), unit("cu. yd."), unit("lb per sq in"), unit("5")
    ('lb/yd**3', 'yd**3', 'lb / in**2', None)
    """
    text = re.sub(r"\bper\b", "/", text)
    text = re.sub(r"\b(sq|square|cu|cubic)\b\.? ?([a-z]+)\b\.?", lambda m: f"{m[2]}^{2 if m[1][0] == 's' else 3}", text)
    plain = re.sub(
        r"(?<=[a-zA-Z])([⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)", lambda m: "**" + m[1].translate(SUPERSCRIPTS), " ".join(text.split())
    )
    plain = re.sub(r"\b(mm|cm|m|in|ft|yd)([234])\b", r"\1**\2", plain.replace("·", "*").replace("^", "**"))
    plain = re.sub(r"/\s*100\s*kg\b", "/hundred_kilograms", plain).replace("fl oz", "floz")
    plain = re.sub(r"Δ\s*°\s*([CF])\b", r"delta_deg\1", plain)
    plain = re.sub(r"°\s*([CF])\b", r"deg\1", plain).replace("%", "percent")
    plain = re.sub(r"(?<=[a-zA-Z])\.(?=[a-zA-Z])", "*", plain)  # kN.m
    plain = re.sub(r"(?<=[a-zA-Z])\.(?=[ */)]|$)", "", plain)  # in.
    return plain if UNIT.fullmatch(plain) and "__" not in plain else None
