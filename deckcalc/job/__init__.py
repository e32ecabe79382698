"""The job, the only room that knows all subjects: its folder, the order of the work, review, many jobs."""

from deckcalc.base.fields import JobError
from deckcalc.job.order import Job, compute

__all__ = ["Job", "JobError", "compute"]
