"""The command line: package, check, new, rerun, adopt, programme, tables, list, run."""

from __future__ import annotations

import argparse
import difflib
import json
import os
import shutil
import sys
from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from deckcalc import __version__, ends
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.units import InputError
from deckcalc.ends import plain, say

if TYPE_CHECKING:
    from deckcalc.job import Job

#: What a command that was cut short has left; the others write nothing.
LEFT = {
    "package": "A package is put in place whole or not at all, and a former one stays until then.",
    "programme": "The table is put in place whole or not at all, and a former one stays until then.",
    "tables": "The tables are put in place whole or not at all, and former ones stay until then.",
    "adopt": "The plan is written whole or not at all.",
    "new": "A job folder is put in place whole or not at all.",
}
FORMATS = ("csv", "parquet", "xlsx", "ods")
LISTS = ("calculations", "limits", "thresholds", "exposures", "sources")
ENDINGS = (
    "Ends with 0 when done, 1 for faults of the input or of the system, 2 for a wrong command, 130 if interrupted. "
    f"With {ends.DETAILS}=1 in the environment a failure prints its details."
)


class Parser(argparse.ArgumentParser):
    """A parser whose errors are one line, and the usage of the command."""

    commands: Collection[str] = ()

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.color = False  # later versions of Python would colour the help

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and end with 2."""
        ends.complain(f"{self.prog}: {message}", " ".join(self.format_usage().split()))
        raise SystemExit(2)

    def _print_message(self, message: str, file: Any = None) -> None:
        """Print help or version; a stream that takes no more is an error as everywhere."""
        (ends.say if file is sys.stdout else ends.complain)(*message.rstrip("\n").split("\n"))


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
    words = sys.argv[1:] if arguments is None else arguments
    top = parser()
    named = next((word for word in words if not word.startswith("-")), None)
    if named is not None and named not in top.commands:
        top.error(f"there is no command “{named}”{near(named, top.commands)}; there are {', '.join(top.commands)}")
    options, surplus = top.parse_known_args(words)
    if surplus:
        options.parser.error(f"takes no {' '.join(repr(word) for word in surplus)}")
    from deckcalc.base.errors import PackageError

    try:
        if "job" in options:
            require_folder(options.job)
        options.command(options)
        ends.printed()
    except (InputError, PackageError) as error:
        ends.complain(*getattr(error, "faults", str(error).split("\n")))
        return 1
    except BaseException as error:
        error.add_note(options.left)
        raise
    return 0


def parser() -> Parser:
    """Return the parser of the command line."""
    top = Parser(prog="deckcalc", description="Calculation packages for concrete bridge deck patches.", epilog=ENDINGS)
    top.add_argument("--version", action="version", version=f"deckcalc {__version__}")
    commands = top.add_subparsers(required=True, metavar="command")
    top.commands = commands.choices

    def add(name: str, command: Any, text: str) -> Parser:
        made = commands.add_parser(name, help=text, description=text, epilog=ENDINGS)
        made.set_defaults(command=command, parser=made, left=LEFT.get(name, "No file was written."))
        return made

    def add_units(made: Parser, what: str) -> None:
        made.add_argument("--units", type=one_of(units.SYSTEMS), metavar="{SI,US}", default="SI",
                          help=f"unit system{what} (default: SI)")  # fmt: skip

    one = add("package", package, "build the calculation package of a job folder: PDF, HTML, DOCX, manifest")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--out", type=place, help="folder of the package (default: package, in the job folder)")
    one.add_argument("--quiet", action="store_true", help="no progress bar")
    one.add_argument("--only", metavar="sheet", help="print one sheet alone, such as crew_sheets")
    one.add_argument(
        "--own-notebooks",
        action="store_true",
        help="run the notebooks that lie in the job folder: only those you trust",
    )
    one = add("check", check, "read and compute a job folder and print its checks, without documents")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--write-faults", action="store_true",
                     help="write a copy of the tables, faults.xlsx in the job folder, in which the cells at fault are marked")  # fmt: skip
    one = add("new", new, "start a job folder with every field explained")
    one.add_argument("folder", type=place, help="folder to make")
    add_units(one, "")
    one = add("rerun", rerun, "compute a job with changed inputs and print what moved")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--set", action="append", required=True, metavar="section.key=value", dest="changes",
                     help="input to change; a table entry is table.id.column, such as depths.D3.depth")  # fmt: skip
    one = add("adopt", adopt, "propose a plan of the work, and write it into the job folder when it is to be adopted")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--write", action="store_true", help="adopt it: write placements.csv")
    one.add_argument("--without", action="append", default=[], metavar="patch", help="patch to leave out of the plan")
    one = add("programme", programme, "plan nights and loads of many job folders, into one table")
    one.add_argument("jobs", type=place, nargs="+", metavar="job", help="job folder")
    one.add_argument("--out", type=place, default=Path("programme.csv"), help="table (default: programme.csv)")
    add_units(one, " of the table")
    one.add_argument("--quiet", action="store_true", help="no progress bar")
    one = add("tables", tables, "write inputs and results of a job as tables, units in their heads")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--out", type=place, required=True, help="folder of the tables")
    one.add_argument("--format", type=one_of(FORMATS), default="csv", metavar="format",
                     help=f"{', '.join(FORMATS)} (default: csv); a spreadsheet holds all tables in one file")  # fmt: skip
    one = add("list", list_all, "list the calculations, limits, thresholds or sources")
    one.add_argument("what", nargs="?", default="calculations", type=one_of(LISTS), metavar="what",
                     help=f"{', '.join(LISTS)} (default: calculations)")  # fmt: skip
    add_units(one, " of the limits")
    one = add("run", run, "run a single calculation")
    one.add_argument("name", help="name of the calculation, such as steel.section_loss")
    one.add_argument("values", nargs="*", metavar="key=value",
                     help='arguments, such as d="15.2 mm, 14.9 mm"; form=US where it has forms')  # fmt: skip
    add_units(one, " of the results")
    one.add_argument("--json", action="store_true", help="results as JSON")
    return top


def package(options: argparse.Namespace) -> None:
    """Build a package and say where it is."""
    from deckcalc.package.build import build, missing_in

    out = build(
        options.job, options.out, options.quiet or not ends.watched(), options.only, options.own_notebooks,
        say=lambda line: ends.complain(line),
    )  # fmt: skip
    options.left = f"The package is complete: {out}."
    say("The calculation package is here:" if options.only is None else f"The sheet {options.only} is here:")
    say(*(f"  {path}" for path in sorted(out.iterdir())))
    require_complete(missing_in(out))


def check(options: argparse.Namespace) -> None:
    """Print what is open in a job, and its checks: those that fail, those that are not covered, the others."""
    from deckcalc.core import check as verdicts
    from deckcalc.job import report

    job = computed(options)
    say("Open items: what they stop does not go on, and nobody signs, before they are decided")
    say(*(f"  {head:>3}  {plain(text)}" for head, text in report.open_lines(job)))
    for word in (verdicts.NOT_SATISFIED, verdicts.NOT_COVERED, verdicts.SATISFIED):
        say("", f"Checks {word}")
        rows = report.check_rows(job, word)
        print_table(report.HEADS[: len(rows[0])] if rows else (), rows)
    say("", f"{report.tally(job)}.")
    if job.file.understood:
        say("", "Understood from the job folder:", *(f"  {one}" for one in map(plain, job.file.understood)))
    if job.file.unread:
        say("", *job.file.not_read("\n  ").split("\n"))
    require_complete(job.not_computed)


def computed(options: argparse.Namespace) -> Job:
    """Compute a job; where it is faulty and the user asks for it, mark the cells at fault in a copy of its tables."""
    from deckcalc.job import compute
    from deckcalc.job.file import JobError, read_folder

    contents = read_folder(options.job)
    try:
        return compute(contents)
    except JobError as error:
        if options.write_faults:
            from deckcalc.base.errors import PackageError
            from deckcalc.job.spreadsheet import mark_faults

            try:
                say(f"The cells at fault are marked in {mark_faults(contents, error.faults)}")
            except (InputError, PackageError) as why:
                raise JobError([*error.faults, f"no cell was marked: {why}"]) from None
        raise


def require_complete(missing: Sequence[str]) -> None:
    """End with status 1 where a subject could not be computed; what could be stands."""
    if missing:
        raise InputError("\n".join(missing))


def new(options: argparse.Namespace) -> None:
    """Start a job folder from the demo job, marked as example values."""
    from deckcalc.base.replacing import holding
    from deckcalc.core.sources import folder

    if os.path.lexists(options.folder):
        raise InputError(f"{options.folder} exists already; name a folder that does not")
    pattern = folder("notebooks") / f"demo_{options.units.lower()}"
    text = (pattern / "job.toml").read_text(encoding="utf-8")
    head, _, tail = text.partition("scenario = ")
    rest = tail.partition("\n")[2]
    marked = 'scenario = "EXAMPLE VALUES: replace every value in this folder, then this line"  # printed on the title sheet\n'
    with holding(Path(os.path.realpath(options.folder))) as holder:
        made = holder / "new"
        made.mkdir()
        for path in sorted(pattern.iterdir()):
            if path.suffix == ".csv":
                shutil.copyfile(path, made / path.name)
        (made / "job.toml").write_text(head + marked + rest, encoding="utf-8")
        os.rename(made, options.folder)
    say(f"Started {options.folder} with example values; replace them, then run: deckcalc check {options.folder}")


def rerun(options: argparse.Namespace) -> None:
    """Print what changed inputs move."""
    from deckcalc.job import review

    outcome = review.rerun(options.job, review.changes_of(pair(text) for text in options.changes))
    say("Inputs changed")
    print_table(("input", "old", "new"), [(one.where, one.old, one.new) for one in outcome.changed])
    say("", "Results that moved")
    print_table(
        ("result", "old", "new", "change"), [(one.where, one.old, one.new, one.percent) for one in outcome.moved]
    )
    say("", "Verdicts and decisions that flipped")
    print_table(("check", "old", "new"), [(one.where, one.old, one.new) for one in outcome.flipped])


def adopt(options: argparse.Namespace) -> None:
    """Print a proposed plan and what it replaces; write it if it is adopted."""
    from deckcalc.job import adopt as plans
    from deckcalc.job.file import read_job
    from deckcalc.job.order import Job

    job = Job(read_job(options.job))
    made = plans.propose(job, options.without)
    say("Proposed, by likely times")
    print_table(plans.HEADS, made.rows)
    if made.dropped:
        say("", "In place of the plan that stands")
        print_table(plans.HEADS, [plans.written(row) for row in made.dropped])
    if made.left_out:
        say("", f"Left out: {', '.join(made.left_out)}")
    if made.checks:
        say("", "As proposed, by the curves and the weather of the job")
        print_table(("item", "check", "verdict"), [(one.item, one.title, one.verdict) for one in made.checks])
    if not options.write:
        say("", f"Nothing was written; “deckcalc adopt {options.job} --write” adopts it.")
        return
    there = plans.write(made, job.file.contents)
    options.left = f"The plan is adopted: {there}."
    say("", f"Adopted: {there}")


def programme(options: argparse.Namespace) -> None:
    """Plan many jobs; those with faults are named, the others stand in the table."""
    from deckcalc.job import programme as many

    many.may_replace(options.out)
    made = many.plan(options.jobs, options.units, options.quiet or not ends.watched())
    many.write(made, options.out)
    options.left = f"The table is complete: {options.out}."
    say(f"{made.jobs} jobs planned, {len(made.rows)} nights: {options.out}")
    if made.faults:
        raise InputError("\n".join(f"{job}: {fault}" for job, faults in made.faults.items() for fault in faults))


def tables(options: argparse.Namespace) -> None:
    """Write the tables of a job."""
    from deckcalc.job import compute
    from deckcalc.job.result_tables import write

    job = compute(options.job)
    made = job.tables()
    there = write(made, options.out, options.format)
    options.left = f"The tables are complete: {there}."
    say(f"{len(made)} tables are here: {there}")
    require_complete(job.not_computed)


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

    form = next(
        (value for key, _, value in (text.partition("=") for text in options.values) if key.strip() == "form"), ""
    ).strip()
    calculation = published.find(options.name, form) or published.find(options.name)
    if calculation is None:
        raise InputError(plain(unknown(options.name, form)))
    values = arguments_of(calculation, options.values)
    answer = calculation(**values)
    results = dict(zip(calculation.kinds, answer if calculation.record else (answer,), strict=True))
    if options.json:
        data = {
            name: {"value": float(units.magnitude(value, kind, options.units)), "unit": kind.symbol(options.units)}
            for (name, value), kind in zip(results.items(), calculation.kinds.values(), strict=True)
        }
        say(*json.dumps(data, ensure_ascii=False, indent=1).split("\n"))
        return
    rows = [
        (name, units.show(value, calculation.kinds[name], options.units), line.comment)
        for (name, value), line in zip(results.items(), calculation.lines, strict=True)
    ]
    print_table(("result", "value", "meaning"), rows)


def unknown(name: str, form: str) -> str:
    """Return what to say where there is no calculation of a name, or none in a form of it."""
    from deckcalc import published

    register = published.register()
    if forms := [
        one.form_name for key, one in register.items() if one.form_name and key == f"{name} ({one.form_name})"
    ]:
        found = f"form is “{form}”" if form else "no form is given"
        return f"{name}: {found}, wanted form= with one of {', '.join(forms)}"
    word = name.rpartition(".")[2].lower()
    alike = [key for key in register if word and word in key.lower()]
    alike = alike or difflib.get_close_matches(name, register)
    told = "; what stands in brackets is given as form=" if any(register[key].form_name for key in alike) else ""
    there = f"{'there are' if alike[1:] else 'there is'} {', '.join(alike)}" if alike else "“deckcalc list” names all"
    return f"there is no calculation “{name}”; {there}{told}"


def arguments_of(calculation: Calculation, texts: Sequence[str]) -> dict[str, Any]:
    """Read the arguments of a calculation; every fault is named at once."""
    from deckcalc import published

    faults, values, given = [], {}, set()
    for text in texts:
        key = text
        try:
            key, value = pair(text)
            if key in given:
                raise InputError("given twice")
            given.add(key)
            if key == "form" and calculation.form_name:
                continue  # it chose the calculation
            values[key] = published.read_argument(calculation, key, value)
        except InputError as error:
            faults.append(plain(str(error) if key == text else f"{key}: {error}"))
    for name, param in calculation.params.items():
        if param.required and name not in given:
            faults.append(f"{name}: missing, {param.meaning}; wanted {param.wanted}")
    if faults:
        raise InputError("\n".join(faults))
    return values


def pair(text: str) -> tuple[str, str]:
    """Split key=value."""
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise InputError(plain(f"found “{text}”, wanted key=value"))
    return key.strip(), value.strip()


def place(text: str) -> Path:
    """Read the path of a folder or file."""
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError(f"found “{text}”, wanted the path of a folder or file")
    return Path(text)


def one_of(known: Sequence[str]) -> Callable[[str], str]:
    """Return what reads one of the known words."""

    def chosen(text: str) -> str:
        if text not in known:
            raise argparse.ArgumentTypeError(f"found “{text}”{near(text, known)}; wanted {' or '.join(known)}")
        return text

    return chosen


def near(word: str, known: Collection[str]) -> str:
    """Return a question for the known word that may be meant."""
    lower = {one.lower(): one for one in known}
    found = difflib.get_close_matches(word.lower(), lower, n=1)
    return f" (did you mean {lower[found[0]]}?)" if found else ""


def require_folder(job: Path) -> None:
    """Refuse what is no folder of a job, before it is read."""
    if job.is_file():
        if job.suffix.lower() == ".pdf":
            raise InputError(f"{job} is a document; detach its attachments into a folder of their own and name that")
        raise InputError(f"{job} is a file; name the folder that holds job.toml and its tables")
    if (job / "manifest.json").is_file() and not (job / "job.toml").exists():
        raise InputError(f"{job} is a package, not a job; name the folder that holds job.toml and its tables")


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows in columns."""
    if not rows:
        say("  none")
        return
    cells = [[plain(str(cell)) for cell in row] for row in (heads, *rows)]
    widths = [max(len(row[i]) for row in cells) for i in range(len(heads))]
    for row in [cells[0], ["-" * width for width in widths], *cells[1:]]:
        say("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
