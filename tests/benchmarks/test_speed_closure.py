"""Speed of the closure: many jobs planned in one run, as ratios in that run: against reading alone, and second half to first.

Memory is what the process has held at most, after the first half and after the whole.
"""

import resource
import shutil
from time import perf_counter

import numpy as np
import pytest

from deckcalc.closure.formulas import critical_path as network
from deckcalc.closure.formulas.critical_path import Step
from deckcalc.core.sources import folder
from deckcalc.job import programme
from deckcalc.job.file import read_job


@pytest.fixture(scope="module")
def jobs(request, tmp_path_factory):
    """Return job folders that differ in how fast the breakers work, so that no night is planned twice."""
    count = 500 if request.config.getoption("--benchmark-enable") else 2
    place = tmp_path_factory.mktemp("jobs")
    found = []
    for number in range(count):
        one = place / f"{number:03d}"
        shutil.copytree(folder("notebooks") / "demo_us", one)
        text = (one / "rates.csv").read_text(encoding="utf-8")
        assert "8 min/ft^3,11 min/ft^3" in text
        factor = 0.7 + 0.3 * (number * 37 % count) / count
        new = f"{8 * factor:.4f} min/ft^3,{11 * factor:.4f} min/ft^3"
        (one / "rates.csv").write_text(text.replace("8 min/ft^3,11 min/ft^3", new), encoding="utf-8")
        found.append(one)
    return found


@pytest.mark.benchmark(group="jobs in one run")
def test_many_jobs_in_one_run(benchmark, jobs, capsys):
    clock, memory = [], []

    def given():
        for one in jobs:
            clock.append(perf_counter())
            memory.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
            yield one

    made = benchmark.pedantic(lambda: programme.plan(given()), rounds=1)
    end, most = perf_counter(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    assert made.jobs == len(jobs) and not made.faults
    half = len(jobs) // 2
    start = perf_counter()
    for one in jobs[:5]:
        read_job(one)
    read = (perf_counter() - start) / min(5, len(jobs))
    first, second = clock[half] - clock[0], end - clock[half]
    if benchmark.stats:
        with capsys.disabled():
            print(
                f"\n{len(jobs)} jobs, {len(made.rows)} nights: {(end - clock[0]) / len(jobs):.2f} s a job, "
                f"{(end - clock[0]) / len(jobs) / read:.1f} times reading it; second half over first {second / first:.2f}; "
                f"memory {memory[0]:.0f} MB before, {memory[half]:.0f} at half, {most:.0f} at the end"
            )


STEPS = [
    Step(f"{k} P{g}", (f"{k - 1} P{g}",) if k else (), ("a", "b")[k % 2 : k % 2 + 1], 10 + k + g, 5, 40, f"P{g}", k)
    for g in range(8) for k in range(10)
]  # fmt: skip


def one_by_one(made, d):
    """Work every sample by itself."""
    ends = []
    for column in d.T:
        done = [0.0] * len(column)
        for i, before in enumerate(made.before):
            done[i] = max((done[j] for j in before), default=0.0) + column[i]
        ends.append(max(done))
    return np.array(ends)


@pytest.mark.benchmark(group="samples of a timetable")
def test_samples_all_at_once(benchmark, request):
    samples = 20_000 if request.config.getoption("--benchmark-enable") else 200
    made = network.plan(STEPS, {"a": 2, "b": 1})
    d = network.triangular(made, samples, 1, 0.5)
    ends = benchmark.pedantic(lambda: made.finishes(d).max(axis=0), rounds=5)
    start = perf_counter()
    plain = one_by_one(made, d)
    if benchmark.stats:
        benchmark.extra_info["one by one over all at once"] = (perf_counter() - start) / benchmark.stats.stats.median
    assert ends == pytest.approx(plain)
