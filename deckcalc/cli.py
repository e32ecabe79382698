"""The command line: package, check, new, rerun, programme, list, run."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from deckcalc import __version__
from deckcalc.core import units
from deckcalc.core.units import InputError


def main(arguments: list[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : list of str, optional
        As on the command line.

    Returns
    -------
    int
        0, or 1 if inputs are faulty (every fault on standard error, nothing written; the programme of many jobs is written
        without those that are); a wrong command ends with 2.
    """
    options = parser().parse_args(arguments)
    from deckcalc.package.documents import PackageError

    try:
        options.command(options)
    except (InputError, PackageError) as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def parser() -> argparse.ArgumentParser:
    """Return the parser of the command line."""
    top = argparse.ArgumentParser(prog="deckcalc", description="Calculation packages for concrete bridge deck patches.")
    top.add_argument("--version", action="version", version=f"deckcalc {__version__}")
    commands = top.add_subparsers(required=True, metavar="command")

    def add(name: str, command: Any, text: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=text, description=text)
        made.set_defaults(command=command)
        return made

    one = add("package", package, "build the calculation package of a job folder: PDF, HTML, DOCX, manifest")
    one.add_argument("job", type=Path, help="job folder")
    one.add_argument("--out", type=Path, help="folder of the package (default: package, in the job folder)")
    one.add_argument("--quiet", action="store_true", help="no progress bar")
    one.add_argument("--only", metavar="sheet", help="print one sheet alone, such as crew_sheets")
    one = add("check", check, "read and compute a job folder and print its checks, without documents")
    one.add_argument("job", type=Path, help="job folder")
    one = add("new", new, "start a job folder with every field explained")
    one.add_argument("folder", type=Path, help="folder to make")
    one.add_argument("--units", choices=units.SYSTEMS, default="SI", help="unit system (default: SI)")
    one = add("rerun", rerun, "compute a job with changed inputs and print what moved")
    one.add_argument("job", type=Path, help="job folder")
    one.add_argument("--set", action="append", required=True, metavar="section.key=value", dest="changes",
                     help="input to change; a table entry is table.id.column, such as depths.D3.depth")  # fmt: skip
    one = add("programme", programme, "plan nights and loads of many job folders, into one table")
    one.add_argument("jobs", type=Path, nargs="+", metavar="job", help="job folder")
    one.add_argument("--out", type=Path, default=Path("programme.csv"), help="table (default: programme.csv)")
    one.add_argument("--units", choices=units.SYSTEMS, default="SI", help="unit system of the table (default: SI)")
    one.add_argument("--quiet", action="store_true", help="no progress bar")
    one = add("list", list_all, "list the calculations, limits, thresholds or sources")
    one.add_argument("what", nargs="?", default="calculations",
                     choices=["calculations", "limits", "thresholds", "exposures", "sources"])  # fmt: skip
    one.add_argument("--units", choices=units.SYSTEMS, default="SI", help="unit system of the limits (default: SI)")
    one = add("run", run, "run a single calculation")
    one.add_argument("name", help="name of the calculation, such as steel.section_loss")
    one.add_argument(
        "values",
        nargs="*",
        metavar="key=value",
        help='arguments, such as d="15.2 mm, 14.9 mm"; form=US where it has forms',
    )
    one.add_argument("--units", choices=units.SYSTEMS, default="SI", help="unit system of the results (default: SI)")
    one.add_argument("--json", action="store_true", help="results as JSON")
    return top


def package(options: argparse.Namespace) -> None:
    """Build a package and say where it is."""
    from deckcalc.package.build import build

    out = build(options.job, options.out, options.quiet, options.only)
    print("The calculation package is here:" if options.only is None else f"The sheet {options.only} is here:")
    for path in sorted(out.iterdir()):
        print(f"  {path}")


def check(options: argparse.Namespace) -> None:
    """Print the checks of a job."""
    from deckcalc.job import carry

    job = carry(options.job)
    rows = []
    for one in job.checks:
        demand, limit = one.printed(job.system)
        used = "" if one.utilisation is None else f"{100 * one.utilisation:.0f} %"
        rows.append((one.item, one.title, demand, f"{one.sense} {limit}", used, one.verdict))
    print_table(("item", "check", "demand", "limit", "utilised", "verdict"), rows)
    bad = sum(one.verdict != "satisfied" for one in job.checks)
    print(f"\n{len(rows)} checks, {len(rows) - bad} satisfied, {bad} not.")


def new(options: argparse.Namespace) -> None:
    """Start a job folder from the demo job, marked as example values."""
    from deckcalc.core.sources import folder

    if options.folder.exists():
        raise InputError(f"{options.folder} exists already; name a folder that does not")
    pattern = folder("notebooks") / f"demo_{options.units.lower()}"
    options.folder.parent.mkdir(parents=True, exist_ok=True)
    options.folder.mkdir()
    for path in sorted(pattern.iterdir()):
        if path.suffix == ".csv":
            shutil.copyfile(path, options.folder / path.name)
    text = (pattern / "job.toml").read_text(encoding="utf-8")
    head, _, tail = text.partition("scenario = ")
    rest = tail.partition("\n")[2]
    marked = 'scenario = "EXAMPLE VALUES: replace every value in this folder, then this line"  # printed on the title sheet\n'
    (options.folder / "job.toml").write_text(head + marked + rest, encoding="utf-8")
    print(f"Started {options.folder} with example values; replace them, then run: deckcalc check {options.folder}")


def rerun(options: argparse.Namespace) -> None:
    """Print what changed inputs move."""
    from deckcalc.job.review import rerun as review

    outcome = review(options.job, dict(pair(text) for text in options.changes))
    print("Inputs changed")
    print_table(("input", "old", "new"), [(one.where, one.old, one.new) for one in outcome.changed])
    print("\nResults that moved")
    print_table(
        ("result", "old", "new", "change"), [(one.where, one.old, one.new, one.percent) for one in outcome.moved]
    )
    print("\nVerdicts and decisions that flipped")
    print_table(("check", "old", "new"), [(one.where, one.old, one.new) for one in outcome.flipped])


def programme(options: argparse.Namespace) -> None:
    """Plan many jobs; those with faults are named, the others stand in the table."""
    from deckcalc.job import programme as many

    made = many.plan(options.jobs, options.units, options.quiet)
    many.write(made, options.out)
    print(f"{made.jobs} jobs planned, {len(made.rows)} nights: {options.out}")
    if made.faults:
        raise InputError("\n".join(f"{job}: {fault}" for job, faults in made.faults.items() for fault in faults))


def list_all(options: argparse.Namespace) -> None:
    """Print what there is."""
    from deckcalc import chloride, published
    from deckcalc.core import sources, tables

    if options.what == "calculations":
        print_table(("calculation", "title", "arguments"),
                    [(key, one.title, ", ".join(one.params)) for key, one in sorted(published.register().items())])  # fmt: skip
    elif options.what == "limits":
        limits = tables.load("limits").rows
        print_table(("key", "limit", options.units, "also in print"),
                    [(row["key"], row["meaning"], row[options.units], row["alternatives"]) for row in limits])  # fmt: skip
    elif options.what == "thresholds":
        print_table(("key", "value", "extraction", "meaning", "source"),
                    [(key, f"{one.printed} {'' if one.basis == 'volume' else 'of ' + one.basis}".strip(), one.extraction, one.meaning,
                      str(one.source)) for key, one in chloride.thresholds().items()])  # fmt: skip
    elif options.what == "exposures":
        exposures = tables.load("exposure_classes").rows
        print_table(("key", "exposure", "w/cm"), [(row["class"], row["exposure"], row["w/cm"]) for row in exposures])
    else:
        print_table(("cited as", "work"), [(f"[{work.short}]", str(work)) for work in sources.bibliography().values()])


def run(options: argparse.Namespace) -> None:
    """Run a single calculation and print its results."""
    from deckcalc import published

    given = dict(pair(text) for text in options.values)
    calculation = published.find(options.name, given.pop("form", ""))
    faults, values = [], {}
    for key, value in given.items():
        try:
            values[key] = published.read_argument(calculation, key, value)
        except InputError as error:
            faults.append(f"{key}: {error}")
    if faults:
        raise InputError("\n".join(faults))
    answer = calculation(**values)
    results = dict(zip(calculation.kinds, answer if calculation.record else (answer,), strict=True))
    if options.json:
        data = {
            name: {"value": float(units.magnitude(value, kind, options.units)), "unit": kind.symbol(options.units)}
            for (name, value), kind in zip(results.items(), calculation.kinds.values(), strict=True)
        }
        print(json.dumps(data, ensure_ascii=False, indent=1))
        return
    rows = [
        (name, units.show(value, calculation.kinds[name], options.units), line.comment)
        for (name, value), line in zip(results.items(), calculation.lines, strict=True)
    ]
    print_table(("result", "value", "meaning"), rows)


def pair(text: str) -> tuple[str, str]:
    """Split key=value."""
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise InputError(f"found “{text}”, wanted key=value")
    return key.strip(), value.strip()


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows in columns."""
    if not rows:
        print("  none")
        return
    widths = [max(len(str(row[i])) for row in [heads, *rows]) for i in range(len(heads))]
    for row in [heads, tuple("-" * width for width in widths), *rows]:
        print("  " + "  ".join(str(cell).ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def entry() -> None:
    """Run the command line and leave with its status."""
    sys.exit(main())
