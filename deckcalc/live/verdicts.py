"""Results that a limit in print judges, in words: the same limits that a job is checked against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, NamedTuple

from deckcalc.core import tables, units
from deckcalc.core.calculation import Calculation, Line
from deckcalc.core.check import Check, Limit, Sense
from deckcalc.core.sources import Cite
from deckcalc.job.limits import built_in


class Held(NamedTuple):
    """A result and the limit that it is held against."""

    limit: str
    sense: Sense
    note: str = ""


#: A job does not open a lane by the curve itself.
BAND = " By the curve alone: a job goes by the lower edge of its band."
#: By calculation and result; a utilisation is held against one without being named here.
HELD: Mapping[str, Held] = {
    "steel.section_loss.loss": Held("bar_loss_single", "less than"),
    "steel.section_loss_square.loss": Held("bar_loss_single", "less than"),
    "steel.adjacent_loss.loss_pair": Held("bar_loss_adjacent", "less than"),
    "steel.rating.r_cd": Held("capacity_ratio", "at least"),
    "patch.removal_depth.h": Held("least_patch_depth", "at least"),
    "patch.distress_share.q_u": Held("distress_share", "less than"),
    "curing.evaporation_menzel.E": Held("evaporation", "at most"),
    "curing.evaporation_uno.E": Held("evaporation", "at most"),
    "curing.strength_hyperbolic.S": Held("opening_strength", "at least", BAND),
    "curing.strength_exponential.S": Held("opening_strength", "at least", BAND),
    "curing.strength_logarithmic.S": Held("opening_strength", "at least", BAND),
    "safety.noise_dose.D": Held("noise_dose", "at most"),
    "safety.blasting_dust.C_8": Held("silica_level", "at most"),
    "closure.share_in_time.p_l": Held("open_in_time", "at least"),
}
UTILISATION = Limit("utilisation", "all that there is", units.quantity(1.0), units.kind_of(units.Ratio), Cite("", "", "common practice"))  # fmt: skip


@cache
def limit(key: str, system: str) -> Limit:
    """Return a built-in limit in a unit system."""
    return built_in(tables.load("limits").row("key", key), system)


def checks(calculation: Calculation, results: Mapping[str, Any], system: str) -> Iterator[Check]:
    """Yield the results of a calculation that a limit judges, each as a check."""
    base = calculation.key.partition(" (")[0]
    for line in calculation.lines:
        held = HELD.get(f"{base}.{line.name}")
        if held:
            yield Check(base, title(line), results[line.name], limit(held.limit, system), held.sense, held.note)
        elif line.comment.startswith("utilisation"):
            yield Check(base, title(line), results[line.name], UTILISATION)


def title(line: Line) -> str:
    """Return what a line gives, without what its comment adds."""
    return line.comment.partition(";")[0]


def words(check: Check, system: str) -> str:
    """Return a check as a sentence: what, how much, against what, by whom, and the verdict."""
    value, held = units.show_beside(check.demand, check.limit.value, check.limit.kind, system, check.holds)
    by = "" if check.limit is UTILISATION else f" ({check.limit.meaning}; {check.limit.source})"
    return (
        f"{check.title[0].upper()}{check.title[1:]} {value}, wanted {check.sense} {held}{by}: {check.words}.{check.why}"
    )
