"""Profiles fitted, time to corrosion, and its probability, for the deck as found and for the patches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

import numpy as np

from deckcalc import chloride
from deckcalc.base.concrete import PlacedConcrete
from deckcalc.chloride.design.fits import LEFT_OUT, content, fitted
from deckcalc.chloride.design.forecast_results import BarForecast, CoverPlace, Forecasts
from deckcalc.chloride.design.patch_life import NOT_REACHED, YEAR, patch_forecasts, probabilities, threshold_with
from deckcalc.chloride.design.results import Chlorides
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.initiation import InitiationTime
from deckcalc.chloride.formulas.probability import Exposure
from deckcalc.chloride.inputs.contents import critical_distribution
from deckcalc.chloride.inputs.sections import Forecast, Profile
from deckcalc.chloride.inputs.zones import Floats, Zone
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity, quantity
from deckcalc.steel import bar_diameter

#: Iron: molar mass, electrons, constant of Faraday, density.
IRON = {"M": (55.845, "g/mol"), "n_e": (2, ""), "F": (96485.3, "C/mol"), "rho_s": (7.87, "g/cm**3")}
#: Item of the ageing exponent that is worked out from two tests.
AGEING = "ageing of the existing concrete"


class Means(NamedTuple):
    """Mean values of cover, diffusion coefficient and contents, in coherent SI."""

    x: float
    D: float
    C_s: float
    C_0: float
    C_T: float


def forecasts(chlorides: Chlorides, profile: Profile, placed: Sequence[PlacedConcrete] | None) -> Forecasts:
    """Fit all profiles in one call, then forecast for every zone and for the patches."""
    choice = chlorides.inputs.chloride
    found = fitted(chlorides, profile)
    if choice.forecast:
        exponent = ageing_of(chlorides, choice.forecast)
        for zone in chlorides.zones:
            found.zones[zone.name] = zone_forecast(chlorides, found, choice.forecast, zone, exponent)
            whole(chlorides, found, zone)
        times_at_cores(chlorides, found, choice.forecast, exponent)
        if choice.patch_concrete:
            patch_forecasts(chlorides, found, choice.forecast, choice.patch_concrete, placed)
        chlorides.notes += [
            "Probabilities are those of the models and scatters stated, not of the deck: variables are taken as independent, "
            "the scatter of fitted coefficients is between cores and not within the zone, and spread over an area is not "
            "counted. Loss of protection is not yet damage.",
            "One threshold holds for the whole job: the mean of the critical content in the probabilities is the threshold that cores "
            "and times are held against.",
            "The corrosion current gives the mean loss all round a bar, for the cracking of the cover; pits go several times deeper, and "
            "the section that is left is measured, not predicted from it.",
        ]
        chlorides.cites.append(Cite("hasofer-lind-1974", "index of first order", "memory"))
        if found.patches:
            chlorides.cites.append(Cite("fib-34", "Annex B2, ageing exponents", "memory"))
    return found


def distribution_of(values: Floats | Sequence[float], name: Literal["normal", "lognormal"] = "lognormal") -> Law:
    """Return a distribution by mean and standard deviation of values; one that is fixed where there is only one."""
    values = np.asarray(values, float)
    sd = float(values.std(ddof=1)) if len(values) > 1 else 0.0
    return Law(name, float(values.mean()), sd) if sd > 0 else Law("fixed", float(values.mean()))


def ageing_of(chlorides: Chlorides, settings: Forecast) -> Quantity:
    """Return the ageing exponent of the existing concrete: stated, or from two tests."""
    tests = settings.ageing_tests
    if tests is None:
        assert settings.ageing is not None
        return settings.ageing
    given = {"D_1": tests.D_1, "t_1": tests.t_1, "D_2": tests.D_2, "t_2": tests.t_2}
    return chlorides.run(chloride.ageing_exponent, AGEING, **given).m


def whole(chlorides: Chlorides, found: Forecasts, zone: Zone) -> None:
    """Check that no core off a crack was left out of the forecast of a zone, and name those that were."""
    off_cracks = [core for core in chlorides.in_zone(zone) if core.row.crack == "no"]
    if not off_cracks:
        return
    left = [f"{core.name} ({found.left_out[core.name]})" for core in off_cracks if core.name in found.left_out]
    count = units.kind_of(units.Count)
    limit = Limit(
        "cores_fitted",
        "cores of the zone off cracks",
        quantity(len(off_cracks)),
        count,
        Cite("", "all of them", "common practice"),
    )
    why = f"left out: {'; '.join(left)}. {LEFT_OUT}" if left else ""
    demand = quantity(len(off_cracks) - len(left))
    chlorides.checks.append(
        Check(zone.item, "cores off cracks that the forecast rests on", demand, limit, "at least", why)
    )


def zone_forecast(
    chlorides: Chlorides, found: Forecasts, settings: Forecast, zone: Zone, exponent: Quantity
) -> BarForecast:
    """Time and probability for a zone of the deck as found."""
    parts = ("edge", "growing surface", "minimum cover", "rate found on bars")
    items = (zone.item, *(f"{zone.item}, {part}" for part in parts))
    one = BarForecast(zone.name, zone.item, items, now=float(found.profile.age.m_as("yr")))
    fits = found.fits["constant"]
    mine = [i for i, core in enumerate(chlorides.cores.values()) if core.zone is zone and not fits.why[i]]
    if not mine:
        one.why = "no core of the zone could be fitted"
        return one
    one.cores = [found.names[i] for i in mine]
    one.D, one.C_s = distribution_of(fits.D[mine]), distribution_of(fits.C_s[mine])
    measured = chlorides.survey.covers.get(zone.name)
    depths = [float(core.row.bar_depth.m_as("m")) for core in chlorides.in_zone(zone)]
    one.x = measured.statistics.law() if measured else distribution_of(depths, "normal")
    one.least = least_cover(chlorides, zone)
    C_0 = float(np.mean(fits.C_0[mine]))
    C_T = threshold_with(chlorides, C_0)
    if not C_0 < C_T < one.C_s.mean:
        one.why = NOT_REACHED if one.C_s.mean <= C_T else "the background alone reaches the threshold"
    else:
        means = Means(one.x.mean, one.D.mean, one.C_s.mean, C_0, C_T)
        times_at_means(chlorides, settings, one, means, found.profile.age, exponent)
        judge_times(chlorides, settings, one)
        times_below_growing_surface(chlorides, found, one, means, mine)
    level = float(chlorides.threshold_content.m_as("kg/m**3"))
    critical = critical_distribution(settings.critical, chlorides.deck, level)
    if not chlorides.all_chloride:
        critical = Law(critical.name, critical.mean + C_0, critical.sd, critical.low + C_0, critical.high + C_0)
    one.exposure = Exposure(
        one.x, one.C_s, Law("fixed", C_0), critical, one.D, Law("fixed", float(exponent.m_as(""))), one.now * YEAR,
        "apparent", k_cr=float(settings.cracks.m_as("")), k_b=float(settings.obstruction.m_as("")),
    )  # fmt: skip
    probabilities(settings, one, one.exposure, one.now + float(settings.horizon.m_as("yr")))
    return one


def least_cover(chlorides: Chlorides, zone: Zone) -> CoverPlace:
    """Return the minimum cover of a zone: of its readings, or of the bars of its cores."""
    places = [
        CoverPlace(f"reading {row.point}", row.cover, row) for row in chlorides.inputs.covers if zone.contains(row)
    ]
    places = places or [CoverPlace(core.item, core.row.bar_depth, core.row) for core in chlorides.in_zone(zone)]
    return min(places, key=lambda place: float(place.cover.m_as("m")))


def initiation(
    chlorides: Chlorides, settings: Forecast, item: str, x: Quantity, D: Quantity, contents: Mapping[str, Quantity],
    age: Quantity, exponent: Quantity,
) -> tuple[InitiationTime, Quantity]:  # fmt: skip
    """Work out by hand when a bar loses protection, without ageing and with it; contents are C_s, C_0 and C_T."""
    steady = chlorides.run(
        chloride.time_to_initiation,
        item,
        x=x,
        D=D,
        **contents,
        k_T=quantity(1),
        k_cr=settings.cracks,
        k_b=settings.obstruction,
    )
    return steady, chlorides.run(chloride.apparent_ageing, item, t_1=steady.t_1, t_r=age, m=exponent).t_i


def judge_times(chlorides: Chlorides, settings: Forecast, one: BarForecast) -> None:
    """Hold the age at which protection is lost, at the mean and at the minimum cover, against the horizon."""
    assert one.x is not None and one.least is not None
    age = quantity(one.now + float(settings.horizon.m_as("yr")), "yr")
    limit = Limit(
        "horizon", "age of the deck at the horizon", age, units.kind_of(units.Years), settings.source, "engineer"
    )
    mean = chlorides.show(quantity(one.x.mean, "m"), units.Length)
    least = chlorides.show(one.least.cover, units.Length)
    for key, cover in (
        ("constant", f"mean cover {mean}"),
        ("minimum cover", f"minimum cover {least}, {one.least.name}"),
    ):
        title = f"age when protection is lost, {cover}"
        why = "bars lose their protection within the horizon: protect or remove"
        chlorides.checks.append(Check(one.where, title, quantity(one.t_i[key], "yr"), limit, "at least", why))


def times_at_cores(chlorides: Chlorides, found: Forecasts, settings: Forecast, exponent: Quantity) -> None:
    """Work out when the bar at each core that was fitted loses protection."""
    for name, (D, C_s, C_0) in found.written.items():
        core, background = chlorides.cores[name], float(C_0.m_as("kg/m**3"))
        C_T = threshold_with(chlorides, background)
        if background < C_T < C_s.m_as("kg/m**3"):
            contents = {"C_s": C_s, "C_0": C_0, "C_T": content(C_T)}
            given = core.fit_item, core.row.bar_depth, D, contents, found.profile.age, exponent
            found.bars[name] = float(initiation(chlorides, settings, *given)[1].m_as("yr"))


def times_at_means(
    chlorides: Chlorides, settings: Forecast, one: BarForecast, means: Means, age: Quantity, exponent: Quantity
) -> None:
    """Work out by hand when the bars of a zone lose protection and when their cover cracks, at the means."""
    item, edge, _, least, as_found = one.items
    contents = {"C_s": content(means.C_s), "C_0": content(means.C_0), "C_T": content(means.C_T)}
    x, D = quantity(means.x, "m"), quantity(means.D, "m**2/s")
    one.face, t_i = initiation(chlorides, settings, item, x, D, contents, age, exponent)
    one.initiation = one.t_i["constant"] = float(t_i.m_as("yr"))
    assert one.least is not None
    _, soonest = initiation(chlorides, settings, least, one.least.cover, D, contents, age, exponent)
    one.t_i["minimum cover"] = float(soonest.m_as("yr"))
    v = chlorides.run(
        chloride.corrosion_rate, item, i_corr=settings.current, **{key: quantity(*value) for key, value in IRON.items()}
    )
    crack = chlorides.run(
        chloride.penetration_to_crack, item, c=x, d_b=bar_diameter(chlorides.deck.top_bar_outer), r_L=settings.length_ratio
    )  # fmt: skip
    cracked = chlorides.run(chloride.time_to_cracking, item, t_i=t_i, x_cr=crack.x_cr, v=v)
    one.cracking = float(cracked.t_cr.m_as("yr"))
    rates = chlorides.rates
    if rates:
        sooner = chlorides.run(chloride.time_to_cracking, as_found, t_i=t_i, x_cr=crack.x_cr, v=rates.mean)
        one.cracking_as_found = float(sooner.t_cr.m_as("yr"))
    corner = chlorides.run(chloride.time_to_initiation_corner, edge, x=settings.edge_cover, D=D, **contents)
    chlorides.run(
        chloride.corner_content, edge, x=settings.edge_cover, y=settings.edge_cover, t=age, D=D, C_s=contents["C_s"],
        C_0=contents["C_0"],
    )  # fmt: skip
    one.t_i["edge"] = float(corner.t_1.m_as("yr"))


def times_below_growing_surface(
    chlorides: Chlorides, found: Forecasts, one: BarForecast, means: Means, mine: list[int]
) -> None:
    """Work out when the bars of a zone lose protection if the content of the surface has grown, by fits of their own."""
    growing: tuple[tuple[Literal["linear", "root"], Calculation], ...] = (
        ("linear", chloride.content_linear_surface), ("root", chloride.content_root_surface),
    )  # fmt: skip
    for surface, calculation in growing:
        fits = found.fits[surface]
        good = [i for i in mine if not fits.why[i]]
        if not good:
            continue
        D, C_a = float(np.mean(fits.D[good])), float(np.mean(fits.C_s[good]))
        t = chloride.growing_time(means.x, D, C_a, one.now * YEAR, means.C_0, means.C_T, surface)
        one.t_i[surface] = t / YEAR
        chlorides.run(
            calculation, one.items[2], x=quantity(means.x, "m"), t=quantity(t, "s").to("yr"), D=quantity(D, "m**2/s"),
            C_a=content(C_a), t_a=found.profile.age, C_0=content(means.C_0),
        )  # fmt: skip
