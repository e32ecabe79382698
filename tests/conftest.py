"""Settings of all tests: hypothesis never judges by the clock, and only tests that ask for it carry the closure."""

import pytest
from hypothesis import settings

from deckcalc.job.order import COURSE, Job

settings.register_profile("deckcalc", deadline=None)
settings.load_profile("deckcalc")

#: Tests of one subject that carry many jobs; the closure takes longer than all other subjects together.
OTHER_SUBJECTS = {
    "test_chloride_job", "test_curing_job", "test_formwork", "test_mix_job", "test_patch_job", "test_steel_job",
    "test_mix_batch",
}  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def only_what_is_tested(request):
    """Leave the closure for later where another subject is tested."""
    with pytest.MonkeyPatch.context() as patched:
        if request.module.__name__ in OTHER_SUBJECTS:
            whole = Job.whole
            patched.setattr(Job, "whole", lambda job: whole(job, COURSE[: COURSE.index("closure")]))
        yield
