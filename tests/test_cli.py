"""Check the command line: what each command prints, what it leaves, and how it ends."""

import json
import re
import subprocess
import sys
from functools import partial

import pytest
from samples import DEMO, REGISTER, SYSTEMS, WRITTEN, arguments, cases_of, demo, results

from deckcalc import Q, __version__, cli
from deckcalc.base.fields import JobError
from deckcalc.cli import printing
from deckcalc.core import sources, tables, units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, SATISFIED, VERDICTS, Check, Limit
from deckcalc.core.words import worded
from deckcalc.ends import plain
from deckcalc.job import compute, report
from deckcalc.job.file import read_job


@pytest.fixture
def run(capsys):
    """Run a command; return status, output and errors."""

    def go(*command):
        try:
            status = cli.main(list(command))
        except SystemExit as end:
            status = end.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return go


def columns(out):
    """Return the rows of a printed table, split at wide gaps."""
    return [re.split(r"\s{2,}", line.strip()) for line in out.splitlines() if line.startswith("  ")]


# --- how it ends


@pytest.mark.parametrize(
    "command",
    [
        [], ["build"], ["check"], ["package"], ["new"], ["rerun", "x"], ["run"], ["list", "wishes"], ["new", "x", "--units", "CGS"],
        ["check", "x", "--loud"], ["run", "steel.section_loss", "--units", "metric"], ["rerun", "x", "--set"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_a_wrong_command_ends_with_2(run, command):
    status, out, err = run(*command)
    assert status == 2 and out == "" and "usage: deckcalc" in err


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["check", "nowhere"], "nowhere: there is no such folder"), (["package", "nowhere"], "nowhere: there is no such folder"),
        (["rerun", "nowhere", "--set", "a.b=c"], "nowhere: there is no such folder"),
        (["rerun", str(DEMO["SI"]), "--set", "deck.slab_thickness"], "found “deck.slab_thickness”, wanted key=value"),
        (["rerun", str(DEMO["SI"]), "--set", "=5 mm"], "wanted key=value"),
        (["rerun", str(DEMO["SI"]), "--set", "deck.depth=5 mm"], "--set deck.depth: no such input"),
        (["run", "steel.section"], "there is no calculation “steel.section”; near it:\n  steel.section_loss: "),
        (["run", "magic"], "there is no calculation “magic”"), (["run", "patch.saw_cut", "c_min"], "wanted key=value"),
        (["run", "patch.saw_cut", "c_min=2 in"], "m_saw: missing, .*; wanted a length from"),
        (["run", "patch.saw_cut", "c_min=2", "m_saw=1/4 in"], "c_min: found “2” without a unit"),
        (["run", "patch.saw_cut", "c_min=2 in", "m_saw=1/4 in", "depth=3 in"], "depth: patch.saw_cut has no argument “depth”; it takes c_min, m_saw"),
        (["run", "patch.saw_cut", "c_min=9 m", "m_saw=1/4 in"], "saw_cut: c_min .* is 9.0 m, wanted"),
        (["run", "mix.mixing_water", "D_max=19 mm", "slump=75 mm", "exposure=bad", "form=SI"], "exposure is “bad”, wanted one of"),
    ],
)  # fmt: skip
def test_bad_input_ends_with_1_and_says_what_would_be_right(run, command, words):
    status, out, err = run(*command)
    assert status == 1 and out == "" and re.search(words, err), err


def test_all_wrong_values_of_a_calculation_are_named_at_once(run):
    _, _, err = run("run", "patch.saw_cut", "c_min=2", "m_saw=wide")
    assert "c_min: " in err and "m_saw: " in err


def test_the_module_is_the_command(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "deckcalc", "check", "nowhere"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    assert done.returncode == 1 and done.stdout == "" and "there is no such folder" in done.stderr
    done = subprocess.run(
        [sys.executable, "-m", "deckcalc", "--version"], capture_output=True, text=True, cwd=tmp_path, check=False
    )
    assert (done.returncode, done.stdout.strip()) == (0, f"deckcalc {__version__}")
    assert list(tmp_path.iterdir()) == []


# --- check


@pytest.mark.parametrize("system", SYSTEMS)
def test_check_prints_every_check_of_the_job(run, system):
    status, out, err = run("check", str(DEMO[system]), "--all")
    job = demo(system)
    own = partial(worded, system=system, keep=report.own_words(job))
    fails, unknown, good = {"SI": (NOT_SATISFIED, NOT_COVERED, SATISFIED), "US": ("NG", "not covered", "OK")}[system]
    assert status == 0 and err == ""
    opened, *tables = re.split(rf"\n\nChecks ({fails}|{unknown}|{good})\n", out)
    assert tables[::2] == [fails, unknown, good]  # what fails comes first
    for word, table in zip((NOT_SATISFIED, NOT_COVERED, SATISFIED), tables[1::2], strict=True):
        mine = [one for one in job.checks if one.verdict == word]
        rows = columns(table.partition("\n\n")[0])[2:]
        assert [(row[0], row[1]) for row in rows] == [(own(one.item), own(one.title)) for one in mine]
        for row, one in zip(rows, mine, strict=True):
            assert own(one.words) in row and (row[2], row[3].removeprefix(one.sense).strip()) == one.printed(system)
            number = next((item.number for item in job.open_items if any(one is each for each in item.checks)), None)
            assert word == SATISFIED or (f"open item {number}: " in row[-1]) != bool(one.settled)
    for item in job.open_items:
        assert re.search(
            rf"^ +{item.number}  {re.escape(own(plain(item.what)))}\n +{re.escape(own(plain(item.why)))}\n +stops ",
            opened,
            re.M,
        )
    counts = ", ".join(f"{sum(one.verdict == word for one in job.checks)} {own(word)}" for word in VERDICTS)
    assert f"{len(job.checks)} checks: {counts}; {len(job.open_items)} open items" in out


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_printed_numbers_show_the_verdict(system):
    for one in demo(system).checks:
        if one.verdict == "not covered":
            assert one.printed(system)[0] == "not determined"
            continue
        kind, printed = one.limit.kind, one.printed(system)
        demand, limit = (float(units.magnitude(units.read(text, kind), kind, system)) for text in printed)
        shown = {"at most": demand <= limit, "at least": demand >= limit, "less than": demand < limit}[one.sense]
        assert shown == (one.verdict == "satisfied"), one
        if one.limit.kind.is_temperature:  # its zero means nothing
            assert one.utilisation is None
            continue
        used = demand / limit if one.sense != "at least" else limit / demand
        # each printed number stands for half a unit of its last digit to either side
        digits = [len(re.sub(r"[^\d.]", "", text.split()[0]).partition(".")[2]) for text in printed]
        tape = system == "US" and kind.tape and not any(digits)  # a mark of the tape is 1/8 in
        last = [(0.125 if kind.tape == "in" else 0.125 / 12) if tape else 10.0**-count for count in digits]
        off = [0.5 * step / max(abs(number), 1e-9) for step, number in zip(last, (demand, limit), strict=True)]
        least = off[0] * 1e-9 / abs(limit) if not demand and limit else 0  # what is printed as nil may be half a digit
        assert one.utilisation == pytest.approx(used, rel=1.01 * sum(off), abs=1e-9 + least), one


# --- list


def test_every_calculation_is_listed_with_its_arguments(run):
    status, out, _ = run("list")
    rows = {row[0]: row for row in columns(out)[2:]}
    assert status == 0 and set(rows) == set(REGISTER)
    for key, row in rows.items():
        assert row[1] == REGISTER[key].title and row[2] == ", ".join(REGISTER[key].params)


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_limit_is_listed_in_either_system(run, system):
    _, out, _ = run("list", "limits", "--units", system)
    for row in tables.load("limits").rows:
        line = next(line for line in out.splitlines() if line.split()[:1] == [row["key"]])
        assert row["meaning"] in line and row[system] in line


@pytest.mark.parametrize(
    ("what", "wanted"),
    [
        ("thresholds", [row["key"] for row in tables.load("chloride_thresholds").rows]),
        ("exposures", [row["class"] for row in tables.load("exposure_classes").rows]),
        ("sources", [f"[{work.short}]" for work in sources.bibliography().values()]),
        ("calculations", list(REGISTER)),
    ],
)
def test_every_kind_of_list_is_complete(run, what, wanted):
    status, out, _ = run("list", what)
    assert status == 0 and len(wanted) > 5
    assert all(any(line.startswith(f"  {key}  ") or line.strip() == key for line in out.splitlines()) for key in wanted)


@pytest.mark.parametrize("row", tables.load("exposure_classes").rows, ids=lambda row: row["class"])
def test_an_exposure_that_is_listed_without_a_limit_says_so_in_a_job(row):
    change = {"mix.durability": row["class"]}
    if row["w/cm"]:
        assert read_job(DEMO["SI"], change).settings.mix.durability == row["class"]
    else:
        with pytest.raises(JobError, match=f"mix.durability: “{row['class']}” limits no w/cm"):
            read_job(DEMO["SI"], change)


# --- run

SAMPLE = [case for key, one in REGISTER.items() if key not in WRITTEN for case in cases_of(one)[:1]]


@pytest.mark.parametrize("case", SAMPLE, ids=[case.calculation for case in SAMPLE])
@pytest.mark.parametrize("system", SYSTEMS)
def test_a_single_calculation_is_run_from_text(run, case, system):
    one = REGISTER[case.calculation]
    given = [f"{name}={', '.join(value) if isinstance(value, list) else value}" for name, value in case.given.items()]
    wanted = results(one, one(**arguments(case)))
    status, out, err = run("run", case.calculation, *given, "--units", system)
    assert (status, err) == (0, "")
    for (name, shown, meaning), line in zip(columns(out)[2:], one.lines, strict=True):
        kind = one.kinds[name]
        assert shown == units.show(wanted[name], kind, system) and meaning == line.comment
    status, out, _ = run("run", case.calculation, *given, "--units", system, "--json")
    data = json.loads(out)
    assert status == 0 and list(data) == list(wanted)
    for name, found in data.items():
        kind = one.kinds[name]
        assert found["unit"] == kind.symbol(system)
        assert found["value"] == pytest.approx(float(units.magnitude(wanted[name], kind, system)), rel=1e-12)


def test_a_calculation_with_forms_is_run_in_the_one_that_is_given(run):
    status, out, _ = run("run", "curing.modulus", "f_c=4000 psi", "form=US", "--units", "US")
    assert status == 0 and columns(out)[2][:2] == ["E_c", "3605 ksi"]
    status, _, err = run("run", "curing.modulus", "f_c=4000 psi")
    assert status == 1 and err.strip() == "curing.modulus: no form is given, wanted form= with one of SI, US"


# --- rerun


def test_rerun_prints_inputs_moved_results_and_flipped_verdicts(run):
    status, out, _ = run(
        "rerun", str(DEMO["SI"]), "--set", "limits.bar_loss_single=40 %", "--set", "rectangles.F1.length=1.2 m"
    )
    inputs, flipped, moved, *sheets, count = re.split(r"\n\n", out)
    assert status == 0
    assert inputs.startswith("Inputs changed\n")
    assert moved.startswith("Results that moved") and flipped.startswith(
        "Verdicts, open items and decisions that flipped\n"
    )
    assert re.fullmatch(rf"2 inputs changed; 3 verdicts flipped; \d+ results moved on {len(sheets)} sheets\.\n", count)
    (patches,) = (one for one in sheets if one.startswith("Patches\n"))
    assert ["limits.bar_loss_single", "25.0 %", "40 %"] in columns(inputs) and [
        "rectangles.F1.length",
        "1.2192 m",
        "1.2 m",
    ] in columns(inputs)
    assert ["bar B6: section loss of one bar (at most)", "not satisfied", "satisfied"] in columns(flipped)
    length = next(row for row in columns(patches) if row[0] == "patch P3: repair limits of a patch, L")
    assert length[1:] == ["1.346 m", "1.327 m", "-1.4 %"]  # 1.2192 and 1.2 m, with a margin of 63.5 mm at both ends


def test_rerun_says_none_where_nothing_flips(run):
    _, out, _ = run("rerun", str(DEMO["SI"]), "--set", "people.checker=Q. Reed")
    assert "Results that moved\n  none" in out and "flipped\n  none" in out
    assert out.endswith("\n1 input changed; 0 verdicts flipped; 0 results moved.\n")


# --- new


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_new_job_can_be_checked_at_once_and_is_marked_as_example(run, tmp_path, system):
    job = tmp_path / "below" / "job"
    status, out, _ = run("new", str(job), "--units", system)
    assert status == 0 and str(job) in out
    assert compute(job).system == system
    assert "EXAMPLE VALUES" in compute(job).settings.package.scenario
    status, out, _ = run("check", str(job))
    assert status == 0 and f"{len(compute(job).checks)} checks: " in out


def test_an_existing_folder_is_refused_and_untouched(run, tmp_path):
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "letter.txt").write_text("Dear Sir", encoding="utf-8")
    status, _, err = run("new", str(tmp_path / "job"))
    assert status == 1 and "exists already; name a folder that does not" in err
    assert [path.name for path in (tmp_path / "job").iterdir()] == ["letter.txt"]


def test_a_key_and_its_value_are_split_at_the_first_equals_sign():
    assert printing.pair("package.subject = a = b") == ("package.subject", "a = b")


# --- a demand against a limit


@pytest.mark.parametrize(
    ("sense", "below", "equal", "above"),
    [
        ("at most", "satisfied", "satisfied", "not satisfied"), ("at least", "not satisfied", "satisfied", "satisfied"),
        ("less than", "satisfied", "not satisfied", "not satisfied"),
    ],
)  # fmt: skip
def test_a_limit_that_is_just_reached(sense, below, equal, above):
    limit = Limit("x", "a limit", Q(20, "%"), units.kind_of(units.Share), "made up")
    for value, verdict in ((19.9999, below), (20.0, equal), (20 * (1 + 1e-13), equal), (20.0001, above)):
        found = Check("bar", "loss", Q(value, "%"), limit, sense)
        assert found.verdict == verdict, value
        demand, printed = (float(text.split()[0]) for text in found.printed("SI"))
        assert {"at most": demand <= printed, "at least": demand >= printed, "less than": demand < printed}[sense] == (
            verdict == "satisfied"
        )
        assert found.utilisation == pytest.approx(20 / value if sense == "at least" else value / 20)


def test_a_demand_that_cannot_be_determined_is_outside_the_method():
    limit = Limit("x", "a limit", Q(20, "%"), units.kind_of(units.Share), "made up")
    found = Check("core", "chloride", None, limit, "less than", "no slice reaches the bar")
    assert (found.verdict, found.utilisation) == ("not covered", None)
    assert found.printed("SI") == ("not determined", "20.0 %")


# --- a subject that cannot be computed


def test_check_prints_what_stands_and_ends_with_1(run, tmp_path):
    for path in DEMO["SI"].glob("*.*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / "job.toml").read_text(encoding="utf-8")
    text = re.sub(r'(?s)(\[mix.*?\nstrength = )"[^"]*"', r'\1"55 MPa"', text, count=1)
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    status, out, err = run("check", str(tmp_path))
    assert status == 1 and "section loss of one bar" in out and "specified strength" not in out
    lines = err.strip().splitlines()
    assert [line.split(": ")[1] for line in lines] == ["mix", "formwork", "curing", "closure", "safety"]
    assert "lies outside the table" in lines[0] and lines[1].endswith("needs mix, which could not be computed")
