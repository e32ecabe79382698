"""Tables and drawings of the reinforcement that stand in the appendix."""

from __future__ import annotations

from typing import Any

from deckcalc.core import units
from deckcalc.core.units import (
    BarArea,
    CorrosionRate,
    CurrentDensity,
    Diameter,
    Moment,
    MomentPerWidth,
    Probability,
    Ratio,
    Share,
)
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block
from deckcalc.steel.design.results import BarDesign, Steel
from deckcalc.steel.sheet.drawings import along


def further(steel: Steel) -> list[Any]:
    """Return what stands in the appendix: every measured bar, strength state by state, steel wanted, strength bar by bar."""
    return [one for one in (bars(steel), strength(steel), wanted(steel), along(steel)) if one]


def bars(steel: Steel) -> Text:
    """Every measured bar, what needs action first at the top."""
    if not steel.each:
        return Text("")
    rows = []
    for bar in sorted(steel, key=lambda bar: (not bar.why, -bar.loss.m_as(""))):
        row, sure = bar.row, bar.exceedance
        rows.append([
            row.bar, row.patch, bar.location.kind if bar.location else "", row.layer, row.size,
            units.show(row.readings, Diameter, steel.system).rpartition(" ")[0],
            steel.show(bar.loss, Share).removesuffix(" %"), bar.governs,
            steel.show(sure.p, Probability, 1).removesuffix(" %") if sure else "", years(bar),
        ])  # fmt: skip
    unit = units.kind_of(Diameter).symbol(steel.system)
    heads = ["bar", "patch", "where", "layer", "size", f"readings [{unit}]", "loss [%]", "by", "p [%]", "years"]
    kept = [place for place in range(len(heads)) if any(row[place] for row in rows)]
    meanings = {
        "by": "*by* names the measurement that governs", "years": "*years* until the limit of one bar at the rate found so far",
        "p [%]": "*p* is the probability that the limit of one bar is exceeded, from the uncertainty of a reading alone",
    }  # fmt: skip
    said = [meanings[heads[place]] for place in kept if heads[place] in meanings]
    return block([
        "### Measured bars",
        pipe_table([heads[place] for place in kept], [[row[place] for place in kept] for row in rows],
                   "".join("llllllrlrr"[place] for place in kept)),
        f"Loss of section is a share of the area; {'; '.join(said)}.",
        rates_said(steel),
    ])  # fmt: skip


def years(bar: BarDesign) -> str:
    """Print the years until the limit is reached."""
    if bar.over:
        return "reached"
    if bar.years is None:
        return ""
    left = bar.years.T.m_as("yr")
    return "over 100" if left > 100 else f"{left:.0f}"


def rates_said(steel: Steel) -> str:
    """Say how fast the bars were found to corrode, and what these rates are not."""
    rates = steel.rates
    if rates is None:
        return ""
    worth = f"{steel.show(rates.greatest, CorrosionRate)} equals a uniform corrosion current density of {steel.show(rates.current, CurrentDensity)}"
    if rates.measured:
        return f"The rate of all bars is that of the measured current: {worth}."
    return (
        f"Rates found on the bars: {steel.show(rates.least, CorrosionRate)} to {steel.show(rates.greatest, CorrosionRate)}, mean "
        f"{steel.show(rates.mean, CorrosionRate)}; {worth}. They are of bars that were exposed because they corrode, each at its thinnest "
        "reading, and hold for these bars. A forecast for bars that are still embedded, as on [sheet 03](#chlorides), takes a uniform "
        "current of its own, commonly a fraction of this: neither rate stands for the other."
    )


def strength(steel: Steel) -> Text:
    """Strength of the strip as built, as found, open and repaired."""
    if not steel.states:
        return Text("")
    rows = [
        [state.where, state.state, state.moment, steel.show(state.strength, MomentPerWidth), steel.show(state.rated.m_u, MomentPerWidth),
         steel.show(state.rated.r_cd, Ratio), steel.show(state.rated.RF, Ratio), "sufficient" if state.sufficient else "**short**"]
        for state in steel.states
    ]  # fmt: skip
    heads = [
        "where",
        "state",
        "moment",
        "strength",
        "factored demand",
        "capacity to demand",
        "rating factor",
        "verdict",
    ]
    form = "US units" if steel.form == "US" else "hard metric, coefficient 1/1.1"
    return block(["### Strength of the strip", pipe_table(heads, rows, "lllrrrrl"), f"Forms of the equations: {form}."])


def wanted(steel: Steel) -> Text:
    """Steel over the girder that the demand asks for at each patch with measured bars, and what is missing."""
    if not steel.wanted:
        return Text("")
    rows = [
        [one.patch.item, steel.show(one.moment, Moment), steel.show(one.wanted, BarArea), steel.show(one.left, BarArea),
         steel.show(one.missing.A_more, BarArea), steel.show(one.missing.n, Ratio)]
        for one in steel.wanted
    ]  # fmt: skip
    how = steel.inputs.reinforcement
    heads = [
        "patch",
        "moment of the strip",
        "steel required",
        "steel left",
        "to add",
        f"bars {how.added_bar if how else ''}",
    ]
    width = "foot" if steel.system == "US" else "metre"
    return block([
        "### Steel required over the girder", pipe_table(heads, rows, "lrrrrr"),
        f"In a strip of one {width}, at the depth and yield strength of the existing bars; bars to add are an average over the strip.",
    ])  # fmt: skip
