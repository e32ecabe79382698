"""A job computed subject by subject, in the order of the work.

This is the only file that knows all subjects. It computes nothing itself: each subject hands measured inputs
to calculations and holds results against limits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

from deckcalc.base.concrete import PlacedConcrete
from deckcalc.base.context import Context, Inputs
from deckcalc.base.fields import DRAFT, JobError, NotComputed
from deckcalc.base.subject import Material, OpenItem, Run, Subject
from deckcalc.chloride import design as chloride
from deckcalc.closure import design as closure
from deckcalc.closure.design import Trades
from deckcalc.core import units
from deckcalc.core.check import VERDICTS, Check, Limit
from deckcalc.core.ranges import speaking
from deckcalc.core.tables import TableError
from deckcalc.core.units import InputError
from deckcalc.curing import design as curing
from deckcalc.curing.design import Placings
from deckcalc.formwork import design as formwork
from deckcalc.job.changes import Changes
from deckcalc.job.comments import Comment, comments, require_places
from deckcalc.job.file import JobFile, context, read_folder, read_job
from deckcalc.job.folder import Contents
from deckcalc.job.holds import hold_points
from deckcalc.job.instructions import instructions
from deckcalc.job.open_items import open_items
from deckcalc.job.rounds import Rounds, carried
from deckcalc.job.settings import SUBJECTS
from deckcalc.job.unchanged import SAME_LAPS, kept, unchanged
from deckcalc.mix import design as mix
from deckcalc.patch import design as patch
from deckcalc.patch.design import Patches
from deckcalc.safety import design as safety
from deckcalc.safety.design.noise import noise
from deckcalc.show.display import checks_html, verdicts
from deckcalc.steel import design as steel
from deckcalc.steel.design import Steel
from deckcalc.traffic import design as traffic

if TYPE_CHECKING:
    import pandas as pd

    from deckcalc.show.written import HandCalculations

__all__ = ["Job", "JobError", "NotComputed", "Run", "Subject", "compute"]

#: The subjects in the order of the work.
ORDER = tuple(SUBJECTS)

T = TypeVar("T")


class Job:
    """A job folder read; each subject is carried through when it is first asked for.

    Parameters
    ----------
    file : JobFile
    before : Job, optional
        The job with other inputs, computed: what does not depend on those that differ is taken from it.

    Attributes
    ----------
    faults : dict of NotComputed
        By subject: why an input that is valid by itself could not be carried through it. Asking for such a subject, or for
        one that needs it, raises `NotComputed`; the others stand. A subject that is no part of the job, or lacks what it
        needs, is empty; what it lacks stands among the faults as well.
    """

    def __init__(self, file: JobFile, before: Job | None = None) -> None:
        self.file = file
        self.system = file.system
        self.settings = file.settings
        self.faults = {key: NotComputed(key, [why]) for key, why in file.lacking.items()}
        self._kept: dict[str, Any] = {}
        #: Limits by who read them: a subject, or the reading of the job.
        self.limits_of: dict[str, set[str]] = {key: set() for key in ORDER} | {"": {*file.limits.used}}
        if before is not None:
            self._keep(before)

    def _keep(self, before: Job) -> None:
        """Take over the subjects that stay as they were."""
        found = unchanged(before.file, self.file, before.limits_of)
        if "patch" not in found and self._same_laps(before):
            found = unchanged(before.file, self.file, before.limits_of, SAME_LAPS)
        same = [key for key in found if key in self.file.ready and key not in before.faults]
        self._kept = {key: kept(getattr(before, key), self.file.limits.for_one(self.limits_of[key])) for key in same}
        if "patch" in same and "rounds" not in vars(self):
            self.rounds = before.rounds
            self.limits_of["steel"] |= before.limits_of["steel"]
        for key in same:
            self.limits_of[key] |= before.limits_of[key]
            self.file.limits.used |= before.limits_of[key]

    def _same_laps(self, before: Job) -> bool:
        """Say whether patches whose own inputs are the same grow as before for the laps of their bars."""
        if (
            "patch" not in self.file.ready
            or "patch" in before.faults
            or "patch" not in unchanged(before.file, self.file, before.limits_of, SAME_LAPS)
        ):
            return False
        if if_computed(lambda: self.patch) is None:
            return False
        return all(repr(getattr(self.rounds, one)) == repr(getattr(before.rounds, one)) for one in ("grown", "refused"))

    @classmethod
    def build(cls, settings: Mapping[str, Any], tables: Mapping[str, Any] = {}) -> Job:
        """Compute a job from plain Python: the same sections, fields and tables as in a job folder.

        Parameters
        ----------
        settings : dict
            What job.toml holds, as `tomllib` would read it: ``{"units": "SI", "deck": {"slab_thickness": "220 mm"}, ...}``.
            Quantities may be given as text or as quantities; own limits stand in the section ``limits``.
        tables : dict
            By name, such as ``bars``: a DataFrame, a list of dicts, or a dict of lists, with the unit in the head
            (``readings [mm]``) or quantities in the cells. Several readings stand in a list or, as text, between
            semicolons; NaN and None are empty.

        Returns
        -------
        Job
            Computed; `write` makes a job folder of it.

        Raises
        ------
        JobError
            With every fault found, in the words of a job folder, but naming “job: deck.slab_thickness” in the place of
            job.toml, and “table bars, row 3, column readings [mm]” in the place of a file: rows are counted from 1, and
            named by the index of a DataFrame.
        """
        from deckcalc.job.from_python import contents_of

        return compute(contents_of(settings, tables))

    def write(self, folder: str | Path) -> Path:
        """Write the job as a job folder, see `deckcalc.job.file.JobFile.write`."""
        return self.file.write(folder)

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return inputs and results as DataFrames by name, see `deckcalc.job.result_tables.tables_of`."""
        from deckcalc.job.result_tables import tables_of

        return tables_of(self)

    def _compute(self, key: str, compute: Callable[[], T], empty: Callable[[], T]) -> T:
        """Compute one subject, keep why it could not be; or return it empty, where the job has none."""
        if key not in self.file.ready:
            return empty()
        if key in self._kept:
            return cast("T", self._kept[key])
        if key not in self.faults:
            try:
                return compute()
            except NotComputed as error:  # of a subject that this one needs
                self.faults[key] = NotComputed(key, (), error.root)
            except (InputError, TableError) as error:
                self.faults[key] = NotComputed(key, str(error).splitlines())
        raise self.faults[key]

    @cached_property
    def rounds(self) -> Rounds:
        """Patches and reinforcement, carried again until no patch must grow for the laps of its bars."""
        return carried(self)

    @property
    def patch(self) -> patch.Patches:
        """Where and how deep to repair."""
        return self._compute("patch", lambda: self.rounds.patches, lambda: self._without)

    @cached_property
    def _without(self) -> Patches:
        """The patches of a job that has none."""
        return patch.Patches(self.context(patch.Inputs), marked=self.file.marked, concretes=self.concrete.specified)

    @property
    def concrete(self) -> mix.Inputs:
        """What the job says of its concretes, before any is proportioned."""
        return self.context(mix.Inputs).inputs

    @cached_property
    def steel(self) -> steel.Steel:
        """Reinforcement."""
        return self._compute("steel", self._reinforcement, lambda: self._no_bars)

    @cached_property
    def _no_bars(self) -> Steel:
        """The reinforcement of a job that has none."""
        return steel.Steel(
            self.context(steel.Inputs), patches=self.patch, concretes=self.concrete.specified, opening={}
        )

    def _reinforcement(self) -> Steel:
        """Carry the reinforcement, with the patches where there are any."""
        if "patch" in self.file.ready:
            return self.rounds.steel(self)
        return steel.compute(self.context(steel.Inputs), self.patch, self.concrete.specified)

    @cached_property
    def chloride(self) -> chloride.Chlorides:
        """Chlorides."""
        patches, reinforcement = if_computed(lambda: self.patch), if_computed(lambda: self.steel)
        marked = patches.marked if patches else self.file.marked
        return self._compute(
            "chloride",
            lambda: chloride.compute(
                self.context(chloride.Inputs), marked, self.placed, patches=patches, steel=reinforcement
            ),
            lambda: chloride.Chlorides(self.context(chloride.Inputs), marked=marked),
        )

    @property
    def placed(self) -> list[PlacedConcrete] | None:
        """The concretes that patches take, as far as their life follows from them; None where they could not be computed."""
        made = self.of("mix")
        return None if made is None else [one.placed for one in self.mix if one.patches]

    @cached_property
    def mix(self) -> mix.Mixes:
        """Mix and batch."""
        given = self.context(mix.Inputs)
        return self._compute(
            "mix", lambda: mix.compute(given, self.patch), lambda: mix.Mixes(given, patches=self.patch)
        )

    @cached_property
    def formwork(self) -> formwork.Forms:
        """Forms of the full-depth holes."""
        given = self.context(formwork.Inputs)
        return self._compute(
            "formwork", lambda: formwork.compute(given, self.patch, self.mix),
            lambda: formwork.Forms(given, patches=self.patch, mixes=self.mix),
        )  # fmt: skip

    @cached_property
    def curing(self) -> curing.Placings:
        """Curing and opening."""
        given = self.context(curing.Inputs)
        return self._compute(
            "curing", lambda: curing.compute(given, self.patch, self.mix),
            lambda: curing.Placings(given, patches=self.patch, concretes=self.mix),
        )  # fmt: skip

    @cached_property
    def traffic(self) -> traffic.Layout:
        """Traffic past the closed lane."""
        given = self.context(traffic.Inputs)
        return self._compute("traffic", lambda: traffic.compute(given, self.patch), lambda: traffic.Layout(given))

    @cached_property
    def closure(self) -> closure.ClosurePlan:
        """The closure."""
        given = self.context(closure.Inputs)
        return self._compute(
            "closure", lambda: noise(closure.compute(given, self.closure_trades)), lambda: closure.ClosurePlan(given, given=None)
        )  # fmt: skip

    @property
    def closure_trades(self) -> Trades | None:
        """Results that the closure is planned from, each worked out only where it is wanted."""
        return self.trades(self.curing if "curing" in self.file.ready and self.file.work.adopted else None)

    def trades(self, placings: Placings | None) -> Trades | None:
        """Results that the closure is planned from, with the placings of the adopted plan or without."""
        if "closure" not in self.file.ready:
            return None
        return Trades(
            patches=self.patch,
            mix=self.mix,
            steel=self.steel if "steel" in self.file.ready else None,
            formwork=self.formwork if "formwork" in self.file.ready else None,
            curing=placings,
        )

    @cached_property
    def safety(self) -> safety.CrewSafety:
        """Safety of the crew; the closure is worked out for it only where a tool runs for as long as one of its steps."""
        want = self.settings.safety
        return self._compute(
            "safety",
            lambda: safety.compute(
                self.context(safety.Inputs), self.patch, self.closure if want and want.by_steps else None
            ),
            lambda: safety.CrewSafety(self.context(safety.Inputs), patches=self.patch, closure=None),
        )

    def compute_all(self, keys: Iterable[str] = ORDER) -> None:
        """Carry the job through every subject, in the order of the work; a subject by itself carries what it needs."""
        for key in keys:
            self.of(key)

    def of(self, key: str) -> Subject | None:
        """Return a subject, empty if the job has none; None if it could not be computed."""
        if key in self.faults:
            return None
        try:
            found: Subject = getattr(self, key)
        except NotComputed:
            return None
        return found

    @property
    def subjects(self) -> list[Subject]:
        """The subjects that were computed, in filing order."""
        wanted = [self.of(key) for key in self.file.ready]
        return [subject for subject in wanted if subject is not None]

    @property
    def not_computed(self) -> list[str]:
        """What could not be computed and why, one subject a line; empty if the job is complete."""
        self.subjects  # noqa: B018  what was not yet asked for is carried
        return [f"not computed: {key}: {'; '.join(self.faults[key].why)}" for key in ORDER if key in self.faults]

    @property
    def checks(self) -> list[Check]:
        """All checks in filing order."""
        return [check for subject in self.subjects for check in subject.checks]

    @property
    def verdicts(self) -> dict[str, int]:
        """How many checks are satisfied, not satisfied and not covered."""
        found = [one.verdict for one in self.checks]
        return {word: found.count(word) for word in VERDICTS}

    def context(self, inputs: type[Inputs]) -> Context[Inputs]:
        """Return what a subject may know of the job: the sections and tables that its inputs name."""
        limits = self.file.limits.for_one(self.limits_of[inputs.__module__.split(".")[1]])
        return context(inputs, self.settings, self.file.rows, limits)

    @cached_property
    def written(self) -> HandCalculations:
        """Every calculation written out by hand."""
        from deckcalc.show.written import HandCalculations

        return HandCalculations(self.subjects, self.system)

    def limit(self, key: str) -> Limit:
        """Return a limit by its key."""
        return self.file.limits[key]

    def show(self, value: Any, kind: Any, decimals: int | None = None) -> str:
        """Print a quantity in the job's units."""
        return units.show(value, kind, self.system, decimals)

    def _repr_html_(self) -> str:
        package = self.settings.package
        caption = f"{package.number}, {package.subject}; {self.settings.bridge.name}: {verdicts(self.checks)}."
        return checks_html(self.checks, self.system, caption)

    @cached_property
    def open_items(self) -> list[OpenItem]:
        """What is not settled, numbered in filing order; what the job decides is among them, with its decision."""
        return open_items(self)

    @cached_property
    def instructions(self) -> dict[str, str]:
        """By patch: the one instruction that its class, its bars, the strip and the chlorides come to."""
        return instructions(self)

    @property
    def undecided(self) -> list[OpenItem]:
        """The open items that nobody has decided."""
        return [one for one in self.open_items if not one.decision]

    @cached_property
    def comments(self) -> list[Comment]:
        """The checker's comments, each with the sheet that it is about."""
        return comments(self)

    @property
    def unanswered(self) -> list[Comment]:
        """The comments, of whatever revision, that are neither answered nor withdrawn."""
        return [one for one in self.comments if one.row.open]

    def open_at(self, patch: str) -> list[OpenItem]:
        """Return the open items that concern a patch."""
        return [one for one in self.open_items if patch in one.patches]

    @cached_property
    def rests_on(self) -> frozenset[str]:
        """Keys of the limits that were read when the job was computed, and that its hold points name."""
        self.compute_all()
        self.open_items  # noqa: B018  their patches and instructions
        for one in self.patch if self.of("patch") is not None else ():
            hold_points(self, one.name)
        return frozenset(self.file.limits.used)

    @property
    def draft(self) -> str:
        """The mark of a draft: empty once checker and engineer are named, all is computed, and nothing is undecided or unanswered."""
        left = self.not_computed or self.undecided or self.unanswered
        return "" if self.settings.people.signed and not left else DRAFT

    @property
    def reference(self) -> str:
        """Bridge, package, revision and mark in a line, for pages that are handed out one by one."""
        head = self.settings
        said = f"{head.bridge.name}, package {head.package.number}, revision {self.file.revision.revision}"
        return f"{said}   {self.draft}".rstrip()

    @property
    def materials(self) -> list[Material]:
        """Everything to be brought, in filing order."""
        return [material for subject in self.subjects for material in subject.materials]


def if_computed(subject: Callable[[], T]) -> T | None:
    """Return a subject; None if it could not be computed."""
    try:
        return subject()
    except NotComputed:
        return None


def compute(place: str | Path | Contents | JobFile | Job, changes: Changes | None = None) -> Job:
    """Read a job folder and compute all its subjects.

    Parameters
    ----------
    place : path, Contents, JobFile or Job
        A job folder; or what was read of it, or computed, before: then nothing is read again.
    changes : dict of str, optional
        Inputs to change, see `deckcalc.job.file.read_job`.

    Returns
    -------
    Job
        The same one for the same bytes and changes, as long as it is among the last two.

    Raises
    ------
    JobError
        With every fault found.
    """
    if isinstance(place, Job):
        if not changes:
            return place
        return changed(place, changes)
    if isinstance(place, JobFile):
        if not changes:
            return _computed(place)
        changes = {**place.changes, **changes}
        place = place.contents
    contents = place if isinstance(place, Contents) else read_folder(place)
    return _computed(_read(contents, tuple((changes or {}).items())))


def changed(before: Job, changes: Changes) -> Job:
    """Compute a job with inputs changed; only what depends on them is computed again."""
    file = read_job(before.file.contents, {**before.file.changes, **changes})
    with speaking("US" if file.system == "US" else ""):
        made = Job(file, before)
    return finished(made)


@lru_cache(maxsize=2)
def _read(contents: Contents, changes: tuple[tuple[str, str | None], ...]) -> JobFile:
    """Validate a job once: the same bytes give the same job."""
    return read_job(contents, dict(changes))


@lru_cache(maxsize=2)
def _computed(file: JobFile) -> Job:
    """Compute a job once for all sheets of a package."""
    return finished(Job(file))


def finished(job: Job) -> Job:
    """Compute all of a job."""
    with speaking("US" if job.system == "US" else ""):
        job.compute_all()
    job.rests_on  # noqa: B018  its open items are numbered, so that every sheet can name them
    require_places(job)
    return job
