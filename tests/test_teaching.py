"""Check what the command line teaches: the help of every calculation and its example, ranges by unit system, items, lists."""

import json
import re
import shlex
import subprocess
import sys
from collections import Counter
from dataclasses import replace

import pytest
from samples import DEMO, REGISTER, SYSTEMS, arguments, cases_of, demo

from deckcalc import cli, published
from deckcalc.cli import printing, teaching
from deckcalc.core import units
from deckcalc.core.ranges import speaking
from deckcalc.core.units import InputError
from deckcalc.job import report

KEYS = sorted(REGISTER)


@pytest.fixture
def run(capsys):
    """Run a command outside a terminal; return status, output and errors."""

    def go(*command):
        try:
            status = cli.main(list(command))
        except SystemExit as end:
            status = end.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return go


def columns(text):
    """Return the rows of a printed table, split at wide gaps."""
    return [re.split(r"\s{2,}", line.strip()) for line in text.splitlines() if line.startswith("  ")]


def form_of(calculation):
    return [f"form={calculation.form_name}"] if calculation.form_name else []


# --- the help of one calculation


@pytest.mark.parametrize("key", KEYS)
def test_the_help_of_a_calculation_says_what_it_takes_and_its_example_runs(run, key):
    one = REGISTER[key]
    for system in SYSTEMS:
        status, out, err = run("run", teaching.base(one), *form_of(one), "--help", "--units", system)
        assert (status, err) == (0, "") and out.startswith(f"{key}: {one.title}\n")
        taken, given = out.partition("\nArguments")[2].split("\n\nResults\n")
        for name, param in one.params.items():
            line = next(line for line in taken.splitlines() if line.split()[:1] == [name])
            with speaking(system):
                assert teaching.wanted(param) in line and line.endswith(param.meaning)
            assert param.kind is None or f" {param.kind.symbol(system)} " in line
            assert param.required or teaching.default(param, system) in line
        for line in one.lines:
            assert re.search(rf"^  {line.name} .*{re.escape(line.comment)}$", given, re.M)
        assert all(f"  {cite}\n" in out for cite in one.source) and all(f"  {note}\n" in out for note in one.notes)
        example = next(line for line in out.splitlines() if line.startswith("  deckcalc run "))
        words = shlex.split(example)[1:]
        assert words[-2:] == ["--units", system]
        status, out, err = run(*words)
        assert (status, err) == (0, "") and [row[0] for row in columns(out)[2:]] == list(one.kinds)


@pytest.mark.parametrize("system", SYSTEMS)
def test_an_example_is_written_in_the_units_that_were_asked_for(system):
    for key in KEYS[::9]:
        texts, _ = published.example(REGISTER[key], system)
        for name, text in texts.items():
            kind = REGISTER[key].params[name].kind
            for part in text.split(", ") if kind else ():
                read = units.read(part, kind)
                assert part.startswith("#") or read.units in {units.unit(symbol) for symbol in symbols(system)}, (
                    key,
                    name,
                    part,
                )


def symbols(system):
    kinds = {
        kind for one in REGISTER.values() for kind in [*one.kinds.values(), *(p.kind for p in one.params.values())]
    }
    made = (item for hint in vars(units).values() for item in units.get_args(hint) if isinstance(item, units.Kind))
    return {kind.symbol(system) for kind in kinds | set(made) if kind}


@pytest.mark.parametrize(
    "words", [["--help", "patch.saw_cut"], ["patch.saw_cut", "-h", "--units", "US"], ["patch.saw_cut", "c_min=2", "-h"]]
)
def test_help_is_taken_wherever_it_stands(run, words):
    status, out, _ = run("run", *words)
    assert status == 0 and out.startswith("patch.saw_cut: ") and ("0 in to" in out) == ("US" in words)


def test_help_without_a_calculation_is_that_of_the_command(run):
    status, out, _ = run("run", "--help")
    assert status == 0 and out.startswith("usage: deckcalc run") and "key=value" in out


def test_help_of_what_is_not_there_names_what_is_near(run):
    status, out, err = run("run", "patch.saw_cutt", "--help")
    assert (status, out) == (1, "") and "  patch.saw_cut: " in err


def test_help_without_a_form_is_that_of_the_unit_system_and_names_the_others(run):
    for system in SYSTEMS:
        _, out, _ = run("run", "curing.modulus", "--help", "--units", system)
        assert out.startswith(f"curing.modulus ({system}): ") and "form= with one of SI, US" in out


# --- ranges and faults in the asked units


@pytest.mark.parametrize("system", SYSTEMS)
def test_both_ends_of_a_range_are_taken_as_they_are_printed(system):
    """The printed end lies within the declared one, and not far within."""
    seen = 0
    for one in REGISTER.values():
        for param in one.params.values():
            if param.kind is None or param.range is None:
                continue
            with speaking(system):
                said = param.range.spoken(param.kind)
            low, high = re.fullmatch(r"(?:more than|from) (.*?) (?:and up )?to (.*)", said).groups()
            least, most = param.bounds
            ends = [float(units.read(text, param.kind).m_as(param.target)) for text in (low, high)]
            slack = 1e-9 * max(abs(least), abs(most))
            assert least - slack <= ends[0] <= ends[1] <= most + slack, (one.key, param.name, said)
            for end, true in zip(ends, (least, most), strict=True):
                if param.kind.is_temperature:  # to the degree that is printed
                    assert abs(end - true) <= 1, (one.key, param.name, said)
                else:
                    assert end == pytest.approx(true, rel=0.02, abs=slack), (one.key, param.name, said)
            for text in (high, *([] if param.range.above else [low])):
                param.plain(units.read(text, param.kind), one.name)
            seen += 1
    assert seen > 800


def test_a_range_is_worded_as_it_is_declared_unless_a_system_is_asked_for():
    param = REGISTER["patch.saw_cut"].params["m_saw"]
    assert param.wanted == "a length from 0 mm to 200 mm"
    with speaking("US"):
        assert param.wanted == "a length from 0 in to 7.87 in"
        with pytest.raises(InputError, match="for instance “10 in”"):
            param.read("7")
    assert param.wanted == "a length from 0 mm to 200 mm"


def test_every_fault_is_named_at_once_in_the_asked_units(run):
    status, out, err = run("run", "patch.saw_cut", "c_min=900 mm", "m_say=1/4 in", "M_SAW=2", "--units", "US")
    assert (status, out) == (1, "")
    assert err.splitlines() == [
        "saw_cut: c_min (minimum cover measured along the cut) is 900.0 mm, wanted a length from 0 in to 19.68 in",
        "m_say: patch.saw_cut has no argument “m_say” (did you mean m_saw?); it takes c_min, m_saw",
        "M_SAW: patch.saw_cut has no argument “M_SAW” (did you mean m_saw?); it takes c_min, m_saw",
        "m_saw: missing, margin kept between blade and bar; wanted a length from 0 in to 7.87 in",
    ]


def test_options_may_stand_between_the_arguments(run):
    plain = run("run", "patch.saw_cut", "c_min=2 in", "m_saw=1/4 in", "--units", "US")
    assert plain[0] == 0 and run("run", "--units", "US", "patch.saw_cut", "c_min=2 in", "m_saw=1/4 in") == plain
    assert run("run", "patch.saw_cut", "--units", "US", "c_min=2 in", "m_saw=1/4 in") == plain
    assert run("run", "patch.saw_cut", "c_min=2 in", "--loud")[0] == 2


# --- what reaches further


def test_a_refusal_for_range_names_the_calculation_that_reaches_there(run):
    given = ["s_s=3 MPa", "n=30"]
    _, _, err = run("run", "mix.average_strength", "f_c=60 MPa", *given, "form=SI")
    refused, sibling = err.splitlines()
    assert "wanted a strength from 10 MPa to 35 MPa" in refused
    assert sibling.startswith("mix.average_strength_high (") and sibling.endswith("takes f_c from 34 MPa to 85 MPa")
    assert run("run", "mix.average_strength_high", "f_c=60 MPa", *given)[0] == 0
    _, _, err = run("run", "mix.average_strength_high", "f_c=30 MPa", *given)
    assert [line.partition(" (")[0] for line in err.splitlines()[1:]] == [
        "mix.average_strength with form=SI",
        "mix.average_strength with form=US",
    ]


@pytest.mark.parametrize("words", [["mix.average_strength", "f_c=600 MPa", "s_s=3 MPa", "n=30", "form=SI"], ["mix.average_strength", "f_c=60 MPa", "s_s=50 MPa", "n=30", "form=SI"],
                                   ["patch.saw_cut", "c_min=9 m", "m_saw=5 mm"]], ids=str)  # fmt: skip
def test_where_none_reaches_none_is_named(run, words):
    status, _, err = run("run", *words)
    assert status == 1 and " takes " not in err


def test_what_is_named_as_reaching_takes_the_value():
    """Whatever the declarations are: every argument just beyond its range, each calculation."""
    named = 0
    for one in REGISTER.values():
        for name, param in one.params.items():
            for text in (param.range.low, param.range.high) if param.kind and param.range else ():
                value = units.read(text, param.kind)
                value = units.quantity(value.magnitude + 0.05 * (abs(value.magnitude) or 1), value.units)
                if param.kind.whole or teaching.taken(param, value):
                    continue
                for said in teaching.reaching(one, {name: [value]}, {name}):
                    key, _, form = said.partition(" (")[0].partition(" with form=")
                    other = published.find(key, form)
                    assert other is not one and other.kinds == one.kinds and teaching.taken(other.params[name], value)
                    assert other.params[name].meaning == param.meaning
                    named += 1
    assert named >= 2


# --- what a run loads


@pytest.mark.parametrize(
    "words", [["c_min=2 in", "m_saw=1/4 in"], ["--help"], ["c_min=9 m", "m_saw=1/4 in"]], ids=" ".join
)
def test_one_calculation_loads_its_own_subject_alone(words):
    code = "import sys; from deckcalc import cli; cli.main(sys.argv[1:]); print(*sys.modules)"
    told = subprocess.run(
        [sys.executable, "-c", code, "run", "patch.saw_cut", *words], capture_output=True, text=True, check=True
    )
    loaded = set(told.stdout.splitlines()[-1].split())
    assert {f"deckcalc.{room}" for room in (*published.SUBJECTS, "job", "show", "package")} & loaded == {
        "deckcalc.patch"
    }
    assert not {"pandas", "pydantic", "shapely", "matplotlib", "handcalcs", "IPython"} & loaded


def test_no_declaration_reads_the_units():
    code = "import pint, deckcalc.steel, deckcalc.patch; print(type(pint.application_registry.get()).__name__)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout == "Waiting\n"  # they are read when the first quantity is made


# --- several items


def test_several_items_give_a_row_each(run):
    status, out, err = run("run", "steel.section_loss", "A_0=200 mm^2, 314 mm^2", "d=15.2 mm, 14.9 mm; 18 mm")
    assert (status, err) == (0, "")
    table, meanings = out.split("\n\n")
    head, _, first, second = columns(table)
    assert head == ["item", "A_0", "d", "d_mean", "d_r", "A_r", "A_lost", "loss"]
    for row, given in ((first, ["A_0=200 mm^2", "d=15.2 mm, 14.9 mm"]), (second, ["A_0=314 mm^2", "d=18 mm"])):
        alone = columns(run("run", "steel.section_loss", *given)[1])[2:]
        assert row[1:3] == [text.partition("=")[2] for text in given] and row[3:] == [cells[1] for cells in alone]
    assert [row[0] for row in columns(meanings)[2:]] == head[3:]


@pytest.mark.parametrize("key", KEYS)
def test_every_calculation_takes_several_items(run, key):
    one = REGISTER[key]
    texts, _ = published.example(one, "SI")
    name, text = next(iter(texts.items()))
    given = [f"{other}={value}" for other, value in texts.items() if other != name]
    status, out, err = run("run", teaching.base(one), f"{name}={text}; {text}", *given, *form_of(one), "--json")
    data = json.loads(out)
    assert (status, err) == (0, "") and list(data) == list(one.kinds)
    alone = json.loads(run("run", teaching.base(one), f"{name}={text}", *given, *form_of(one), "--json")[1])
    assert all(data[name] == {"value": [found["value"]] * 2, "unit": found["unit"]} for name, found in alone.items())


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["c_min=2 in, 3 in", "m_saw=1 mm; 2 mm; 3 mm"], "2 of c_min beside 3 items; wanted one value for all"),
        (["c_min=2 in; 9 m; 3", "m_saw=1 mm"], "c_min: found “3” without a unit"),
        (["c_min=2 in; 9 m", "m_saw=1 mm"], "c_min .* is 9.0 m, wanted"), (["c_min=2 in;", "m_saw=1 mm"], "c_min: found “”, wanted a length"),
        (["c_min=", "m_saw=1 mm"], "c_min: found “”, wanted a length"),
    ],
)  # fmt: skip
def test_items_that_do_not_fit_are_refused(run, given, words):
    status, out, err = run("run", "patch.saw_cut", *given)
    assert (status, out) == (1, "") and re.search(words, err), err


def test_an_item_that_cannot_be_calculated_is_named_by_its_number(run):
    given = ["air_entrained=air-entrained", "w_cm_exposure=0.5", "form=SI"]
    status, out, err = run("run", "mix.water_cement_ratio", "f_cr=24 MPa; 60 MPa; 25 MPa", *given)
    assert (status, out) == (1, "") and err.startswith("item 2: ") and err.count("\n") == 1
    _, _, alone = run("run", "mix.water_cement_ratio", "f_cr=60 MPa", *given)
    assert err == f"item 2: {alone}"


def test_a_choice_with_a_comma_in_it_is_one_choice(run):
    one = REGISTER["traffic.sign_positions (US)"]
    case = cases_of(one)[0]
    assert arguments(case)
    given = [f"{name}={value}" for name, value in {**case.given, "road": "urban, low speed"}.items()]
    status, out, err = run("run", "traffic.sign_positions", *given, "form=US")
    assert (status, err) == (0, "") and columns(out)[0] == ["result", "value", "meaning"]


# --- list


@pytest.mark.parametrize("subject", published.SUBJECTS)
def test_the_calculations_of_a_subject_are_listed(run, subject):
    status, out, _ = run("list", subject)
    assert status == 0 and [row[0] for row in columns(out)[2:]] == [
        key for key in KEYS if REGISTER[key].subject == subject
    ]


def test_calculations_are_listed_by_a_word_of_name_or_title(run):
    status, out, _ = run("list", "CRACK")
    found = {row[0] for row in columns(out)[2:]}
    wanted = {key for key in KEYS if "crack" in key.lower() or "crack" in REGISTER[key].title.lower()}
    assert status == 0 and found == wanted and "steel.least_steel (US)" in found  # by its title alone
    assert run("list", "of the saw cut")[0] == 0


@pytest.mark.parametrize("word", ["", " ", "wishes", "mixx", "\x1b[2J"])
def test_a_word_that_no_calculation_has_says_what_can_be_listed(run, word):
    status, out, err = run("list", word)
    assert (status, out) == (2, "") and "wanted one of calculations, limits" in err and "\x1b" not in err


def test_thresholds_by_mass_of_cement_say_so(run):
    _, out, _ = run("list", "thresholds")
    rows = {row[0]: row[1] for row in columns(out)[2:]}
    assert rows["uk-low-to-medium"] == "0.4 % of cement" and rows["aci318-19-c1"] == "0.30 % of cementitious"
    assert rows["kansas-low"] == "1 lb/yd³"


# --- check


@pytest.mark.parametrize("system", SYSTEMS)
def test_like_checks_stand_in_one_row_with_the_worst(run, system):
    job = demo(system)
    status, out, err = run("check", str(DEMO[system]))
    assert (status, err) == (0, "")
    numbers = report.opened(job)
    for word, table in zip(
        *[iter(re.split(r"\n\nChecks (not satisfied|not covered|satisfied)\n", out)[1:])] * 2, strict=True
    ):
        groups = {}
        for one in job.checks:
            if one.verdict == word:
                groups.setdefault(
                    (one.title, one.sense, "" if word == "satisfied" else report.follows(one, numbers)), []
                ).append(one)
        rows = columns(table.partition("\n\n")[0])[2:]
        assert len(rows) == len(groups) and (word != "satisfied" or len(rows) < sum(map(len, groups.values())))
        for row, checks in zip(rows, groups.values(), strict=True):
            worst = max(checks, key=lambda one: one.utilisation or 0)
            if all(one.utilisation is not None for one in checks):
                assert (row[2], row[3].removeprefix(worst.sense).strip()) == worst.printed(system)
            items = list(dict.fromkeys(one.item for one in checks))
            for item in items if len(items) <= report.MOST_NAMED else [worst.item]:
                assert item.rpartition(" ")[2] in row[0]
            if len(items) > report.MOST_NAMED:
                assert row[0].endswith(f"and {len(items) - 1} more")
            elif items[1:] and worst.demand is not None:
                assert row[0].endswith(" governs)")


def test_the_worst_of_temperatures_is_the_one_nearest_its_limit():
    checks = [
        one
        for system in SYSTEMS
        for one in demo(system).checks
        if one.limit.kind.is_temperature and one.demand is not None
    ]
    assert checks
    for one in checks:
        like = [other for other in checks if (other.title, other.sense) == (one.title, one.sense)]
        gaps = {
            id(other): (1 if other.sense == "at least" else -1) * (other.numbers[0] - other.numbers[1])
            for other in like
        }
        assert gaps[id(report.worst(like))] == min(gaps.values())


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_job_as_data(run, system):
    job = demo(system)
    status, out, err = run("check", str(DEMO[system]), "--json")
    data = json.loads(out)
    assert (status, err) == (0, "") and list(data) == [
        "units",
        "tally",
        "items",
        "comments",
        "checks",
        "not_computed",
        "unread",
        "faults",
    ]
    assert data["units"] == system and data["faults"] == data["not_computed"] == [] and data["tally"] == job.verdicts
    assert [(one["number"], one["what"]) for one in data["items"]] == [(one.number, one.what) for one in job.open_items]
    assert len(data["checks"]) == len(job.checks)
    for found, one in zip(data["checks"], job.checks, strict=True):
        assert (found["item"], found["title"], found["verdict"]) == (one.item, one.title, one.verdict)
        assert found["unit"] == one.limit.kind.symbol(system) and (found["value"] is None) == (one.demand is None)
        if one.demand is not None:
            good = {"at most": found["value"] <= found["limit"] * (1 + 1e-9), "at least": found["value"] >= found["limit"] * (1 - 1e-9),
                    "less than": found["value"] < found["limit"]}[one.sense]  # fmt: skip
            assert good == (one.verdict == "satisfied") or one.at_limit or not found["limit"]
        opened = next((item["number"] for item in data["items"] if item["number"] == found["open_item"]), None)
        assert opened == found["open_item"] and (
            found["verdict"] == "satisfied" or bool(found["settled"]) != (opened is not None)
        )


def test_faults_as_data_name_file_row_and_field(run, tmp_path):
    for path in DEMO["SI"].glob("*.*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / "job.toml").read_text(encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        re.sub(r"(?m)^slab_thickness = .*$", 'slab_thickness = "9"', text), encoding="utf-8"
    )
    bars = (tmp_path / "bars.csv").read_text(encoding="utf-8")
    (tmp_path / "bars.csv").write_text(bars.replace("#", "@"), encoding="utf-8")
    (tmp_path / "depths.csv").rename(tmp_path / "depth.csv")
    status, out, err = run("check", str(tmp_path), "--json")
    data = json.loads(out)
    assert status == 1 and len(data["faults"]) == len(err.splitlines()) and data["checks"] == data["items"] == []
    for found, line in zip(data["faults"], err.splitlines(), strict=True):
        assert line.startswith(found["file"]) and line.endswith(found["fault"])
    places = {(one["file"], one["row"], one["field"]) for one in data["faults"]}
    assert ("job.toml", None, "deck.slab_thickness") in places and ("depth.csv", None, None) in places
    assert any(file == "bars.csv" and row == "row 2" and field for file, row, field in places)


def test_what_names_no_file_is_a_fault_as_well(run, tmp_path):
    status, out, err = run("check", str(tmp_path / "nowhere"), "--json")
    (fault,) = json.loads(out)["faults"]
    assert status == 1 and fault == {"file": None, "row": None, "field": None, "fault": err.strip()}


class Standing:
    """A job with checks and open items as they are given."""

    system = "SI"
    unanswered = ()

    def __init__(self, *verdicts, settled="", undecided=()):
        pattern = {one.verdict: one for one in demo("SI").checks}
        self.checks = [replace(pattern[word], settled=settled) for word in verdicts]
        self.undecided = list(undecided)


@pytest.mark.parametrize(
    ("job", "status"),
    [
        (lambda: Standing(), 0), (lambda: Standing("satisfied", "satisfied"), 0), (lambda: Standing("satisfied", undecided=["a"]), 4),
        (lambda: Standing("satisfied", "not covered"), 4), (lambda: Standing("not satisfied", "not covered", undecided=["a"]), 3),
        (lambda: Standing("satisfied", "not satisfied", settled="bars added"), 0),
    ],
)  # fmt: skip
def test_the_status_by_verdict(job, status):
    assert report.status(job()) == status


def test_the_status_by_verdict_is_that_of_the_command_only_if_asked_for(run, tmp_path):
    assert run("check", str(DEMO["SI"]), "--status")[0] == report.status(demo("SI")) == 3
    assert run("check", str(tmp_path / "nowhere"), "--status")[0] == 1
    _, out, _ = run("check", "--help")
    assert "3 if a check is not satisfied, 4 if one is not covered" in " ".join(out.split())


# --- the width of the terminal


@pytest.mark.parametrize("width", [60, 80, 132])
@pytest.mark.parametrize(
    "command",
    [["check", str(DEMO["SI"])], ["list", "crack"], ["list", "limits"], ["run", "steel.section_loss", "--help"]],
    ids=lambda one: one[0],
)
def test_nothing_is_wider_than_the_terminal_and_no_word_is_lost(run, monkeypatch, width, command):
    _, free, _ = run(*command)
    monkeypatch.setenv("COLUMNS", str(width))
    status, out, _ = run(*command)
    example = [
        line for line in out.splitlines() if line.startswith("  deckcalc run")
    ]  # stays on one line, to be copied
    assert status == 0 and max(len(line) for line in out.splitlines() if line not in example) <= width
    kept = [re.sub(r"[\s-]", "", text) for text in (free, out)]
    assert not Counter(kept[0]) - Counter(kept[1])  # heads are printed again where a row stands cell below cell


def test_what_goes_into_a_pipe_is_not_wrapped(monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    assert printing.columns() == 0
    for text, width in (("50", 50), ("wide", 0), ("", 0)):
        monkeypatch.setenv("COLUMNS", text)
        assert printing.columns() == width


def test_a_terminal_that_is_too_narrow_for_a_table_still_gets_it(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "7")
    status, out, err = run("list", "exposures")
    assert (status, err) == (0, "") and "exposure" in out


# --- a limit set as the file spells it


@pytest.mark.parametrize("key", ["limits.bar_loss_single", "limits.bar_loss_single.value"])
def test_a_limit_is_set_as_the_file_spells_it(run, key):
    status, out, err = run("rerun", str(DEMO["SI"]), "--set", f"{key}=40 %")
    assert (status, err) == (0, "") and [key, "25.0 %", "40 %"] in columns(out)
    assert ["bar B6: section loss of one bar (at most)", "not satisfied", "satisfied"] in columns(out)


def test_a_changed_limit_does_not_keep_the_source_of_the_former_value():
    from deckcalc.job.file import read_job

    stated = next(iter(read_job(DEMO["metric"]).settings.limits))
    before = read_job(DEMO["metric"]).limits[stated]
    text = units.show(before.value, before.kind, "SI")
    for changes, source in (
        ({f"limits.{stated}.value": text}, "changed for review"), ({f"limits.{stated}.source": "owner"}, "owner"),
        ({f"limits.{stated}.source": "owner", f"limits.{stated}.value": text}, "owner"), ({f"limits.{stated}": text}, "changed for review"),
    ):  # fmt: skip
        now = read_job(DEMO["metric"], changes).limits[stated]
        assert now.source == source and now.value.m_as(before.value.units) == pytest.approx(
            before.value.magnitude, rel=0.01
        )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (["limits.margin.vale=3 in"], "--set limits.margin.vale: no such input"), (["limits.margin.value.x=3 in"], "no such input"),
        (["limits.margins.value=3 in"], "limits.margins: unknown; known are margin"), (["limits.margin.value=3"], "limits.margin.value: found “3” without a unit"),
        (["limits.margin=3 in", "limits.margin.value=4 in"], "--set limits.margin: set twice, as limits.margin and as limits.margin.value"),
        (["limits.waste.source=owner"], "limits.waste.value: missing"),
    ],
    ids=str,
)  # fmt: skip
def test_a_limit_that_cannot_be_set_is_refused(run, changes, words):
    status, out, err = run("rerun", str(DEMO["SI"]), *(part for one in changes for part in ("--set", one)))
    assert (status, out) == (1, "") and words in err
