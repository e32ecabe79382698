"""What was surveyed from the surface: potentials corrected and classed, cover by zone, resistivity classed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from deckcalc import chloride
from deckcalc.base.subject import joined
from deckcalc.chloride.design.results import Chlorides, Potentials, ProbeResult, ZoneCover
from deckcalc.chloride.formulas.survey import LIKELY, UNLIKELY
from deckcalc.chloride.inputs import FEWEST_COVERS
from deckcalc.chloride.inputs.sections import Survey
from deckcalc.chloride.inputs.zones import Floats, Placed, xy
from deckcalc.core import tables
from deckcalc.core.sources import Cite
from deckcalc.core.units import quantity

CSE = "copper-copper sulfate"
#: Temperature that the classes hold for, how far from it nothing is corrected [°C], and change of the electrode [mV/°C].
STANDARD, BAND, SLOPE = 22.2, 5.5, 0.9
SHARE_BELOW = {"normal": chloride.share_below_normal, "lognormal": chloride.share_below_lognormal}


def surface_survey(chlorides: Chlorides) -> None:
    """Work out potentials, cover and resistivity."""
    inputs, found = chlorides.inputs, chlorides.survey
    if inputs.chloride.survey and inputs.potentials:
        found.potentials = potentials(chlorides, inputs.chloride.survey)
    if inputs.chloride.survey and inputs.covers:
        covers(chlorides, inputs.chloride.survey)
    for row in inputs.resistances:
        item = f"probe {row.point}"
        rho = chlorides.run(chloride.resistivity, item, a=row.spacing, R=row.resistance)
        number = float(rho.m_as("kΩ*cm"))
        classes = (chloride.resistivity_class(number, "likelihood"), chloride.resistivity_class(number, "rate"))
        found.probes.append(ProbeResult(row, item, rho, *classes))
    if found.probes:
        chlorides.cites += tables.load("resistivity_classes").cites
        chlorides.notes.append(
            "Resistivity is classed on two scales that answer different questions: how likely corrosion is, and how fast it "
            "goes where the bars have lost their protection. Neither says that they have."
        )


def points(rows: Sequence[Placed]) -> tuple[Floats, Floats]:
    """Return stations and offsets of rows in metres."""
    station, offset = np.array([xy(row) for row in rows]).T
    return station, offset


def potentials(chlorides: Chlorides, survey: Survey) -> Potentials:
    """Correct all potentials in one call, write out the most negative one, and class them."""
    rows, known = chlorides.inputs.potentials, chloride.electrodes()
    off = abs(float(survey.temperature.to("degC").magnitude) - STANDARD) > BAND
    corrected = survey.electrode == CSE and off
    arguments = {
        "E_r": quantity(known[survey.electrode], "mV"), "E_cse": quantity(known[CSE], "mV"),
        "k_E": quantity(SLOPE if corrected else 0.0, "mV/delta_degC"), "T": survey.temperature,
        "T_0": quantity(STANDARD, "degC"),
    }  # fmt: skip
    readings = joined(row.potential for row in rows)
    values = chloride.potential_on_cse(E=readings, **arguments).E_c.m_as("mV")
    worst = rows[int(np.argmin(readings.magnitude))]
    item = f"point {worst.point}"
    chlorides.run(chloride.potential_on_cse, item, E=worst.potential, **arguments)
    chlorides.cites += [Cite("astm-c876", "appendix X1, classes"), Cite("wsdot-wa-rd-095", "abstract")]
    uncorrected = (
        f" No correction for temperature was made: the electrode is within {BAND:g} °C ({BAND * 1.8:.0f} °F) of {STANDARD:g} °C "
        f"({STANDARD * 1.8 + 32:.0f} °F), or is not copper-copper sulfate."
    )
    chlorides.notes.append(
        "Half-cell potentials tell of the whole deck rather than of single patches [WA-RD 095.1]; wet or carbonated concrete, overlays, "
        "stray currents and cover over 75 mm (3 in) mislead them, and they say nothing of how fast bars corrode."
        + ("" if corrected else uncorrected)
    )
    limits = tables.load("potential_classes")
    unlikely, likely = (float(limits.row("class", name)["limit [mV]"]) for name in (UNLIKELY, LIKELY))
    return Potentials(*points(rows), values, chloride.potential_classes(values), unlikely, likely, item)


def covers(chlorides: Chlorides, survey: Survey) -> None:
    """Statistics of the cover by zone, and the share below what was asked for."""
    rows = chlorides.inputs.covers
    station, offset = points(rows)
    cover = np.array([float(row.cover.m_as("m")) for row in rows])
    for zone in chlorides.zones:
        mine = cover[zone.inside(station, offset)]
        if len(mine) < FEWEST_COVERS:
            continue
        made = chloride.cover_statistics(mine)
        one = chlorides.survey.covers[zone.name] = ZoneCover(zone, mine, made, SHARE_BELOW[made.better])
        chlorides.run(
            one.below, one.item, c_L=survey.least_cover, c_m=quantity(made.mean, "m"), s_c=quantity(made.sd, "m")
        )
        few = mine < float(survey.least_cover.m_as("m")) * (1 - 1e-9)
        chlorides.run(chloride.share_counted, one.item, n_a=quantity(int(few.sum())), n=quantity(len(mine)))
