"""Sheet of the patches: its tables. The drawings stand in `deckcalc.patch.sheet.drawings`."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from deckcalc import patch
from deckcalc.base.subject import Run
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, Check
from deckcalc.core.units import Area, Distance, Length, OrderVolume, Ratio, Share, Volume
from deckcalc.patch.design import PatchDesign, Patches, part_words
from deckcalc.patch.design.location import Location
from deckcalc.patch.design.marking import metres
from deckcalc.patch.design.sensitivity import sensitivity
from deckcalc.patch.design.survey import where
from deckcalc.show.governing import cited, governing, leading_to
from deckcalc.show.hand import in_two, pipe_table
from deckcalc.show.sections import Text, block, plain
from deckcalc.show.written import HandCalculations


def survey(patches: Patches) -> Text:
    """What was surveyed and the unsound share of each span, in a sentence or two."""
    found, said = patches.marked.found, []
    if len(found.xy):
        along, across = (
            patches.show(metres(v), Distance)
            for v in (patches.inputs.survey.spacing_along, patches.inputs.survey.spacing_across)
        )
        said.append(
            f"{len(found.xy)} soundings every {along} along and {across} across, {int(found.hollow.sum())} of them delaminated"
        )
    if found.outlines:
        said.append(f"{len(found.outlines)} outline{'s' * (len(found.outlines) > 1)} of unsound concrete")
    readings = [reading for one in patches.marked.patches for reading in one.readings]
    count = {"depth": sum(r.depth is not None for r in readings), "cover": sum(r.cover is not None for r in readings)}
    said += [f"{number} reading{'s' * (number > 1)} of {what}" for what, number in count.items() if number]
    spans = [
        f"span {one.number}: {patches.show(one.unsound, Area)} unsound of {patches.show(one.surveyed, Area)} surveyed, {patches.show(one.share, Share)}"
        for one in patches.spans
        if one.unsound.magnitude
    ]
    return Text(f"Survey: {'; '.join(said)}. Unsound share: {'; '.join(spans) or 'none'}.\n")


def basis(patches: Patches) -> Text:
    """The inputs that the limits, depths and volumes rest on, with the symbols of the sketch."""
    deck, removal = patches.deck, patches.inputs.removal
    limit = lambda key, kind: patches.show(patches.limit(key).value, kind)  # noqa: E731
    rule = (
        f"{limit('partial_depth_ratio', Ratio)} $t$"
        if removal.full_depth_rule == "share of the slab" and deck.panel is None
        else "depth of the panel" if deck.panel is not None else "bottom mat"
    )  # fmt: skip
    rows = [
        ["$t$", patches.show(deck.slab_thickness, Length), "slab thickness"],
        ["$d_{1}$, $d_{2}$", plain(f"{deck.top_bar_outer}, {deck.top_bar_inner}"), "bars of the top mat, outer and inner"],
        ["$m$", limit("margin", Length), "margin of sound concrete"],
        ["", rule, "full depth from"],
        ["$d_{saw}$", limit("saw_depth", Length), "planned saw cut"],
        ["$m_{saw}$", limit("saw_margin", Length), "saw clear of the bars by"],
        *([[f"$s_{{c}}${f', {plain(name)}' if name else ''}", patches.show(space, Length), "clear space under exposed bars"]
           for name, space in patches.clear.items()]),
        ["$q_{over}$", patches.show(removal.overbreak, Share), "over-break"],
        *([["$q_{grow}$", patches.show(removal.growth, Share), "growth since the survey"]] if removal.growth is not None else []),
        ["$q_{waste}$", limit("waste", Share), "waste"],
    ]  # fmt: skip
    return Text(in_two(["symbol", "value", "meaning"], rows))


def results(patches: Patches, written: HandCalculations) -> Text:
    """One row a patch: depth class, limits, saw cut, removal, concrete to order, verdict; what else is required below."""
    rows = []
    for one in patches:
        share = patches.show(one.depth.r_h, Ratio)
        rows.append([
            plain(one.name), f"{one.depth_class}{' in part' if one.through is not None else ''}, {share}",
            " × ".join(patches.show(side, Distance) for side in (one.limits.L, one.limits.B)),
            units.show_at_most(one.saw, Length, patches.system), removal(patches, one), patches.show(one.volume.V_order, OrderVolume),
            verdict(patches, one),
        ])  # fmt: skip
    if len(rows) > 1:
        rows.append(["**all**", "", "", "", "", f"**{patches.show(patches.order_volume, OrderVolume)}**", ""])
    made = (patch.patch_depth, patch.patch_limits, patch.saw_cut, patch.removal_depth, patch.patch_volume)
    numbers = [cited(patches, written, calculation) for calculation in made]
    words = ("depth class, h_max/t", "L × B", "saw cut, maximum", "removal, minimum to deepest", "concrete to order")
    heads = [
        "patch",
        *(f"{word}{f' ({number})' if number else ''}" for word, number in zip(words, numbers, strict=True)),
        "checks",
    ]
    return block([
        pipe_table(heads, rows, "lllrrrl"),
        "The saw is held off the highest bar, by the minimum cover (rounded down); bars that are reached are freed under the deepest of "
        "them, by the maximum cover (rounded up). Volumes are in place, with growth, over-break and waste.",
        required(patches),
    ])  # fmt: skip


def headed(head: str, kind: Any, system: str) -> str:
    """Return the head of a column with the unit of its cells."""
    unit = units.head(units.kind_of(kind), system)
    return f"{head} [{unit}]" if unit else head


def bare(patches: Patches, value: Any, kind: Any) -> str:
    """Print a quantity under a head with its unit, so that a column adds up."""
    return units.cell(value, kind, patches.system, units.kind_of(kind).decimals(patches.system))


def removal(patches: Patches, one: PatchDesign) -> str:
    """Print between which depths a patch is broken out."""
    if one.floor is None:
        return "through"
    found = (metres(float(np.min(one.floor.depth))), one.left.h_d)
    values = [units.show_at_least(depth, Length, patches.system) for depth in found]
    said = values[0] if values[0] == values[1] else f"{values[0].rpartition(' ')[0]} to {values[1]}"
    return f"{said}, part through" if one.through is not None else said


def verdict(patches: Patches, one: PatchDesign) -> str:
    """Say how the checks of a patch came out, in the words of the worst."""
    said = {check.verdict for check in patches.checks if check.item == one.item}
    return next((f"**{word}**" for word in (NOT_SATISFIED, NOT_COVERED) if word in said), SATISFIED)


def required(patches: Patches) -> str:
    """List what is required beyond the row of a patch: parts that go through, longer limits, strips, debris."""
    said = []
    for item, words in patches.decisions.items():
        one = patches.each.get(item.removeprefix("patch "))
        if one is None:
            said.append([item, words])
            continue
        more = [f"goes through in a part: {part_words(patches, one.through)}"] if one.through is not None else []
        more += words.split("; ")[1:]
        if more:
            said.append([item, "; ".join(more)])
    return str(pipe_table(["item", "required action"], [[plain(a), plain(b)] for a, b in said], "ll")) if said else ""


def by_hand(patches: Patches, written: HandCalculations) -> Text:
    """Write out what leads to the governing check of a patch, to its limits, its class and its depth, and its order volume."""
    found = governing_case(patches)
    if found is None:
        return Text("")
    check, runs = found
    used = f"{100 * (check.utilisation or 0):.0f} % of its limit used"
    read = check.verdict != NOT_SATISFIED and any(one.verdict == NOT_SATISFIED for one in patches.checks)
    others = (
        " What is not satisfied above compares measured values with limits, and no calculation leads to it."
        if read
        else ""
    )
    return block([
        f"{plain(check.item[0].upper() + check.item[1:])}: {plain(check.title)}, {check.words}, {used}; the most of the checks of a patch that rest on a "
        f"calculation.{others} Every other patch stands in the appendix, line by line.",
        str(written.worked(runs)),
    ])  # fmt: skip


#: Up to so many patches a sheet writes out no more than what leads to the governing check.
FEW = 2


def governing_case(patches: Patches) -> tuple[Check, list[Run]] | None:
    """Return the check of a patch that governs, of those that rest on a calculation, and what is written out for its patch."""
    each = {one.item: one for one in patches}
    led = [
        check for check in patches.checks if check.item in each and leading_to(patches, check.demand, check.limit.value)
    ]
    check = governing(led)
    if check is None:
        return None
    one = each[check.item]
    runs = leading_to(patches, check.demand, check.limit.value)
    if len(each) > FEW:
        depth = [one.removal.h] if one.removal is not None else []
        runs += [run for run in leading_to(patches, one.limits.L, one.depth.r_h, *depth) if run not in runs]
        runs += patches.runs_of(patch.patch_volume)
    wanted = {id(run) for run in runs if run.item == one.item and run.calculation is not patch.patch_cover}
    return check, [run for run in patches.runs if id(run) in wanted]


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
        "Distances are those of the repair limits: across the deck to the near edge of each top flange (or stem) of the bay, at right angles to "
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


def outlines(patches: Patches) -> Text:
    """Outlines of unsound concrete that the survey gave, with area and place."""
    rows = []
    for outline in patches.marked.found.outlines:
        x, y = outline.shape.centroid.coords[0]
        area = patches.show(metres(outline.shape.area, 2), Area)
        rows.append([f"{outline.form} {outline.name}", area, f"about {where(patches.system, x, y)}"])
    return Text(pipe_table(["outline", "area", "where"], rows, "lrl") if rows else "")


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
    """Setting-out: corners of every patch with both diagonals."""
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
        f"Station and offset of each corner, and the diagonals, in {unit}. Mark the corners, then measure both diagonals of each "
        "rectangle: equal diagonals make square corners.",
        pipe_table(heads, rows, "l" * (most - 2) + "rr"),
    ])  # fmt: skip


def corners_of(one: Any) -> Any:
    """Return the corners of a patch in the order of their letters, from the one nearest to the start."""
    corners = shapely.get_coordinates(shapely.normalize(one.piece.outline))[:-1]
    return np.roll(corners, -int(np.argmin(np.round(corners.sum(axis=1), 6))), axis=0)


def chalked(patches: Patches, value: float, unit: bool = False) -> str:
    """Print plain metres as fine as they are set out: to the millimetre, or to an eighth of an inch."""
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
        "A letter is a corner of the repair limits, with the reading that gives its depth in brackets. Volume is area times the "
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
    said = f"As designed the order volume is {patches.show(patches.order_volume, OrderVolume)}; one thing is changed at a time, and everything from the repair limits on is worked again."
    return block([said, pipe_table(["changed", "less", "more"], rows, "lll")])


def further(patches: Patches) -> list[Any]:
    """Return what stands in the appendix: where each patch stands, readings, sections, volumes by triangles, sensitivity."""
    from deckcalc.patch.sheet.drawings import sections_drawn  # it draws with what stands here

    found: list[Any] = []
    for title, made in (
        ("Location of the patches", locations(patches)), ("Outlines of the survey", outlines(patches)),
        ("Readings of depth and cover", readings(patches)), ("Sections", sections_drawn(patches) if patches.each else ""),
        ("Volumes by triangles", triangles(patches)), ("Sensitivity of quantity", sensitivities(patches)),
    ):  # fmt: skip
        if made:
            found += [Text(f"### {title}\n"), made]
    return found
