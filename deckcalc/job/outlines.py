"""Outlines of unsound concrete taken from a file into traces.csv of a job, once it is clear that each lies on the deck.

Only the plan of the job is needed: joints, kerbs and skew. What is no outline is left out and said; an outline that is at
fault stops the writing until it is mended or left out by name, since unsound concrete that is not written is not repaired.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from deckcalc.base.fields import JobError
from deckcalc.base.replacing import put_table
from deckcalc.core import units
from deckcalc.core.units import Area, Distance, InputError, System, clipped
from deckcalc.core.words import how_many
from deckcalc.job import known_points, outline_drawings, outline_files
from deckcalc.job.bounded import MOST_WRITTEN, csv_of, text_of, toml_of
from deckcalc.job.dialect import read_csv
from deckcalc.job.folder import HEAD, MEGABYTE, MOST_HEAD, MOST_TABLE, SPREADSHEETS, bytes_of, read_contents
from deckcalc.job.outline_files import Drawn, Floats, Known
from deckcalc.job.read_tables import read_tables
from deckcalc.job.rows import read_rows, validated
from deckcalc.job.table import Table, head_of, taken
from deckcalc.patch.formulas import unsound
from deckcalc.patch.inputs.survey import Plan, TraceRow, factor

TABLE = "traces.csv"
#: Decimals in which stations and offsets are written, in metres or feet.
DECIMALS = 4
#: Outlines that differ by less than this share of their area are the same, as in the survey.
SAME = 0.01
NEAR = 1e-6  # metres
PLAIN = "rows are added to a table in plain form alone: save it as UTF-8 text with commas between its cells, decimal points, units in []"
HEADS = ("outline", "from", "vertices", "area", "station", "offset")


@dataclass(frozen=True)
class Choice:
    """What is told on the command line beside job and file."""

    known: Sequence[str] = ()
    on_deck: bool = False
    unit: str = ""
    layers: Sequence[str] = ()
    accuracy: str = known_points.PHONE
    without: Sequence[str] = ()


@dataclass(frozen=True, eq=False)
class Folder:
    """What of a job folder is needed: its units, its deck, and the outlines that stand in traces.csv."""

    path: Path
    system: System
    deck: Any
    there: bytes | None
    rows: list[Any]

    @property
    def unit(self) -> str:
        """Unit in which stations and offsets are written."""
        return "m" if self.system == "SI" else "ft"


@dataclass(frozen=True, eq=False)
class Outline:
    """An outline that is taken: its name, where it comes from, and its vertices in metres as they will be read."""

    name: str
    what: str
    xy: Floats
    shape: Any


@dataclass(eq=False)
class Taken:
    """What was taken of a file.

    Attributes
    ----------
    folder : Folder
    kind : str
    outlines : list of Outline
    left_out : list of tuple of str
        What, and why.
    faults : list of str
        Outlines that cannot be taken as they are.
    known : list of Known
    fit : Fit or None
    notes : list of str
        What the engineer has to know of them.
    """

    folder: Folder
    kind: str
    outlines: list[Outline] = field(default_factory=list)
    left_out: list[tuple[str, str]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    known: list[Known] = field(default_factory=list)
    fit: known_points.Fit | None = None
    notes: list[str] = field(default_factory=list)

    def rows(self) -> list[tuple[str, ...]]:
        """Return a row of words for every outline: `HEADS`."""
        return [
            (one.name, one.what, str(len(one.xy)), self.shown(one.shape.area, "m^2"), *self.extents(one))
            for one in self.outlines
        ]

    def extents(self, one: Outline) -> list[str]:
        """Return from where to where an outline reaches, along and across."""
        low, high = one.xy.min(axis=0), one.xy.max(axis=0)
        return [f"{self.shown(low[k])} to {self.shown(high[k])}" for k in (0, 1)]

    def shown(self, value: float, unit: str = "m") -> str:
        """Return a length or an area in the units of the job."""
        return units.show(units.quantity(float(value), unit), Distance if unit == "m" else Area, self.folder.system)

    def known_rows(self) -> list[tuple[str, ...]]:
        """Return a row of words for every known point: name, station, offset, by how much it misses its place."""
        return [
            (one.name, *map(self.shown, one.at), self.shown(miss))
            for one, miss in zip(self.known, self.fit.misses if self.fit else (), strict=True)
        ]


def take(job: Path, file: Path, choice: Choice) -> Taken:
    """Take the outlines of a file.

    Parameters
    ----------
    job : Path
        A job folder; of its job.toml only ``units`` and ``[plan]`` are read.
    file : Path
        GeoJSON, DXF or a list of points, told by its ending.
    choice : Choice

    Raises
    ------
    InputError
        If nothing can be taken: the file or the plan cannot be read, the known points do not fit, a choice makes no sense.
        Outlines at fault stand in the result.
    """
    folder = read_folder(job)
    try:
        drawn = read_file(file, choice)
        made = Taken(folder, drawn.kind, left_out=drawn.left_out, notes=drawn.notes)
        places = on_deck(made, drawn, choice)
        check_each(made, drawn, places, choice.without)
        if made.fit and drawn.fixes:
            note_accuracy(made, choice.accuracy)
    except JobError as error:
        raise JobError([one if one.startswith(file.name) else f"{file.name}: {one}" for one in error.faults]) from None
    except InputError as error:
        between = "" if str(error).startswith((":", ",")) else ": "
        raise JobError([f"{file.name}{between}{error}"]) from None
    made.faults = [f"{file.name}: {fault}" for fault in made.faults]
    return made


def read_folder(job: Path) -> Folder:
    """Read units, plan and traces of a job folder; nothing else need be there."""
    path, faults = job.resolve(), list[str]()
    if not path.is_dir():
        raise JobError(
            [f"{clipped(job, 200)}: there is no such folder; start one with “deckcalc new {clipped(job, 200)}”"]
        )
    if not (path / HEAD).exists():
        raise JobError([f"{HEAD}: missing; wanted units and [plan] with left, right and joints"])
    try:
        data = toml_of(text_of(bytes_of(path, HEAD, MOST_HEAD)))
    except InputError as error:
        raise JobError([f"{HEAD}: {error}"]) from None
    system = data.get("units")
    if system not in units.SYSTEMS:
        faults.append(f"{HEAD}: units: found “{clipped(system)}”, wanted “SI” or “US”")
    plan = validated(Plan, data.get("plan", {}), f"{HEAD}: plan", faults)
    rises = plan and list(plan.joints) == sorted(set(plan.joints)) and plan.left < plan.right and abs(plan.skew) <= 75
    if plan and not rises:
        faults.append(
            f"{HEAD}: plan: wanted joints that rise, a left kerb to the left of the right one, at most 75 deg of skew"
        )
    there, rows = None, list[Any]()
    if (path / TABLE).exists():
        try:
            there = bytes_of(path, TABLE, MOST_TABLE)
            table = traces_of(there)
            rows = read_rows(table, TraceRow, faults)
            if not table.data:
                faults.append(f"{TABLE}: {', '.join(table.understood)}; {PLAIN}")
        except InputError as error:
            faults.append(f"{TABLE}: {str(error).lstrip(':, ')}")
    if any((path / file).exists() for file in SPREADSHEETS):
        faults += in_a_sheet(path)
    if faults:
        raise JobError(faults)
    assert plan and system in units.SYSTEMS
    return Folder(path, system, shapely.union_all(plan.panels(), grid_size=unsound.GRAIN), there, rows)


def in_a_sheet(path: Path) -> list[str]:
    """Return why no outline is added to a job whose traces stand in a spreadsheet, or may stand there."""
    tables = read_tables(read_contents(path, ["traces"]), {"traces": TraceRow})
    table = tables.found.get("traces")
    said = [one for one in tables.faults if any(file in one for file in SPREADSHEETS)]
    if table and table.file != TABLE:
        said.append(
            f"{table.file}: rows are added to {TABLE} alone: save the sheet as {TABLE}, and take it out of there"
        )
    return said


def traces_of(data: bytes) -> Table:
    """Return traces.csv as cells; lines ended by CR LF are as good as those of the plain form, since rows are added with such."""
    return taken(read_csv("traces", data.replace(b"\r\n", b"\n"), TraceRow, MOST_WRITTEN), TraceRow)


def read_file(file: Path, choice: Choice) -> Drawn:
    """Read a file by its ending, and refuse choices that it has no use for."""
    path, ending = file.resolve(), file.suffix.lower()
    if not path.is_file():
        raise InputError(": there is no such file")
    if path.stat().st_size > MOST_TABLE:
        raise InputError(f": larger than {MOST_TABLE // MEGABYTE} MB; export the outlines alone")
    if ending not in (".geojson", ".json", ".dxf", ".csv"):
        raise InputError(": wanted a file .geojson, .json, .dxf, or .csv with a list of points")
    if choice.unit:
        try:
            factor(choice.unit)
        except InputError:
            raise InputError(
                f": --unit: found “{clipped(choice.unit)}”, wanted a length such as m, mm, ft or in"
            ) from None
    json = ending in (".geojson", ".json")
    for said, wrong, why in (
        (choice.layers, ending != ".dxf", "--layer: only a DXF has layers"),
        (choice.on_deck and choice.known, True, "--known and --deck-coordinates: say one of the two"),
        (choice.on_deck, ending == ".csv", f"--deck-coordinates: a list of stations and offsets is {TABLE} itself"),
        (
            choice.unit,
            ending == ".csv" or (json and not choice.on_deck),
            "--unit: latitude and longitude are in degrees",
        ),
        (choice.on_deck and not choice.unit, json, "--deck-coordinates: wanted the unit, such as --unit m"),
    ):
        if said and wrong:
            raise InputError(f": {why}")
    data = bytes_of(Path(path.anchor), str(path.relative_to(path.anchor)), MOST_TABLE)
    if ending == ".dxf":
        return outline_drawings.dxf(data, choice.unit, list(choice.layers))
    if json:
        return outline_files.geojson(data, choice.on_deck)
    names = [text.rpartition("=")[0].strip() for text in choice.known]
    return outline_files.points(file.stem, data, names)


def on_deck(made: Taken, drawn: Drawn, choice: Choice) -> list[Floats]:
    """Return every line in station and offset, and note how it was placed."""
    if not drawn.lines:
        why = "; ".join([f"{what}: {why}" for what, why in drawn.left_out][:20])
        raise InputError(
            f": holds no closed outline{' of these layers' if choice.layers else ''}{': ' if why else ''}{why}"
        )
    if choice.on_deck:
        metres = drawn.metres if drawn.kind == "DXF" else factor(choice.unit)
        made.notes.append(
            "x was taken as the station and y as the offset, positive to the right looking ahead: see that the outlines "
            "lie on the side of the centreline where they are."
        )
        return [line.xy * metres for line in drawn.lines]
    made.known = known_points.known_of(drawn, choice.known)
    places, made.fit = known_points.placed(drawn, made.known, choice.accuracy, made.folder.system)
    within = known_points.SCALE_OF_FIXES if drawn.fixes else known_points.SCALE_OF_DRAWINGS
    made.notes.append(
        f"The scale that fits the known points best is {made.fit.scale:.4f} (wanted {1 - within:g} to {1 + within:g}); "
        "the outlines were turned and shifted onto a straight deck, not stretched."
    )
    if not drawn.fixes:
        made.notes.append("The drawing was taken as seen from above.")
    return places


def check_each(made: Taken, drawn: Drawn, places: Sequence[Floats], without: Sequence[str]) -> None:
    """Name every outline, and take those that are whole and on the deck."""
    taken = dict[str, Any]()
    for name in dict.fromkeys(row.outline for row in made.folder.rows):
        vertices = np.array([(row.station, row.offset) for row in made.folder.rows if row.outline == name])
        taken[name] = shapely.Polygon(vertices) if len(vertices) > 2 else shapely.Polygon()
    given = [line.name for line in drawn.lines if line.name]
    free = (f"U{k}" for k in range(1, 10**6) if f"U{k}" not in taken and f"U{k}" not in given)
    names = [line.name or next(free) for line in drawn.lines]
    for name in without:
        if name not in names:
            made.faults.append(
                f"--without {clipped(name)}: no such outline; there are {', '.join(map(clipped, names))}"
            )
    deck, old = made.folder.deck.buffer(NEAR), set(taken)
    for line, name, place in zip(drawn.lines, names, places, strict=True):
        if name in without:
            made.left_out.append((name, "left out as told"))
            continue
        try:
            if line.fault:
                raise InputError(line.fault)
            xy = rounded(place, made.folder)
            shape = unsound.traced_outline(xy)
        except InputError as error:
            made.faults.append(f"outline {clipped(name)} ({line.what}): {error}")
            continue
        one = Outline(name, line.what, xy, shape)
        where = f"station {made.extents(one)[0]}, offset {made.extents(one)[1]}"
        twin = next((other for other, its in taken.items() if same(shape, its)), None)
        if twin is not None:
            made.left_out.append((name, f"the same area as outline {twin}{f' of {TABLE}' if twin in old else ''}"))
        elif name in taken:
            found = f"{TABLE} has another outline of that name" if name in old else "a second outline of that name"
            made.faults.append(f"outline {clipped(name)} ({line.what}): {found}; rename one of them")
        elif not deck.covers(shape):
            off = 100 * (1 - shape.intersection(made.folder.deck).area / shape.area)
            share = "off the deck" if off > 99.99 else f"{max(off, 0.01):.2g} % of it lies off the deck"
            made.faults.append(f"outline {clipped(name)} ({line.what}): {share}: {where}")
        else:
            taken[name] = shape
            made.outlines.append(one)
            if line.holes:
                made.notes.append(
                    f"Outline {name} has {how_many(line.holes, 'hole')}, which a trace cannot have: all of it is taken as unsound."
                )


def rounded(place: Floats, folder: Folder) -> Floats:
    """Return vertices as they will be written, in metres, without those that fall together."""
    scale = factor(folder.unit)
    xy = np.round(place / scale, DECIMALS)
    apart = np.any(xy != np.roll(xy, 1, axis=0), axis=1)
    return xy[apart] * scale if apart.any() else xy[:1] * scale


def same(shape: Any, other: Any) -> bool:
    """Whether two outlines are the same area."""
    return bool(other.is_valid and shape.symmetric_difference(other).area < SAME * shape.area)


def note_accuracy(made: Taken, accuracy: str) -> None:
    """Say how far off an outline may be that was placed by fixes, and what that means."""
    assert made.fit
    told, unit = known_points.length_of(accuracy), made.folder.unit
    shown = lambda x: f"{x / factor(unit):.2g} {unit}"  # noqa: E731
    fix = max(told, made.fit.accuracy())
    worst = max((made.fit.off_by(at, fix) for one in made.outlines for at in one.xy), default=fix)
    basis = (
        f"the known points miss their places as fixes good to {shown(fix)} do" if fix > told
        else f"a fix is taken as good to {shown(fix)}" + (
            ", common practice for a phone under open sky" if accuracy == known_points.PHONE else ", as told")
    )  # fmt: skip
    made.notes.append(
        f"Engineer's note: a vertex may stand {shown(worst)} from where it is ({basis}), and the sides of an outline may be "
        "as wrong. No saw cut is set out by it: check every outline on the deck by tape from a joint and a kerb, and correct "
        f"{TABLE}, before limits are marked."
    )


def table_with(made: Taken) -> str:
    """Return traces.csv as it would be: what stands there, and a row for every vertex, in its columns and units.

    Raises
    ------
    JobError
        If it could not be read back.
    """
    folder = made.folder
    old = text_of(folder.there) if folder.there else ""
    head = csv_of(old)[0][0] if old else ["vertex", "outline", f"station [{folder.unit}]", f"offset [{folder.unit}]"]
    with io.StringIO(newline="") as file:
        file.write(old)
        table = csv.writer(file, lineterminator="\r\n" if "\r\n" in old else "\n")
        if not old:
            table.writerow(head)
        elif not old.endswith("\n"):
            file.write(table.dialect.lineterminator)
        for one in made.outlines:
            for number, (station, offset) in enumerate(one.xy, 1):
                cells = {"vertex": f"{one.name}-{number}", "outline": one.name, "station": station, "offset": offset}
                table.writerow([cell(cells, name, folder.unit) for name in head])
        text = file.getvalue()
    faults: list[str] = []
    rows = read_rows(traces_of(text.encode()), TraceRow, faults)
    new = np.concatenate([one.xy for one in made.outlines])
    if faults:
        raise JobError([f"as it would be, {fault}" for fault in faults])
    read = np.array([(row.station, row.offset) for row in rows[len(folder.rows) :]])
    if (
        rows[: len(folder.rows)] != folder.rows
        or read.shape != new.shape
        or not np.allclose(read, new, rtol=0, atol=1e-4)
    ):
        raise JobError(
            [f"{TABLE}: is written in a way in which no rows can be added; save it with commas between its cells"]
        )
    return text


def cell(cells: dict[str, Any], head: str, unit: str) -> str:
    """Return a cell under a head; lengths in its unit, or with their own where it names none."""
    column, own = head_of(head, TraceRow) or ("", "")
    value = cells.get(column, "")  # nothing in a column for people
    if isinstance(value, str):
        return value
    number = round(float(value) / factor(own or unit), DECIMALS + 3)
    return f"{number:.10g}" + ("" if own else f" {unit}")


def write(made: Taken) -> Path:
    """Add the outlines to traces.csv of the job folder; the table stands there whole.

    Raises
    ------
    InputError
        If an outline is at fault, there is none, the table would be too long, or it changed since it was read.
    """
    if made.faults:
        raise JobError(
            [*made.faults, "nothing was written: mend these outlines, or leave them out by name with --without"]
        )
    if not made.outlines:
        raise JobError(["no outline is left to write: nothing was written"])
    count = len(made.folder.rows) + sum(len(one.xy) for one in made.outlines)
    if count > MOST_WRITTEN:
        raise JobError([f"{TABLE}: would have {count} rows, wanted at most {MOST_WRITTEN}: nothing was written"])
    return put_table(made.folder.path / TABLE, table_with(made), made.folder.there)
