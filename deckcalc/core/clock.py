"""Local time by named zones: durations across a change of the clocks, and moments in words for people who act on them."""

from __future__ import annotations

import datetime
import zoneinfo
from typing import Literal

from deckcalc.core.units import InputError

Clock = Literal["24 h", "12 h"]

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
EXAMPLE = "America/Chicago or Europe/Berlin"
#: Folders of the database that name offsets, or other editions of it, and no places.
NO_PLACES = ("Etc", "SystemV", "posix", "right")


def zone(name: str) -> zoneinfo.ZoneInfo:
    """Return a time zone by the name of a place.

    Offsets are refused: in the database their sign is reversed (Etc/GMT+6 lies west of Greenwich), and they know no
    daylight saving time.

    Raises
    ------
    InputError
        If there is no such zone, or the name is that of an offset.

    Examples
    --------
    >>> zone("Europe/Berlin").key
    'Europe/Berlin'
    >>> zone("Etc/GMT+6")
    Traceback (most recent call last):
    deckcalc.core.units.InputError: “Etc/GMT+6” is an offset or a short name; wanted area and city such as America/Chicago or Europe/Berlin
    """
    area, _, place = name.partition("/")
    if (place and area in NO_PLACES) or (not place and name in zoneinfo.available_timezones()):
        raise InputError(f"“{name}” is an offset or a short name; wanted area and city such as {EXAMPLE}")
    try:
        return zoneinfo.ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(
            f"“{name}” is no time zone; wanted area and city of the time zone database such as {EXAMPLE}"
        ) from None


def checked(moment: datetime.datetime, place: zoneinfo.ZoneInfo) -> datetime.datetime:
    """Return a local moment, if the clocks of the zone show it just once.

    Raises
    ------
    InputError
        If the clocks skip it, or show it twice.

    Examples
    --------
    >>> checked(datetime.datetime(2026, 3, 29, 2, 30), zone("Europe/Berlin"))
    Traceback (most recent call last):
    deckcalc.core.units.InputError: 2026-03-29 02:30 is skipped by the clocks of Europe/Berlin, which are set forward that night
    """
    offsets = [moment.replace(tzinfo=place, fold=fold).utcoffset() for fold in (0, 1)]
    if offsets[0] != offsets[1]:
        there = moment.replace(tzinfo=place).astimezone(datetime.UTC).astimezone(place).replace(tzinfo=None, fold=0)
        what = "shown twice" if there == moment else "skipped"
        way = "back" if there == moment else "forward"
        raise InputError(
            f"{moment:%Y-%m-%d %H:%M} is {what} by the clocks of {place.key}, which are set {way} that night"
        )
    return moment


def minutes_between(first: datetime.datetime, last: datetime.datetime, place: zoneinfo.ZoneInfo | None) -> float:
    """Return the minutes that pass from one local moment to another.

    Examples
    --------
    >>> night = datetime.datetime(2026, 10, 24, 20), datetime.datetime(2026, 10, 25, 6)
    >>> minutes_between(*night, zone("Europe/Berlin")) / 60, minutes_between(*night, None) / 60
    (11.0, 10.0)
    """
    if place is not None:
        first, last = (one.replace(tzinfo=place).astimezone(datetime.UTC) for one in (first, last))
    return (last - first).total_seconds() / 60


def after(start: datetime.datetime, minutes: int, place: zoneinfo.ZoneInfo | None) -> datetime.datetime:
    """Return the local moment so many minutes after another; `fold` tells the second of two like hours.

    Examples
    --------
    >>> f"{after(datetime.datetime(2026, 3, 28, 20), 600, zone('Europe/Berlin')):%H:%M}"
    '07:00'
    """
    passed = datetime.timedelta(minutes=minutes)
    if place is None:
        return start + passed
    there = (start.replace(tzinfo=place).astimezone(datetime.UTC) + passed).astimezone(place)
    return there.replace(tzinfo=None)


def changes(first: datetime.datetime, last: datetime.datetime, place: zoneinfo.ZoneInfo | None) -> datetime.timedelta:
    """Return by how much the clocks are set on between two local moments; negative where they are set back."""
    if place is None:
        return datetime.timedelta(0)
    offsets = [one.replace(tzinfo=place).utcoffset() or datetime.timedelta(0) for one in (first, last)]
    return offsets[1] - offsets[0]


def time_of_day(moment: datetime.datetime, clock: Clock, place: zoneinfo.ZoneInfo | None = None) -> str:
    """Return the time of day; with the zone's short name where the clocks show that hour twice.

    Examples
    --------
    >>> night = datetime.datetime(2026, 4, 11, 0, 5)
    >>> time_of_day(night, "24 h"), time_of_day(night, "12 h")
    ('00:05', '12:05 a.m.')
    >>> time_of_day(datetime.datetime(2026, 4, 11, 12), "12 h")
    '12 noon'
    """
    hour, minute = moment.hour, moment.minute
    text = f"{hour:02d}:{minute:02d}"
    if clock == "12 h":
        text = f"{(hour + 11) % 12 + 1}:{minute:02d} {'a.m.' if hour < 12 else 'p.m.'}"
        text = {(0, 0): "12 midnight", (12, 0): "12 noon"}.get((hour, minute), text)
    if place is None:
        return text
    here, there = (moment.replace(tzinfo=place, fold=fold) for fold in (moment.fold, 1 - moment.fold))
    return text if here.utcoffset() == there.utcoffset() else f"{text} {here.tzname()}"


def in_words(moment: datetime.datetime, clock: Clock, place: zoneinfo.ZoneInfo | None = None) -> str:
    """Return weekday, date in words and time of day; midnight is that at which the day begins.

    Examples
    --------
    >>> in_words(datetime.datetime(2026, 4, 10, 20), "24 h")
    'Friday 10 April 2026, 20:00'
    >>> in_words(datetime.datetime(2026, 4, 10, 20), "12 h")
    'Friday 10 April 2026, 8:00 p.m.'
    """
    return f"{day_in_words(moment.date())}, {time_of_day(moment, clock, place)}"


def day_in_words(day: datetime.date) -> str:
    """Return weekday and date in words.

    Examples
    --------
    >>> day_in_words(datetime.date(2026, 4, 11))
    'Saturday 11 April 2026'
    """
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"
