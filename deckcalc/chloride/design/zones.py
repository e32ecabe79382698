"""What follows from cores, surveys and forecasts together: for every zone, at every core, and beside every patch."""

from __future__ import annotations

import numpy as np

from deckcalc import chloride
from deckcalc.chloride.design.results import (
    BesidePatch,
    Chlorides,
    CoreAction,
    CoreResult,
    PotentialSummary,
    ZoneCounts,
)
from deckcalc.chloride.formulas.survey import LIKELY, UNCERTAIN, UNLIKELY
from deckcalc.chloride.inputs.sections import ZoneLimits
from deckcalc.chloride.inputs.zones import SLACK, Floats, Zone, xy
from deckcalc.core import units
from deckcalc.core.check import NOT_COVERED, NOT_SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import quantity
from deckcalc.core.words import how_many

Area = tuple[float, float, float, float]
UNKNOWN = "not known"
#: Cores of a zone beyond which nobody takes more to narrow a share.
MOST_CORES = 200


def consequences(chlorides: Chlorides) -> None:
    """Check zones against the job's limits and cores against its rules, and look at what stays beside the patches."""
    for zone in chlorides.zones:
        chlorides.counts[zone.name] = counts(chlorides, zone)
    if chlorides.inputs.rules:
        chlorides.survey.actions = [action(chlorides, core) for core in chlorides.cores.values()]
    chlorides.cites.append(Cite("clopper-pearson-1934", "interval of a share", "memory"))
    limits = chlorides.inputs.chloride.zone_limits
    if limits:
        for zone in chlorides.zones:
            check_zone(chlorides, zone, limits)
    judged = [core for core in chlorides.cores.values() if core.reached is not None]
    if judged:
        for patch, area in chlorides.unsound_areas().items():
            beside_patch(chlorides, patch, area, judged)


def counts(chlorides: Chlorides, zone: Zone) -> ZoneCounts:
    """Count cores and potentials of a zone, and say how many cores are wanted."""
    made, item = ZoneCounts(), f"{zone.item}, cores"
    cores = [core for core in chlorides.in_zone(zone) if core.reached is not None]
    if cores:
        made.reached, made.judged = sum(bool(core.reached) for core in cores), len(cores)
        made.cores = chlorides.run(
            chloride.share_counted, item, n_a=quantity(made.reached), n=quantity(made.judged)
        )  # fmt: skip
        made.interval = chloride.share_interval(made.reached, made.judged)
    count_potentials(chlorides, zone, made)
    limits = chlorides.inputs.chloride.zone_limits
    sound = [core.at_bar.m_as("kg/m**3") for core in cores if core.at_bar is not None and core.row.crack == "no"]
    made.off_cracks = len(sound)
    if limits and len(sound) > 1:
        s = quantity(float(np.std(sound, ddof=1)), "kg/m**3")
        made.cores_wanted = chlorides.run(
            chloride.cores_wanted, item, z_c=quantity(1.96), s=s, E=limits.content_error
        )  # fmt: skip
    return made


def count_potentials(chlorides: Chlorides, zone: Zone, made: ZoneCounts) -> None:
    """Count the potentials of a zone by class."""
    found = chlorides.survey.potentials
    if found is None:
        return
    inside = found.inside(zone)
    mine, classes = found.values[inside], found.classes[inside]
    if not len(mine):
        return
    by_class = {name: int((classes == name).sum()) for name in (UNLIKELY, UNCERTAIN, LIKELY)}
    made.summary = PotentialSummary(
        len(mine), float(mine.max()), float(np.median(mine)), float(mine.min()), by_class
    )  # fmt: skip
    made.potentials = chlorides.run(
        chloride.share_counted, f"{zone.item}, potentials", n_a=quantity(by_class[LIKELY]), n=quantity(len(mine))
    )


def distance_to(area: Area, x: Floats | float, y: Floats | float) -> Floats:
    """Return how far points lie from an area; nil inside."""
    left, low, right, high = area
    return np.hypot(np.maximum(np.maximum(left - x, x - right), 0), np.maximum(np.maximum(low - y, y - high), 0))


def action(chlorides: Chlorides, core: CoreResult) -> CoreAction:
    """Find for a core the first rule that fits."""
    potentials, areas = chlorides.survey.potentials, chlorides.unsound_areas().values()
    words = {
        "chloride": UNKNOWN if core.reached is None else "reached" if core.reached else "below",
        "potential": UNKNOWN if potentials is None else potentials.class_near(core.row),
        "sounding": "unsound" if any(distance_to(area, *xy(core.row)) <= SLACK for area in areas) else "sound",
    }
    for rule in chlorides.inputs.rules:
        if all(getattr(rule, name) in ("any", word) for name, word in words.items()):
            return CoreAction(core.name, **words, rule=rule.rule, action=rule.action)
    return CoreAction(core.name, **words, rule="none", action="no rule fits: the engineer decides")


def check_zone(chlorides: Chlorides, zone: Zone, limits: ZoneLimits) -> None:
    """Check a zone against what the job takes as the end of patching alone."""
    made = chlorides.counts[zone.name]
    made.few = too_few(made)
    if not made.few:
        judge_share(chlorides, made, limits)
    forecast = chlorides.forecast.zones.get(zone.name) if chlorides.forecast else None
    probability = quantity(forecast.at_horizon) if forecast and forecast.at_horizon is not None else None
    asked = [
        ("cores", "cores with the threshold reached at the bar", made.cores, limits.cores, made.few or made.unsure),
        ("potentials", "potentials in the class likely", made.potentials, limits.potentials, ""),
        ("probability", "probability that protection is lost at the horizon", probability, limits.probability,
         forecast.why if forecast and probability is None else ""),
    ]  # fmt: skip
    for key, title, demand, most, unknown in asked:
        if demand is None and not unknown:
            continue
        limit = Limit(f"zone_{key}", f"most {title}", most, units.kind_of(units.Share), limits.source, "engineer")
        one = Check(
            zone.item, title, demand, limit, "at most", unknown or "patching alone is not enough: treat the zone"
        )
        if one.verdict == NOT_SATISFIED:
            made.over.append(
                f"{title} {chlorides.show(demand, units.Share)} (most {chlorides.show(most, units.Share)})"
            )  # fmt: skip
        elif unknown:
            one = Check(zone.item, title, None, limit, "at most", unknown)
        chlorides.checks.append(one)
    if made.cores_wanted is not None:
        count = units.kind_of(units.Count)
        wanted = Limit(
            "cores_wanted", "cores for the mean content", made.cores_wanted, count, limits.source, "engineer"
        )
        title = "cores off cracks, for the mean content at the bars as closely as asked"
        chlorides.checks.append(Check(zone.item, title, quantity(made.off_cracks), wanted, "at least", made.few))
    deep = [core.removal for core in chlorides.in_zone(zone) if core.removal is not None]
    open_ = [one for one in chlorides.checks if one.item == zone.item and one.verdict == NOT_COVERED]
    reach = f", down to {chlorides.show(max(deep), units.Length)} as far as the cores show," if deep else ""
    chlorides.decisions[zone.item] = (
        f"patching alone is not enough here, because of {'; '.join(made.over)}. Patches would be set into concrete that stays "
        f"contaminated{reach} and would be followed by corrosion of the bars next to them (ring-anode effect): remove the top of the whole zone, or protect it "
        "electrochemically, as the engineer decides"
        if made.over
        else f"it is not shown that patching alone is enough: {open_[0].why}"
        if open_
        else "patching alone is within the job's limits"
    )


def judge_share(chlorides: Chlorides, made: ZoneCounts, limits: ZoneLimits) -> None:
    """Judge the share of cores by the upper end of its interval: a share within the limit is not shown where that end is over it."""
    assert made.interval is not None and made.cores is not None  # else there are too few
    most = float(limits.cores.m_as(""))
    if made.interval[1] <= most * (1 + 1e-9) or float(made.cores.m_as("")) > most * (1 + 1e-9):
        return
    made.unsure = (
        f"{made.reached} of {made.judged} cores reached: the share may be up to {100 * made.interval[1]:.0f} %, over the limit of "
        f"{chlorides.show(limits.cores, units.Share)}"
    )
    more = range(made.judged + 1, MOST_CORES + 1)
    made.cores_to_show = next((n for n in more if chloride.share_interval(made.reached, n)[1] <= most), None)
    if made.cores_to_show:
        made.unsure += f": {made.cores_to_show} cores in all with no more reached would show it"


def too_few(made: ZoneCounts) -> str:
    """Say that there are too few cores in a zone to judge it by them; empty if there are enough."""
    if made.interval is None:
        return "no core tells of the chloride at the bars of the zone: take cores"
    low, high = (f"{100 * end:.0f}" for end in made.interval)
    counted = f"{made.reached} of {made.judged} cores reached, which tells of a share from {low} to {high} %"
    if made.cores_wanted is None:
        return f"{counted}; with {how_many(made.off_cracks, 'core')} off cracks nothing is known of the scatter: sample again"
    if not made.missing:
        return ""
    return f"{counted}; {made.off_cracks} cores off cracks, {made.cores_wanted.m_as(''):.0f} are wanted: take {made.missing} more"


def beside_patch(chlorides: Chlorides, patch: str, area: Area, judged: list[CoreResult]) -> None:
    """Say what stays beside a patch, with the numbers that there are."""
    left, low, right, high = area
    middle = np.array([left + (right - left) / 2, low + (high - low) / 2])
    away, core = min(
        ((float(np.hypot(*(xy(core.row) - middle))), core) for core in judged), key=lambda pair: pair[0]
    )  # fmt: skip
    part = float((core.at_bar / chlorides.threshold_content).m_as(""))
    near = chlorides.show(quantity(away, "m"), units.Distance)
    said = f"the nearest core, {core.name} at {near}, has {part:.2f} times the threshold at the bar"
    active = False
    survey, found = chlorides.inputs.chloride.survey, chlorides.survey.potentials
    if survey and found is not None:
        far = distance_to(area, found.station, found.offset)
        around = (far > SLACK) & (far <= float(survey.ring.m_as("m")) + SLACK)
        if around.any():
            likely = int((found.classes[around] == LIKELY).sum())
            active = likely > 0
            said += (
                f"; of {int(around.sum())} potentials within {chlorides.show(survey.ring, units.Distance)} of the "
                f"patch {likely} are in the class likely, the most negative {found.values[around].min():.0f} mV"
            )
    word = "to be expected" if core.reached and active else "possible" if core.reached or active else "not indicated"
    chlorides.beside_patches.append(BesidePatch(patch, word, said))
    chlorides.decisions[f"beside patch {patch}"] = f"ring-anode corrosion next to the patch is {word}: {said}"
