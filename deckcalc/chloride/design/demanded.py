"""What cores, readings and zones demand of the work: what is removed, treated, protected or sampled again, and where."""

from __future__ import annotations

from dataclasses import replace

import shapely

from deckcalc.chloride.design.fits import ON_A_CRACK
from deckcalc.chloride.design.results import Chlorides, Consequence, CoreResult
from deckcalc.chloride.inputs.zones import SLACK, Placed, Zone, xy
from deckcalc.core import units
from deckcalc.core.units import Quantity, quantity

#: A core or reading so near to a patch concerns it, where the survey states no distance.
NEAR = quantity(0.5, "m")


def demanded(chlorides: Chlorides) -> None:
    """Gather what follows, zone by zone: of the zone, of its minimum cover, of its cores."""
    for zone in chlorides.zones:
        of_zone(chlorides, zone)
        of_least_cover(chlorides, zone)
        for core in chlorides.in_zone(zone):
            of_core(chlorides, core)
    chlorides.consequences[:] = [located(chlorides, one) for one in chlorides.consequences]


def located(chlorides: Chlorides, one: Consequence) -> Consequence:
    """Return a demand with the patches that it concerns, and with the removal that meets it."""
    if one.place is None:
        return replace(one, patches=tuple(in_zone(chlorides, one.zone)))
    survey = chlorides.inputs.chloride.survey
    near = float((survey.ring if survey else NEAR).m_as("m"))
    away = distances(chlorides, one.place)
    found = tuple(name for name, distance in away.items() if distance <= near + SLACK)
    met = ""
    if one.demand == "remove" and one.depth is not None:
        met = next(
            (said for name in found if away[name] <= SLACK and (said := removed(chlorides, name, one.depth))), ""
        )
    return replace(one, patches=found, met=met)


def in_zone(chlorides: Chlorides, zone: Zone) -> list[str]:
    """Return the patches that reach into a zone."""
    found = []
    for one in chlorides.marked.patches:
        left, low, right, high = one.piece.outline.bounds
        if zone.overlaps(Zone(one.patch, left, right, low, high)):
            found.append(one.patch)
    return found


def distances(chlorides: Chlorides, place: Placed) -> dict[str, float]:
    """Return how far a place lies from every patch, in metres; nil inside."""
    point = shapely.Point(*xy(place))
    return {one.patch: float(one.piece.outline.distance(point)) for one in chlorides.marked.patches}


def removed(chlorides: Chlorides, name: str, depth: Quantity) -> str:
    """Say how deep a patch takes the concrete out, if that is all over it and to a depth at least; empty if it is not."""
    one = chlorides.patches[name] if chlorides.patches else None
    if one is None:
        return ""
    if one.removal is None:
        return f"patch {name} goes through the slab there" if one.full and one.through is None else ""
    if not float(one.removal.n_r.m_as("")) or one.removal.h_bars < depth:
        return ""
    return f"patch {name} is taken out down to {chlorides.show(one.removal.h_bars, units.Length)} there"


def of_zone(chlorides: Chlorides, zone: Zone) -> None:
    """Demand that a zone is treated, or sampled again."""
    made = chlorides.counts[zone.name]
    if made.over:
        deep = [core.removal for core in chlorides.in_zone(zone) if core.removal is not None]
        why = f"patching alone is not enough: {'; '.join(made.over)}"
        chlorides.consequences.append(Consequence("treat", zone.item, zone, why, depth=max(deep, default=None)))
    if made.missing:
        why = "; ".join(reason for reason in (made.few, made.unsure) if reason)
        chlorides.consequences.append(Consequence("sample again", zone.item, zone, why, number=made.missing))


def within_horizon(chlorides: Chlorides, age: float | None) -> str:
    """Say at which age protection is lost, if that is within the horizon; empty if it is not, or not known."""
    found = chlorides.forecast
    if not found or not found.settings or age is None:
        return ""
    now, horizon = (float(value.m_as("yr")) for value in (found.profile.age, found.settings.horizon))
    if age > now + horizon:
        return ""
    said = chlorides.show(quantity(age, "yr"), units.Years)
    end = chlorides.show(quantity(now + horizon, "yr"), units.Years)
    when = "that is past" if age <= now else f"within the horizon, which ends at {end}"
    return f"by the forecast protection is lost at an age of {said}, {when}"


def of_least_cover(chlorides: Chlorides, zone: Zone) -> None:
    """Demand protection where the cover of a zone is smallest."""
    one = chlorides.forecast.zones.get(zone.name) if chlorides.forecast else None
    said = within_horizon(chlorides, one.t_i.get("minimum cover")) if one else ""
    if one and one.least and said:
        why = f"minimum cover of {zone.item}, {chlorides.show(one.least.cover, units.Length)}; {said}"
        chlorides.consequences.append(Consequence("protect", one.least.name, zone, why, one.least.place))


def of_core(chlorides: Chlorides, core: CoreResult) -> None:
    """Demand what follows from one core."""

    def add(demand: str, why: str, **known: object) -> None:
        made = Consequence(demand, core.item, core.zone, why, core.row, **known)  # type: ignore[arg-type]
        chlorides.consequences.append(made)

    rule = next((one for one in chlorides.survey.actions if one.core == core.name), None)
    found = chlorides.forecast
    if core.reached:
        by = f"; by rule {rule.rule}: {rule.action}" if rule else ""
        add("remove", f"threshold reached at the bar{by}", depth=core.removal)
    elif core.reached is None:
        add("sample again", "the bar lies outside the profile")
    elif said := within_horizon(chlorides, found.bars.get(core.name) if found else None):
        add("protect", f"below the threshold now; {said}")
    if core.removal_case == "beyond":
        add("sample again", "the deepest slice is still above the threshold: deeper, for the depth of removal")
    why = found.left_out.get(core.name) if found else None
    if why and why != ON_A_CRACK:
        add("sample again", f"left out of the forecast: {why}")
