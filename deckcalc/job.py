"""A job carried through the trades in the order of the work.

This is the only file that knows all trades. It computes nothing itself: each subject of the course hands measured inputs
to calculations and holds results against limits.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Any

from deckcalc import units
from deckcalc.check import Check, Limit
from deckcalc.course import chloride, closure, curing, formwork, mix, patch, safety, steel, traffic
from deckcalc.course.base import Material, Run, Subject
from deckcalc.inputs import JobError
from deckcalc.jobfile import JobFile, read_job

__all__ = ["Job", "JobError", "Run", "Subject", "carry"]


class Job:
    """A job folder read; each subject is carried through when it is first asked for.

    Parameters
    ----------
    file : JobFile

    Raises
    ------
    JobError
        If an input that is valid by itself cannot be carried through a calculation.
    """

    def __init__(self, file: JobFile) -> None:
        self.file = file
        self.system = file.system
        self.head = file.head

    @cached_property
    def patch(self) -> patch.Patches:
        """Where and how deep to repair."""
        return patch.carry(self)

    @cached_property
    def steel(self) -> steel.Steel:
        """Reinforcement."""
        return steel.carry(self)

    @cached_property
    def chloride(self) -> chloride.Chlorides:
        """Chlorides."""
        return chloride.carry(self)

    @cached_property
    def mix(self) -> mix.Mixes:
        """Mix and batch."""
        return mix.carry(self)

    @cached_property
    def formwork(self) -> formwork.Forms:
        """Forms of the full-depth holes."""
        return formwork.carry(self)

    @cached_property
    def curing(self) -> curing.CuringSubject:
        """Curing and opening."""
        return curing.carry(self)

    @cached_property
    def traffic(self) -> traffic.Layout:
        """Traffic past the closed lane."""
        return traffic.carry(self)

    @cached_property
    def closure(self) -> closure.Plan:
        """The closure."""
        return closure.carry(self)

    @cached_property
    def safety(self) -> safety.Safe:
        """Safety of the crew."""
        return safety.carry(self)

    def whole(self) -> None:
        """Carry the job through every subject, in the order of the work; a subject by itself carries what it needs."""
        for name in ("patch", "steel", "chloride", "mix", "formwork", "curing", "traffic", "closure", "safety"):
            getattr(self, name)

    @property
    def subjects(self) -> list[Subject]:
        """The subjects in filing order."""
        found: list[Subject] = [self.patch, self.steel, self.chloride, self.mix]
        chosen: list[tuple[Subject, Any]] = [
            (self.formwork, self.head.formwork), (self.curing, self.head.curing), (self.traffic, self.head.traffic),
            (self.closure, self.head.closure), (self.safety, self.head.safety),
        ]  # fmt: skip
        return found + [subject for subject, asked in chosen if asked]

    @property
    def checks(self) -> list[Check]:
        """All checks in filing order."""
        return [check for subject in self.subjects for check in subject.checks]

    def limit(self, key: str) -> Limit:
        """Return a limit by its key."""
        return self.file.limits[key]

    def show(self, value: Any, kind: Any, decimals: int | None = None) -> str:
        """Print a quantity in the job's units."""
        return units.show(value, kind, self.system, decimals)

    @property
    def materials(self) -> list[Material]:
        """Everything to be brought, in filing order."""
        return [material for subject in self.subjects for material in subject.materials]


def carry(job: str | Path | JobFile | Job, changes: dict[str, str] | None = None) -> Job:
    """Read a job folder and carry it through all trades.

    Parameters
    ----------
    job : path, JobFile or Job
        A folder; or what was read of it, or carried, before: then nothing is read again.
    changes : dict of str, optional
        Inputs to change, see `deckcalc.jobfile.read_job`.

    Returns
    -------
    Job

    Raises
    ------
    JobError
        With every fault found.
    """
    if isinstance(job, Job):
        return job
    if isinstance(job, JobFile):
        return _carried(job)
    file = read_job(job, changes)
    key = (Path(job).resolve(), tuple(file.changes.items()), tuple(file.verbatim.items()))
    if key not in _recent:
        while len(_recent) > 1:
            del _recent[next(iter(_recent))]
        _recent[key] = _carried(file)
    return _recent[key]


def _carried(file: JobFile) -> Job:
    job = Job(file)
    job.whole()
    return job


#: The jobs carried last, by what was read: the same bytes give the same job.
_recent: dict[Any, Job] = {}
