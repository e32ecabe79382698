"""Commands of the reviewer: a filed document unpacked, verified, and run again with changed inputs."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from deckcalc.cli.printing import pair, print_table, say_wrapped
from deckcalc.core.units import InputError
from deckcalc.ends import say

if TYPE_CHECKING:
    from deckcalc.job.folder import Contents
    from deckcalc.job.review import Moved


def unpack(options: argparse.Namespace) -> None:
    """Write the job folder of a filed PDF."""
    from deckcalc.package import carried

    out = carried.unpack(options.file, options.out)
    say(f"The job folder is here: {out}.")


def rerun_options(one: argparse.ArgumentParser, place: type[Path] | object) -> None:
    """Add the arguments of rerun to its parser."""
    one.add_argument("filed", type=place, metavar="job", help="job folder, or a filed document, package.pdf")  # type: ignore[arg-type]
    one.add_argument("other", type=place, nargs="?", metavar="other",  # type: ignore[arg-type]
                     help="job folder or filed document that is held against it")  # fmt: skip
    one.add_argument("--set", action="append", default=[], metavar="section.key=value", dest="changes",
                     help="input to change: a table entry is table.id.column, such as depths.D3.depth; an entry of a list is named by "
                     "its number; a list is values apart by semicolons; @file.csv or @file.toml gives a table or section whole")  # fmt: skip
    one.add_argument("--add", action="append", nargs=2, default=[], metavar=("table", "values"),
                     help='new row of a table, entry of a list, or section: --add depths "reading = D30, depth = 80 mm, ..."')  # fmt: skip
    one.add_argument("--remove", action="append", default=[], metavar="table.id",
                     help="row, table, field, entry or section to take out")  # fmt: skip
    one.add_argument("--why", metavar="result", help="print the calculations and inputs behind a result or a check")
    one.add_argument("--affects", metavar="section.key", help="print all that moves when an input moves")
    one.add_argument("--out", type=place, help="folder for the review sheet: review.pdf, review.html, review.json")  # type: ignore[arg-type]
    one.add_argument("--json", action="store_true", help="the review as JSON")
    one.add_argument(
        "--difference", action="store_true", help="print what --write would change in the files of the job folder"
    )
    one.add_argument(
        "--write",
        action="store_true",
        help="write the changed inputs into the job folder; the difference is printed first",
    )


def rerun(options: argparse.Namespace) -> None:
    """Print what changed inputs, or those of another job, move."""
    from deckcalc.cli import reviewing
    from deckcalc.job import review

    changed = options.other or options.changes or options.add or options.remove
    if not (changed or options.why or options.affects):
        options.parser.error(
            "wants --set, --add, --remove, --why or --affects, or another job to hold against the first"
        )
    writing = options.write or options.difference
    if writing and (options.other or options.why or options.affects or options.json):
        options.parser.error("--write and --difference are of one job with inputs changed by --set, --add or --remove")
    if options.why or options.affects:
        print_dependence(options)
        return
    reviewing.require_place(options)
    place = contents_of(options.filed)
    other = contents_of(options.other) if options.other else None
    made = review.changes_of(changes(options))
    outcome = review.rerun(place, made, other)
    proposal = reviewing.proposed(place, made) if writing else None
    if reviewing.handed_out(outcome, place, options):
        return
    say("Inputs changed")
    print_table(("input", "old", "new"), [(one.where, one.old, one.new) for one in outcome.changed])
    say("", "Verdicts, open items and decisions that flipped")
    print_table(("check", "old", "new"), [(one.where, one.old, one.new) for one in outcome.flipped])
    say("", "Results that moved")
    if not outcome.moved:
        say("  none")
    for sheet, rows in outcome.by_sheet().items():
        say("", sheet)
        print_table(("result", "old", "new", "change"), [(own(one), one.old, one.new, one.percent) for one in rows])
    say("")
    say_wrapped(f"{outcome.counted}.")
    if proposal:
        reviewing.written(proposal, options.write)


def print_dependence(options: argparse.Namespace) -> None:
    """Print the chain behind a result, or all that moves with an input."""
    from deckcalc.cli.depends import print_affected, print_why
    from deckcalc.job import review
    from deckcalc.job.order import compute

    if options.other:
        options.parser.error("--why and --affects are of one job")
    job = compute(compute(contents_of(options.filed)), review.changes_of(changes(options)))
    if options.why:
        print_why(job, options.why)
    if options.affects:
        print_affected(job, options.affects)


def flip_points(options: argparse.Namespace) -> None:
    """Print what would turn verdicts."""
    from deckcalc.cli.depends import print_flips
    from deckcalc.job.order import compute

    print_flips(compute(contents_of(options.filed)), options)


def own(one: Moved) -> str:
    """Return where a result stands on its sheet."""
    return one.where.removeprefix(f"{one.sheet}, ")


def contents_of(place: Path) -> Contents:
    """Return what a job folder, or the filed PDF of a job, holds."""
    from deckcalc.job.file import read_folder

    if place.is_file() and place.suffix.lower() == ".pdf":
        from deckcalc.package import carried

        return carried.contents(place)
    from deckcalc.cli import require_folder

    require_folder(place)
    return read_folder(place)


def changes(options: argparse.Namespace) -> Iterator[tuple[str, str | None]]:
    """Give the changes that options name."""
    for text in options.changes:
        key, value = pair(text)
        yield key, whole(value)
    for number, (where, values) in enumerate(options.add, 1):
        yield f"{where.strip()}.+{number}", whole(values.strip())
    yield from ((key.strip(), None) for key in options.remove)


def whole(text: str) -> str:
    """Return a value, or the text of the file that it names with an @."""
    from deckcalc.job.bounded import text_of
    from deckcalc.job.folder import MOST_HEAD, bytes_of

    if not text.startswith("@"):
        return text
    path = Path(text[1:])
    try:
        data = bytes_of(path.parent.resolve(strict=True), path.name, MOST_HEAD)
    except (OSError, ValueError):
        raise InputError(f"{text[1:]}: there is no such file") from None
    except InputError as error:
        raise InputError(f"{path}: {error}") from None
    try:
        return f"{text_of(data)}\n"
    except InputError as error:
        raise InputError(f"{path}{error}") from None
