"""Inputs of one job that contradict one another: every pair in one table, each a fault that names both fields."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from deckcalc.base.fields import Faults
from deckcalc.base.work import PLACED
from deckcalc.chloride.inputs.ages import age_faults
from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.core.units import Density, Length, Quantity, Stress, Temperature, quantity
from deckcalc.patch.design import Marked

if TYPE_CHECKING:
    from deckcalc.job.settings import JobSettings

#: Shares and differences up to which two inputs are one: rounding of what people write.
NEAR, NEAR_TEMPERATURE, NEAR_YEARS, YEARS_BEFORE_SALT, NEAR_WEIGHT = 0.005, 3.0, 1.5, 10.0, 0.15
#: Unit weights between which an overlay lies, in kN/m³.
LIGHTEST_OVERLAY = 15.0


@dataclass(frozen=True)
class Job:
    """What the pairs look at: sections, tables, limits and the patches as marked."""

    settings: JobSettings
    rows: Mapping[str, list[Any]]
    limits: Mapping[str, Limit]
    marked: Marked

    def show(self, value: Any, kind: Any) -> str:
        """Print a quantity in the job's units."""
        return units.show(value, kind, self.settings.units)


#: A rule gives, for a job in which two inputs contradict: the two fields, and what they say.
Told = Iterator[tuple[str, str, str]]
RULES: list[tuple[Callable[[Job], Told], bool]] = []


def rule(asked: bool = False) -> Callable[[Callable[[Job], Told]], Callable[[Job], Told]]:
    """Add a rule to the table; one that is `asked` is a probable slip, which a job may confirm by the first field."""

    def add(function: Callable[[Job], Told]) -> Callable[[Job], Told]:
        RULES.append((function, asked))
        return function

    return add


def check(
    settings: JobSettings, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], marked: Marked, faults: Faults
) -> None:
    """Name every two inputs that contradict one another."""
    job = Job(settings, rows, limits, marked)
    for function, asked in RULES:
        for first, second, said in function(job):
            if asked:
                faults.ask(first, f"{place(first)} and {second}", said)
            else:
                faults.append(f"{place(first)} and {place(second)}: {said}; one of the two is wrong")


def place(field: str) -> str:
    """Return where a field stands: in job.toml, unless it names a table."""
    return field if ".csv" in field else f"job.toml: {field}"


def unlike(one: Quantity | None, other: Quantity | None) -> bool:
    """Whether two quantities are both given and differ by more than rounding."""
    if one is None or other is None:
        return False
    a, b = float(one.to_base_units().m), float(other.to_base_units().m)
    return abs(a - b) > NEAR * max(abs(a), abs(b))


@rule()
def years_of_building(job: Job) -> Told:
    """The deck is built before its revision."""
    year, now = job.settings.deck.year_built, job.settings.revision.date.year
    if year and year > now:
        yield "deck.year_built", "revisions.date", f"the deck was cast in {year}, the revision is of {now}"


def age(job: Job) -> tuple[str, float] | None:
    """Return the age of the deck at the present revision in years, with the field of its year; None where it is not known."""
    year = job.settings.deck.year_built
    return ("deck.year_built", job.settings.revision.date.year + 0.5 - year) if year else None


def profile_of(job: Job) -> Any:
    """Return how the profiles of chlorides are fitted; None where the job has none."""
    return job.settings.chloride.profile if job.settings.chloride else None


@rule()
def exposure_within_the_age(job: Job) -> Told:
    """Nothing is exposed or corrodes for longer than the deck stands, and no bar corrodes before chlorides come."""
    built, profile, steel = age(job), profile_of(job), job.settings.reinforcement
    corroding = getattr(steel, "corrosion_age", None)
    for field, years in (
        ("chloride.profile.age", profile.age if profile else None), ("reinforcement.corrosion_age", corroding),
    ):  # fmt: skip
        if built and years is not None and float(years.m_as("yr")) > built[1] + NEAR_YEARS:
            yield field, built[0], f"{years.m_as('yr'):.3g} years, and the deck is {built[1]:.0f} years old"
    for said in age_faults(profile.age, corrosion_age=corroding) if profile else ():
        yield "reinforcement.corrosion_age", "chloride.profile.age", said


@rule(asked=True)
def exposure_from_the_beginning(job: Job) -> Told:
    """A deck is exposed from about the year in which it was cast, unless something was laid on it."""
    built, profile = age(job), profile_of(job)
    if built and profile and float(profile.age.m_as("yr")) < built[1] - YEARS_BEFORE_SALT:
        said = f"exposure for {profile.age.m_as('yr'):.3g} years, and the deck is {built[1]:.0f} years old"
        yield "chloride.profile.age", built[0], said


@rule()
def bottom_mat(job: Job) -> Told:
    """The bottom mat of the deck is that of the strip."""
    deck, strip = job.settings.deck, job.settings.deck_strip
    if not strip:
        return
    cover, bar = getattr(strip, "bottom_cover", None), getattr(strip, "bottom_bar", None)
    if cover is not None and deck.bottom_cover is not None and unlike(deck.bottom_cover, cover):
        said = f"{job.show(deck.bottom_cover, Length)} and {job.show(cover, Length)}"
        yield "deck.bottom_cover", "deck_strip.bottom_cover", said
    if bar and deck.bottom_bar_outer and deck.bottom_bar_outer != bar:
        yield "deck.bottom_bar_outer", "deck_strip.bottom_bar", f"{deck.bottom_bar_outer} and {bar}"


@rule()
def cover_within_the_readings(job: Job) -> Told:
    """The cover of the strip lies among the covers that were measured."""
    strip, rows = job.settings.deck_strip, job.rows
    cover = getattr(strip, "top_cover", None)
    read = [float(row.cover) for row in rows["depths"] if row.cover is not None]
    read += [float(row.cover.m_as("m")) for row in rows["covers"]]
    read += [float(row.bar_depth.m_as("m")) for row in rows["cores"]]
    if cover is None or not read:
        return
    least, most, found = min(read), max(read), float(cover.m_as("m"))
    if not least * (1 - NEAR) <= found <= most * (1 + NEAR):
        between = " to ".join(job.show(quantity(value, "m"), Length) for value in (least, most))
        said = f"the strip has a cover of {job.show(cover, Length)}, measured were {between}"
        yield "deck_strip.top_cover", "depths.csv, covers.csv and cores.csv", said


@rule(asked=True)
def weight_of_the_forms(job: Job) -> Told:
    """Fresh concrete on a form is about as heavy as the deck."""
    forms = job.settings.formwork
    if forms:
        weight = quantity(float(forms.unit_weight.m_as("N/m³")) / 9.80665, "kg/m³")
        ratio = float((weight / job.settings.deck.unit_weight).m_as(""))
        if not 1 - NEAR_WEIGHT <= ratio <= 1 + NEAR_WEIGHT:
            said = f"{job.show(weight, Density)} on the form, {job.show(job.settings.deck.unit_weight, Density)} in the deck"
            yield "formwork.unit_weight", "deck.unit_weight", said


@rule()
def weight_of_the_overlay(job: Job) -> Told:
    """An overlay that is there has a weight."""
    thick, strip = job.settings.deck.overlay, job.settings.deck_strip
    if thick is not None and strip:
        least = LIGHTEST_OVERLAY * float(thick.m_as("m"))
        if float(strip.overlay.m_as("kN/m²")) < least:
            said = (
                f"an overlay of {job.show(thick, Length)} weighs more than {job.show(strip.overlay, units.LoadPerArea)}"
            )
            yield "deck.overlay", "deck_strip.overlay", said


@rule()
def temperature_as_placed(job: Job) -> Told:
    """What is mixed on site is placed as warm as it is made; that a placing is of such a concrete alone must be certain."""
    mix = job.settings.mix
    if mix is None:
        return
    wanted, by_depth = mix.temperature, {mix.partial_depth, mix.full_depth}
    for row in job.rows["placements"] if wanted else ():
        named = {row.concrete} if row.concrete else {mix.patches[name] for name in row.names if name in mix.patches}
        if not row.concrete and set(row.names) - set(mix.patches):
            named |= by_depth
        on_site = all(one.kind == "site-mixed" for name, one in mix.concretes.items() if name in named)
        if row.names and row.concrete_temperature and on_site:
            placed, made = PLACED.one(row.concrete_temperature), wanted.wanted  # type: ignore[union-attr]
            if abs(float(placed.m_as("degC") - made.m_as("degC"))) > NEAR_TEMPERATURE:
                said = f"placed at {job.show(placed, Temperature)}, made for {job.show(made, Temperature)}"
                yield (
                    f"placements.csv, placement {row.placement}, column concrete temperature",
                    "mix.temperature.wanted",
                    said,
                )


@rule()
def strengths(job: Job) -> Told:
    """No concrete is asked for more at an early hour than it is specified for."""
    mix = job.settings.mix
    if mix is None:
        return
    limit = job.limits["opening_strength"].value
    for name in sorted({mix.partial_depth, mix.full_depth, *mix.patches.values()} & set(mix.concretes)):
        strength = mix.concretes[name].strength
        if limit > strength * (1 + NEAR):
            said = f"the lane opens at {job.show(limit, Stress)}, the concrete is specified for {job.show(strength, Stress)}"
            yield "limits.opening_strength", f"mix.concretes.{name}.strength", said


@rule()
def height_above_ground(job: Job) -> Told:
    """Nobody falls further than from the deck to the ground on which the shores stand."""
    safety, forms, thick = job.settings.safety, job.settings.formwork, job.settings.deck.slab_thickness
    for name, hole in forms.holes.items() if safety and forms else ():
        height = getattr(hole, "height", None)
        if height is not None and thick is not None and safety.drop > (height + thick) * (1 + NEAR):  # type: ignore[union-attr]
            drop = job.show(safety.drop, units.Distance)  # type: ignore[union-attr]
            said = f"the minimum drop is {drop}, and shores of {job.show(height, units.Distance)} reach the slab"
            yield "safety.drop", f"formwork.holes.{name}.height", said


@rule()
def lane_on_the_roadway(job: Job) -> Told:
    """A lane is no wider than the roadway between the kerbs."""
    traffic, plan = job.settings.traffic, job.settings.plan
    if (
        traffic
        and plan
        and traffic.lane_width is not None
        and float(traffic.lane_width.m_as("m")) > (plan.right - plan.left) * (1 + NEAR)
    ):
        wide = job.show(quantity(plan.right - plan.left, "m"), units.Distance)
        said = f"a lane of {job.show(traffic.lane_width, units.Distance)} on {wide} between the kerbs"
        yield "traffic.lane_width", "plan.left and plan.right", said


@rule()
def dates_before_the_revision(job: Job) -> Told:
    """No rate, price or plant list is of later than the revision that uses it."""
    now = job.settings.revision.date
    for name in ("rates", "prices", "stock", "equipment"):
        late = [row for row in job.rows[name] if row.date > now]
        if late:
            first = next(iter(type(late[0]).model_fields))
            said = f"{getattr(late[0], first)} is of {late[0].date}, the revision of {now}"
            yield f"{name}.csv, column date", "revisions.date", said
