"""The command line: its commands and their options; what they do stands in the other modules here."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Collection, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from deckcalc import __version__, ends
from deckcalc.cli.field_page import field
from deckcalc.cli.filed import flip_points, rerun, rerun_options, unpack
from deckcalc.cli.learning import mark, write_site
from deckcalc.cli.lists import LISTS, list_all
from deckcalc.cli.opening import open_books, serve
from deckcalc.cli.printing import near, print_table, say_data, say_wrapped
from deckcalc.cli.recording import record
from deckcalc.cli.signatures import LAW, sign, sign_options, verify, verify_options
from deckcalc.cli.single import run
from deckcalc.core import units
from deckcalc.core.units import InputError
from deckcalc.ends import say

if TYPE_CHECKING:
    from deckcalc.job.order import Job

#: What a command that was cut short has left; the others write nothing.
LEFT = {
    "package": "A package is put in place whole or not at all, and a former one stays until then.",
    "programme": "The table is put in place whole or not at all, and a former one stays until then.",
    "outlines": "The table is put in place whole or not at all, and a former one stays until then.",
    "tables": "The tables are put in place whole or not at all, and former ones stay until then.",
    "mark": "The table is written whole or not at all.",
    "rerun": "A review sheet is put in place whole or not at all, and so are changed inputs.",
    "adopt": "The plan is written whole or not at all.",
    "sign": "The signed document is put in place whole or not at all, and a former one stays until then.",
    "open": "Workbooks that were copied stay.",
    "serve": "Workbooks that were copied stay.",
    "field": "The pages are put in place whole or not at all, and former ones stay until then.",
    "record": "The tables of the record are written all of them or none.",
    "new": "A job folder is put in place whole or not at all.",
    "site": "The site is put in place whole or not at all, and a former one stays until then.",
}
FORMATS = ("csv", "parquet", "xlsx", "ods")
HELP = ("-h", "--help")
ENDINGS = (
    "Ends with 0 when done, 1 for faults of the input or of the system, 2 for a wrong command, 130 if interrupted, 141 if the "
    "reader of the output closes it. "
    f"With {ends.DETAILS}=1 in the environment a failure prints its details."
)


BY_VERDICT = (
    "With --status it ends with 0 if every check is satisfied or settled by the job and nothing is open, 3 if a check is not "
    "satisfied, 4 if one is not covered, an open item is undecided or a comment of the checker is open. "
)


class Explained(argparse.Action):
    """Asks for the help of one calculation; without its name, for that of the command."""

    def __call__(self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, *given: object) -> None:
        """Take the option."""
        if namespace.name is None:
            parser.print_help()
            parser.exit()
        namespace.help = True


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
        without those that are); a wrong command ends with 2. ``check --status`` ends with 3 or 4 by verdict.
    """
    words = sys.argv[1:] if arguments is None else arguments
    top = parser()
    named = next((word for word in words if not word.startswith("-")), None)
    if named is not None and named not in top.commands:
        top.error(f"there is no command “{named}”{near(named, top.commands)}; there are {', '.join(top.commands)}")
    if named == "run" and (
        asked := [word for word in words if word in HELP]
    ):  # of one calculation, in the units that are asked for
        words = [word for word in words if word not in HELP] + asked[:1]
    options, surplus = top.parse_known_args(words)
    if "values" in options:  # an option may stand before or between the arguments of a calculation
        options.values += [word for word in surplus if not word.startswith("-")]
        surplus = [word for word in surplus if word.startswith("-")]
    if surplus:
        options.parser.error(f"takes no {' '.join(repr(word) for word in surplus)}")
    from deckcalc.base.errors import PackageError

    try:
        if getattr(options, "job", None) is not None:
            require_folder(options.job)
        status = options.command(options)
        ends.printed()
    except (InputError, PackageError) as error:
        ends.complain(*getattr(error, "faults", str(error).split("\n")))
        return 1
    except BaseException as error:
        error.add_note(options.left)
        raise
    return status or 0


def parser() -> Parser:
    """Return the parser of the command line."""
    top = Parser(prog="deckcalc", description="Calculation packages for concrete bridge deck patches.", epilog=ENDINGS)
    top.add_argument("--version", action="version", version=f"deckcalc {__version__}")
    commands = top.add_subparsers(required=True, metavar="command")
    top.commands = commands.choices

    def add(name: str, command: Any, text: str, **more: Any) -> Parser:
        made = commands.add_parser(name, help=text, description=text, epilog=ENDINGS, **more)
        made.set_defaults(command=command, parser=made, left=LEFT.get(name, "No file was written."))
        return made

    def add_units(made: Parser, what: str) -> None:
        made.add_argument("--units", type=one_of(units.SYSTEMS), metavar="{SI,US}", default="SI",
                          help=f"unit system{what} (default: SI)")  # fmt: skip

    one = add(
        "package",
        package,
        "build the calculation package of a job folder: the filed document, its appendix, the field set",
    )
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--out", type=place, help="folder of the package (default: package, in the job folder)")
    one.add_argument("--quiet", action="store_true", help="no progress bar")
    one.add_argument("--only", metavar="sheet", help="print one sheet alone, such as crew_sheets")
    one.add_argument("--parts", default="", metavar="part,part",
                     help="which documents: package, appendix, field (default: all)")  # fmt: skip
    one.add_argument("--word-reference", type=place, metavar="file.docx",
                     help="Word document of the office: its page, styles, header and footer stand in place of ours in DOCX")  # fmt: skip
    one.add_argument(
        "--own-notebooks",
        action="store_true",
        help="run the notebooks that lie in the job folder: only those you trust",
    )
    one = add("check", check, "read and compute a job folder and print its checks, without documents")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument(
        "--all", action="store_true", help="a row for every check; else like checks stand together, with the worst"
    )
    one.add_argument("--json", action="store_true", help="open items, checks and faults as JSON")
    one.add_argument("--status", action="store_true", help="end by the verdicts; see below")
    one.epilog = BY_VERDICT + ENDINGS
    one.add_argument("--write-faults", action="store_true",
                     help="write a copy of the tables, faults.xlsx in the job folder, in which the cells at fault are marked")  # fmt: skip
    one = add("new", new, "start a job folder with what the job is about; in a terminal, without options, it asks")
    one.add_argument("folder", type=place, help="folder to make")
    one.add_argument("--units", type=one_of(units.SYSTEMS), metavar="{SI,US}", help="unit system (default: SI)")
    one.add_argument("--about", type=words, metavar="subjects",
                     help="one or several, separated by commas, such as patches,mix,bars (default: patches)")  # fmt: skip
    one.add_argument("--from", type=place, dest="neighbour", metavar="job",
                     help="job folder whose bridge, deck, limits, people and choices are taken over, nothing that was measured")  # fmt: skip
    one.add_argument("--spreadsheet", action="store_true", help="tables as one spreadsheet, tables.xlsx")
    one = add("unpack", unpack, "write the job folder that a filed PDF carries")
    one.add_argument("file", type=place, help="filed document, package.pdf")
    one.add_argument("out", type=place, help="folder to make")
    one = add("verify", verify, "compute a filed PDF again and say whether it is as it was filed, or what was altered")
    verify_options(one, place)
    one = add("sign", sign, "sign a filed PDF with a certificate: originator, then checker, then engineer")
    sign_options(one, place, one_of)
    one.epilog = f"{LAW} {ENDINGS}"
    one = add("rerun", rerun, "compute a job with changed inputs, or hold another job against it, and print what moved")
    rerun_options(one, place)
    one = add("flips", flip_points, "find which single input would turn the verdict of a check, and by how much")
    one.add_argument("filed", type=place, metavar="job", help="job folder, or a filed document, package.pdf")
    one.add_argument("--check", metavar="words", help="checks with these words (default: those nearest to their limit)")
    one.add_argument("--most", type=int, default=3, metavar="number", help="inputs of each check (default: 3)")
    one.add_argument("--json", action="store_true", help="flip points as JSON")
    one = add("adopt", adopt, "propose a plan of the work, and write it into the job folder when it is to be adopted")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--write", action="store_true", help="adopt it: write placements.csv")
    one.add_argument("--without", action="append", default=[], metavar="patch", help="patch to leave out of the plan")
    one = add(
        "field",
        field,
        "write a page for the phone, one file a night of the adopted plan, that works with no connection",
    )
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--out", type=place, help="folder of the pages (default: phone, in the job folder)")
    one.add_argument("--night", action="append", default=[], metavar="closure", help="this night alone (default: all)")
    one = add("record", record, "take what was found and built into a job, and print what differs from its plan")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("files", type=place, nargs="*", metavar="file",
                     help="tables of the record as CSV or spreadsheet, files of loggers, photographs, the JSON file of a page for the field")  # fmt: skip
    one.add_argument("--patch", default="", help="patch of a logger whose file does not say it")
    one.add_argument("--unit", type=one_of(("°C", "°F", "C", "F")), default=None, metavar="{°C,°F}",
                     help="of a logger whose heads do not say it")  # fmt: skip
    one.add_argument(
        "--revision", default="", help="take a file written for this revision, though the job has a later one"
    )
    one.add_argument("--write", action="store_true", help="write the tables of the record")
    one = add("programme", programme, "plan nights and loads of many job folders, into one table")
    one.add_argument("jobs", type=place, nargs="+", metavar="job", help="job folder")
    one.add_argument("--out", type=place, default=Path("programme.csv"), help="table (default: programme.csv)")
    add_units(one, " of the table")
    one.add_argument("--quiet", action="store_true", help="no progress bar")
    one = add(
        "outlines", outlines, "take outlines of unsound concrete from GeoJSON, DXF or points of a phone into traces.csv"
    )
    one.add_argument("job", type=place, help="job folder; only its units and [plan] are needed")
    one.add_argument(
        "file",
        type=place,
        help=".geojson or .json (RFC 7946), .dxf, or .csv with name, latitude, longitude, outline, order",
    )
    one.add_argument("--known", action="append", default=[], metavar="point=station,offset",
                     help='point of the file with its place on the deck, such as "A = 24 m, -5 m"; two or more, far apart; in place of '
                     "a name: latitude, longitude, or x, y of a drawing")  # fmt: skip
    one.add_argument("--deck-coordinates", action="store_true", dest="on_deck",
                     help="x is the station and y the offset, positive to the right looking ahead")  # fmt: skip
    one.add_argument("--unit", default="", help="unit of length of the file, such as m, mm or ft")
    one.add_argument(
        "--layer", action="append", default=[], dest="layers", metavar="layer", help="layer of a DXF (default: all)"
    )
    one.add_argument("--accuracy", default="", help="what a fix is good to (default: that of a phone under open sky)")
    one.add_argument("--without", action="append", default=[], metavar="outline", help="outline to leave out")
    one.add_argument("--write", action="store_true", help="add them to traces.csv")
    one = add("tables", tables, "write inputs and results of a job as tables, units in their heads")
    one.add_argument("job", type=place, help="job folder")
    one.add_argument("--out", type=place, required=True, help="folder of the tables")
    one.add_argument("--format", type=one_of(FORMATS), default="csv", metavar="format",
                     help=f"{', '.join(FORMATS)} (default: csv); a spreadsheet holds all tables in one file")  # fmt: skip
    one = add("mark", mark, "mark the answers in a folder of notebooks; nothing in them is run")
    one.add_argument("folder", type=place, help="folder of notebooks")
    one.add_argument("--out", type=place, help="table of the marks, a file that does not stand yet")
    one = add(
        "site", write_site, "write pages that calculate in the browser: no server, no network, from a memory stick"
    )
    one.add_argument("folder", type=place, help="folder of the pages")
    one = add(
        "list", list_all, "list the calculations, all or by subject or word; or the limits, thresholds or sources"
    )
    one.add_argument("what", nargs="?", default="calculations", metavar="what",
                     help=f"{', '.join(LISTS)} (default: calculations); a subject such as mix; or a word such as crack")  # fmt: skip
    add_units(one, " of the limits")
    one = add(
        "run",
        run,
        "run a single calculation; with its name, --help says what it takes, with an example",
        add_help=False,
    )
    one.add_argument("-h", "--help", action=Explained, nargs=0, default=False,
                     help="show this; or, of a calculation, its arguments, ranges, sources and an example")  # fmt: skip
    one.add_argument("name", help="name of the calculation, such as steel.section_loss")
    one.add_argument("values", nargs="*", metavar="key=value",
                     help='arguments, such as d="15.2 mm, 14.9 mm", with ; between several items; form=US where it has forms')  # fmt: skip
    add_units(one, " of results and messages")
    one.add_argument("--json", action="store_true", help="results as JSON")
    for name, shows, text in (("open", open_books, "start JupyterLab on the workbooks"), ("serve", serve, "show the workbooks as plain pages")):  # fmt: skip
        one = add(name, shows, f"{text}, copied beside the job; on this machine alone")
        one.add_argument("job", type=place, nargs="?", help="job folder (default: none; the copies go into workbooks)")
        one.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    return top


def package(options: argparse.Namespace) -> None:
    """Build a package and say where it is."""
    from deckcalc.package.build import build, missing_in

    out = build(
        options.job, options.out, options.quiet or not ends.watched(), options.only, options.own_notebooks,
        [part.strip() for part in options.parts.split(",") if part.strip()], options.word_reference,
        say=lambda line: ends.complain(line),
    )  # fmt: skip
    options.left = f"The package is complete: {out}."
    say("The calculation package is here:" if options.only is None else f"The sheet {options.only} is here:")
    say(*(f"  {path}" for path in sorted(out.iterdir())))
    require_complete(missing_in(out))


def check(options: argparse.Namespace) -> int:
    """Print what is open in a job, and its checks: those that fail, those that are not covered, the others."""
    from deckcalc.base.fields import JobError
    from deckcalc.job import report

    try:
        job = computed(options)
    except JobError as error:
        if options.json:
            say_data(report.faulty(error.faults))
        raise
    say_data(report.data(job)) if options.json else print_checks(job, options.all)
    require_complete(job.not_computed)
    return report.status(job) if options.status else 0


def print_checks(job: Job, every: bool) -> None:
    """Print open items and checks; like checks in one row, or every one."""
    from deckcalc.core import check as verdicts
    from deckcalc.core.words import worded
    from deckcalc.job import report

    own = partial(worded, system=job.system, keep=report.own_words(job))
    say_wrapped("Open items: what they stop does not go on, and nobody signs, before they are decided")
    for head, text in report.open_lines(job):
        say_wrapped(own(text), 7, f"  {head:>3}")
    if job.unanswered:
        say("")
        say_wrapped("Open comments of the checker: nobody signs before each is answered")
        for head, text in report.comment_lines(job):
            say_wrapped(text, 7, f"  {head:>3}")
    for word in (verdicts.NOT_SATISFIED, verdicts.NOT_COVERED, verdicts.SATISFIED):
        say("", own(f"Checks {word}"))
        rows = [tuple(map(own, row)) for row in report.check_rows(job, word, every)]
        print_table(tuple(map(own, report.HEADS[: len(rows[0])])) if rows else (), rows)
    say("")
    say_wrapped(own(f"{report.tally(job)}."))
    if job.file.understood:
        say("")
        say_wrapped("Understood from the job folder:")
        for one in job.file.understood:
            say_wrapped(one, 2)
    if job.file.unread:
        said, *files = job.file.not_read("\n").split("\n")
        say("")
        say_wrapped(said)
        for one in files:
            say_wrapped(one, 2)


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
    """Start a job folder with what the job is about, marked as example values."""
    from deckcalc.job import new as starting
    from deckcalc.job.settings import WORDS

    starting.require_free(options.folder)
    system, about = options.units, options.about
    if system is None and about is None and options.neighbour is None and sys.stdin is not None and sys.stdin.isatty():
        system, about = starting.answers(ask)
    known = list(WORDS.values())
    for word in about or ():
        if word not in known:
            options.parser.error(
                f"argument --about: found “{word}”{near(word, known)}; wanted {', '.join(known)}, or several"
            )
    made = starting.begin(system, about or (), options.neighbour)
    starting.write(made, options.folder, options.spreadsheet)
    say(*made.said)
    say(f"Started {options.folder} with example values; replace them, then run: deckcalc check {options.folder}")


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


def outlines(options: argparse.Namespace) -> None:
    """Print what outlines a file holds, and add them to the traces of a job if asked to."""
    from deckcalc.job import outlines as traces

    made = traces.take(
        options.job, options.file,
        traces.Choice(options.known, options.on_deck, options.unit, options.layers, options.accuracy or traces.Choice.accuracy, options.without),
    )  # fmt: skip
    say(f"Outlines of {options.file.name} ({made.kind})")
    print_table(traces.HEADS, made.rows())
    for title, heads, rows in (
        ("Known points", ("point", "station", "offset", "misses by"), made.known_rows()),
        ("Left out", ("what", "because"), made.left_out),
    ):
        if rows:
            say("", title)
            print_table(heads, rows)
    say("", *made.notes)
    if options.write:
        there = traces.write(made)
        options.left = f"The outlines are in the table: {there}."
        say("", f"Added to {there}")
        return
    say("", "Nothing was written; the same with --write adds them to traces.csv.")
    require_complete(made.faults)


def place(text: str) -> Path:
    """Read the path of a folder or file."""
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError(f"found “{text}”, wanted the path of a folder or file")
    return Path(text)


def ask(question: str) -> None:
    """Print a question at once."""
    say(question)
    ends.printed()


def words(text: str) -> list[str]:
    """Read words that are separated by commas."""
    return [word.strip().lower() for word in text.split(",") if word.strip()]


def one_of(known: Sequence[str]) -> Callable[[str], str]:
    """Return what reads one of the known words."""

    def chosen(text: str) -> str:
        if text not in known:
            raise argparse.ArgumentTypeError(f"found “{text}”{near(text, known)}; wanted {' or '.join(known)}")
        return text

    return chosen


def require_folder(job: Path) -> None:
    """Refuse what is no folder of a job, before it is read."""
    if job.is_file():
        if job.suffix.lower() == ".pdf":
            raise InputError(f"{job} is a document; take the job out of it with “deckcalc unpack” and name that folder")
        raise InputError(f"{job} is a file; name the folder that holds job.toml and its tables")
    if (job / "manifest.json").is_file() and not (job / "job.toml").exists():
        raise InputError(f"{job} is a package, not a job; name the folder that holds job.toml and its tables")
