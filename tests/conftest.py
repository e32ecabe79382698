"""Settings of all tests: hypothesis never judges by the clock or the terminal, and only some compute the closure."""

import signal

import pytest
from hypothesis import settings

from deckcalc.job.order import ORDER, Job

settings.register_profile("deckcalc", deadline=None)
settings.load_profile("deckcalc")

# A run that was started in the background has Ctrl-C switched off, and its processes inherit that.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

#: Tests of one subject that compute many jobs; the closure takes longer than all other subjects together.
OTHER_SUBJECTS = {
    "test_chloride_job", "test_curing_job", "test_formwork", "test_mix_job", "test_patch_job", "test_steel_job",
    "test_mix_batch",
}  # fmt: skip


@pytest.fixture(scope="session", autouse=True)
def no_terminal():
    """Print lines of any length, whatever width the terminal has from which the tests were started."""
    with pytest.MonkeyPatch.context() as patched:
        patched.delenv("COLUMNS", raising=False)
        yield


@pytest.fixture(scope="module", autouse=True)
def only_what_is_tested(request):
    """Leave the closure for later where another subject is tested."""
    with pytest.MonkeyPatch.context() as patched:
        if request.module.__name__ in OTHER_SUBJECTS:
            all_of_it = Job.compute_all
            patched.setattr(Job, "compute_all", lambda job: all_of_it(job, ORDER[: ORDER.index("closure")]))
        yield
