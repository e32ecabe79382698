"""Readers of the register of facts: what records of the subjects hold of a fact, where no argument of a calculation does."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from deckcalc.chloride.inputs.contents import critical_distribution
from deckcalc.closure.design.loads import bags_of_patch, is_cement, of_patch
from deckcalc.core.units import quantity
from deckcalc.job.facts import DECK, Reader

if TYPE_CHECKING:
    from deckcalc.job.order import Job

Read = Iterator[tuple[str, Any]]
READERS: dict[str, Reader] = {}


def reader(function: Reader) -> Reader:
    """Add a reader to the list, by its name."""
    READERS[function.__name__] = function
    return function


@reader
def girder_spacing(job: Job) -> Read:
    """Spacing of the girder lines on the plan: the maximum."""
    lines = sorted(job.settings.plan.girders) if job.settings.plan else []
    if len(lines) > 1:
        yield DECK, quantity(max(b - a for a, b in pairwise(lines)), "m")


@reader
def critical_mean(job: Job) -> Read:
    """Mean of the content that ends protection, where the job states one for its probabilities."""
    forecast = job.settings.chloride.forecast if job.settings.chloride else None
    if forecast and job.of("chloride"):
        level = float(job.chloride.threshold_content.m_as("kg/m³"))
        yield DECK, quantity(critical_distribution(forecast.critical, job.settings.deck, level).mean, "kg/m³")


@reader
def mixer_loads(job: Job) -> Read:
    """Loads of the mixer, counted over the patches."""
    if job.of("mix") and job.mix.loads:
        yield DECK, quantity(float(job.mix.load_count))


@reader
def order_of_mixes(job: Job) -> Read:
    """Volume to order, summed over the concretes."""
    if job.of("mix"):
        orders = [one.order_volume for one in job.mix if one.order_volume is not None]
        yield DECK, sum(orders[1:], orders[0]) if orders else None


@reader
def area_of_patches(job: Job) -> Read:
    """Marked area, summed over the patches."""
    areas = [one.limits.A for one in job.patch]
    yield DECK, sum(areas[1:], areas[0]) if areas else None


@reader
def debris_carried(job: Job) -> Read:
    """Mass of concrete debris, summed over the patches as the trucks carry it."""
    masses = [one.volume.V_placed * job.settings.deck.unit_weight for one in job.patch if one.volume is not None]
    yield DECK, sum(masses[1:], masses[0]) if masses else None


@reader
def mixed_volume(job: Job) -> Read:
    """Volume of all loads of a patch."""
    for name, loads in job.mix.loads.items() if job.of("mix") else ():
        yield name, loads.count * loads.volume


@reader
def planned_opening(job: Job) -> Read:
    """Hour of opening by the plan of the work."""
    for row in job.file.work.placings:
        for name in row.names:
            yield name, f"{row.opening:%Y-%m-%d %H:%M}"


@reader
def closure_opening(job: Job) -> Read:
    """Hour of opening by the timetables of the closures."""
    if job.of("closure") and job.settings.closure:
        for one in job.closure.closures:
            for name in one.patches:
                yield name, f"{one.moment(one.length):%Y-%m-%d %H:%M}"


@reader
def strength_of_concrete(job: Job) -> Read:
    """Specified strength of a concrete."""
    for one in job.mix if job.of("mix") else ():
        yield one.name, one.strength


@reader
def heat_w_cm(job: Job) -> Read:
    """Ratio with which the hydration is worked out."""
    yield from of_heat(job, "degree_of_hydration", "w_cm")


@reader
def heat_cementitious(job: Job) -> Read:
    """Cement content with which the heat is worked out."""
    yield from of_heat(job, "adiabatic_rise", "C")


@reader
def heat_density(job: Job) -> Read:
    """Unit weight with which the heat is worked out."""
    yield from of_heat(job, "adiabatic_rise", "rho")


def of_heat(job: Job, calculation: str, name: str) -> Read:
    """Give an argument of a calculation of the heat, by concrete."""
    if job.of("curing"):
        for run in job.curing.runs:
            if run.calculation.name == calculation:
                for one in job.curing:
                    if one.patches and run.item.startswith(f"{one.item} "):
                        yield job.mix.for_patch(one.names[0]).name, run.arguments[name]


@reader
def density_of_mix(job: Job) -> Read:
    """Unit weight of the fresh concrete by its materials."""
    for one in job.mix if job.of("mix") else ():
        yield one.name, one.density


@reader
def bags_of_loads(job: Job) -> Read:
    """Bags of cement that the closures load, by patch."""
    if job.of("closure") and job.settings.closure:
        for name in job.closure.loads:
            yield name, quantity(float(bags_of_patch(job.closure, name)))


@reader
def bags_of_crew(job: Job) -> Read:
    """Bags of cement that the crew opens, batch by batch, by patch."""
    for name, load in job.mix.loads.items() if job.of("mix") else ():
        yield name, quantity(float(load.count * load.whole.n_bags.m_as("")))


@reader
def bags_of_stock(job: Job) -> Read:
    """Bags of cement of the job, by the lists of the closures."""
    if job.of("closure") and job.settings.closure:
        yield DECK, quantity(float(sum(line.number for line in job.closure.stock if is_cement(line.material))))


@reader
def bags_of_materials(job: Job) -> Read:
    """Bags of cement of the job, by the list of materials."""
    if job.of("closure") and job.settings.closure:
        said = [one.quantity for one in job.closure.materials if one.material.endswith(" to load")]
        yield DECK, quantity(float(sum(int(text.partition(" ")[0]) for text in said)))


@reader
def temperature_placed(job: Job) -> Read:
    """Temperature of the concrete as placed."""
    for one in job.curing if job.of("curing") else ():
        if one.names:
            yield one.name, one.concrete.to("kelvin")


@reader
def temperature_mixed(job: Job) -> Read:
    """Temperature of the concretes of a placing as mixed."""
    if job.of("mix"):
        for row in job.file.work.placings:
            for name in row.names:
                made = job.mix.for_patch(name).temperature
                if made is not None:
                    yield row.placement, (made.to("kelvin"), quantity(0.5, "kelvin"))


@reader
def fabric_of_curing(job: Job) -> Read:
    """Wet fabric of a placing, by the sheet of curing."""
    for run in job.curing.runs if job.of("curing") else ():
        if run.calculation.name == "wet_cure_water":
            yield placing_in(job, run.item), run.arguments["A"]


@reader
def fabric_of_patches(job: Job) -> Read:
    """Wet fabric of a placing, summed over the loads of its patches."""
    for row in job.file.work.placings if job.of("closure") and job.settings.closure else ():
        loads = [of_patch(job.closure, name).get("wet fabric and sheet") for name in row.names]
        yield row.placement, quantity(sum(one.number for one in loads if one), "m²")


@reader
def compound_of_loads(job: Job) -> Read:
    """Curing compound of a placing, summed over the loads of its patches."""
    if job.of("closure") and job.settings.closure:
        for row in job.file.work.placings:
            loads = [of_patch(job.closure, name).get("curing compound") for name in row.names]
            yield row.placement, quantity(sum(one.number for one in loads if one), "L")


def placing_in(job: Job, item: str) -> str:
    """Return the placing that an item names."""
    known = sorted((row.placement for row in job.file.work.rows), key=len, reverse=True)
    return next((name for name in known if f"placing {name}" in item), "")


@reader
def bar_depth_of_core(job: Job) -> Read:
    """Depth of the bar at a core."""
    for row in job.file.rows["cores"]:
        yield row.core, row.bar_depth
