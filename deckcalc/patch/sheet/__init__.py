"""Sheet of the patches: its tables. The drawings stand in `deckcalc.patch.sheet.drawings`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import shapely

from deckcalc.core import units
from deckcalc.core.units import Area, Distance, Length, OrderVolume, Share, Volume
from deckcalc.patch.design import PatchDesign, Patches
from deckcalc.patch.design.location import Location
from deckcalc.patch.design.marking import metres
from deckcalc.patch.design.sensitivity import sensitivity
from deckcalc.patch.design.survey import where
from deckcalc.show import sections
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations

Column = tuple[
    str, Any, Callable[[PatchDesign, dict[str, Any]], Any], bool
]  # head, kind (None: text), value, whether it is added up


def runs_by_patch(patches: Patches) -> dict[str, dict[str, Any]]:
    """Return for each patch its runs by the name of the calculation."""
    return {
        one.patch: {run.calculation.name: run for run in patches.of(f"patch {one.patch}")}
        for one in patches.marked.patches
    }


def tabled(patches: Patches, columns: Sequence[Column]) -> str:
    """Print a table of all patches, a column as fine as its kind asks for, with the sums below."""
    runs, rows = runs_by_patch(patches), []
    heads = [
        "patch",
        *(headed(head, kind, patches.system) if kind else head for head, kind, _, _ in columns),
    ]
    sums: list[Any] = [None] * len(columns)
    for name, found in runs.items():
        row = [name]
        for k, (_, kind, value, summed) in enumerate(columns):
            got = value(patches[name], found)
            row.append(bare(patches, got, kind) if kind and got is not None else got or "")
            if summed and got is not None:
                sums[k] = got if sums[k] is None else sums[k] + got
        rows.append(row)
    if len(rows) > 1:
        rows.append(
            [
                "**all**",
                *("" if s is None else f"**{bare(patches, s, c[1])}**" for s, c in zip(sums, columns, strict=True)),
            ]
        )
    return pipe_table(heads, rows, "l" + "".join("r" if c[1] else "l" for c in columns))


def headed(head: str, kind: Any, system: str) -> str:
    """Return the head of a column with the unit of its cells."""
    unit = units.head(units.kind_of(kind), system)
    return f"{head} [{unit}]" if unit else head


def bare(patches: Patches, value: Any, kind: Any) -> str:
    """Print a quantity under a head with its unit, so that a column adds up."""
    return units.cell(value, kind, patches.system, units.kind_of(kind).decimals(patches.system))


def of(calculation: str, name: str) -> Callable[[PatchDesign, dict[str, Any]], Any]:
    """Return a function that picks a result of a calculation, None where it was not done."""
    return lambda one, found: found[calculation].results()[name] if calculation in found else None


def schedule(patches: Patches) -> Text:
    """Schedule of patches: limits, depths and volumes, faces."""
    limits: list[Column] = [
        ("span", None, lambda one, _: str(one.marked.span), False),
        ("length", Distance, of("patch_limits", "L"), False), ("width", Distance, of("patch_limits", "B"), False),
        ("area", Area, of("patch_limits", "A"), True),
        ("unsound", Area, lambda _, found: found["patch_limits"].arguments["A_u"], True),
        ("sound taken out", Area, of("patch_limits", "A_sound"), True),
        ("saw cut", Distance, of("patch_limits", "P_cut"), True),
        ("from", None, lambda one, _: ", ".join(one.marked.forms), False),
    ]  # fmt: skip
    volumes: list[Column] = [
        ("class", None, lambda one, _: one.depth_class + (" in part" if one.through is not None else ""),
         False),
        ("deepest", Length, of("patch_depth", "h_max"), False), ("slab left", Length, of("remaining_slab", "t_r"), False),
        ("net by mean", Volume, of("neat_volume", "V_m"), False), ("net", Volume, of("patch_volume", "V_net"), True),
        ("hole", Volume, of("patch_volume", "V_hole"), True), ("placed", Volume, of("patch_volume", "V_placed"), True),
        ("order", OrderVolume, of("patch_volume", "V_order"), True),
    ]  # fmt: skip
    faces: list[Column] = [
        ("bond area", Area, of("bond_area", "A_b"), True), ("grout", Volume, of("bonding_grout", "V_g"), True),
        ("wet cover", Area, of("curing_area", "A_c"), True), ("bars not taken off", Volume, of("bars_in_hole", "V_bars"), True),
        ("overlay", Volume, of("overlay_volume", "V_o"), True),
    ]  # fmt: skip
    runs = runs_by_patch(patches)
    faces = [
        column for column in faces if any(column[2](patches[name], found) is not None for name, found in runs.items())
    ]
    return block(
        [
            "**Limits**",
            tabled(patches, limits),
            "**Depth and volume**",
            tabled(patches, volumes),
            "**Faces and bars**",
            tabled(patches, faces),
            covers(patches),
        ]
    )


def locations(patches: Patches) -> Text:
    """Where every patch stands on the deck: flanges, joint, edge, what is below."""
    rows = []
    for one in patches:
        for name, place in one.places:
            rows.append([
                name, place.kind, flanges(patches, place), patches.show(metres(place.joint), Length),
                patches.show(metres(place.joint_station), Distance), patches.show(metres(place.edge), Length),
                ", ".join(place.below) or "not named",
            ])  # fmt: skip
    heads = ["patch", "where", "to the flanges", "to the joint", "joint at station", "to the edge of the slab", "below"]
    return block([
        pipe_table(heads, rows, "lllrrrl"),
        "Distances are those of the marked limits: across the deck to the near edge of each top flange (or stem) of the bay, at right angles to "
        "the joint or deck end that is nearest, and across to the edge of the slab. “In the overhang” is outside the flange of an outer "
        "girder. What is below goes by the areas that the job names.",
    ])  # fmt: skip


def flanges(patches: Patches, place: Location) -> str:
    """Say how far an area lies from the flanges of its bay, or that it is over one."""
    said = [f"over that of {name}" for name in place.girders]
    for bay in place.bays:
        for name, apart in ((bay.left, bay.to_left), (bay.right, bay.to_right)):
            if name not in place.girders:
                said.append(f"{patches.show(metres(round(apart, 6)), Length)} from that of {name}")
    return ", ".join(said) or "none"


def covers(patches: Patches) -> Text:
    """Least, mean and greatest cover of every patch, and which of them each use takes."""
    rows = []
    for one in patches:
        freed = "goes through"
        if one.removal is not None:
            freed = (
                units.show_at_least(one.removal.h_bars, Length, patches.system)
                if float(one.removal.n_r.m_as(""))
                else "not reached"
            )
        rows.append([
            one.name, str(len(one.marked.covers)), *(patches.show(value, Length) for value in one.cover),
            units.show_at_most(one.saw, Length, patches.system), freed,
        ])  # fmt: skip
    heads = [
        "patch",
        "readings",
        "least",
        "mean",
        "greatest",
        "saw at most, by the least",
        "remove at least, by the greatest",
    ]
    freed = " and ".join(f"{patches.show(space, Length)} ({name})" for name, space in patches.clear.items()) or "none"
    return block([
        "**Cover of the top mat**",
        "The saw is held off the highest bar: its depth goes by the least cover. So does the question whether the bars are reached. "
        f"Bars that are reached are freed with {freed} clear under the deepest of them: that depth goes by the "
        "greatest cover. The mean is printed to compare with the drawings; nothing is checked on it. What may not be exceeded is rounded "
        "down, what has to be reached is rounded up.",
        pipe_table(heads, rows, "lrrrrrr"),
    ])  # fmt: skip


def survey_summary(patches: Patches) -> Text:
    """What was surveyed: soundings, outlines, share of each span."""
    found = patches.marked.found
    rows = []
    if len(found.xy):
        along, across = (
            patches.show(metres(v), Distance)
            for v in (patches.inputs.survey.spacing_along, patches.inputs.survey.spacing_across)
        )
        count, hollow = len(found.xy), int(found.hollow.sum())
        rows.append(["soundings", f"{count}, of which {hollow} hollow", f"every {along} along and {across} across"])
    for outline in found.outlines:
        x, y = outline.shape.centroid.coords[0]
        area = patches.show(metres(outline.shape.area, 2), Area)
        rows.append([f"{outline.form} {outline.name}", area, f"about {where(patches.system, x, y)}"])
    return Text(pipe_table(["survey", "what was found", "where"], rows, "lll"))


def readings(patches: Patches) -> Text:
    """Depth and cover readings, with the patch that each belongs to."""
    rows = []
    for one in patches.marked.patches:
        for reading in one.readings:
            values = (reading.depth, reading.cover)
            rows.append([
                one.patch, reading.name, bare(patches, metres(reading.station), Distance), bare(patches, metres(reading.offset), Distance),
                *("" if value is None else fine(patches, value) for value in values),
            ])  # fmt: skip
    columns = {"station": Distance, "offset": Distance, "depth": Length, "cover": Length}
    heads = ["patch", "reading", *(headed(head, kind, patches.system) for head, kind in columns.items())]
    over = patches.deck.overlay
    said = (
        f"Depth and cover are from the top of the slab: the overlay of {patches.show(over, Length)} is taken off."
        if over
        else ""
    )
    apart = [reading.name for reading in patches.marked.apart]
    unused = f"Cover readings outside all patches, not used: {', '.join(apart)}." if apart else ""
    return block([pipe_table(heads, rows, "llrrrr"), said, unused])


def fine(patches: Patches, value: float) -> str:
    """Print a reading with all that it has."""
    number = float(units.magnitude(metres(value), units.kind_of(Length), patches.system))
    if patches.system == "US" and units.on_the_tape(number, units.kind_of(Length)):
        return units.cell(metres(value), Length, patches.system)
    exact = units.exact_decimals(number, 3)
    return units.fixed(number, units.kind_of(Length).decimals(patches.system) if exact is None else exact)


def set_out(patches: Patches) -> Text:
    """Corners of every patch to chalk from, with both diagonals."""
    unit = units.head(units.kind_of(Distance), patches.system) or "feet and inches"
    rows = []
    for one in patches.marked.patches:
        corners = corners_of(one)
        cells = [f"{chalked(patches, x)}, {chalked(patches, y)}" for x, y in corners]
        across = [chalked(patches, float(np.hypot(*(corners[i] - corners[j])))) for i, j in ((0, 2), (1, 3))]
        rows.append([one.patch, *cells, *([""] * (4 - len(cells))), *(across if len(cells) == 4 else ["", ""])])
    most = max(len(row) for row in rows)
    rows = [[*row[: len(row) - 2], *([""] * (most - len(row))), *row[-2:]] for row in rows]
    heads = ["patch", *"abcdefgh"[: most - 3], "a to c", "b to d"]
    return block([
        f"Station and offset of each corner, and the diagonals, in {unit}. Chalk the corners, then measure both diagonals of each "
        "rectangle: equal diagonals make square corners.",
        pipe_table(heads, rows, "l" * (most - 2) + "rr"),
    ])  # fmt: skip


def corners_of(one: Any) -> Any:
    """Return the corners of a patch in the order of their letters, from the one nearest to the start."""
    corners = shapely.get_coordinates(shapely.normalize(one.piece.outline))[:-1]
    return np.roll(corners, -int(np.argmin(np.round(corners.sum(axis=1), 6))), axis=0)


def chalked(patches: Patches, value: float, unit: bool = False) -> str:
    """Print plain metres as fine as they are chalked: to the millimetre, or to an eighth of an inch."""
    text = units.cell(metres(value), Distance, patches.system, 3)
    alone = units.head(units.kind_of(Distance), patches.system)
    return f"{text} {alone}".strip() if unit else text


def triangles(patches: Patches) -> Text:
    """Triangles of the volume of every patch of partial depth."""
    rows = []
    for one in patches.marked.patches:
        made = patches[one.patch].floor
        if made is None:
            continue
        names = [reading.name for reading in one.deep]
        corners = corners_of(one)
        letter = lambda xy: "abcdefgh"[int(np.argmin(np.hypot(*(corners - xy).T)))]  # noqa: B023, E731
        points = [
            f"{letter(xy)} ({names[i]})" if corner else names[i]
            for xy, i, corner in zip(made.points, made.of, made.corner, strict=True)
        ]
        for triangle, area, volume in zip(made.triangles, made.areas, made.volumes, strict=True):
            if area < 1e-8:
                continue
            rows.append([
                one.patch, ", ".join(points[k] for k in triangle),
                ", ".join(fine(patches, made.depth[k]) for k in triangle), bare4(patches, area, Area), bare4(patches, volume, Volume),
            ])  # fmt: skip
        rows.append(
            [
                f"**{one.patch}**",
                "sum",
                "",
                f"**{bare4(patches, made.areas.sum(), Area)}**",
                f"**{bare4(patches, made.volume, Volume)}**",
            ]
        )
    if not rows:
        return Text("")
    length, area, volume = (units.kind_of(kind).symbol(patches.system) for kind in (Length, Area, Volume))
    heads = ["patch", "corners of the triangle", f"depth of removal [{length}]", f"area [{area}]", f"volume [{volume}]"]
    return block([
        "A letter is a corner of the marked limits, with the reading that gives its depth in brackets. Volume is area times the "
        "mean of the three depths; no depth is less than the bars ask for.",
        pipe_table(heads, rows, "lllrr"),
    ])  # fmt: skip


def bare4(patches: Patches, value: float, kind: Any) -> str:
    """Print a plain area or volume with the decimals that a sum of small parts needs."""
    quantity = metres(float(value), 2 if kind is Area else 3)
    places = (4 if kind is Area else 5) if patches.system == "SI" else 3
    return units.fixed(float(units.magnitude(quantity, units.kind_of(kind), patches.system)), places)


def sensitivities(patches: Patches) -> Text:
    """Order volume with one thing changed at a time."""
    base = float(patches.order_volume.m_as("m³"))
    rows = []
    for name, values, orders in sensitivity(patches):
        change = [100 * (float(order.m_as("m³")) / base - 1) for order in orders]
        rows.append([name, *(f"{value}: {patches.show(order, OrderVolume)} ({percent:+.1f} %)"
                             for value, order, percent in zip(values, orders, change, strict=True))])  # fmt: skip
    if not rows:
        return Text("")
    said = f"As designed the order volume is {patches.show(patches.order_volume, OrderVolume)}; one thing is changed at a time, and everything from the marked limits on is worked again."
    return block([said, pipe_table(["changed", "less", "more"], rows, "lll")])


def by_hand(patches: Patches, written: HandCalculations) -> Text:
    """Write out the patches that stand for the others by hand, and the rest as tables by the same formulas."""
    parts, said = [], set()
    marked = patches.marked.patches
    shown = shown_by_hand(patches)
    common = [item for item in patches.items if not item.startswith("patch ")]
    for item in [*(f"patch {name}" for name in shown), *common]:
        for run in patches.of(item):
            if run.calculation in said and item.startswith("span "):
                continue
            parts.append(written.by_run[run].markdown(remarks=run.calculation not in said))
            said.add(run.calculation)
        if item in patches.decisions:
            parts.append(f"**{item[0].upper() + item[1:]}:** {plain(patches.decisions[item])}.")
    rest = [f"patch {one.patch}" for one in marked if one.patch not in shown]
    for calculation in dict.fromkeys(run.calculation for item in rest for run in patches.of(item)):
        runs = [run for item in rest for run in patches.of(item) if run.calculation is calculation]
        names = [*(name for name, kind in written.by_run[runs[0]].kinds.items() if kind)]
        parts.append(
            f"### {calculation.title}, the other patches\n\n{table([written.by_run[run] for run in runs], names)}"
        )
    return block(parts)


def shown_by_hand(patches: Patches) -> list[str]:
    """Return the patches that are written out: the largest of each class, and each that has a calculation of its own."""
    shown: list[str] = []
    runs = runs_by_patch(patches)
    for word in dict.fromkeys(patches.depth_class.values()):
        mine = [name for name, kind in patches.depth_class.items() if kind == word]
        shown.append(max(mine, key=lambda name: runs[name]["patch_volume"].result.V_order))
    done = {run.calculation.name for name in shown for run in runs[name].values()}
    for name, found in runs.items():
        if set(found) - done:
            shown.append(name)
            done |= set(found)
    return sorted(shown, key=lambda name: int(name[1:]))


def share_of_deck(patches: Patches) -> Text:
    """Unsound share of every span."""
    rows = [
        [
            str(one.number),
            patches.show(one.unsound, Area),
            patches.show(one.surveyed, Area),
            patches.show(one.share, Share),
        ]
        for one in patches.spans
    ]
    return Text(pipe_table(["span", "unsound", "surveyed", "share"], rows))


def further(patches: Patches) -> list[Text]:
    """Return the tables that stand in the appendix."""
    return [sections.cautions(patches)]
