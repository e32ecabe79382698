"""Pictures that follow the values of a calculation: drawn to scale as SVG, light enough to be redrawn at every key.

Each takes the values and results of the calculation that it stands beside, and works nothing out but where its lines lie;
a curve comes from the calculation itself.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from html import escape
from typing import Any

import numpy as np

from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import InputError
from deckcalc.live import verdicts
from deckcalc.live.slider import nice

WIDE, TALL = 360.0, 190.0
#: Room for what stands beside a drawing: left, right, above, below.
LEFT, RIGHT, ABOVE, BELOW = 56.0, 14.0, 12.0, 34.0
Values = Mapping[str, Any]
Point = tuple[float, float]
Drawer = Callable[[Calculation, Values, Values, str], "Drawing | None"]


class Drawing:
    """Shapes and words in a field of `WIDE` by `TALL`, from its upper left corner."""

    def __init__(self, says: str) -> None:
        self.says, self.parts = says, list[str]()

    def path(self, points: Sequence[Point], look: str = "ink", closed: bool = False) -> None:
        """Draw a line through points."""
        steps = " L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        self.parts.append(f'<path class="{look}" d="M{steps}{" Z" if closed else ""}"/>')

    def box(self, x: float, y: float, width: float, height: float, look: str = "ink") -> None:
        """Draw a rectangle."""
        self.path([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], look, closed=True)

    def disc(self, x: float, y: float, radius: float, look: str = "ink") -> None:
        """Draw a circle."""
        self.parts.append(f'<circle class="{look}" cx="{x:.1f}" cy="{y:.1f}" r="{max(radius, 0):.1f}"/>')

    def text(self, x: float, y: float, words: str, anchor: str = "middle", turned: bool = False) -> None:
        """Write words; `y` is their middle."""
        turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if turned else ""
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" dy=".35em" text-anchor="{anchor}"{turn}>{escape(words)}</text>'
        )

    def dimension(self, start: Point, end: Point, words: str, beside: float = 8.0) -> None:
        """Draw a dimension line with what it measures."""
        self.path([start, end], "thin")
        upright = start[0] == end[0]
        for x, y in (start, end):
            self.path([(x - 3, y), (x + 3, y)] if upright else [(x, y - 3), (x, y + 3)], "thin")
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        self.text(*((x + beside, y, words, "start") if upright else (x, y + beside, words)))

    def svg(self) -> str:
        """Return the drawing."""
        return f'<svg viewBox="0 0 {WIDE:g} {TALL:g}" role="img" aria-label="{escape(self.says)}">{"".join(self.parts)}</svg>'


def curve(says: str, x: Any, y: Any, heads: tuple[str, str], at: Point | None = None, across: float | None = None, upright: float | None = None, points: Sequence[Point] = ()) -> Drawing:  # fmt: skip
    """Draw a curve over its axes, with a point on it, a level and an upright that it is held against, and readings."""
    made = Drawing(says)
    xs, ys = np.asarray(x, float), np.asarray(y, float)
    tops = [float(ys.max()), *(value for value in (across, at and at[1]) if value is not None), *(b for _, b in points)]
    right, top = float(xs.max()), 1.08 * max(*tops, 1e-12)
    if not (right > 0 and np.isfinite([*xs, *ys, top]).all()):
        raise InputError("no curve can be drawn of these values")
    width, height = WIDE - LEFT - RIGHT, TALL - ABOVE - BELOW
    place = lambda a, b: (LEFT + width * a / right, TALL - BELOW - height * b / top)  # noqa: E731
    made.path([(LEFT, ABOVE), (LEFT, TALL - BELOW), (WIDE - RIGHT, TALL - BELOW)], "thin")
    for number in ticks(right):
        made.text(place(number, 0)[0], TALL - BELOW + 9, f"{number:g}")
    for number in ticks(top):
        made.text(LEFT - 5, place(0, number)[1], f"{number:g}", "end")
    made.text(LEFT + width / 2, TALL - 9, heads[0])
    made.text(9, ABOVE + height / 2, heads[1], turned=True)
    if across is not None:
        made.path([place(0, across), place(right, across)], "limit")
    if upright is not None and upright <= right:
        made.path([place(upright, 0), place(upright, top)], "limit")
    made.path([place(a, b) for a, b in zip(xs, ys, strict=True)], "curve")
    for a, b in points:
        made.disc(*place(a, b), 3, "reading")
    if at is not None and at[0] <= right:
        made.disc(*place(*at), 4.5, "point")
    return made


def ticks(most: float) -> list[float]:
    """Return round numbers along an axis from nothing.

    Examples
    --------
    >>> ticks(4.7)
    [0.0, 1.0, 2.0, 3.0, 4.0]
    """
    step = nice(most / 4)
    return [float(f"{count * step:.6g}") for count in range(int(most / step) + 1)]


def plain(value: Any, kind: Any, system: str) -> Any:
    """Return a value as a number in the unit that its kind is printed in."""
    return np.asarray(units.magnitude(value, kind_of(kind), system), float)


def axis(what: str, kind: Any, system: str) -> str:
    """Return the words along an axis."""
    return f"{what}, {kind_of(kind).symbol(system)}".removesuffix(", ")


def kind_of(kind: Any) -> units.Kind:
    """Return a kind, or that of an annotation."""
    return kind if isinstance(kind, units.Kind) else units.kind_of(kind)


def bar(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """A bar as it was and as it is, in section."""
    say = lambda value, kind: units.show(value, kind, system)  # noqa: E731
    whole, left = (float(np.sqrt(4 * one.m_as("mm²") / np.pi)) for one in (given["A_0"], found["A_r"]))
    lost = say(found["loss"], units.Share)
    made = Drawing(f"Section of the bar: {say(found['d_r'], units.Diameter)} left, {lost} of the area lost")
    radius = 72 / max(whole, left)
    x, y = 100.0, TALL / 2
    made.disc(x, y, whole * radius, "lost")
    made.disc(x, y, left * radius, "steel")
    made.disc(x, y, whole * radius, "dashed")
    made.text(x, y, say(found["A_r"], units.BarArea))
    for row, words in enumerate((f"as it was: {say(given['A_0'], units.BarArea)}", f"smallest diameter: {say(found['d_r'], units.Diameter)}", f"diameter lost: {100 * (1 - left / whole):.1f} %", f"area lost: {lost}")):  # fmt: skip
        made.text(195, y - 36 + 24 * row, words, "start")
    return made


def hole(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """What is removed, in section: cover, bars, and the clear space behind them."""
    say = lambda value: units.show(value, units.Length, system)  # noqa: E731
    mm = lambda value: float(units.magnitude(value, units.kind_of(units.Length), "SI"))  # noqa: E731
    depth = mm(found["h"])
    made = Drawing(f"Section: removed to {say(found['h'])} in the mean, {say(found['h_r'])} as a minimum")
    least, cover = mm(found["h_r"]), mm(given["c_max"])
    d_1, d_2 = mm(given["d_1"]), mm(given["d_2"])
    k = (TALL - 50) / max(depth, least, cover + d_1 + d_2, 1e-9)
    top = 24.0
    made.box(10, top, 190, TALL - 30, "concrete")
    made.box(30, top, 150, least * k, "gap")
    made.path([(0, top), (30, top)])
    made.path([(180, top), (210, top)])
    made.box(30, top + cover * k, 150, d_1 * k, "steel")
    for x in (60, 105, 150):
        made.disc(x, top + (cover + d_1 + d_2 / 2) * k, d_2 * k / 2, "steel")
    at = [0.0, cover, cover + d_1 + d_2, least]
    for start, end, words in zip(at, at[1:], ("cover", "bars", "clear space"), strict=False):
        if end > start:
            made.dimension((216, top + start * k), (216, top + end * k), f"{words} {end - start:.3g} mm" if system == "SI" else f"{words} {(end - start) / 25.4:.3g} in")  # fmt: skip
    made.text(105, 11, f"mean of the removal: {say(found['h'])}")
    return made


def limits(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """The unsound concrete and the repair limits round it, in plan."""
    say = lambda value: units.show(value, units.Distance, system)  # noqa: E731
    L, B, L_u, B_u = (float(one.m_as("m")) for one in (found["L"], found["B"], given["L_u"], given["B_u"]))
    made = Drawing(f"Plan: repair limits {say(found['L'])} by {say(found['B'])}")
    k = min(230 / L, (TALL - 50) / B)
    x, y = 20.0, 14.0
    made.box(x, y, L * k, B * k, "gap")
    made.box(x + (L - L_u) / 2 * k, y + (B - B_u) / 2 * k, L_u * k, B_u * k, "lost")
    made.text(x + L * k / 2, y + B * k / 2, "unsound")
    made.dimension((x, y + B * k + 12), (x + L * k, y + B * k + 12), say(found["L"]), 11)
    made.dimension((x + L * k + 12, y), (x + L * k + 12, y + B * k), say(found["B"]))
    return made


def depths(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """Readings of depth in the slab."""
    kind = units.Length
    readings, slab = np.atleast_1d(plain(given["h"], kind, system)), float(plain(given["t"], kind, system))
    deepest = units.show(found["h_max"], kind, system)
    made = Drawing(f"Depths in the slab: the deepest {deepest}, the mean {units.show(found['h_mean'], kind, system)}")
    k, top = (TALL - 36) / max(slab, float(readings.max())), 20.0
    made.box(30, top, 220, slab * k, "concrete")
    step = 220 / len(readings)
    for at, reading in enumerate(readings):
        made.box(30 + at * step, top, step, reading * k, "gap")
    mean = float(plain(found["h_mean"], kind, system)) * k
    made.path([(30, top + mean), (250, top + mean)], "limit")
    made.dimension((258, top), (258, top + slab * k), f"slab {units.show(given['t'], kind, system)}")
    made.text(34, top + mean + 10, "mean", "start")
    made.text(140, 9, f"deepest {deepest}")
    return made


def taper(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """The taper in plan, its length along the road, not to scale across it."""
    length, width = units.show(found["L"], units.RoadLength, system), units.show(given["W"], units.LaneWidth, system)
    made = Drawing(f"Plan, across not to scale: a taper of {length} takes {width}")
    made.path([(15, 30), (345, 30)])
    made.path([(15, 80), (345, 80)], "dashed")
    made.path([(15, 130), (345, 130)])
    made.path([(60, 130), (280, 80), (345, 80), (345, 130)], "gap", closed=True)
    for share in np.linspace(0, 1, 9):
        made.disc(60 + 220 * share, 130 - 50 * share, 3.5, "point")
    made.path([(25, 105), (50, 105)], "ink")
    made.path([(44, 101), (50, 105), (44, 109)], "ink")
    made.dimension((60, 150), (280, 150), f"taper {length}", 12)
    made.dimension((310, 80), (310, 130), "", 6)
    made.text(296, 62, f"{width} taken", "middle")
    return made


def strength(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """Strength over equivalent age, and the strength of opening."""
    age, kind = float(given["t_e"].m_as("h")), units.Stress
    begin = float(given["t_0"].m_as("h")) if "t_0" in given else 0.0
    ages = np.linspace(max(begin, 0.05), max(2 * age, 72.0), 60)
    line = calculation(**{**given, "t_e": units.quantity(ages, "h")}).S
    wanted = verdicts.limit("opening_strength", system).value
    reached = float(plain(found["S"], kind, system))
    says = f"Strength over equivalent age: {units.show(found['S'], kind, system)} at {age:.3g} h; dashed, the strength of opening"
    return curve(says, ages, plain(line, kind, system), ("equivalent age, h", axis("strength", kind, system)),
                 (age, reached), float(plain(wanted, kind, system)))  # fmt: skip


def chloride_curve(says: str, given: Values, deepest: Any, system: str, **marks: Any) -> Drawing:
    """Chloride over depth."""
    from deckcalc.chloride import face_content

    depth = units.quantity(np.linspace(0, 2 * float(deepest.m_as("mm")), 60), "mm")
    contents = face_content(x=depth, **given).C_x
    kind = units.ChlorideContent
    heads = axis("depth", units.Length, system), axis("chloride", kind, system)
    return curve(says, plain(depth, units.Length, system), plain(contents, kind, system), heads, **marks)


def profile(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """A profile through a face, and the depth looked at."""
    x, c = float(plain(given["x"], units.Length, system)), float(plain(found["C_x"], units.ChlorideContent, system))
    said = units.show(found["C_x"], units.ChlorideContent, system)
    says = f"Chloride over depth: {said} at {units.show(given['x'], units.Length, system)}"
    rest = {name: given[name] for name in ("t", "D", "C_s", "C_0")}
    return chloride_curve(says, rest, given["x"], system, at=(x, c))


def fitted(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """Measured slices and the profile fitted to them."""
    middle = (given["x_from"] + given["x_to"]) / 2
    points = list(zip(np.atleast_1d(plain(middle, units.Length, system)), np.atleast_1d(plain(given["C"], units.ChlorideContent, system)), strict=True))  # fmt: skip
    rest = {"t": given["t"], "D": found["D"], "C_s": found["C_s"], "C_0": given["C_0"]}
    deepest = units.quantity(float(np.max(middle.m_as("mm"))) * 0.75, "mm")
    return chloride_curve(
        "Chloride over depth: the slices measured and the profile fitted", rest, deepest, system, points=points
    )


def years(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
    """The profile in the year in which the bars are reached."""
    x, c = float(plain(given["x"], units.Length, system)), float(plain(given["C_T"], units.ChlorideContent, system))
    said = units.show(found["t_1"], units.Years, system)
    rest = {"t": found["t_1"], "D": found["D_e"], "C_s": given["C_s"], "C_0": given["C_0"]}
    says = f"Chloride over depth after {said}, when the threshold is reached at the bar; dashed, threshold and cover"
    return chloride_curve(says, rest, given["x"], system, at=(x, c), across=c, upright=x)


def over(argument: str, result: str, heads: tuple[str, str], level: str = "") -> Drawer:
    """Return what draws a result over one argument, named by `heads`, with the level of another name that it is held against."""

    def drawn(calculation: Calculation, given: Values, found: Values, system: str) -> Drawing:
        param, kind = calculation.params[argument], calculation.kinds[result]
        assert param.kind and param.range
        value, reached = (
            float(plain(one, a, system)) for one, a in ((given[argument], param.kind), (found[result], kind))
        )
        low, high = (float(plain(units.read(end, param.kind), param.kind, system)) for end in (param.range.low, param.range.high))  # fmt: skip
        first, last = max(low, 0.0), min(2 * value, high)
        numbers = np.linspace(first + 0.02 * (last - first), last, 60)
        if param.kind.whole:
            numbers = np.unique(np.ceil(numbers))
        line = calculation(**{**given, argument: units.registry().Quantity(numbers, param.kind.unit(system))})
        across = float(plain({**given, **found}[level], kind, system)) if level else None
        comments = {one.name: one.comment for one in calculation.lines}
        says = f"{comments[result]} over {param.meaning}: {units.show(found[result], kind, system)}"
        said = comments.get(level) or (calculation.params[level].meaning if level else "")
        along = axis(heads[0], param.kind, system), axis(heads[1], kind, system)
        dashed = f"; dashed, {said}" if said else ""
        return curve(
            says + dashed, numbers, plain(getattr(line, result, line), kind, system), along, (value, reached), across
        )

    return drawn


PICTURES: Mapping[str, Drawer] = {
    "steel.section_loss": bar, "steel.section_loss_square": bar,
    "patch.removal_depth": hole, "patch.patch_limits": limits, "patch.patch_depth": depths,
    "traffic.taper": taper,
    "curing.strength_hyperbolic": strength, "curing.strength_exponential": strength,
    "chloride.face_content": profile, "chloride.fit_profile": fitted, "chloride.time_to_initiation": years,
    "mix.cementitious_content": over("w_cm", "C_m", ("w/cm", "cementitious"), "C_least"),
    "mix.batch_masses_ssd": over("f_fa", "W_add", ("free moisture of the sand", "water to add")),
    "chloride.cement_share": over("c", "p", ("cement", "chloride by cement")),
    "formwork.form_load": over("h", "p", ("depth of concrete", "load"), "p_min"),
    "curing.equivalent_age": over("T", "k", ("temperature", "rate")),
    "curing.nurse_saul": over("T", "t_e", ("temperature", "equivalent age")),
    "closure.placing_time": over("n", "t", ("batches", "time to place"), "t_p"),
    "safety.tool_vibration": over("t", "A_8", ("trigger time", "exposure"), "a_l"),
}  # fmt: skip


def picture(calculation: Calculation, given: Values, found: Values, system: str) -> str:
    """Return the picture that goes with a calculation as SVG; empty where there is none, or none for these values."""
    drawer = PICTURES.get(calculation.key.partition(" (")[0])
    try:
        made = drawer(calculation, given, found, system) if drawer else None
    except InputError:  # a curve that leaves the range of its calculation
        return ""
    return made.svg() if made else ""
