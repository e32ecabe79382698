"""Check the sheets: every printed line of both demo jobs is read back from its Markdown and worked out again."""

import math
import re
from functools import cache
from unittest import mock

import numpy as np
import pytest
from samples import DEMO, REGISTER, SYSTEMS, arguments, cases_of, demo, good

from deckcalc import InputError, Q, steel
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.sources import Cite
from deckcalc.core.words import worded
from deckcalc.job import compute
from deckcalc.package import build as package
from deckcalc.package import notebook_run
from deckcalc.show import hand as sheet
from deckcalc.show import proof as readback
from deckcalc.show import sections
from deckcalc.show.figures import Picture
from deckcalc.show.hand import HandCalculation
from deckcalc.show.proof import ReadBackError, Reader, check_line
from deckcalc.show.typeset import symbol, tex_value, width

EQUATION = re.compile(r"^\$\$(.*)\$\$$", re.M)
VALUE = re.compile(r"\| \$([^$|]+)\$ \| ([^|]+?) (?=\|)")


def parts_of(tex):
    """Split a printed equation at its equals signs."""
    inner = tex.replace(r"\begin{aligned}", "").replace(r"\end{aligned}", "").replace(r"\\", " ").replace("&", "")
    inner = " ".join(inner.replace(r"\quad", " ").split())
    return [part.strip() for part in inner.split(" = ")]


def last_digit(tex):
    """Return half a unit of the last digit of a printed result."""
    return 0.5 * 10.0 ** -len(re.search(r"\d+(?:\.(\d+))?", tex)[1] or "")


def number(text):
    """Return a printed value as a quantity; several readings are left out."""
    return None if ", " in text else Reader(tex_value(text)).whole()


def prove(markdown, empirical):
    """Work out every equation of a sheet from what is printed on it alone; return how many were proved."""
    known = {name: number(text) for name, text in VALUE.findall(markdown) if ", " not in text}
    proved = 0
    for equation in EQUATION.findall(markdown):
        left, *middle, printed = parts_of(equation)
        shown = Reader(printed).whole()
        unit = shown.units if isinstance(shown, units.Quantity) else ""
        if middle:
            formula, numbers = middle
            symbols = {
                name: readback.pure(v.magnitude) if empirical and isinstance(v, units.Quantity) else v
                for name, v in known.items()
            }
            for value in (Reader(numbers).whole(), Reader(formula, symbols).whole()):
                if empirical:
                    off = readback.pure(value) - units.registry().Quantity(shown).magnitude
                else:
                    off = units.registry().Quantity(value).m_as(unit) - units.registry().Quantity(shown).magnitude
                assert abs(off) <= last_digit(printed) * (1 + 1e-6), equation
            assert re.sub(r"\s", "", formula) != re.sub(r"\s", "", numbers), "the numbers are put in"
            proved += 1
        known[left] = shown
    return proved


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_line_of_a_demo_job_follows_from_what_is_printed(system):
    written = demo(system).written.by_run
    proved = sum(prove(one.markdown(), run.calculation.empirical) for run, one in written.items())
    assert proved == sum(1 for run in written for line in run.calculation.lines if not (line.helper or line.constant))
    assert proved > 150


def test_more_than_two_hundred_lines_are_proved_in_both_jobs_together():
    written = [one for system in SYSTEMS for one in demo(system).written.by_run.values()]
    assert sum(len(parts_of(eq)) > 2 for one in written for eq in EQUATION.findall(one.markdown())) > 200


CHOSEN = [(key, case) for key, one in REGISTER.items() for case in cases_of(one, most=3)]


@pytest.mark.parametrize(("key", "case"), CHOSEN, ids=[f"{key}:{case.id}" for key, case in CHOSEN])
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_sheet_of_every_calculation_follows_from_what_is_printed(key, case, system):
    one = HandCalculation(REGISTER[key], system, arguments(case))
    assert prove(one.markdown(), REGISTER[key].empirical) == sum(
        not (line.helper or line.constant) for line in REGISTER[key].lines
    )


@pytest.mark.parametrize("system", SYSTEMS)
def test_printed_results_are_the_results_of_the_call(system):
    for run, one in demo(system).written.by_run.items():
        for name, value in run.results().items():
            printed = number(one.text(name))
            unit = one.unit(name)
            off = units.registry().Quantity(printed).m_as(unit) - value.m_as(unit)
            # what stands on paper may be off by what its printed operands are off: never more than a unit of its last digit
            assert abs(off) <= 2 * last_digit(one.text(name)) * (1 + 1e-9), (run.item, name)


# --- a false line is caught

TRUE = (
    r"\pi \cdot \frac{ \left( d_{r} \right) ^{ 2 } }{ 4 } + A_{0}",
    r"\pi \cdot \frac{ \left( 0.575\ \text{in} \right) ^{ 2 } }{ 4 } + 0.310\ \text{in²}",
    r"0.5697\ \text{in²}",
)
SYMBOLS = {"d_{r}": Q(0.575, "in"), "A_{0}": Q(0.31, "in²")}
FALSE = {
    "last digit of the result up": (2, "0.5697", "0.5698"),
    "last digit of the result down": (2, "0.5697", "0.5696"),
    "result in another unit": (2, "in²", "ft²"),
    "result of another dimension": (2, "in²", "in"),
    "result without its unit": (2, r"\ \text{in²}", ""),
    "an operand misprinted": (1, "0.575", "0.557"),
    "an operand in another unit": (1, r"\text{in}", r"\text{mm}"),
    "minus for plus": (1, "} + 0", "} - 0"),
    "another power": (1, "^{ 2 }", "^{ 3 }"),
    "another divisor": (1, "{ 4 }", "{ 2 }"),
    "no pi": (1, r"\pi \cdot ", ""),
    "minus in the formula": (0, "} + A", "} - A"),
    "another power in the formula": (0, "^{ 2 }", "^{ 3 }"),
    "another symbol in the formula": (0, "A_{0}", "d_{r}"),
    "an unknown symbol": (0, "A_{0}", "B_{0}"),
    "a bracket lost": (1, r"\right) ", ""),
    "something that nobody reads": (1, r"\pi", r"\tau"),
}


def test_a_true_line_is_accepted():
    assert check_line(*TRUE, SYMBOLS) <= 1


@pytest.mark.parametrize("false", FALSE)
def test_a_false_line_is_caught(false):
    place, old, new = FALSE[false]
    line = list(TRUE)
    assert old in line[place]
    line[place] = line[place].replace(old, new, 1)
    with pytest.raises(ReadBackError):
        check_line(*line, SYMBOLS)


@pytest.mark.parametrize(
    ("numbers", "result"),
    [
        (r"\operatorname{max} \left( 2 ,\ 3 \right)", "2"), (r"\operatorname{min} \left( 2 ,\ 3 \right)", "3"),
        (r"\left \lceil \frac{ 7 }{ 2 } \right \rceil", "3"), (r"\sqrt { 9 }", "9"), (r"2 \cdot 3 + 4", "14"),
        (r"2 \cdot \left( 3 + 4 \right)", "10"), (r"7 - 2 - 1", "6"), ("-3 + 2", "1"),
    ],
)  # fmt: skip
def test_the_reader_knows_the_order_of_operations(numbers, result):
    with pytest.raises(ReadBackError):
        check_line(numbers, numbers, result, {})
    right = Reader(numbers).whole()
    assert check_line(numbers, numbers, f"{right:g}" if right >= 0 else rf"\left({right:g}\right)", {}) <= 1


def test_mutated_lines_of_the_demo_job_are_caught():
    caught = 0
    for run, one in demo("SI").written.by_run.items():
        if run.calculation.empirical:
            continue
        for line in one.lines:
            if line.sentence:
                continue
            symbols = {
                symbol(name): one.carried(name, one.read_again(name)) for name, kind in one.kinds.items() if kind
            }
            check_line(line.formula, line.numbers, line.result, symbols)
            found = re.search(r"\d+(\.\d+)?", line.result)
            up = units.fixed(float(found[0]) + 4.2 * last_digit(line.result), len((found[1] or "").lstrip(".")))
            with pytest.raises(ReadBackError, match="does not come to"):
                check_line(line.formula, line.numbers, line.result.replace(found[0], up, 1), symbols)
            caught += 1
    assert caught > 100


def test_a_body_that_is_not_homogeneous_gets_no_sheet():
    from deckcalc.patch import saw_cut

    class Crooked(Calculation):
        """A calculation whose answer is not that of its lines."""

        def __call__(self, *args, **kwargs):
            return 1.01 * super().__call__(*args, **kwargs)

    crooked = object.__new__(Crooked)
    crooked.__dict__ = dict(saw_cut.__dict__)
    with pytest.raises(ReadBackError, match="saw_cut: d_saw_max depends on the units"):
        HandCalculation(crooked, "SI", good("patch.saw_cut"))


# --- how it reads


def words(value):
    """Return what a notebook shows of a value, as text."""
    if isinstance(value, str):
        return value
    if isinstance(value, Picture):
        return value.caption
    return value._repr_markdown_() if hasattr(value, "_repr_markdown_") else f"({value!r})"


class Shown(notebook_run.Screen):
    """Keeps what a cell shows as it is, pictures too."""

    def display(self, *objects, **options):
        self.outputs += objects


def show(job):
    """Return everything that the notebooks of the package show of a job: Markdown, and pictures."""
    assert not job.not_computed
    with mock.patch.object(notebook_run, "Screen", Shown):
        return [
            # a cell of Markdown and a stream are dictionaries, made by the runner
            one if not isinstance(one, dict) else one["data"]["text/markdown"]
            for sheet_ in package.built_in()
            for outputs in notebook_run.run(sheet_.name, sheet_.cells, job)
            for one in outputs
        ]


@cache
def everything(system):
    """Return everything that the package of a demo job shows."""
    return show(demo(system))


def outputs(system):
    """Return the text of it."""
    return "\n\n".join(map(words, everything(system)))


@pytest.fixture(scope="module", params=SYSTEMS)
def shown(request):
    """Everything that the package of a demo job shows."""
    return request.param, outputs(request.param)


def test_no_section_says_what_nobody_in_the_trade_says(shown):
    _, text = shown
    assert len(text) > 50_000
    for word in (
        "dimensionless",
        "nan",
        r"Quantity\(",
        "<function",
        "None",
        "degree_Celsius",
        "(?<!air )meter",
        r"(?<!:)\*\* 2",  # a power of Python, not the end of bold words
        "Traceback",
    ):
        assert not re.search(rf"(?<![a-z]){word}(?![a-z])", text), word


def test_every_equation_of_the_package_is_closed(shown):
    _, text = shown
    assert text.count("$$") % 2 == 0 and len(EQUATION.findall(text)) > 80
    for equation in EQUATION.findall(text):
        assert equation.count("{") == equation.count("}")
        assert equation.count(r"\left") == equation.count(r"\right")


def test_no_equation_runs_off_the_page(shown):
    _, text = shown
    for equation in EQUATION.findall(text):
        for row in equation.replace(r"\begin{aligned}", "").replace(r"\end{aligned}", "").split(r"\\"):
            assert width(row.replace(r"\quad", "").replace("&", "")) <= 95, row


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_picture_fits_on_a_page_with_its_caption(system):
    pictures = [one for one in everything(system) if isinstance(one, Picture)]
    assert len(pictures) > 25
    for one in pictures:
        width_, height = one.figure.get_size_inches()
        assert 6 < width_ <= 7 and height <= 8.5, one.caption


def test_every_table_has_the_same_number_of_cells_in_each_row(shown):
    _, text = shown
    tables = re.findall(r"(?:^\|.*\|\n?)+", text, re.M)
    assert len(tables) > 20
    for block in tables:
        counts = {len(re.findall(r"(?<!\\)\|", row)) for row in block.strip().splitlines()}
        assert len(counts) == 1, block


@pytest.mark.parametrize("system", SYSTEMS)
def test_units_of_the_job_and_no_others_stand_in_its_equations(system):
    """A formula with coefficients in fixed units prints those units; all others print the units of the job."""
    printed = {
        unit
        for run, one in demo(system).written.by_run.items() if not run.calculation.empirical
        for equation in EQUATION.findall(one.markdown()) for unit in re.findall(r"\\text\{(.*?)\}", equation)
    } - {r"\%"}  # fmt: skip
    own, other = (
        {kind.symbol(which) for one in REGISTER.values() for kind in [*one.kinds.values(), *(p.kind for p in one.params.values() if p.kind)]}
        for which in (system, "US" if system == "SI" else "SI")
    )  # fmt: skip
    assert len(printed) > 15
    assert printed <= own and not printed & (other - own)


def test_a_value_handed_on_is_printed_the_same_at_both_ends():
    for system in SYSTEMS:
        written = demo(system).written.by_run
        handed = 0
        for taker, shown in written.items():
            for name, value in taker.arguments.items():
                for giver, made in written.items():
                    for result, given in giver.results().items():
                        if given is value and made.unit_text(result) == shown.unit_text(name):
                            assert made.text(result) == shown.text(name), (giver.item, result, taker.item, name)
                            handed += 1
        assert handed > 40


def test_chain_raises_the_decimals_of_both_ends():
    area = steel.section_loss(Q(0.31, "in²"), Q([0.575, 0.6], "in"))
    giver = HandCalculation(steel.section_loss, "SI", {"A_0": Q(0.31, "in²"), "d": Q([0.575, 0.6], "in")}, "B1", area)
    taker = HandCalculation(steel.supplement, "SI", {"A_lost": area.A_lost, "A_b": Q(0.31, "in²")})
    taker.decimals["A_lost"] = giver.decimals["A_lost"] + 2
    sheet.chain([giver, taker])
    assert giver.text("A_lost") == taker.text("A_lost")
    assert len(giver.text("A_lost", unit=False).partition(".")[2]) >= 2


# --- tables


def rows_of(markdown):
    """Return the cells of a Markdown table."""
    lines = [line for line in markdown.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in [lines[0], *lines[2:]]]


@pytest.mark.parametrize("system", SYSTEMS)
def test_rows_of_the_table_of_bars_follow_from_their_printed_cells(system):
    job = demo(system)
    number = job.written.numbers[job.steel.runs_of(steel.section_loss)[0]]
    part = re.split(r"^### ", str(job.written.every_line(job.steel)), flags=re.M)
    (text,) = [one for one in part if one.startswith(number)]
    tables = [rows_of(table) for table in re.findall(r"(?:^\|.*\n?)+", text, re.M)]
    beside = [table for table in tables if table[0][0] == "item"]
    heads, *rows = ([cell for table in beside for cell in table[i][1:]] for i in range(len(beside[0])))
    columns = [next(i for i, head in enumerate(heads) if head.startswith(f"${symbol(name)}$"))
               for name in ("A_0", "d", "d_mean", "d_r", "A_r", "A_lost", "loss")]  # fmt: skip
    heads, rows = ["item", *(heads[i] for i in columns)], [["", *(row[i] for i in columns)] for row in rows]
    assert len(rows) == len(job.file.rows["bars"])
    unit = "mm" if system == "SI" else "in"
    assert [re.search(r"\[(.*)\]", head)[1] for head in heads[1:]] == [
        f"{unit}²",
        unit,
        unit,
        unit,
        f"{unit}²",
        f"{unit}²",
        "%",
    ]
    for _, a_0, d, mean, least, left, lost, loss in rows:
        readings = [float(x) for x in d.split(", ")]
        for shown, value in (
            (mean, sum(readings) / len(readings)), (least, min(readings)), (left, math.pi * float(least) ** 2 / 4),
            (lost, float(a_0) - float(left)), (loss, 100 * float(lost) / float(a_0)),
        ):  # fmt: skip
            assert abs(float(shown) - value) <= last_digit(shown) * (1 + 1e-6)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize(
    "key", ["patch.patch_limits", "patch.patch_volume", "chloride.above_background", "steel.supplement"]
)
def test_rows_of_any_table_follow_from_their_printed_cells(key, system):
    one = REGISTER[key]
    written = [HandCalculation(one, system, arguments(case), case.id) for case in cases_of(one, most=6)]
    names = [*one.params, *one.kinds]
    _, *rows = rows_of(sheet.table(written, names))
    assert len(rows) == len(written)
    for row in rows:
        cells = dict(zip(names, row[1:], strict=True))
        values = {name: units.registry().Quantity(float(cells[name]), written[0].unit(name)) for name in one.params}
        for line in one.lines:
            value = (
                units.registry()
                .Quantity(eval(line.code, one.function.__globals__, values))
                .m_as(written[0].unit(line.name))
            )
            assert abs(value - float(cells[line.name])) <= last_digit(cells[line.name]) * (1 + 1e-6), (row, line.name)
            values[line.name] = units.registry().Quantity(float(cells[line.name]), written[0].unit(line.name))
    decimals = [{len(row[i].partition(".")[2]) for row in rows} for i in range(1, len(names) + 1)]
    assert all(len(one_column) == 1 for one_column in decimals)  # a column has one number of decimals


def test_an_empty_table_is_refused():
    with pytest.raises(InputError, match="at least one"):
        sheet.table([], ["A_0"])


def test_a_bar_in_a_cell_does_not_break_the_table():
    assert rows_of(sheet.pipe_table(["a", "b"], [["x|y", "1"]]))[1][0] == r"x\|y"


# --- the sheet of one calculation


def test_the_sheet_names_source_limits_of_validity_and_what_governs():
    text = HandCalculation(
        REGISTER["patch.clear_space"], "US", {"s_min": Q(0.75, "in"), "D_max": Q(0.375, "in"), "e": Q(0.25, "in")}
    ).markdown()
    assert "; $s_{\\mathrm{min}}$ governs:" in text
    assert "Source: [ACI PRC-364.6]" in text
    assert (
        "; $s_{D}$ governs:"
        in HandCalculation(
            REGISTER["patch.clear_space"], "US", {"s_min": Q(0.75, "in"), "D_max": Q(0.75, "in"), "e": Q(0.25, "in")}
        ).markdown()
    )
    assert (
        "both are equal"
        in HandCalculation(
            REGISTER["patch.clear_space"], "US", {"s_min": Q(1, "in"), "D_max": Q(0.75, "in"), "e": Q(0.25, "in")}
        ).markdown()
    )


def test_a_source_recalled_from_memory_says_so():
    assert "from memory, to be verified" in str(Cite("aci318-05", "Table 5.3.2.2", "memory"))
    text = HandCalculation(
        REGISTER["mix.average_strength_no_record (SI)"], "SI", good("mix.average_strength_no_record (SI)")
    ).markdown()
    assert "from memory, to be verified" in text


@pytest.mark.parametrize("key", [key for key, one in REGISTER.items() if one.empirical])
def test_an_empirical_sheet_states_the_unit_of_every_symbol(key):
    text = HandCalculation(REGISTER[key], "SI", good(key)).markdown()
    where = next(line for line in text.splitlines() if line.startswith("Empirical:"))
    for name, unit in REGISTER[key].unit_of.items():
        assert f"${symbol(name)}$ {'in ' + unit if unit else 'without unit'}" in where


@pytest.mark.parametrize(
    ("name", "tex"),
    [("f_c", "f'_{c}"), ("w_cm", "w/cm"), ("A_0", "A_{0}"), ("d_saw_max", r"d_{\mathrm{saw,max}}"), ("loss", r"\mathrm{loss}"),
     ("rho_w", r"\rho_{w}"), ("f_cr1", r"f'_{\mathrm{cr1}}")],
)  # fmt: skip
def test_symbols_are_those_of_the_field(name, tex):
    assert symbol(name) == tex


def test_no_two_symbols_of_a_sheet_look_alike():
    for one in REGISTER.values():
        names = [*(name for name, param in one.params.items() if param.kind), *one.kinds]
        assert len({symbol(name) for name in names}) == len(names), one.key


def test_a_negative_number_stands_in_brackets():
    assert tex_value("-0.8 %") == r"\left(-0.8\ \text{\%}\right)"
    text = HandCalculation(
        REGISTER["steel.adjacent_loss"], "SI", {"loss_1": Q(-2, "%"), "loss_2": Q(3, "%")}
    ).markdown()
    assert r"\left(-2\ \text{\%}\right)" in text


def test_inputs_keep_all_their_digits():
    text = HandCalculation(
        REGISTER["patch.saw_cut"], "SI", {"c_min": Q(44.45, "mm"), "m_saw": Q(6.35, "mm")}
    ).markdown()
    assert r"44.45\ \text{mm} - 6.35\ \text{mm}" in text


def test_what_the_call_refuses_gets_no_sheet():
    with pytest.raises(InputError, match="saw_cut: c_min"):
        HandCalculation(REGISTER["patch.saw_cut"], "SI", {"c_min": Q(-1, "mm"), "m_saw": Q(6, "mm")})


def test_print_of_a_result_on_a_step_holds():
    """A number of bars just at a whole number is printed with operands that give the same whole number."""
    for n in range(1, 30):
        for nudge in (-1e-6, 0.0, 1e-6):
            lost = Q(0.31 * n + nudge, "in²")
            one = HandCalculation(steel.supplement, "US", {"A_lost": lost, "A_b": Q(0.31, "in²")})
            assert prove(one.markdown(), False) == 2
            assert int(one.text("n")) == n + (nudge > 0)


def test_tables_of_what_was_measured_lose_no_reading():
    for system in SYSTEMS:
        job = demo(system)
        heads, *rows = rows_of(sections.measured(job.file.rows["bars"], job.system))
        unit = "mm" if system == "SI" else "in"
        place = heads.index(f"readings [{unit}]")
        for row, filed in zip(rows, job.file.rows["bars"], strict=True):
            assert np.allclose([float(x) for x in row[place].split(", ")], filed.readings.m_as(unit), rtol=1e-12)
        at = heads.index("station [m]" if system == "SI" else "station")  # a US cell has feet and inches
        for row, filed in zip(rows, job.file.rows["bars"], strict=True):
            read = units.read(f"{row[at]} m" if system == "SI" else row[at], units.Distance)
            assert abs(read.m_as("m") - filed.station) < 1e-4


def test_a_place_that_was_not_measured_stays_an_empty_cell():
    one, *others = demo("SI").file.rows["bars"]
    bare = one.model_copy(update={"station": None, "offset": None})
    heads, first, second, *_ = rows_of(sections.measured([bare, *others], "SI"))
    for head in ("station [m]", "offset [m]"):
        assert first[heads.index(head)] == "" and float(second[heads.index(head)]) > 0
    heads, only = rows_of(sections.measured([bare], "SI"))
    assert only[heads.index("station [m]")] == "" and only[heads.index("bar")] == one.bar


def test_both_systems_show_the_same_sheets():
    plain = {system: re.sub(r"^(`{3,}|~{3,}).*?^\1", "", outputs(system), flags=re.M | re.S) for system in SYSTEMS}
    heads = {system: re.findall(r"^#+ .*$", plain[system], re.M) for system in SYSTEMS}
    own = r", metric rules|, (metric|US) form| \((?:[\w ]+, )?(SI|US)(?: form)?\)"  # what only one system has in its title
    own += r"|(?<=patch )P\d+"  # which patch is worked by hand: growth for laps is rounded to 10 mm or 1/2 in
    si, us = ([worded(re.sub(own, "", head), "US") for head in heads[system]] for system in SYSTEMS)
    assert len(si) > 300
    rest = ", the other patches"  # in the order of the patches that are left, which are others where P\d+ is another
    assert [head for head in si if rest not in head] == [head for head in us if rest not in head]
    assert sorted(head for head in si if rest in head) == sorted(head for head in us if rest in head)


# --- jobs unlike the demonstration

OTHER_JOBS = {
    "all that can go wrong": {
        **{f"depths.{row.reading}.depth": "125 mm" for row in demo("SI").file.rows["depths"] if row.depth is not None},
        "limits.bar_loss_single": "2 %", "limits.bar_loss_adjacent": "2 %", "cores.C1.bar_depth": "90 mm",
        "cores.C2.bar_depth": "5 mm", "chloride.threshold": "fdot-less-conservative", "mix.tables": "US",
        "mix.concretes.C3.strength": "4500 psi", "mix.concretes.C5.strength": "4500 psi",
    },
    "nothing to do": {
        "limits.bar_loss_single": "90 %", "limits.bar_loss_adjacent": "90 %", "chloride.background": "0 kg/m3",
        "mix.exposure": "not air-entrained", "confirmed": "mix.exposure", "removal.overbreak": "0 %", "limits.waste": "0 %",
        "aggregates.stone-10.moisture": "0 %", "aggregates.stone-19.moisture": "0 %", "aggregates.river-sand.moisture": "0 %",
    },
    "awkward figures": {
        "deck.slab_thickness": "8 1/64 in", "limits.margin": "61.37 mm", "rectangles.F1.width": "2.5071 ft",
        "mix.load": "1/7 yd^3", "chloride.background": "0.03 % of cement", "mix.tables": "SI",
        "mix.concretes.C3.strength": "34.1 MPa", "mix.concretes.C5.strength": "33.3 MPa",
    },
}  # fmt: skip


@pytest.mark.parametrize("other", OTHER_JOBS)
@pytest.mark.parametrize("system", SYSTEMS)
def test_other_jobs_print_true_as_well(system, other):
    job = compute(DEMO[system], OTHER_JOBS[other])
    written = job.written.by_run
    proved = sum(prove(one.markdown(), run.calculation.empirical) for run, one in written.items())
    assert (
        proved
        == sum(1 for run in written for line in run.calculation.lines if not (line.helper or line.constant))
        > 120
    )


@pytest.mark.parametrize("other", ["all that can go wrong", "nothing to do"])
def test_other_jobs_show_every_sheet(other):
    text = "\n".join(map(words, show(compute(DEMO["SI"], OTHER_JOBS[other]))))
    assert len(re.findall(r"^#+ ", text, re.M)) > 20
    assert "dimensionless" not in text and "nan" not in re.findall(r"\w+", text)
    assert ("No bar is to be added by these rules" in text) == (other == "nothing to do")
