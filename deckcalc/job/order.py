"""A job carried through the trades in the order of the work.

This is the only file that knows all trades. It computes nothing itself: each subject of the course hands measured inputs
to calculations and holds results against limits.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from deckcalc.base.fields import JobError
from deckcalc.base.subject import Material, Run, Subject
from deckcalc.chloride import design as chloride
from deckcalc.closure import design as closure
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.curing import design as curing
from deckcalc.formwork import design as formwork
from deckcalc.job.file import JobFile, read_job
from deckcalc.mix import design as mix
from deckcalc.patch import design as patch
from deckcalc.safety import design as safety
from deckcalc.show.display import checks_html, verdicts
from deckcalc.steel import design as steel
from deckcalc.traffic import design as traffic

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

    def _repr_html_(self) -> str:
        package = self.head.package
        caption = f"{package.number}, {package.subject}; {self.head.bridge.name}: {verdicts(self.checks)}."
        return checks_html(self.checks, self.system, caption)

    @property
    def materials(self) -> list[Material]:
        """Everything to be brought, in filing order."""
        return [material for subject in self.subjects for material in subject.materials]


def carry(folder: str | Path, changes: dict[str, str] | None = None) -> Job:
    """Read a job folder and carry it through all trades.

    Parameters
    ----------
    folder : path
    changes : dict of str, optional
        Inputs to change, see `deckcalc.job.file.read_job`.

    Returns
    -------
    Job

    Raises
    ------
    JobError
        With every fault found.
    """
    folder = Path(folder)
    inputs = (path for path in folder.glob("*.*") if path.suffix in (".toml", ".csv"))
    stamp = tuple(sorted((path.name, path.stat().st_mtime_ns, path.stat().st_size) for path in inputs))
    return _carried(folder.resolve(), folder, tuple((changes or {}).items()), stamp)


@lru_cache(maxsize=2)
def _carried(place: Path, folder: Path, changes: tuple[tuple[str, str], ...], stamp: tuple[Any, ...]) -> Job:
    """Carry a job once for all sheets of a package: the same files give the same job."""
    job = Job(read_job(folder, dict(changes)))
    job.whole()
    return job
