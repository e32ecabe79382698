"""What was found and built, taken into a job by command, and what differs from its plan."""

from __future__ import annotations

import argparse
from pathlib import Path

from deckcalc.cli.printing import print_table, say_wrapped
from deckcalc.core.units import InputError
from deckcalc.ends import say

HEADS = ("", "patches", "what", "planned", "found", "difference", "who acts")


def record(options: argparse.Namespace) -> None:
    """Print what files add to the record of a job, and what differs from its plan; write the record if asked to."""
    from deckcalc.job import record_files
    from deckcalc.job.file import read_job

    made = record_files.take(
        options.job, options.files, record_files.Choice(options.patch, degrees(options.unit), options.revision)
    )
    if options.files:
        say_rows(made)
    if made.faults:
        raise InputError("\n".join([*made.faults, "nothing was written"]))
    say_deviations(made)
    if made.tables and not options.write:
        say(
            "", f"Nothing was written; the same with --write writes {', '.join(f'{name}.csv' for name in made.tables)}."
        )
    elif made.tables:
        there = record_files.write(made)
        options.left = f"The record is written: {', '.join(path.name for path in there)}."
        say("", f"Written: {', '.join(map(str, there))}")
    album = record_files.album_faults(read_job(made.after) if made.after is not None else made.file)
    if album and not options.files:
        raise InputError("\n".join(album))
    for fault in album:
        say_wrapped(fault)


def degrees(unit: str | None) -> str:
    """Return the unit of a temperature with its sign; nothing where none is named."""
    return f"°{unit.removeprefix('°')}" if unit else ""


def say_rows(made: object) -> None:
    """Print the rows that are new, those that stand there already, and how the files were taken."""
    from deckcalc.job.record_files import Taking

    assert isinstance(made, Taking)
    counts: dict[tuple[str, str], int] = {}
    for row in made.rows:
        key = (row.table, row.source.partition(",")[0])
        counts[key] = counts.get(key, 0) + 1
    say("New in the record")
    print_table(("table", "from", "rows"), [(table, source, str(count)) for (table, source), count in counts.items()])
    shown = [row for row in made.rows if row.table != "logger"]
    for row in shown:
        cells = ", ".join(f"{key.replace('_', ' ')} {cell}" for key, cell in row.cells.items() if cell.strip())
        say_wrapped(f"{row.table}: {cells}", 2)
    for title, lines in (("Understood", made.understood), ("There already", made.there)):
        if lines:
            say("", title)
            for line in lines:
                say_wrapped(line, 2)
    say("")


def say_deviations(made: object) -> None:
    """Print what differs from the plan, the worst first."""
    from deckcalc.job.deviations import deviations, tally
    from deckcalc.job.order import compute
    from deckcalc.job.record import record_of, recorded
    from deckcalc.job.record_files import Taking

    assert isinstance(made, Taking)
    job = compute(made.after if made.after is not None else made.file)
    if not recorded(job):
        say(f"{Path(made.file.folder).name}: nothing was found or built by its tables; name files that hold a record.")
        return
    found = deviations(record_of(job))
    say("What differs from the plan, the worst first")
    print_table(HEADS, [(one.words, ", ".join(one.patches), *one[2:]) for one in found])
    say("")
    say_wrapped(f"{tally(found)}.")
