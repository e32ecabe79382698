"""Chlorides: zones of the deck, what was surveyed from its surface, and what follows from all of it together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc import chloride
from deckcalc.base.subject import joined
from deckcalc.chloride.formulas.survey import LIKELY
from deckcalc.core import units
from deckcalc.core.check import NOT_SATISFIED, Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import registry

if TYPE_CHECKING:
    from deckcalc.chloride.design import Chlorides
    from deckcalc.chloride.inputs import Chloride
    from deckcalc.job import Job

WHOLE = "deck"
CSE = "copper-copper sulfate"
SLACK = 1e-6  # metres, so that a point on the border of a zone lies in it


def metres(value: Any) -> float:
    """Return a length in metres."""
    return float(value.m_as("m"))


@dataclass(frozen=True)
class Zone:
    """A rectangle of the deck, in metres; one that is whole holds everything."""

    name: str
    left: float = -np.inf
    right: float = np.inf
    low: float = -np.inf
    high: float = np.inf

    def inside(self, station: Any, offset: Any) -> Any:
        """Say which points lie in it, its lower borders included."""
        return (
            (station >= self.left - SLACK) & (station < self.right - SLACK)
            & (offset >= self.low - SLACK) & (offset < self.high - SLACK)
        )  # fmt: skip

    def holds(self, row: Any) -> bool:
        """Say whether a row with station and offset lies in it."""
        return bool(self.inside(metres(row.station), metres(row.offset)))


def zone(row: Any) -> Zone:
    """Return the zone of a row of zones.csv."""
    return Zone(row.zone, *(metres(v) for v in (row.station_from, row.station_to, row.offset_from, row.offset_to)))


def zones_of(job: Job) -> list[Zone]:
    """Return the zones of a job; the whole deck is one if it names none."""
    return [zone(row) for row in job.file.rows["zones"]] or [Zone(WHOLE)]


def check(choice: Chloride, rows: Mapping[str, list[Any]], faults: list[str]) -> None:
    """Hold zones, potentials, covers and rules against each other."""
    zones: list[Zone] = []
    for row in rows["zones"]:
        made = zone(row)
        if not (made.left < made.right and made.low < made.high):
            faults.append(f"zones.csv, zone {row.zone}: ends before it begins")
        for other in zones:
            if min(made.right, other.right) - max(made.left, other.left) > SLACK and (
                min(made.high, other.high) - max(made.low, other.low) > SLACK
            ):
                faults.append(f"zones.csv, zone {row.zone}: overlaps zone {other.name}")
        zones.append(made)
    for name, head in (("cores", "core"), ("potentials", "point"), ("covers", "point"), ("resistances", "point")):
        for row in rows[name]:
            if zones and not any(one.holds(row) for one in zones):
                faults.append(f"{name}.csv, {head} {getattr(row, head)}: lies in no zone of zones.csv")
    if (rows["potentials"] or rows["covers"]) and not choice.survey:
        faults.append(
            "job.toml: chloride.survey: missing; it names the electrode and its temperature for potentials.csv"
        )
    if rows["potentials"] and choice.bars != "bare":
        faults.append(
            f"potentials.csv: the classes hold for bare bars, and chloride.bars says {choice.bars}: leave the file out"
        )
    if choice.survey and choice.survey.electrode not in chloride.electrodes():
        faults.append(
            f"job.toml: chloride.survey.electrode: found “{choice.survey.electrode}”, wanted one of "
            f"{'; '.join(chloride.electrodes())}"
        )
    for row in rows["potentials"]:
        if row.potential.m_as("mV") > 100:
            faults.append(
                f"potentials.csv, point {row.point}: {row.potential.m_as('mV'):.0f} mV is positive; steel in concrete reads negative "
                "against a reference electrode: are the leads the other way round?"
            )
    if rows["covers"] and len(rows["covers"]) < 3:
        faults.append("covers.csv: wanted at least three readings")


@dataclass
class Surveyed:
    """What was surveyed from the surface.

    Attributes
    ----------
    station, offset, potential : array
        Points in metres and corrected potentials in mV against copper-copper sulfate.
    classes : array of str
    cover_at : tuple of array
        Station, offset and cover in metres.
    covers : dict of CoverStatistics
        By zone.
    resistivities : list of tuple
        Row, resistivity, class of likelihood, class of rate.
    actions : list of tuple
        Core, chloride, potential, sounding, rule, action.
    shares : dict of dict
        By zone: share of cores reached, of potentials likely, of the area unsound.
    """

    station: Any = None
    offset: Any = None
    potential: Any = None
    classes: Any = None
    cover_at: Any = None
    covers: dict[str, Any] = field(default_factory=dict)
    resistivities: list[Any] = field(default_factory=list)
    actions: list[tuple[str, ...]] = field(default_factory=list)
    shares: dict[str, dict[str, Any]] = field(default_factory=dict)

    def nearest(self, row: Any) -> int:
        """Return the potential nearest to a row with station and offset."""
        return int(np.argmin(np.hypot(self.station - metres(row.station), self.offset - metres(row.offset))))


def carry(job: Job, subject: Chlorides) -> Surveyed:
    """Potentials, cover and resistivity."""
    found = Surveyed()
    if job.file.rows["potentials"]:
        potentials(job, subject, found)
    if job.file.rows["covers"]:
        covers(job, subject, found)
    for row in job.file.rows["resistances"]:
        rho = subject.run(chloride.resistivity, f"probe {row.point}", a=row.spacing, R=row.resistance)
        number = float(rho.m_as("kΩ*cm"))
        found.resistivities.append(
            (row, rho, chloride.resistivity_class(number, "likelihood"), chloride.resistivity_class(number, "rate"))
        )
    if found.resistivities:
        subject.cites.append(Cite("langford-broomfield-1987", "two scales, as quoted by an instrument maker"))
        subject.notes.append(
            "Resistivity is classed on two scales that answer different questions: how likely corrosion is, and how fast it "
            "goes where the bars have lost their protection. Neither says that they have."
        )
    return found


def potentials(job: Job, subject: Chlorides, found: Surveyed) -> None:
    """Correct all potentials in one call, write out the most negative one, and class them."""
    rows, survey, q = job.file.rows["potentials"], job.head.chloride.survey, registry().Quantity
    assert survey
    known = chloride.electrodes()
    standard = 22.2  # °C
    off = abs(float(survey.temperature.to("degC").magnitude) - standard) > 5.5
    corrected = survey.electrode == CSE and off
    arguments = {
        "E_r": q(known[survey.electrode], "mV"), "E_cse": q(known[CSE], "mV"),
        "k_E": q(0.9 if corrected else 0.0, "mV/delta_degC"), "T": survey.temperature, "T_0": q(standard, "degC"),
    }  # fmt: skip
    readings = joined(row.potential for row in rows)
    made = chloride.potential_on_cse(E=readings, **arguments)
    worst = int(np.argmin(readings.magnitude))
    subject.run(chloride.potential_on_cse, f"point {rows[worst].point}", E=rows[worst].potential, **arguments)
    found.potential = made.E_c.m_as("mV")
    found.classes = chloride.potential_classes(found.potential)
    found.station, found.offset = (
        np.array([metres(getattr(row, name)) for row in rows]) for name in ("station", "offset")
    )
    subject.cites += [Cite("astm-c876", "appendix X1, classes"), Cite("wsdot-wa-rd-095", "abstract")]
    subject.notes.append(
        "Half-cell potentials tell of the whole deck rather than of single patches [WA-RD 095.1]; wet or carbonated concrete, overlays, "
        "stray currents and cover over 75 mm (3 in) mislead them, and they say nothing of how fast bars corrode."
        + ("" if corrected else " No correction for temperature was made: the electrode is within 5.5 °C (10 °F) of 22.2 °C "
           "(72 °F), or is not copper-copper sulfate.")
    )  # fmt: skip


def covers(job: Job, subject: Chlorides, found: Surveyed) -> None:
    """Statistics of the cover by zone, and the share below what was asked for."""
    rows, q = job.file.rows["covers"], registry().Quantity
    survey = job.head.chloride.survey
    assert survey
    x, y, c = (np.array([metres(getattr(row, name)) for row in rows]) for name in ("station", "offset", "cover"))
    found.cover_at = x, y, c
    for one in subject.zones:
        mine = c[one.inside(x, y)]
        if len(mine) < 3:
            continue
        found.covers[one.name] = made = chloride.cover_statistics(mine)
        item = f"cover, zone {one.name}"
        below = {"normal": chloride.share_below_normal, "lognormal": chloride.share_below_lognormal}[made.better]
        subject.run(below, item, c_L=survey.least_cover, c_m=q(made.mean, "m"), s_c=q(made.sd, "m"))
        few = mine < metres(survey.least_cover) * (1 - 1e-9)
        subject.run(chloride.share_counted, item, n_a=q(int(few.sum()), ""), n=q(len(mine), ""))


def unsound_areas(job: Job) -> list[tuple[str, float, float, float, float]]:
    """Return the unsound areas as surveyed: patch, station, offset, length, width in metres."""
    found = []
    for row in job.file.rows["patches"]:
        x_1, y_1, x_2, y_2 = row.piece.unsound.bounds
        found.append((row.patch, x_1, y_1, x_2 - x_1, y_2 - y_1))
    return found


def distance_to(area: tuple[str, float, float, float, float], x: Any, y: Any) -> Any:
    """Return how far points lie from an area; nil inside."""
    _, left, low, length, width = area
    return np.hypot(
        np.maximum(np.maximum(left - x, x - left - length), 0), np.maximum(np.maximum(low - y, y - low - width), 0)
    )


def judge(job: Job, subject: Chlorides) -> None:
    """Hold zones against the job's limits, cores against its rules, and look at what stays beside the patches."""
    found = subject.survey
    for one in subject.zones:
        shares(job, subject, found, one)
    if job.file.rows["rules"]:
        rules(job, subject, found)
    subject.cites.append(Cite("clopper-pearson-1934", "interval of a share", "memory"))
    limits = job.head.chloride.zone_limits
    if limits:
        for one in subject.zones:
            judge_zone(job, subject, found, one, limits)
    for area in unsound_areas(job):
        beside(job, subject, found, area)


def shares(job: Job, subject: Chlorides, found: Surveyed, one: Zone) -> None:
    """Shares of cores and potentials in a zone."""
    q = registry().Quantity
    mine = found.shares[one.name] = {}
    cores = [core for core in subject.in_zone(one.name) if core.reached is not None]
    if cores:
        reached = sum(bool(core.reached) for core in cores)
        mine["cores"] = subject.run(
            chloride.share_counted, f"zone {one.name}, cores", n_a=q(reached, ""), n=q(len(cores), "")
        )
        mine["count"], mine["interval"] = (reached, len(cores)), chloride.share_interval(reached, len(cores))
    if found.potential is not None:
        inside = one.inside(found.station, found.offset)
        if inside.any():
            likely = int((found.classes[inside] == LIKELY).sum())
            mine["potentials"] = subject.run(
                chloride.share_counted, f"zone {one.name}, potentials", n_a=q(likely, ""), n=q(int(inside.sum()), "")
            )
    limits = job.head.chloride.zone_limits
    sound = [core.at_bar.m_as("kg/m**3") for core in cores if core.row.crack == "no"]
    if limits and len(sound) > 1:
        s = float(np.std(sound, ddof=1))
        subject.run(
            chloride.cores_wanted, f"zone {one.name}, cores", z_c=q(1.96, ""), s=q(s, "kg/m**3"), E=limits.content_error
        )


def rules(job: Job, subject: Chlorides, found: Surveyed) -> None:
    """Find for every core the first rule that fits."""
    for core in subject.cores.values():
        row = core.row
        words = {
            "chloride": "not known" if core.reached is None else "reached" if core.reached else "below",
            "potential": str(found.classes[found.nearest(row)]) if found.potential is not None else "not known",
            "sounding": "unsound" if any(distance_to(area, metres(row.station), metres(row.offset)) <= SLACK
                                         for area in unsound_areas(job)) else "sound",
        }  # fmt: skip
        rule = next(
            (
                r
                for r in job.file.rows["rules"]
                if all(getattr(r, name) in ("any", word) for name, word in words.items())
            ),
            None,
        )
        held = (rule.rule, rule.action) if rule else ("none", "no rule fits: the engineer decides")
        found.actions.append((row.core, *words.values(), *held))


def judge_zone(job: Job, subject: Chlorides, found: Surveyed, one: Zone, limits: Any) -> None:
    """Hold a zone against what the job takes as the end of patching alone."""
    item, mine = f"zone {one.name}", found.shares[one.name]
    share = units.kind_of(units.Share)
    forecast = subject.forecast.zones.get(one.name) if subject.forecast else None
    probability = registry().Quantity(forecast.at_horizon, "") if forecast and forecast.at_horizon is not None else None
    asked = [
        ("cores", "cores with the threshold reached at the bar", mine.get("cores"), limits.cores),
        ("potentials", "potentials in the class likely", mine.get("potentials"), limits.potentials),
        ("probability", "probability that protection is lost at the horizon", probability, limits.probability),
    ]
    over = []
    for key, title, demand, most in asked:
        if demand is None:
            continue
        limit = Limit(f"zone_{key}", f"most {title}", most, share, limits.source, "engineer")
        made = Check(item, title, demand, limit, "at most", "patching alone is not enough: treat the zone")
        subject.checks.append(made)
        if made.verdict == NOT_SATISFIED:
            over.append(f"{title} {job.show(demand, units.Share)} (most {job.show(most, units.Share)})")
    deep = [core.removal for core in subject.in_zone(one.name) if core.removal is not None]
    reach = f", down to {job.show(max(deep), units.Length)} as far as the cores show," if deep else ""
    subject.decisions[item] = (
        f"patching alone is not enough here, because of {'; '.join(over)}. Patches would be set into concrete that stays "
        f"contaminated{reach} and would fail beside themselves: remove the top of the whole zone, or protect it "
        "electrochemically, as the engineer decides"
        if over
        else "patching alone is within the job's limits"
    )


def beside(job: Job, subject: Chlorides, found: Surveyed, area: tuple[str, float, float, float, float]) -> None:
    """Say what stays beside a patch, with the numbers that there are."""
    name, left, low, length, width = area
    x, y = left + length / 2, low + width / 2
    cores = [core for core in subject.cores.values() if core.reached is not None]
    if not cores:
        return
    core = min(cores, key=lambda c: float(np.hypot(metres(c.row.station) - x, metres(c.row.offset) - y)))
    away = registry().Quantity(float(np.hypot(metres(core.row.station) - x, metres(core.row.offset) - y)), "m")
    part = float((core.at_bar / subject.threshold_content).m_as(""))
    said = f"the nearest core, {core.row.core} at {job.show(away, units.Distance)}, has {part:.2f} times the threshold at the bar"
    active = False
    survey = job.head.chloride.survey
    if survey and found.potential is not None:
        ring = metres(survey.ring)
        far = distance_to(area, found.station, found.offset)
        around = (far > SLACK) & (far <= ring + SLACK)
        if around.any():
            likely = int((found.classes[around] == LIKELY).sum())
            active = likely > 0
            said += (
                f"; of {int(around.sum())} potentials within {job.show(survey.ring, units.Distance)} of the "
                f"patch {likely} are in the class likely, the most negative {found.potential[around].min():.0f} mV"
            )
    word = "to be expected" if core.reached and active else "possible" if core.reached or active else "not indicated"
    subject.decisions[f"beside patch {name}"] = f"new corrosion beside the patch is {word}: {said}"
