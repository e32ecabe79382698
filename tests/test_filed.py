"""Check the three documents of a package as texts: what stands where, under which number, once, and in whose words."""

import re

import pytest
from samples import DEMO, SYSTEMS, demo

from deckcalc.core.words import american
from deckcalc.job import compute
from deckcalc.package import build, decisions, field, front, schedule
from deckcalc.package.documents import PackageError
from deckcalc.show.figures import READING, Picture, axes

SMALL = "notebooks/small_patches"
NUMBER = re.compile(r"(?<![\d-])0\dT?-\d\d\b(?!-)")


@pytest.fixture(scope="module")
def documents(tmp_path_factory):
    """The documents of both demo jobs by name."""
    found = {}
    for system in SYSTEMS:
        job, figures = demo(system), tmp_path_factory.mktemp("figures")
        shown = build.run_sheets(job, build.chosen(job=job), figures)
        found[system] = {one.name: one for one in build.documents_of(job, shown, {"job.toml": b"x"})}
    return found


def tables(markdown):
    """Return the tables of a text, each as a list of rows of cells."""
    found, rows = [], []
    for line in [*markdown.splitlines(), ""]:
        if line.startswith("| "):
            rows.append([cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]])
        elif rows and not line.startswith("|"):
            found.append(rows)
            rows = []
    return found


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_package_is_three_documents(documents, system):
    filed, appendix, field_set = documents[system].values()
    assert (filed.name, appendix.name, field_set.name) == ("package", "appendix", "field")
    assert filed.formats == ("pdf", "html", "docx") and appendix.formats == field_set.formats == ("pdf", "html")
    assert filed.attachments and not appendix.attachments and not field_set.attachments
    assert [filed.landscape, appendix.landscape, field_set.landscape] == [False, True, False]
    heads = [re.findall(r"^# (.*)$", one.markdown, re.MULTILINE) for one in (filed, appendix, field_set)]
    assert heads[0][:5] == [
        "Calculation package",
        "Conclusions",
        "Plan and section of the deck",
        "Patch schedule",
        "Basis",
    ]
    assert heads[0][-1] == "Sources cited" and heads[1][0] == "Appendix" and heads[2][0] == "Field set"
    assert sum("every line" in head for head in heads[1]) == 9
    assert not {*heads[0]} & {*heads[1]} and not {*heads[0]} & {*heads[2]}


def test_parts_are_chosen_by_name(tmp_path):
    out = build.build(SMALL, tmp_path / "x", quiet=True, parts=["field"])
    assert sorted(path.name for path in out.iterdir()) == ["field.html", "field.pdf", "manifest.json"]
    with pytest.raises(PackageError, match="no part “crew”; there are package, appendix, field"):
        build.build(SMALL, tmp_path / "y", quiet=True, parts=["crew"])
    assert not (tmp_path / "y").exists()


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_calculation_has_one_number_under_which_the_appendix_prints_it(documents, system):
    job, appendix = demo(system), documents[system]["appendix"].markdown
    by_number = {}
    for run, number in job.written.numbers.items():
        by_number.setdefault(number, set()).add(run.calculation.name)
    assert all(len(names) == 1 for names in by_number.values())
    heads = re.findall(r"^### (0\d\w?-\d\d) ", appendix, re.MULTILINE)
    assert len(heads) == len(set(heads)) and set(heads) == set(by_number)
    cited = {*NUMBER.findall(documents[system]["package"].markdown)}
    assert len(cited) > 40 and not cited - set(by_number)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_appendix_has_every_line_of_every_item_and_says_how_many(documents, system):
    job, appendix = demo(system), documents[system]["appendix"].markdown
    counted = {}
    for run, number in job.written.numbers.items():
        counted[number] = counted.get(number, 0) + len(job.written.by_run[run].lines)
    said = dict(
        re.findall(r"^### (0\d\w?-\d\d) (?:(?!^### ).)*?, (\d+) lines proved", appendix, re.MULTILINE | re.DOTALL)
    )
    assert {number: int(lines) for number, lines in said.items()} == counted
    assert f"{sum(counted.values())} lines" in appendix


@pytest.mark.parametrize("system", SYSTEMS)
def test_no_check_is_printed_twice_in_the_filed_document(documents, system):
    rows = [
        tuple(row[:2]) for table in tables(documents[system]["package"].markdown)
        if table[0][:2] == ["item", "check"] for row in table[1:]
    ]  # fmt: skip
    assert rows and len(rows) == len(set(rows))


@pytest.mark.parametrize("system", SYSTEMS)
def test_all_checks_stand_in_the_appendix(documents, system):
    rows = [
        row
        for table in tables(documents[system]["appendix"].markdown)
        if table[0][:2] == ["item", "check"]
        for row in table[1:]
    ]
    assert len(rows) == sum(len(subject.checks) for subject in demo(system).subjects)


@pytest.mark.parametrize("system", SYSTEMS)
def test_no_caution_and_no_picture_is_printed_twice(documents, system):
    text = documents[system]["package"].markdown
    notes = [
        line
        for part in re.findall(r'<div class="caution">(.*?)</div>', text, re.DOTALL)
        for line in part.splitlines()
        if line.strip()
    ]
    assert len(notes) > 20 and len(notes) == len(set(notes))


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", ["package", "appendix", "field"])
def test_links_lead_somewhere_and_headings_have_something_below(documents, system, name):
    text = documents[system][name].markdown
    heads = {re.sub(r"^[^a-z]+", "", re.sub(r"[^\w\s.-]", "", head.lower())).strip().replace(" ", "-")
             for head in re.findall(r"^#+ (.*)$", text, re.MULTILINE)}  # fmt: skip
    ids = {*re.findall(r'<div id="([^"]+)"', text)}
    links = re.findall(r"\]\(#([^)]+)\)", text)
    assert (len(links) > 50) == (name == "package") and not {*links} - heads - ids
    parts = [part for part in text.split("\n\n") if part.strip()]
    for part, after in zip(parts, [*parts[1:], "# end"], strict=True):
        level, below = (re.match(r"(#+) [^\n]*\Z", one.strip()) for one in (part, after))
        assert not level or not below or len(below[1]) > len(level[1]), part


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_mark_of_a_source_leads_to_its_entry(documents, system):
    text = documents[system]["package"].markdown
    body, _, sources = text.partition("\n# Sources cited")
    marks = {*re.findall(r"\]\(#(src-[^)]+)\)", body)}
    assert len(marks) > 20 and marks <= {*re.findall(r'<div id="(src-[^"]+)"', sources)}


def test_a_package_reads_in_the_words_of_its_units(documents):
    us = "".join(one.markdown for one in documents["US"].values())
    si = "".join(one.markdown for one in documents["SI"].values())
    for word in ("kerb", "petrol", "second moment of area", "not satisfied", "metre", "centreline"):
        assert word in american()
        assert not re.search(
            rf"\b{word}\b", re.sub(r"\[.*?\]|`[^`]*`|“[^”]*”|\(#.*?\)", "", us.partition("# Sources cited")[0])
        ), word
    assert "curb" in us and "**NG**" in us and "moment of inertia" in us
    assert (
        "kerb" in si
        and "**not satisfied**" in si
        and not re.search(r"\bcurb\b|\bNG\b", si.partition("# Sources cited")[0])
    )


def test_an_si_job_may_have_the_decimal_comma(tmp_path):
    job = compute(DEMO["SI"], {"package.decimal": "comma"})
    figures = tmp_path / "figures"
    figures.mkdir()
    sheets = build.chosen(only="patches", job=job)
    said, points = (build.run_sheets(one, sheets, figures)["01_patches.ipynb"] for one in (job, demo("SI")))
    decimal = re.compile(r"(?<![\w.-])\d+\.\d+(?= ?(?:mm|m|m²|m³|%|\\text))")
    assert len(decimal.findall(points)) > 40 and not decimal.findall(said)
    assert len(re.findall(r"\d(?:,|\{,\})\d", said)) >= len(decimal.findall(points))
    assert "[UFC 3-270-04], 4.2.6" in said and "01-02.3" in said


def test_the_texts_of_drawings_are_read_as_the_document_is():
    figure, drawing = axes(2, 1)
    drawing.set_title("kerb 1.5")
    drawing.set_xlim(0.5, 2.5)
    plain = Picture(figure, "").png
    token = READING.set(lambda text: text.replace("kerb", "curb"))
    try:
        assert Picture(figure, "").png != plain
    finally:
        READING.reset(token)
    assert Picture(figure, "").png == plain


@pytest.mark.parametrize("system", SYSTEMS)
def test_what_stops_the_work_names_every_open_item_with_its_owner(documents, system):
    job = demo(system)
    said = str(decisions.stops(job))
    numbers = set()
    for first, last in re.findall(r"\b(\d+)(?:–(\d+))?\b", "\n".join(row[2] for row in tables(said)[0][1:])):
        numbers |= {*range(int(first), int(last or first) + 1)}
    assert numbers == {one.number for one in job.undecided}
    rows = tables(str(field.stops(job)))[0][1:]
    stopping = [one for one in job.undecided if one.stops != front.SIGNATURE]
    assert [row[0] for row in rows] == [str(one.number) for one in stopping]
    assert all(row[4].startswith(one.decides) for row, one in zip(rows, stopping, strict=True))


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_field_set_is_not_for_work_while_something_stops_it(documents, system):
    assert documents[system]["field"].mark == front.NOT_FOR_WORK and "open items" in front.not_for_work(demo(system))
    assert front.NOT_FOR_WORK in documents[system]["field"].markdown
    assert documents[system]["package"].mark == "DRAFT - not signed"


def test_without_a_plan_nobody_works_by_the_field_set():
    assert front.not_for_work(compute(SMALL)).startswith("no plan of the work is adopted")


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_schedule_prints_no_ratio_below_what_was_found(documents, system):
    job = demo(system)
    *_, table = tables(str(schedule.rows(job)))
    assert table[0][1:4] == ["D/C as found", "D/C open", "D/C repaired"]
    assert [row[0] for row in table[1:]] == [one.name for one in job.patch]
    seen = 0
    for row in table[1:]:
        for state, said in zip(schedule.STATES, row[1:4], strict=True):
            mine = [one for one in job.steel.checks if one.item == f"patch {row[0]}" and one.title.startswith("capacity to demand")
                    and one.title.endswith(state)]  # fmt: skip
            if number := re.search(r"\d\.\d\d", said):
                most = max(decisions.used(one) for one in mine)
                assert most <= float(number[0]) <= most + 0.01
                assert ("NG" in said or "not satisfied" in said) == (float(number[0]) > 1)
                seen += 1
            elif any(one.verdict == "not covered" for one in mine):
                assert said == "**not covered**"
    assert seen >= 4


@pytest.mark.parametrize("system", SYSTEMS)
def test_short_parts_flow_only_in_a_small_package(documents, system):
    assert documents[system]["package"].following == build.FOLLOWING
    assert {*build.FOLLOWING_IN_SMALL} < {*build.following(compute(SMALL))}


def test_a_link_into_a_sheet_that_is_not_there_is_words():
    text = "# 02 Reinforcement\n\nsee [sheet 02](#reinforcement) and [sheet 03](#chlorides)\n"
    assert build.kept_links(text).endswith("see [sheet 02](#reinforcement) and sheet 03\n")


def test_the_letterhead_stands_at_the_head_of_the_cover():
    job = compute(SMALL, {"package.letterhead": "1 Kerb Lane; Weirton"})
    assert front.cover(job).startswith(f"**{job.settings.people.firm}**\\\n1 Kerb Lane\\\nWeirton")
    assert "Kerb Lane" in build.reading_of(job)(str(front.cover(job)))
