"""Sheet of curing and opening: its drawings."""

from __future__ import annotations

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.curing.design import Placing, Placings
from deckcalc.curing.design.curves import ConcreteCurve
from deckcalc.curing.design.evaporation import SPREAD, rates
from deckcalc.curing.design.year import HOURS, NIGHT
from deckcalc.curing.design.year import calendar as calendar_of
from deckcalc.curing.inputs.rows import celsius
from deckcalc.mix.sheet.drawings import symbol
from deckcalc.show.figures import STYLE, WIDTH, Picture
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block

DASHES = ("-", "--", "-.", ":")
#: Panels to a row.
ACROSS = 3


def printed(placings: Placings, value: Any, unit: str, kind: Any) -> Any:
    """Return plain numbers in the unit in which the job prints a kind."""
    return units.magnitude(quantity(value, unit), units.kind_of(kind), placings.system)


def label(placings: Placings, what: str, kind: Any) -> str:
    """Return a label of an axis."""
    return f"{what} [{units.kind_of(kind).symbol(placings.system)}]"


def panels(count: int, height: float, share: bool = False) -> tuple[Figure, list[Any]]:
    """Return a figure with panels of that height, three to a row at most."""
    across = min(count, ACROSS)
    down = -(-count // across)
    figure = Figure(figsize=(WIDTH, height * down), layout="constrained")
    drawn = list(figure.subplots(down, across, sharey=share, squeeze=False).flat)
    for spare in drawn[count:]:
        spare.set_axis_off()
    return figure, drawn[:count]


def finish(figure: Figure, drawn: list[Any], axis: str) -> None:
    """Give the panels of a figure their axis and one legend below all."""
    for drawing in drawn[::ACROSS]:
        drawing.set_ylabel(axis)
    known = {
        label: handle for drawing in drawn for handle, label in zip(*drawing.get_legend_handles_labels(), strict=True)
    }
    figure.legend(known.values(), known.keys(), loc="outside lower center", ncols=4)


def hours_of_day(drawing: Any, one: Placing, last: float) -> None:
    """Mark round hours of the day on an axis of hours since the end of placing, four at most."""
    step = next((hours for hours in (3, 6, 12) if last <= 4 * hours), 12.0 * np.ceil(last / 12 / 4))
    ticks = np.arange((24 - one.row.end.hour - one.row.end.minute / 60) % min(step, 12), last + 1e-9, step)
    drawing.set_xticks(ticks, [f"{one.moment(t):%d %b\n%H:%M}" for t in ticks])
    drawing.set_xlim(0, last)


def section(placings: Placings) -> Any:
    """Section through a patch as the heat model has it: partial depth, full depth, or both, as the job places."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    kinds = sorted({full for one in placings for full in one.full})
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH / 2 * len(kinds), 1.75), layout="constrained")
        for drawing, full in zip(np.atleast_1d(figure.subplots(1, len(kinds))), kinds, strict=True):
            draw_section(drawing, full)
    words = {False: "a patch on the existing slab", True: "a patch through the slab, or a trial slab, on its form"}
    return Picture(
        figure,
        f"Section of the heat model, not to scale: {' and '.join(words[full] for full in kinds)}. Heat flows vertically: heat of hydration in the patch, "
        "resistances of cover and form, exchange with the air by wind above and half of it below, sun on the surface. Strength is read at the point "
        "that matures the slowest.",
    )


def draw_section(drawing: Any, full: bool) -> None:
    """Draw one section, 10 wide, heights upward from the soffit of the slab."""
    depth, bottom = (4.0, 0.0) if full else (2.0, 2.0)
    drawing.set_axis_off()
    drawing.set_xlim(0, 10)
    drawing.set_ylim(-1.9, 6.6)
    drawing.add_patch(Rectangle((0, 0), 10, 4, facecolor="0.87", edgecolor="black", linewidth=0.8))
    drawing.add_patch(Rectangle((2.5, bottom), 5, depth, facecolor="white", edgecolor="black", linewidth=1.2))
    drawing.add_patch(Rectangle((2.2, 4), 5.6, 0.45, facecolor="white", edgecolor="black", hatch="////", linewidth=0.6))
    arrow: Any = {
        "arrowstyle": "<|-|>",
        "linewidth": 0.6,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 6,
        "color": "black",
    }
    drawing.annotate("", (3.0, bottom), (3.0, 4), arrowprops=arrow)
    symbol(drawing, 3.35, bottom + depth / 2, "h")
    drawing.text(5.4, bottom + depth / 2, "patch: T as placed,\nheat of hydration", ha="center", va="center")
    drawing.text(5.0, 5.1, "cover", ha="center", va="center")
    drawing.text(5.0, 6.0, "air: temperature, wind, sun", ha="center", va="center")
    drawing.text(1.2, 2.0, "existing\nslab", ha="center", va="center")
    if full:
        drawing.add_patch(
            Rectangle((2.2, -0.45), 5.6, 0.45, facecolor="white", edgecolor="black", hatch="xxxx", linewidth=0.6)
        )
        drawing.text(8.0, -0.45, "form", ha="left", va="center")
    else:
        drawing.annotate("", (8.2, 0), (8.2, 2), arrowprops=arrow)
        symbol(drawing, 8.6, 1.0, "h", "o")
        drawing.text(5.0, 1.0, "T of the slab at the start", ha="center", va="center")
    drawing.text(5.0, -1.3, "air: temperature, half of the wind", ha="center", va="center")


def drying(placings: Placings) -> Any:
    """Evaporation through the window and the day after, with the limit and the spread of the estimate."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    kind = units.kind_of(units.Evaporation)
    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(placings), 2.2, share=True)
        for drawing, one in zip(drawn, placings, strict=True):
            hours = [hour for hour in one.air if one.hour(hour.time) <= 24]
            value = np.maximum(units.magnitude(rates(placings, one, hours), kind, placings.system), 0.0)
            x = [one.hour(hour.time) for hour in hours]
            drawing.fill_between(
                x,
                (1 - SPREAD) * value,
                (1 + SPREAD) * value,
                color="0.85",
                linewidth=0,
                label=f"{100 * SPREAD:.0f} % either way",
            )
            drawing.plot(x, value, color="black", marker="o", markersize=2.5, label="evaporation")
            limit = placings.evaporation_limit(one.design).value
            drawing.axhline(
                float(units.magnitude(limit, kind, placings.system)), color="black", linestyle="--", label="limit"
            )
            for edge in (one.hour(one.row.start), 0.0):
                drawing.axvline(edge, color="black", linewidth=0.6, linestyle=":")
            drawing.set_title(f"{one.heading}, start {one.row.start:%H:%M}", loc="left")
            ticks = [h for h in x if one.moment(h).hour % 6 == 0 and one.moment(h).minute == 0]
            drawing.set_xticks(ticks, [f"{one.moment(t):%H}" for t in ticks])
            drawing.set_ylim(bottom=0)
        finish(figure, drawn, label(placings, "rate", units.Evaporation))
    return Picture(
        figure,
        "Evaporation by the hour of the day for concrete at the temperature as placed, had it been placed then. Dotted: start and end of placing.",
    )


def temperatures(placings: Placings) -> Any:
    """Temperature of thinnest and thickest item, air, and what was measured."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(placings), 2.3)
        for drawing, one in zip(drawn, placings, strict=True):
            draw_temperature(placings, one, drawing)
        finish(figure, drawn, label(placings, "temperature", units.Temperature))
    return Picture(
        figure,
        "Mean temperature of the thickest and the thinnest item by the heat model, and of the air. Dotted: planned opening.",
    )


def draw_temperature(placings: Placings, one: Placing, drawing: Any) -> None:
    """Draw the temperatures of one placing."""
    show = lambda T: printed(placings, T, "degC", units.Temperature)  # noqa: E731
    air = np.interp(one.hours, [one.hour(hour.time) for hour in one.air], [celsius(hour.air) for hour in one.air])
    drawing.plot(one.hours, show(air), color="0.5", linewidth=0.8, label="air")
    thick, thin = int(np.argmax(one.thickness)), int(np.argmin(one.thickness))
    for style, i, name in ((DASHES[0], thick, "thickest item"), (DASHES[1], thin, "thinnest item")):
        if i == thick or thin != thick:
            drawing.plot(one.hours, show(one.temperatures.mean[:, i]), color="black", linestyle=style, label=name)
    if one.measured:
        since = [one.hour(reading.time) for reading in one.history]
        measured = show(np.array([celsius(reading.temperature) for reading in one.history]))
        drawing.plot(since, measured, "o", color="black", markerfacecolor="white", markersize=3, label="measured")
    drawing.axvline(one.opening_hour, color="black", linewidth=0.6, linestyle=":")
    drawing.set_title(one.heading, loc="left")
    hours_of_day(drawing, one, float(one.hours[-1]))


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
        finish(figure, drawn, label(placings, "strength", units.Stress))
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
    drawing.set_title(one.concrete, loc="left")


def strength(placings: Placings) -> Any:
    """Strength of every placing with its band and what opening requires."""
    if placings.inputs.curing is None or not len(placings):
        return Text("")
    with matplotlib.rc_context(STYLE):
        figure, drawn = panels(len(placings), 2.4, share=True)
        for drawing, one in zip(drawn, placings, strict=True):
            draw_strength(placings, one, drawing)
        finish(figure, drawn, label(placings, "strength", units.Stress))
    return Picture(figure, f"Strength of the slowest patch of each placing. {DECIDES}")


DECIDES = "The band holds from the age of the first cylinders on; the lane opens when its lower edge has reached what is required. Dotted: planned opening."  # fmt: skip


def hours_of_strength(one: Placing) -> float:
    """Return the hours for which strength is drawn: twice those until the opening, twelve at least."""
    return min(float(one.governing.hours[-1]), max(12.0, 2 * one.opening_hour))


def draw_strength(placings: Placings, one: Placing, drawing: Any) -> None:
    """Draw the strength of one placing."""
    stress = lambda value: printed(placings, value, "MPa", units.Stress)  # noqa: E731
    band = one.governing
    known = band.age >= (one.curve.fit.first if one.curve else np.inf)
    drawing.fill_between(
        band.hours[known], stress(band.low[known]), stress(band.high[known]), color="0.85", linewidth=0, label="band"
    )
    drawing.plot(band.hours, stress(band.mid), color="black", label="expected")
    drawing.axhline(float(stress(placings.required)), color="black", linestyle="--", label="required")
    drawing.axvline(one.opening_hour, color="black", linewidth=0.6, linestyle=":")
    drawing.set_title(f"{one.heading}\n{'measured' if one.measured else one.slowest_item + ', heat model'}", loc="left")
    hours_of_day(drawing, one, hours_of_strength(one))
    drawing.set_ylim(bottom=0)


def case(placings: Placings, one: Placing) -> Picture:
    """Temperature and strength of one placing side by side."""
    with matplotlib.rc_context(STYLE):
        figure, (left, right) = panels(2, 2.3)
        draw_temperature(placings, one, left)
        draw_strength(placings, one, right)
        hours_of_day(left, one, hours_of_strength(one))
        finish(figure, [right, left], label(placings, "strength", units.Stress))
        left.set_ylabel(label(placings, "temperature", units.Temperature))
        right.set_title(f"Strength of {one.slowest_item if not one.measured else 'the measured history'}", loc="left")
        left.set_title(f"{one.heading}: mean temperature", loc="left")
    return Picture(figure, f"Governing placing: temperature of its items, and strength of the slowest. {DECIDES}")


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
                    drawing.text(m, h, f"{shares[m, h]:.0f}", ha="center", va="center")
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
            "from a fixed start: a year like others, no forecast. Concrete as warm as stated for the placing, existing concrete as the air of "
            "the day before; evaporation by Menzel's SI form.",
        ])  # fmt: skip


def calendar(placings: Placings) -> CalendarParts:
    """Share of starts that work, by month and hour of the start."""
    return CalendarParts(placings)
