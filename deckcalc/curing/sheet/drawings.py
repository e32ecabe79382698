"""Sheet of curing and opening: its drawings."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from deckcalc.core import units
from deckcalc.curing.design import Placing
from deckcalc.curing.design import year as curing_year
from deckcalc.curing.inputs.rows import celsius
from deckcalc.curing.sheet import ABSENT
from deckcalc.job import Job
from deckcalc.show.figures import STYLE, Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

DASHES = ("-", "--", "-.", ":")


def printed(job: Job, value: Any, unit: str, kind: Any) -> Any:
    """Return plain numbers in the unit in which the job prints a kind."""
    return units.magnitude(units.registry().Quantity(value, unit), units.kind_of(kind), job.system)


def label(job: Job, what: str, kind: Any) -> str:
    """Return a label of an axis."""
    return f"{what} [{units.kind_of(kind).symbol(job.system)}]"


def panels(count: int, height: float, share: bool = False) -> tuple[Figure, list[Any]]:
    """Return a figure with panels side by side."""
    figure = Figure(figsize=(7.0, height), layout="constrained")
    return figure, list(np.atleast_1d(figure.subplots(1, count, sharey=share)))


def hours_of_day(drawing: Any, one: Placing, last: float) -> None:
    """Mark noon and midnight on an axis of hours since the end of placing."""
    first = (24 - one.row.end.hour - one.row.end.minute / 60) % 12
    ticks = np.arange(first, last + 1e-9, 12.0)
    drawing.set_xticks(ticks, [f"{one.moment(t):%d %b\n%H:%M}" for t in ticks], fontsize=6)
    drawing.set_xlim(0, last)


def drying(job: Job) -> Any:
    """Evaporation through the window and the day after, with the limit and the spread of the estimate."""
    if not job.curing.choice:
        return Text("")
    from deckcalc.base.subject import joined
    from deckcalc.curing.formulas import evaporation as air

    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(job.curing.placings), 2.5, share=True)
        for drawing, one in zip(drawn, job.curing.placings, strict=True):
            hours = [hour for hour in one.air if one.hour(hour.time) <= 24]
            each = lambda name, rows=hours: joined([getattr(hour, name) for hour in rows])  # noqa: E731
            rates = air.rate(
                job.curing.choice.evaporation, job.system, one.concrete, each("air"), each("humidity"), each("wind")
            )
            value = np.maximum(units.magnitude(rates, units.kind_of(units.Evaporation), job.system), 0.0)
            x = [one.hour(hour.time) for hour in hours]
            drawing.fill_between(x, 0.6 * value, 1.4 * value, color="0.85", linewidth=0, label="40 % either way")
            drawing.plot(x, value, color="black", marker="o", markersize=2.5, label="evaporation")
            drawing.axhline(float(units.magnitude(job.limit("evaporation").value, units.kind_of(units.Evaporation), job.system)),
                            color="black", linestyle="--", label="limit")  # fmt: skip
            for edge in (one.hour(one.row.start), 0.0):
                drawing.axvline(edge, color="black", linewidth=0.6, linestyle=":")
            drawing.set_title(f"{one.heading}, start {one.row.start:%H:%M}", fontsize=8, loc="left")
            ticks = [h for h in x if one.moment(h).hour % 6 == 0 and one.moment(h).minute == 0]
            drawing.set_xticks(ticks, [f"{one.moment(t):%H:%M}" for t in ticks])
            drawing.set_ylim(bottom=0)
        drawn[0].set_ylabel(label(job, "rate", units.Evaporation))
        drawn[0].legend(fontsize=6, loc="upper right")
    return Picture(
        figure,
        "Evaporation by the hour for concrete at the temperature as placed, had it been placed then. Dotted: start and end of placing.",
    )


def temperatures(job: Job) -> Any:
    """Temperature of thinnest and thickest item, air, and what was measured; equivalent age below."""
    if not job.curing.choice:
        return Text("")
    placings = job.curing.placings
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 4.2), layout="constrained")
        grid = figure.subplots(2, len(placings), squeeze=False, height_ratios=[3, 2])
        for column, one in enumerate(placings):
            top, below = grid[0][column], grid[1][column]
            last = float(one.hours[-1])
            show = lambda T: printed(job, T, "degC", units.Temperature)  # noqa: E731
            air = np.interp(
                one.hours, [one.hour(hour.time) for hour in one.air], [celsius(hour.air) for hour in one.air]
            )
            top.plot(one.hours, show(air), color="0.5", linewidth=0.8, label="air")
            order = dict.fromkeys([int(np.argmax(one.thickness)), int(np.argmin(one.thickness))])
            for index, i in enumerate(order):
                top.plot(
                    one.hours,
                    show(one.temperatures.mean[:, i]),
                    color="black",
                    linestyle=DASHES[index],
                    label=f"{one.items[i]}, model",
                )
                below.plot(
                    one.hours, one.bands[i].age, color="black", linestyle=DASHES[index], label=f"{one.items[i]}, model"
                )
            if one.measured:
                since = [one.hour(reading.time) for reading in one.history]
                top.plot(since, show(np.array([celsius(reading.temperature) for reading in one.history])), "o", color="black",
                         markerfacecolor="white", markersize=3, label="measured")  # fmt: skip
                below.plot(
                    one.measured.hours,
                    one.measured.age,
                    "o",
                    color="black",
                    markerfacecolor="white",
                    markersize=3,
                    label="measured",
                )
            top.set_title(one.heading, fontsize=8, loc="left")
            top.legend(fontsize=6, loc="upper right")
            for drawing in (top, below):
                drawing.axvline(one.hour(one.row.opening), color="black", linewidth=0.6, linestyle=":")
                hours_of_day(drawing, one, last)
            below.set_ylim(bottom=0)
        grid[0][0].set_ylabel(label(job, "temperature", units.Temperature))
        grid[1][0].set_ylabel("equivalent age [h]")
    return Picture(
        figure,
        "Mean temperature of the thickest and the thinnest item and of the air; below, equivalent age of their slowest point. Dotted: "
        "opening asked for.",
    )


def cylinders(job: Job) -> Any:
    """Cylinders, the three curves and the band of the one that is used."""
    subject = job.curing
    if not subject.choice or not subject.fits:
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, (drawing,) = panels(1, 2.6)
        age = np.linspace(0.3 * subject.fit.first, 1.05 * subject.fit.last, 300)
        stress = lambda value: printed(job, value, "MPa", units.Stress)  # noqa: E731
        drawing.fill_between(age, stress(subject.fit.low(age)), stress(subject.fit.high(age)), color="0.88", linewidth=0,
                             label=f"band of one more test, {100 * subject.fit.share:.0f} %")  # fmt: skip
        for style, (name, fit) in zip(DASHES, subject.fits.items(), strict=False):
            drawing.plot(
                age,
                stress(fit.strength(age)),
                color="black",
                linestyle=style,
                label=name + (", used" if fit is subject.fit else ""),
            )
        t, S = zip(*subject.tests, strict=True)
        drawing.plot(
            t, stress(np.array(S)), "o", color="black", markerfacecolor="white", markersize=4, label="cylinders"
        )
        drawing.set_xlabel(f"equivalent age at {job.show(subject.choice.reference, units.Temperature)} [h]")
        drawing.set_ylabel(label(job, "strength", units.Stress))
        drawing.set_ylim(bottom=0)
        drawing.legend(fontsize=7, loc="lower right")
    return Picture(figure, "Strength of the cylinders against equivalent age.")


def strength(job: Job) -> Any:
    """Strength over the night with its band and the required line."""
    if not job.curing.choice:
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(job.curing.placings), 2.7, share=True)
        stress = lambda value: printed(job, value, "MPa", units.Stress)  # noqa: E731
        required = float(job.limit("opening_strength").value.m_as("MPa"))
        for drawing, one in zip(drawn, job.curing.placings, strict=True):
            band = one.governing
            known = band.age >= job.curing.fit.first
            drawing.fill_between(
                band.hours[known],
                stress(band.low[known]),
                stress(band.high[known]),
                color="0.85",
                linewidth=0,
                label="band",
            )
            drawing.plot(band.hours, stress(band.mid), color="black", label="expected")
            drawing.axhline(float(stress(required)), color="black", linestyle="--", label="required for opening")
            drawing.axvline(
                one.hour(one.row.opening), color="black", linewidth=0.6, linestyle=":", label="opening asked for"
            )
            drawing.set_title(
                f"{one.heading}, {'measured' if one.measured else one.items[one.slowest] + ', heat model'}",
                fontsize=8,
                loc="left",
            )
            hours_of_day(drawing, one, float(band.hours[-1]))
            drawing.set_ylim(bottom=0)
        drawn[0].set_ylabel(label(job, "strength", units.Stress))
        drawn[0].legend(fontsize=6, loc="lower right")
    return Picture(
        figure,
        "Strength of the slowest patch; its band from the age of the first cylinders on. The lane opens when the lower edge has reached the required line.",
    )


HOURS = np.array([7, 10, 13, 16, 19, 20, 21, 22, 23])
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@lru_cache(maxsize=2)
def calendar(job: Job) -> CalendarParts:
    """Share of starts that work, by month and hour of the start, for the last placing of the job."""
    if not job.curing.choice:
        return CalendarParts(Text(ABSENT), [])
    if not job.file.rows["climate"]:
        return CalendarParts(Text("No climate.csv: the year is not surveyed for nights that work.\n"), [])
    one = job.curing.placings[-1]
    starts = np.array([24 * day + hour for day in range(365) for hour in HOURS])
    year = curing_year.run_starts(job, one, starts)
    with matplotlib.rc_context(STYLE):
        figure, (drawing,) = panels(1, 3.0)
        shares = 100 * year.shares(year.works, HOURS)
        drawing.imshow(shares.T, cmap="Greys", vmin=0, vmax=180, aspect="auto", origin="lower")
        for m in range(12):
            for h in range(len(HOURS)):
                drawing.text(m, h, f"{shares[m, h]:.0f}", ha="center", va="center", fontsize=7)
        drawing.set_xticks(range(12), MONTHS)
        drawing.set_yticks(range(len(HOURS)), [f"{hour:02d}:00" for hour in HOURS])
        drawing.set_ylabel("start of placing")
        drawing.tick_params(length=0)
    night = starts % 24 >= 19
    rows = [
        [MONTHS[m], *(f"{100 * what[night & (curing_year.climate.month_of(starts) == m)].mean():.0f} %" for what in
                      (year.works, year.strong, year.dry, year.warm))]
        for m in range(12)
    ]  # fmt: skip
    picture = Picture(
        figure,
        f"Share of starts that work, in percent, for {one.items[one.slowest]} of {one.name}, {year.hours} h from the end of placing to the opening: "
        f"{len(starts)} starts of a synthetic year with the means of climate.csv.",
    )
    return CalendarParts(picture, rows)


class CalendarParts:
    """The calendar: figure and, for the nights, why."""

    def __init__(self, picture: Picture | Text, rows: list[list[str]]) -> None:
        self.picture, self.rows = picture, rows

    @property
    def why(self) -> Text:
        """Share of night starts that meet each condition."""
        if not self.rows:
            return Text("")
        heads = [
            "starts from 19:00",
            "all three",
            "strong enough at the opening",
            "evaporation within the limit",
            "warm enough",
        ]
        return block([
            pipe_table(heads, self.rows),
            "Warm enough: air not below its limit while placing, and no frost in the patch. Strong enough: lower edge of the band. The year is "
            "drawn from monthly means with a stated daily shape (half cosines, low at 05:00, high at 15:00) and a chain of daily deviations "
            "from a fixed start: a year like others, no forecast. Concrete as warm as stated for the placing, old concrete as the air of "
            "the day before; evaporation by Menzel's SI form.",
        ])  # fmt: skip
