"""Sheet of curing and opening: its drawings."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.curing.design import Placing, Placings
from deckcalc.curing.design.curves import ConcreteCurve
from deckcalc.curing.design.evaporation import SPREAD, rates
from deckcalc.curing.design.year import HOURS, NIGHT
from deckcalc.curing.design.year import calendar as calendar_of
from deckcalc.curing.inputs.rows import celsius
from deckcalc.show.figures import STYLE, Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

DASHES = ("-", "--", "-.", ":")


def printed(placings: Placings, value: Any, unit: str, kind: Any) -> Any:
    """Return plain numbers in the unit in which the job prints a kind."""
    return units.magnitude(quantity(value, unit), units.kind_of(kind), placings.system)


def label(placings: Placings, what: str, kind: Any) -> str:
    """Return a label of an axis."""
    return f"{what} [{units.kind_of(kind).symbol(placings.system)}]"


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


def drying(placings: Placings) -> Any:
    """Evaporation through the window and the day after, with the limit and the spread of the estimate."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(placings), 2.5, share=True)
        for drawing, one in zip(drawn, placings, strict=True):
            hours = [hour for hour in one.air if one.hour(hour.time) <= 24]
            value = np.maximum(
                units.magnitude(rates(placings, one, hours), units.kind_of(units.Evaporation), placings.system), 0.0
            )
            x = [one.hour(hour.time) for hour in hours]
            drawing.fill_between(x, (1 - SPREAD) * value, (1 + SPREAD) * value, color="0.85", linewidth=0,
                                 label=f"{100 * SPREAD:.0f} % either way")  # fmt: skip
            drawing.plot(x, value, color="black", marker="o", markersize=2.5, label="evaporation")
            drawing.axhline(float(units.magnitude(placings.evaporation_limit(one.design).value, units.kind_of(units.Evaporation), placings.system)),
                            color="black", linestyle="--", label="limit")  # fmt: skip
            for edge in (one.hour(one.row.start), 0.0):
                drawing.axvline(edge, color="black", linewidth=0.6, linestyle=":")
            drawing.set_title(f"{one.heading}, start {one.row.start:%H:%M}", fontsize=8, loc="left")
            ticks = [h for h in x if one.moment(h).hour % 6 == 0 and one.moment(h).minute == 0]
            drawing.set_xticks(ticks, [f"{one.moment(t):%H:%M}" for t in ticks])
            drawing.set_ylim(bottom=0)
        drawn[0].set_ylabel(label(placings, "rate", units.Evaporation))
        drawn[0].legend(fontsize=6, loc="upper right")
    return Picture(
        figure,
        "Evaporation by the hour for concrete at the temperature as placed, had it been placed then. Dotted: start and end of placing.",
    )


def temperatures(placings: Placings) -> Any:
    """Temperature of thinnest and thickest item, air, and what was measured; equivalent age below."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 4.2), layout="constrained")
        grid = figure.subplots(2, len(placings), squeeze=False, height_ratios=[3, 2])
        for column, one in enumerate(placings):
            top, below = grid[0][column], grid[1][column]
            last = float(one.hours[-1])
            show = lambda T: printed(placings, T, "degC", units.Temperature)  # noqa: E731
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
                drawing.axvline(one.opening_hour, color="black", linewidth=0.6, linestyle=":")
                hours_of_day(drawing, one, last)
            below.set_ylim(bottom=0)
        grid[0][0].set_ylabel(label(placings, "temperature", units.Temperature))
        grid[1][0].set_ylabel("equivalent age [h]")
    return Picture(
        figure,
        "Mean temperature of the thickest and the thinnest item and of the air; below, equivalent age of their slowest point. Dotted: "
        "opening as planned.",
    )


def cylinders(placings: Placings) -> Any:
    """Cylinders, the three curves and the band of the one that is used, for every concrete that has any."""
    if placings.inputs.curing is None or not placings.inputs.cylinders:
        return Text("")
    with matplotlib.rc_context(STYLE):
        tested = [one for one in placings.curves.values() if not one.estimated]
        figure, drawn = panels(len(tested), 2.6, share=True)
        for drawing, one in zip(drawn, tested, strict=True):
            draw_curve(placings, one, drawing)
        drawn[0].set_ylim(bottom=0)  # of all, since they share it
        drawn[0].set_ylabel(label(placings, "strength", units.Stress))
        drawn[0].legend(fontsize=7, loc="lower right")
    return Picture(figure, "Strength of the cylinders against equivalent age.")


def draw_curve(placings: Placings, one: ConcreteCurve, drawing: Any) -> None:
    """Draw the cylinders and curves of one concrete."""
    age = np.linspace(0.3 * one.fit.first, 1.05 * one.fit.last, 300)
    stress = lambda value: printed(placings, value, "MPa", units.Stress)  # noqa: E731
    drawing.fill_between(age, stress(one.fit.low(age)), stress(one.fit.high(age)), color="0.88", linewidth=0,
                         label=f"band of one more test, {100 * placings.choices.confidence.m_as(''):.0f} %")  # fmt: skip
    for style, (name, fit) in zip(DASHES, one.fits.items(), strict=False):
        drawing.plot(
            age,
            stress(fit.strength(age)),
            color="black",
            linestyle=style,
            label=name + (", used" if fit is one.fit else ""),
        )
    if one.tests:
        t, S = zip(*one.tests, strict=True)
        drawing.plot(
            t, stress(np.array(S)), "o", color="black", markerfacecolor="white", markersize=4, label="cylinders"
        )
    drawing.set_xlabel(f"equivalent age at {placings.show(placings.choices.reference, units.Temperature)} [h]")
    drawing.set_title(one.concrete, fontsize=8, loc="left")


def strength(placings: Placings) -> Any:
    """Strength over the night with its band and the required line."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(placings), 2.7, share=True)
        stress = lambda value: printed(placings, value, "MPa", units.Stress)  # noqa: E731
        required = placings.required
        for drawing, one in zip(drawn, placings, strict=True):
            band = one.governing
            known = band.age >= (one.curve.fit.first if one.curve else np.inf)
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
            drawing.axvline(one.opening_hour, color="black", linewidth=0.6, linestyle=":", label="opening as planned")
            drawing.set_title(
                f"{one.heading}, {'measured' if one.measured else one.slowest_item + ', heat model'}",
                fontsize=8,
                loc="left",
            )
            hours_of_day(drawing, one, float(band.hours[-1]))
            drawing.set_ylim(bottom=0)
        drawn[0].set_ylabel(label(placings, "strength", units.Stress))
        drawn[0].legend(fontsize=6, loc="lower right")
    return Picture(
        figure,
        "Strength of the slowest patch; its band from the age of the first cylinders on. The lane opens when the lower edge has reached the required line.",
    )


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class CalendarParts:
    """The calendar of starts that work: the figure and, for the nights, why."""

    def __init__(self, placings: Placings) -> None:
        self.placings = placings

    @property
    def picture(self) -> Picture | Text:
        """Share of starts that work, by month and hour of the start, for the last placing of the job."""
        if self.placings.inputs.curing is None:
            return Text("")
        found = calendar_of(self.placings)
        if found is None and self.placings.inputs.climate:
            return Text("")
        if found is None:
            return Text("")
        with matplotlib.rc_context(STYLE):
            figure, (drawing,) = panels(1, 3.0)
            shares = 100 * found.shares
            drawing.imshow(shares.T, cmap="Greys", vmin=0, vmax=180, aspect="auto", origin="lower")
            for m in range(12):
                for h in range(len(HOURS)):
                    drawing.text(m, h, f"{shares[m, h]:.0f}", ha="center", va="center", fontsize=7)
            drawing.set_xticks(range(12), MONTHS)
            drawing.set_yticks(range(len(HOURS)), [f"{hour:02d}:00" for hour in HOURS])
            drawing.set_ylabel("start of placing")
            drawing.tick_params(length=0)
        return Picture(
            figure,
            f"Share of starts that work, in percent, for {found.placing.slowest_item} of {found.placing.item}, {found.hours} h from the end of placing "
            f"to the opening: {found.starts} starts of a synthetic year with the means of climate.csv.",
        )

    @property
    def why(self) -> Text:
        """Share of night starts that meet each condition."""
        found = calendar_of(self.placings) if self.placings.inputs.curing else None
        if found is None:
            return Text("")
        heads = [
            f"starts from {NIGHT}:00",
            "all three",
            "strong enough at the opening",
            "evaporation within the limit",
            "warm enough",
        ]
        rows = [
            [month, *(f"{100 * share:.0f} %" for share in shares)]
            for month, shares in zip(MONTHS, found.nights, strict=True)
        ]
        return block([
            pipe_table(heads, rows),
            "Warm enough: air not below its limit while placing, and no frost in the patch. Strong enough: lower edge of the band. The year is "
            "drawn from monthly means with a stated daily shape (half cosines, low at 05:00, high at 15:00) and a chain of daily deviations "
            "from a fixed start: a year like others, no forecast. Concrete as warm as stated for the placing, old concrete as the air of "
            "the day before; evaporation by Menzel's SI form.",
        ])  # fmt: skip


def calendar(placings: Placings) -> CalendarParts:
    """Share of starts that work, by month and hour of the start."""
    return CalendarParts(placings)
