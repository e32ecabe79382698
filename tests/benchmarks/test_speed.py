"""How fast the library is, always as a ratio: ours against the plain way to the same end, timed in turn in one run.

    pytest tests/benchmarks --benchmark-enable

prints a table of ratios at the end (the median of as many pairs as there are rounds). No test is judged by the clock:
what is asserted is that both ways give the same result. Without ``--benchmark-enable`` each way runs once.
"""

import math
import subprocess
import sys
from itertools import count
from statistics import median
from time import perf_counter

import numpy as np
import pytest
from handcalcs.handcalcs import LatexRenderer
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell, new_notebook

from deckcalc import Q, mix, patch, steel
from deckcalc.core.sources import folder
from deckcalc.job.file import read_job
from deckcalc.job.order import Job, changed, finished
from deckcalc.package.build import build, built_in, results
from deckcalc.show.hand import HandCalculation

MILLION = 1_000_000
BAR = {"A_0": Q(0.31, "in²"), "d": Q([0.60, 0.55, 0.58], "in")}
HOLE = {
    "A": Q(8.75, "ft²"),
    "h": Q(4.0, "in"),
    "V_u": Q(0.02, "ft³"),
    "q_grow": Q(3.0, "%"),
    "q_over": Q(5.0, "%"),
    "q_waste": Q(10.0, "%"),
}
MIX = {
    "W": Q(305.0, "lb/yd³"), "w_cm": Q(0.50), "air": Q(5.0, "%"), "b": Q(0.63), "rho_dr": Q(102.0, "lb/ft³"),
    "RD_c": Q(3.15), "RD_ca": Q(2.60), "RD_fa": Q(2.65), "rho_w": Q(62.4, "lb/ft³"),
}  # fmt: skip
FOOT, INCH, POUND = 0.3048, 0.0254, 0.45359237
PER_YARD, PER_FOOT = POUND / (3 * FOOT) ** 3, POUND / FOOT**3  # lb/yd³ and lb/ft³ in kg/m³


@pytest.fixture(scope="module")
def ratios(request):
    """Collect what was measured, and print it at the end."""
    rows = []
    yield rows
    if rows:
        with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
            print("\n\nours against the plain way: median ratio (quartiles), median times in ms")
            for label, ratio, low, high, ours, plain in rows:
                print(f"  {label:<74} {ratio:6.2f} ({low:.2f} to {high:.2f}) {1e3 * ours:10.3f} {1e3 * plain:10.3f}")


@pytest.fixture
def against(benchmark, ratios):
    """Return a function that times two ways in turn and stores the ratio of each pair."""

    def compare(label, ours, plain, rounds, times=1):
        taken, results = [], {}

        def first():
            start = perf_counter()
            for _ in range(times):
                results["plain"] = plain()
            taken.append((perf_counter() - start) / times)

        def second():
            for _ in range(times):
                results["ours"] = ours()

        benchmark.pedantic(second, setup=first, rounds=rounds, warmup_rounds=1)
        if benchmark.enabled:
            mine = [one / times for one in benchmark.stats.stats.data]
            pairs = [one / other for one, other in zip(mine, taken[-rounds:], strict=True)]
            low, ratio, high = np.quantile(pairs, [0.25, 0.5, 0.75])
            benchmark.extra_info.update(ratio=ratio, quartiles=[low, high], pairs=rounds)
            ratios.append((label, ratio, low, high, median(mine), median(taken[-rounds:])))
        return results["ours"], results["plain"]

    return compare


def agree(ours, plain):
    """Hold the results of both ways together: quantities, or numbers in the units of ours."""
    for one, other in zip(ours, plain, strict=True):
        number = other.m_as(one.units) if hasattr(other, "m_as") else other
        np.testing.assert_allclose(one.magnitude, number, rtol=1e-12)


def test_import(against):
    def importing(what):
        return lambda: subprocess.run([sys.executable, "-c", f"import {what}"], check=True).returncode

    label = "import deckcalc / numpy and pint alone"
    assert against(label, importing("deckcalc"), importing("numpy, pint"), 11) == (0, 0)


ONE_BAR = ["run", "steel.section_loss", "A_0=0.31 in^2", "d=0.60 in, 0.55 in"]


@pytest.mark.parametrize(
    ("what", "made"),
    [("import numpy, pint, deckcalc.steel", ""), ("the same, and the units of pint read", "; deckcalc.registry().Quantity")],
    ids=["imports", "units"],
)  # fmt: skip
def test_run_of_one_calculation(against, what, made):
    """The command from its start to its end, against what no calculation with quantities can do without."""

    def started(*words):
        return lambda: subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL).returncode

    plain = started("-c", f"import numpy, pint, deckcalc, deckcalc.steel{made}")
    assert against(f"deckcalc run / {what}", started("-m", "deckcalc", *ONE_BAR), plain, 11) == (0, 0)


# ---- one call with quantities, against the same lines written with quantities ----


def losses(A_0, d):
    d_mean = np.mean(d)
    d_r = np.min(d)
    A_r = math.pi * d_r**2 / 4
    A_lost = A_0 - A_r
    return d_mean, d_r, A_r, A_lost, A_lost / A_0


def volumes(A, h, V_u, q_grow, q_over, q_waste):
    V_net = A * h
    V_hole = (V_net + V_u) * (1 + q_grow)
    V_placed = V_hole * (1 + q_over)
    return V_net, V_hole, V_placed, V_placed * (1 + q_waste)


def contents(W, w_cm, air, b, rho_dr, RD_c, RD_ca, RD_fa, rho_w, V_u=1):
    C = W / w_cm
    M_ca = b * V_u * rho_dr
    V_w = W / rho_w
    V_c = C / (RD_c * rho_w)
    V_a = air * V_u
    V_ca = M_ca / (RD_ca * rho_w)
    V_sum = V_w + V_c + V_a + V_ca
    V_left = V_u - V_sum
    V_fa = V_left
    return C, M_ca, V_w, V_c, V_a, V_ca, V_sum, V_left, V_fa, V_fa * RD_fa * rho_w


@pytest.mark.parametrize(
    ("calculation", "by_hand", "given"),
    [(steel.section_loss, losses, BAR), (patch.patch_volume, volumes, HOLE), (mix.proportions, contents, MIX)],
    ids=lambda value: getattr(value, "name", ""),
)
def test_scalar_call(against, calculation, by_hand, given):
    label = f"{calculation.name}, one call / the same lines in pint"
    agree(*against(label, lambda: calculation(**given), lambda: by_hand(**given), 40, 20))


# ---- a million at once, against bare numpy: on the raw numbers, and with the conversions ----


def spread(value):
    return value * np.random.default_rng(7).uniform(0.98, 1.02, MILLION)


def bars():
    """A million bars, two readings each."""
    raw = spread(0.31), np.stack([spread(0.58), spread(0.56)], axis=-1)

    def converted(A_0, d):
        d_mean, d_r, A_r, A_lost, loss = losses_of_many(A_0 * INCH**2, d * INCH)
        return d_mean * 1e3, d_r * 1e3, A_r * 1e6, A_lost * 1e6, loss * 100

    def losses_of_many(A_0, d):
        d_mean = np.mean(d, axis=-1)
        d_r = np.min(d, axis=-1)
        A_r = math.pi * d_r**2 / 4
        A_lost = A_0 - A_r
        return d_mean, d_r, A_r, A_lost, A_lost / A_0

    given = {"A_0": Q(raw[0], "in²"), "d": Q(raw[1], "in")}
    return steel.section_loss, given, lambda: losses_of_many(*raw), lambda: converted(*raw)


def holes():
    """A million patches, in square feet and inches."""
    A, h = spread(8.75), spread(4.0)
    given = {**HOLE, "A": Q(A, "ft²"), "h": Q(h, "in")}
    return (
        patch.patch_volume, given, lambda: volumes(A, h, 0.02, 0.03, 0.05, 0.10),
        lambda: volumes(A * FOOT**2, h * INCH, 0.02 * FOOT**3, 3.0 / 100, 5.0 / 100, 10.0 / 100),
    )  # fmt: skip


def holes_in_millimetres():
    """A million patches, in square millimetres and millimetres."""
    A, h = spread(0.8e6), spread(100.0)
    given = {**HOLE, "A": Q(A, "mm²"), "h": Q(h, "mm")}
    return (
        patch.patch_volume, given, lambda: volumes(A, h, 0.02, 0.03, 0.05, 0.10),
        lambda: volumes(A * 1e-6, h * 1e-3, 0.02 * FOOT**3, 3.0 / 100, 5.0 / 100, 10.0 / 100),
    )  # fmt: skip


def mixes():
    """A million mixes: water, ratio and air vary."""
    W, w_cm, air = spread(305.0), spread(0.50), spread(5.0)
    rest = {"b": 0.63, "rho_dr": 102.0, "RD_c": 3.15, "RD_ca": 2.60, "RD_fa": 2.65, "rho_w": 62.4}
    given = {**MIX, "W": Q(W, "lb/yd³"), "w_cm": Q(w_cm), "air": Q(air, "%")}

    def converted():
        dense = {**rest, "rho_dr": rest["rho_dr"] * PER_FOOT, "rho_w": rest["rho_w"] * PER_FOOT}
        return contents(W * PER_YARD, w_cm, air / 100, **dense)

    return mix.proportions, given, lambda: contents(W / 27, w_cm, air / 100, **rest), converted


@pytest.mark.parametrize("with_units", [False, True], ids=["raw", "converted"])
@pytest.mark.parametrize("case", [bars, holes, holes_in_millimetres, mixes])
def test_million(against, case, with_units):
    calculation, given, raw, converted = case()
    label = f"{calculation.name}, a million {case.__name__.replace('_', ' ')} / bare numpy"
    label += ", same conversions" if with_units else " on raw numbers"
    ours, plain = against(label, lambda: calculation(**given), converted if with_units else raw, 25)
    if with_units:
        agree(ours, [np.broadcast_to(one, MILLION) for one in plain])
    else:
        assert np.shape(ours[-1].magnitude) == np.shape(plain[-1]) == (MILLION,)


# ---- a sheet, against handcalcs alone on the whole body ----


@pytest.mark.parametrize(("calculation", "given"), [(patch.patch_volume, HOLE), (mix.proportions, MIX)],
                         ids=["patch_volume", "proportions"])  # fmt: skip
def test_sheet(against, calculation, given):
    body = "\n".join(f"{line.name} = {line.expression}  # {line.comment}" for line in calculation.lines)
    answer = calculation(**given)
    worked = dict(zip(calculation.kinds, answer, strict=True))
    values = {**calculation.function.__globals__, **calculation.bind((), given), **worked}
    settings = {"precision": 3, "sci_not": None, "override": ""}

    def bare():
        return LatexRenderer(body, dict(values), settings).render()

    sheet, plain = against(
        f"{calculation.name}, sheet worked, proved and written / handcalcs setting it",
        lambda: HandCalculation(calculation, "US", given).markdown(), bare, 25,
    )  # fmt: skip
    assert sheet.count("$$") == 2 * len(calculation.lines)
    assert plain.count("&=") >= len(calculation.lines)


# ---- a package, against running its notebooks without binding ----


def test_package(against, benchmark, tmp_path):
    if benchmark.disabled:
        pytest.skip("a package takes long; it is timed with --benchmark-enable")
    job = folder("notebooks") / "demo_us"
    cells = [cell for sheet in built_in() for cell in read_cells(sheet.path, job)]

    def execute():
        notebook = new_notebook(cells=[new_code_cell(source) for source in cells])
        NotebookClient(notebook, kernel_name="python3", timeout=600).execute(cwd=str(job))
        return notebook

    out, executed = against("demo package / its notebooks run, not bound",
                            lambda: build(job, tmp_path / "package", quiet=True), execute, 3)  # fmt: skip
    assert {path.name for path in out.iterdir()} >= {"package.pdf", "package.html", "package.docx"}
    assert all(cell.outputs for cell in executed.cells if cell.source.startswith("sections."))


# ---- a job with one input changed, against the same inputs computed from the start ----


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize(
    ("key", "values"), [("depths.D3.depth", ("80 mm", "81 mm")), ("traffic.speed", ("80 km/h", "81 km/h"))]
)
def test_rerun(against, system, key, values):
    before = finished(Job(read_job(folder("notebooks") / f"demo_{system}")))
    turn = count()

    def change():
        return {key: values[next(turn) % 2]}

    ours, plain = against(
        f"demo job, {key} changed / computed from the start ({system.upper()})",
        lambda: changed(before, change()), lambda: finished(Job(read_job(before.file.contents, change()))), 5,
    )  # fmt: skip
    assert len(results(ours)) == len(results(plain))


def read_cells(path, job):
    """Return the code of a notebook, its job being the one that is timed."""
    import nbformat

    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "code":
            yield f"JOB = {str(job)!r}" if "parameters" in cell.metadata.get("tags", []) else cell.source
