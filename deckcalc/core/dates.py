"""Dates and times of day as people write them; what could be two dates, or two moments, is refused with both."""

from __future__ import annotations

import datetime
import re

from deckcalc.core.clock import MONTHS, WEEKDAYS
from deckcalc.core.units import InputError, clipped

#: The longest text of a date with a time.
LONGEST = 60
WANTED = "a date such as 2026-10-09"
WANTED_MOMENT = "a local date and time such as 2026-10-09 21:00"
_MONTH = r"(?P<month>[A-Za-z]{3,9})\.?"
_WEEKDAY = r"(?:(?P<weekday>[A-Za-z]{3,9})\.?,? )?"
#: Forms of a date. A date with points has its day first; with strokes or hyphens either may come first.
FORMS = tuple(
    re.compile(form + r"(?!\d)", re.A)
    for form in (
        r"(?P<year>\d{4})(?P<sign>[-/.])(?P<m>\d{1,2})(?P=sign)(?P<d>\d{1,2})",
        r"(?P<d>\d{1,2})\. ?(?P<m>\d{1,2})\. ?(?P<year>\d{4})",
        r"(?P<a>\d{1,2})(?P<sign>[-/])(?P<b>\d{1,2})(?P=sign)(?P<year>\d{4})",
        _WEEKDAY + r"(?P<d>\d{1,2})(?:st|nd|rd|th|\.)?[- ]?" + _MONTH + r",?[- ]?(?P<year>\d{4})",
        _WEEKDAY + _MONTH + r" ?(?P<d>\d{1,2})(?:st|nd|rd|th)?,? ?(?P<year>\d{4})",
    )
)
SHORT_YEAR = re.compile(
    r"\d{1,2}([-/.])\d{1,2}\1\d{2}(?!\d)|.{0,12}[A-Za-z]\.?,?[- ]?(?:\d{1,2}, ?)?\d{2}(?![\d:])", re.A
)
TIME = re.compile(
    r"(?P<hour>\d{1,2})(?::(?P<minute>\d{2})(?::(?P<second>\d{2})(?:\.0*)?)?)? ?(?P<half>[ap]\.? ?m\.?|noon|midnight)?",
    re.A | re.I,
)
#: The twelfth hour by a name that leaves open which night it belongs to.
MIDNIGHT = re.compile(r"(?:12 )?midnight|12(?::00)? ?a\.? ?m\.?", re.I)
OFFSET = re.compile(r"(?:\d|m\.?) ?(?:Z|UTC|GMT|[A-Z]{2,4}|(?:UTC|GMT)? ?[-+]\d{1,2}(?::?\d{2})?)", re.A)


def _month(name: str) -> int | None:
    """Return the number of a month by its name, in full or by three letters or more."""
    found = [number for number, month in enumerate(MONTHS, 1) if month.lower().startswith(name.lower())]
    return 9 if name.lower() == "sept" else found[0] if len(found) == 1 else None


def _day(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return None


def written(day: datetime.date) -> str:
    """Return a date in words that nobody reads in two ways."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _date_in(text: str, wanted: str) -> tuple[datetime.date, str]:
    """Return the date with which a text begins, and what follows it."""
    match = next((match for form in FORMS if (match := form.match(text))), None)
    if match is None:
        if SHORT_YEAR.match(text):
            raise InputError(f"found “{text}”: write the year with four digits; wanted {wanted}")
        raise InputError(f"found “{clipped(text, LONGEST)}”, wanted {wanted}")
    parts, year = match.groupdict(), int(match["year"])
    if "a" in parts:
        a, b = int(match["a"]), int(match["b"])
        ways = [_day(year, b, a), _day(year, a, b)]
    else:
        month = _month(match["month"]) if "month" in parts else int(match["m"])
        ways = [_day(year, month, int(match["d"])) if month else None]
    found = list(dict.fromkeys(day for day in ways if day))
    if len(found) > 1:
        raise InputError(
            f"found “{text}”, which may be {written(found[0])} or {written(found[1])}; write {found[0]} or {found[1]}"
        )
    if not found:
        first = ", with its day before its month as points have it" if match.re is FORMS[1] else ""
        raise InputError(f"found “{text}”: there is no such day{first}; wanted {wanted}")
    if named := parts.get("weekday"):
        right = WEEKDAYS[found[0].weekday()]
        if not right.lower().startswith(named.lower()):
            raise InputError(f"found “{text}”: {written(found[0])} is a {right}; wanted {wanted}")
    return found[0], text[match.end() :]


def _text(value: object, wanted: str) -> str:
    """Return a text on one line, of a length that is read."""
    if isinstance(value, bool | int | float) or value is None:
        raise InputError(f"found “{clipped(value)}”, wanted {wanted}")
    text = " ".join(str(value).split())
    if len(text) > LONGEST:
        raise InputError(f"found “{clipped(text)}”, wanted {wanted}")
    return text


def read_date(value: object) -> datetime.date:
    """Read a date.

    Parameters
    ----------
    value : str or date
        ``2026-10-09``, ``9.10.2026`` (day first), ``27/11/2026``, ``11/27/2026``, ``27 Nov 2026``, ``November 27, 2026``.

    Raises
    ------
    InputError
        If it is no date, could be two, or has a time beside it.

    Examples
    --------
    >>> read_date("27/11/2026") == read_date("Nov 27, 2026") == datetime.date(2026, 11, 27)
    True
    >>> read_date("03/04/2026")
    Traceback (most recent call last):
    deckcalc.core.units.InputError: found “03/04/2026”, which may be 3 April 2026 or 4 March 2026; write 2026-04-03 or 2026-03-04
    """
    if isinstance(value, datetime.datetime):
        value = value.date() if value.time() == datetime.time() and value.tzinfo is None else value
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    text = _text(value, WANTED)
    day, rest = _date_in(text, WANTED)
    if rest and not re.fullmatch(r"[T ]0?0:00(?::00)?", rest):
        raise InputError(f"found “{text}”, wanted {WANTED}, with nothing beside it")
    return day


def read_time(value: object) -> datetime.time:
    """Read a time of day, to the minute.

    Parameters
    ----------
    value : str or time
        ``21:00``, ``9:00 pm``, ``9 p.m.``, ``12 noon``, ``midnight``.

    Raises
    ------
    InputError
        If it is no time of day.

    Examples
    --------
    >>> read_time("9 p.m.") == read_time("21:00") == datetime.time(21)
    True
    """
    if isinstance(value, datetime.time) and not value.second and not value.microsecond and value.tzinfo is None:
        return value
    wanted = "an hour of the day such as 20:00"
    text = _text(value, wanted)
    return _time(text, text, wanted)


def _time(text: str, whole: str, wanted: str) -> datetime.time:
    found = f"found “{whole}”"
    if text.lower() in ("noon", "midday", "midnight"):
        return datetime.time(0 if text.lower() == "midnight" else 12)
    match = TIME.fullmatch(text)
    half = (match["half"] or "").lower()[:1] if match else ""
    if match is None or not (match["minute"] or half):
        if digits := re.fullmatch(r"(\d{1,2})[h.]?(\d{2})(?: ?h)?", text, re.A):
            raise InputError(f"{found}: write the hour as {digits[1]}:{digits[2]}; wanted {wanted}")
        if OFFSET.search(text):
            raise InputError(f"{found}: leave out the time zone, the clock is that of the bridge; wanted {wanted}")
        raise InputError(f"{found}, wanted {wanted}")
    hour, minute = int(match["hour"]), int(match["minute"] or 0)
    if int(match["second"] or 0):
        raise InputError(f"{found}: write whole minutes; wanted {wanted}")
    if (half in ("n", "m") and (hour, minute) != (12, 0)) or (half in ("a", "p") and not 1 <= hour <= 12):
        raise InputError(f"{found}: there is no such hour; wanted {wanted}")
    if half in ("a", "p", "m"):
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour == 24 and not minute:
        raise InputError(f"{found}: write 00:00 of the day after; wanted {wanted}")
    if hour > 23 or minute > 59:
        raise InputError(f"{found}, wanted {wanted}")
    return datetime.time(hour, minute)


def read_moment(value: object) -> datetime.datetime:
    """Read a local date and time: any form of `read_date` and of `read_time`, with a blank, a comma or T between.

    Raises
    ------
    InputError
        If either cannot be read, it may be either midnight of a day, or there is a time zone: the clock is that of the bridge.

    Examples
    --------
    >>> read_moment("27 Nov 2026, 9:00 pm") == read_moment("2026-11-27T21:00") == datetime.datetime(2026, 11, 27, 21)
    True
    """
    if isinstance(value, datetime.datetime) and value.tzinfo is None:
        return value
    text = _text(value, WANTED_MOMENT)
    day, rest = _date_in(text, WANTED_MOMENT)
    time = re.fullmatch(r"(?:, ?| |T)(.+)", rest)
    if not time:
        raise InputError(f"found “{text}”{'' if rest else ' without a time'}, wanted {WANTED_MOMENT}")
    if MIDNIGHT.fullmatch(time[1]):
        raise InputError(
            f"found “{text}”, which may be the midnight that begins the day or the one that ends it; write {day} 00:00, or 00:00 "
            "of the day after"
        )
    return datetime.datetime.combine(day, _time(time[1], text, WANTED_MOMENT))
