"""Sheet of the patches: its tables. The drawings stand in `deckcalc.patch.sheet.drawings`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import shapely

from deckcalc import patch
from deckcalc.core import units
from deckcalc.core.units import Area, Distance, Length, OrderVolume, Share, Volume
from deckcalc.job import Job
from deckcalc.patch.design.marking import metres
from deckcalc.patch.design.sensitivity import sensitivity
from deckcalc.patch.inputs.survey import where
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, hand_calculations, plain

Column = tuple[
    str, Any, Callable[[dict[str, Any]], Any], bool
]  # head, kind (None: text), value, whether it is added up


def runs_by_patch(job: Job) -> dict[str, dict[str, Any]]:
    """Return for each patch its runs by the name of the calculation."""
    return {
        one.patch: {run.calculation.name: run for run in job.patch.of(f"patch {one.patch}")}
        for one in job.patch.marked.patches
    }


def tabled(job: Job, columns: Sequence[Column]) -> str:
    """Print a table of all patches, a column as fine as its kind asks for, with the sums below."""
    runs, rows = runs_by_patch(job), []
    heads = [
        "patch",
        *(f"{head} [{units.kind_of(kind).symbol(job.system)}]" if kind else head for head, kind, _, _ in columns),
    ]
    sums: list[Any] = [None] * len(columns)
    for name, found in runs.items():
        row = [name]
        for k, (_, kind, value, summed) in enumerate(columns):
            got = value(found)
            row.append(bare(job, got, kind) if kind and got is not None else got or "")
            if summed and got is not None:
                sums[k] = got if sums[k] is None else sums[k] + got
        rows.append(row)
    if len(rows) > 1:
        rows.append(
            ["**all**", *("" if s is None else f"**{bare(job, s, c[1])}**" for s, c in zip(sums, columns, strict=True))]
        )
    return pipe_table(heads, rows, "l" + "".join("r" if c[1] else "l" for c in columns))


def bare(job: Job, value: Any, kind: Any) -> str:
    """Print a quantity without its unit."""
    kind = units.kind_of(kind)
    return units.fixed(float(units.magnitude(value, kind, job.system)), kind.decimals(job.system))


def of(calculation: str, name: str) -> Callable[[dict[str, Any]], Any]:
    """Return a function that picks a result of a calculation, None where it was not done."""
    return lambda found: found[calculation].results()[name] if calculation in found else None


def schedule(job: Job) -> Text:
    """Schedule of patches: limits, depths and volumes, faces."""
    marked = {one.patch: one for one in job.patch.marked.patches}
    named = lambda found: next(iter(found.values())).item.removeprefix("patch ")  # noqa: E731
    limits: list[Column] = [
        ("span", None, lambda f: str(marked[named(f)].span), False),
        ("length", Distance, of("patch_limits", "L"), False), ("width", Distance, of("patch_limits", "B"), False),
        ("area", Area, of("patch_limits", "A"), True),
        ("unsound", Area, lambda f: f["patch_limits"].arguments["A_u"], True),
        ("sound taken out", Area, of("patch_limits", "A_sound"), True),
        ("saw cut", Distance, of("patch_limits", "P_cut"), True),
        ("from", None, lambda f: ", ".join(marked[named(f)].forms), False),
    ]  # fmt: skip
    volumes: list[Column] = [
        ("class", None, lambda f: job.patch.depth_class[named(f)] + (" in part" if named(f) in job.patch.through else ""),
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
    runs = runs_by_patch(job)
    faces = [column for column in faces if any(column[2](found) is not None for found in runs.values())]
    return block(
        [
            "**Limits**",
            tabled(job, limits),
            "**Depth and volume**",
            tabled(job, volumes),
            "**Faces and bars**",
            tabled(job, faces),
        ]
    )


def survey_summary(job: Job) -> Text:
    """What was surveyed: soundings, outlines, share of each span."""
    found = job.patch.marked.found
    rows = []
    if len(found.xy):
        along, across = (
            job.show(metres(v), Distance) for v in (job.head.survey.spacing_along, job.head.survey.spacing_across)
        )
        count, hollow = len(found.xy), int(found.hollow.sum())
        rows.append(["soundings", f"{count}, of which {hollow} hollow", f"every {along} along and {across} across"])
    for outline in found.outlines:
        x, y = outline.shape.centroid.coords[0]
        area = job.show(metres(outline.shape.area, 2), Area)
        rows.append([f"{outline.form} {outline.name}", area, f"about {where(job.system, x, y)}"])
    return Text(pipe_table(["survey", "what was found", "where"], rows, "lll"))


def readings(job: Job) -> Text:
    """Depth and cover readings, with the patch that each belongs to."""
    rows = []
    for one in job.patch.marked.patches:
        for reading in one.readings:
            values = (reading.depth, reading.cover)
            rows.append([
                one.patch, reading.name, bare(job, metres(reading.station), Distance), bare(job, metres(reading.offset), Distance),
                *("" if value is None else fine(job, value) for value in values),
            ])  # fmt: skip
    distance, length = units.kind_of(Distance).symbol(job.system), units.kind_of(Length).symbol(job.system)
    heads = [
        "patch",
        "reading",
        f"station [{distance}]",
        f"offset [{distance}]",
        f"depth [{length}]",
        f"cover [{length}]",
    ]
    over = job.head.deck.overlay
    said = (
        f"Depth and cover are from the top of the slab: the overlay of {job.show(over, Length)} is taken off."
        if over
        else ""
    )
    apart = [reading.name for reading in job.patch.marked.apart]
    unused = f"Cover readings outside all patches, not used: {', '.join(apart)}." if apart else ""
    return block([pipe_table(heads, rows, "llrrrr"), said, unused])


def fine(job: Job, value: float) -> str:
    """Print a reading with all that it has."""
    number = float(units.magnitude(metres(value), units.kind_of(Length), job.system))
    exact = units.exact_decimals(number, 3)
    return units.fixed(number, units.kind_of(Length).decimals(job.system) if exact is None else exact)


def set_out(job: Job) -> Text:
    """Corners of every patch to chalk from, with both diagonals."""
    unit = units.kind_of(Distance).symbol(job.system)
    rows = []
    for one in job.patch.marked.patches:
        corners = corners_of(one)
        cells = [f"{chalked(job, x)}, {chalked(job, y)}" for x, y in corners]
        across = [chalked(job, float(np.hypot(*(corners[i] - corners[j])))) for i, j in ((0, 2), (1, 3))]
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


def chalked(job: Job, value: float, unit: bool = False) -> str:
    """Print plain metres as fine as they are chalked: to the millimetre, or to a hundredth of a foot."""
    text = job.show(metres(value), Distance, 3 if job.system == "SI" else 2)
    return text if unit else text.rpartition(" ")[0]


def triangles(job: Job) -> Text:
    """Triangles of the volume of every patch of partial depth."""
    rows = []
    for one in job.patch.marked.patches:
        made = job.patch.floors.get(one.patch)
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
                ", ".join(fine(job, made.depth[k]) for k in triangle), bare4(job, area, Area), bare4(job, volume, Volume),
            ])  # fmt: skip
        rows.append(
            [
                f"**{one.patch}**",
                "sum",
                "",
                f"**{bare4(job, made.areas.sum(), Area)}**",
                f"**{bare4(job, made.volume, Volume)}**",
            ]
        )
    if not rows:
        return Text("Every patch goes through the slab: no volume is taken by triangles.\n")
    length, area, volume = (units.kind_of(kind).symbol(job.system) for kind in (Length, Area, Volume))
    heads = ["patch", "corners of the triangle", f"depth of removal [{length}]", f"area [{area}]", f"volume [{volume}]"]
    return block([
        "A letter is a corner of the marked limits, with the reading that gives its depth in brackets. Volume is area times the "
        "mean of the three depths; no depth is less than the bars ask for.",
        pipe_table(heads, rows, "lllrr"),
    ])  # fmt: skip


def bare4(job: Job, value: float, kind: Any) -> str:
    """Print a plain area or volume with the decimals that a sum of small parts needs."""
    quantity = metres(float(value), 2 if kind is Area else 3)
    places = (4 if kind is Area else 5) if job.system == "SI" else 3
    return units.fixed(float(units.magnitude(quantity, units.kind_of(kind), job.system)), places)


def sensitivities(job: Job) -> Text:
    """Order volume with one thing changed at a time."""
    base = float(job.patch.order_volume.m_as("m³"))
    rows = []
    for name, values, orders in sensitivity(job):
        change = [100 * (float(order.m_as("m³")) / base - 1) for order in orders]
        rows.append([name, *(f"{value}: {job.show(order, OrderVolume)} ({percent:+.1f} %)"
                             for value, order, percent in zip(values, orders, change, strict=True))])  # fmt: skip
    if not rows:
        return Text("The job tries out no other values.\n")
    said = f"As designed the order volume is {job.show(job.patch.order_volume, OrderVolume)}; one thing is changed at a time, and everything from the marked limits on is worked again."
    return block([said, pipe_table(["changed", "less", "more"], rows, "lll")])


def by_hand(job: Job) -> Text:
    """Write out the patches that stand for the others by hand, and the rest as tables by the same formulas."""
    from deckcalc.show.hand import table

    written, parts, said = hand_calculations(job), [], set()
    patches = job.patch.marked.patches
    shown = shown_by_hand(job)
    common = [item for item in job.patch.items if not item.startswith("patch ")]
    for item in [*(f"patch {name}" for name in shown), *common]:
        for run in job.patch.of(item):
            if run.calculation in said and item.startswith("span "):
                continue
            parts.append(written[run].markdown(remarks=run.calculation not in said))
            said.add(run.calculation)
        if item in job.patch.decisions:
            parts.append(f"**{item[0].upper() + item[1:]}:** {plain(job.patch.decisions[item])}.")
    rest = [f"patch {one.patch}" for one in patches if one.patch not in shown]
    for calculation in dict.fromkeys(run.calculation for item in rest for run in job.patch.of(item)):
        runs = [run for item in rest for run in job.patch.of(item) if run.calculation is calculation]
        names = [*(name for name, kind in written[runs[0]].kinds.items() if kind)]
        parts.append(f"### {calculation.title}, the other patches\n\n{table([written[run] for run in runs], names)}")
    return block(parts)


def shown_by_hand(job: Job) -> list[str]:
    """Return the patches that are written out: the largest of each class, and each that has a calculation of its own."""
    shown: list[str] = []
    runs = runs_by_patch(job)
    for word in dict.fromkeys(job.patch.depth_class.values()):
        mine = [name for name, kind in job.patch.depth_class.items() if kind == word]
        shown.append(max(mine, key=lambda name: runs[name]["patch_volume"].result.V_order))
    done = {run.calculation.name for name in shown for run in runs[name].values()}
    for name, found in runs.items():
        if set(found) - done:
            shown.append(name)
            done |= set(found)
    return sorted(shown, key=lambda name: int(name[1:]))


def share_of_deck(job: Job) -> Text:
    """Unsound share of every span."""
    rows = [[run.item.removeprefix("span "), job.show(run.arguments["A_u"], Area), job.show(run.result.A_d, Area), job.show(run.result.q_u, Share)]
            for run in job.patch.runs_of(patch.distress_share)]  # fmt: skip
    return Text(pipe_table(["span", "unsound", "surveyed", "share"], rows))
