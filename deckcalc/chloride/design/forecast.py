"""Profiles fitted, time to corrosion, and its probability, for the deck as found and for the patches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from deckcalc import chloride
from deckcalc.base.fields import JobError
from deckcalc.chloride.design.forecast_results import BarForecast, Forecasts
from deckcalc.chloride.design.results import Chlorides
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.fit import Fits, Profiles, Surface, fit_profiles
from deckcalc.chloride.formulas.probability import Exposure, first_order, sample
from deckcalc.chloride.inputs.contents import critical_distribution
from deckcalc.chloride.inputs.sections import Forecast, PatchConcrete, Profile
from deckcalc.chloride.inputs.zones import Floats, Zone
from deckcalc.core.calculation import Calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError, Quantity, quantity
from deckcalc.steel import bar_diameter

YEAR, DAY = 31_557_600.0, 86_400.0  # seconds
SURFACES: tuple[Surface, ...] = ("constant", "linear", "root")
#: Iron: molar mass, electrons, constant of Faraday, density.
IRON = {"M": (55.845, "g/mol"), "n_e": (2, ""), "F": (96485.3, "C/mol"), "rho_s": (7.87, "g/cm**3")}
#: The rapid test of patch concrete: age in days, temperature in K, scatter of its coefficient over the mean.
TEST_AGE, TEST_TEMPERATURE, TEST_SCATTER = 28, 293, 0.2
NOT_REACHED = "the surface content does not exceed the threshold: corrosion is not initiated by it"


class Means(NamedTuple):
    """Mean values of cover, diffusion coefficient and contents, in coherent SI."""

    x: float
    D: float
    C_s: float
    C_0: float
    C_T: float


def content(value: float) -> Quantity:
    """Return a chloride content given in kg/m³."""
    return quantity(value, "kg/m**3")


def profiles_of(chlorides: Chlorides, profile: Profile) -> Profiles:
    """Return all cores as arrays; slices in the surface layer are left out of the fit."""
    cores = list(chlorides.cores.values())
    shape = len(cores), max(len(core.slices) for core in cores)
    upper, lower, contents = (np.zeros(shape) for _ in range(3))
    used = np.zeros(shape, bool)
    for i, core in enumerate(cores):
        for j, one in enumerate(core.slices):
            upper[i, j], lower[i, j] = one.row.upper.m_as("m"), one.row.lower.m_as("m")
            contents[i, j] = one.content.m_as("kg/m**3")
            used[i, j] = upper[i, j] >= profile.surface_layer.m_as("m") * (1 - 1e-9)
    return Profiles(upper, lower, contents, used, np.full(len(cores), profile.age.m_as("s")))


def forecasts(chlorides: Chlorides, profile: Profile) -> Forecasts:
    """Fit all profiles in one call, then forecast for every zone and for the patches."""
    choice, cores = chlorides.inputs.chloride, list(chlorides.cores.values())
    profiles = profiles_of(chlorides, profile)
    known = profile.background == "known"
    background = np.full(len(cores), chlorides.background.m_as("kg/m**3")) if known else None
    refused = ["the core stands on a crack" if core.row.crack == "yes" else "" for core in cores]
    sliced = profile.slices == "integrated"
    fits: dict[str, Fits] = {name: fit_profiles(profiles, background, name, sliced, refused) for name in SURFACES}
    found = Forecasts(profile, choice.forecast, list(chlorides.cores), fits, profiles)
    contents_at_bars(chlorides, found)
    chlorides.cites += [
        Cite("fdot-ba502", "p. 10, least squares on profiles"), Cite("schoefs-2023", "abstract: scatter of 15 %"),
    ]  # fmt: skip
    chlorides.notes += [
        "The fit gives an apparent diffusion coefficient for the years that the deck has had; it is taken to hold for the years "
        "ahead. Slices of the surface layer are left out, where washing, drying and carbonation have changed the content.",
    ]
    if choice.forecast:
        for zone in chlorides.zones:
            found.zones[zone.name] = zone_forecast(chlorides, found, choice.forecast, zone)
        if choice.patch_concrete:
            found.patch = patch_forecast(chlorides, found, choice.forecast, choice.patch_concrete)
        chlorides.notes += [
            "Probabilities are those of the models and scatters stated, not of the deck: variables are taken as independent, "
            "the scatter of fitted coefficients is between cores and not within the zone, and spread over an area is not "
            "counted. Loss of protection is not yet damage.",
        ]
        chlorides.cites.append(Cite("hasofer-lind-1974", "index of first order", "memory"))
        if found.patch:
            chlorides.cites.append(Cite("fib-34", "Annex B2, ageing exponents", "memory"))
    return found


def contents_at_bars(chlorides: Chlorides, found: Forecasts) -> None:
    """Work out the fitted content at the bars of every core that could be fitted."""
    fits = found.fits["constant"]
    for i, (name, core) in enumerate(chlorides.cores.items()):
        if not fits.why[i]:
            found.at_bars[name] = chlorides.run(
                chloride.face_content, core.fit_item, x=core.row.bar_depth, t=found.profile.age,
                D=quantity(fits.D[i], "m**2/s"), C_s=content(fits.C_s[i]), C_0=content(fits.C_0[i]),
            )  # fmt: skip


def distribution_of(values: Floats | Sequence[float], name: Literal["normal", "lognormal"] = "lognormal") -> Law:
    """Return a distribution by mean and standard deviation of values; one that is fixed where there is only one."""
    values = np.asarray(values, float)
    sd = float(values.std(ddof=1)) if len(values) > 1 else 0.0
    return Law(name, float(values.mean()), sd) if sd > 0 else Law("fixed", float(values.mean()))


def threshold_with(chlorides: Chlorides, background: float) -> float:
    """Return the threshold in kg/m³ with the background in it."""
    level = float(chlorides.threshold_content.m_as("kg/m**3"))
    return level if chlorides.all_chloride else level + background


def zone_forecast(chlorides: Chlorides, found: Forecasts, settings: Forecast, zone: Zone) -> BarForecast:
    """Time and probability for a zone of the deck as found."""
    items = (zone.item, f"{zone.item}, edge", f"{zone.item}, growing surface")
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
    C_0 = float(np.mean(fits.C_0[mine]))
    C_T = threshold_with(chlorides, C_0)
    if not C_0 < C_T < one.C_s.mean:
        one.why = NOT_REACHED if one.C_s.mean <= C_T else "the background alone reaches the threshold"
    else:
        means = Means(one.x.mean, one.D.mean, one.C_s.mean, C_0, C_T)
        times_at_means(chlorides, settings, one, means, found.profile.age)
        times_below_growing_surface(chlorides, found, one, means, mine)
    critical = critical_distribution(settings.critical, chlorides.deck)
    if not chlorides.all_chloride:
        critical = Law(critical.name, critical.mean + C_0, critical.sd, critical.low + C_0, critical.high + C_0)
    one.exposure = Exposure(
        one.x, one.C_s, Law("fixed", C_0), critical, one.D, Law("fixed", float(settings.ageing.m_as(""))), one.now * YEAR,
        "apparent", k_cr=float(settings.cracks.m_as("")), k_b=float(settings.obstruction.m_as("")),
    )  # fmt: skip
    probabilities(settings, one, one.exposure, one.now + float(settings.horizon.m_as("yr")))
    return one


def times_at_means(chlorides: Chlorides, settings: Forecast, one: BarForecast, means: Means, age: Quantity) -> None:
    """Work out by hand when the bars of a zone lose protection and when their cover cracks, at the means."""
    item, edge, _ = one.items
    contents = {"C_s": content(means.C_s), "C_0": content(means.C_0), "C_T": content(means.C_T)}
    x, D = quantity(means.x, "m"), quantity(means.D, "m**2/s")
    one.face = steady = chlorides.run(
        chloride.time_to_initiation, item, x=x, D=D, **contents, k_T=quantity(1), k_cr=settings.cracks,
        k_b=settings.obstruction,
    )  # fmt: skip
    aged = chlorides.run(chloride.apparent_ageing, item, t_1=steady.t_1, t_r=age, m=settings.ageing)
    one.initiation = one.t_i["constant"] = float(aged.t_i.m_as("yr"))
    v = chlorides.run(
        chloride.corrosion_rate, item, i_corr=settings.current, **{key: quantity(*value) for key, value in IRON.items()}
    )
    crack = chlorides.run(
        chloride.penetration_to_crack, item, c=x, d_b=bar_diameter(chlorides.deck.top_bar_outer), r_L=settings.length_ratio
    )  # fmt: skip
    cracked = chlorides.run(chloride.time_to_cracking, item, t_i=aged.t_i, x_cr=crack.x_cr, v=v)
    one.cracking = float(cracked.t_cr.m_as("yr"))
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


def probabilities(settings: Forecast, one: BarForecast, exposure: Exposure, horizon: float) -> None:
    """Sample the time to initiation, and find the index of first order at the horizon, an age in years."""
    ages = sorted({*np.linspace(horizon / 40, horizon, 40), horizon, *([one.now] if one.now else [])})
    one.ages = np.array(ages)
    one.sampled = sample(exposure, one.ages * YEAR, settings.samples, settings.seed)
    one.at_horizon = float(one.sampled.share[-1])
    one.by_now = float(one.sampled.share[ages.index(one.now)]) if one.now else None
    try:
        one.order = first_order(exposure, horizon * YEAR)
    except InputError:
        one.order = None


def patch_forecast(
    chlorides: Chlorides, found: Forecasts, settings: Forecast, concrete: PatchConcrete
) -> BarForecast | None:
    """Time and probability for bars in the patches, under the surface content of the zone with most of it."""
    surfaces = [(one.C_s, one.cores) for one in found.zones.values() if one.exposure and one.C_s]
    if not surfaces:
        return None
    C_s, cores = max(surfaces, key=lambda pair: pair[0].mean)
    one = BarForecast("patch", "patches", ("patch", "patch, the other convention of ageing"), cores)
    D = chlorides.run(chloride.migration_coefficient, one.items[0], binder=concrete.binder, w_c=concrete.w_c)
    warm = chlorides.run(
        chloride.temperature_factor, one.items[0], T=concrete.temperature, T_r=quantity(TEST_TEMPERATURE, "K"),
        b=concrete.temperature_constant,
    )  # fmt: skip
    C_T = threshold_with(chlorides, 0.0)
    exponent = chloride.ageing_law(concrete.binder)
    if C_s.mean > C_T:
        steady = chlorides.run(
            chloride.time_to_initiation, one.items[0], x=concrete.cover, D=D, C_s=content(C_s.mean), C_0=content(0.0),
            C_T=content(C_T), k_T=warm.k_T, k_cr=quantity(1), k_b=settings.obstruction,
        )  # fmt: skip
        given = {"t_1": steady.t_1, "t_r": quantity(TEST_AGE, "day"), "m": quantity(exponent.mean)}
        for convention, calculation in (
            ("apparent", chloride.apparent_ageing), ("time-integrated", chloride.integrated_ageing)
        ):  # fmt: skip
            aged = chlorides.run(calculation, one.items[convention != concrete.convention], **given)
            one.t_i[convention] = float(aged.t_i.m_as("yr"))
        one.initiation = one.t_i[concrete.convention]
    else:
        one.why = NOT_REACHED
    mean = float(D.m_as("m**2/s"))
    one.x = Law("normal", float(concrete.cover.m_as("m")), float(concrete.cover_sd.m_as("m")))
    one.C_s, one.D = C_s, Law("normal", mean, TEST_SCATTER * mean)
    b, b_sd = (float(v.m_as("K")) for v in (concrete.temperature_constant, concrete.temperature_constant_sd))
    try:
        one.exposure = Exposure(
            one.x, one.C_s, Law("fixed", 0.0), critical_distribution(settings.critical, chlorides.deck), one.D, exponent,
            TEST_AGE * DAY, concrete.convention, Law("normal", b, b_sd) if b_sd else Law("fixed", b),
            float(concrete.temperature.to("K").magnitude), float(TEST_TEMPERATURE),
            k_b=float(settings.obstruction.m_as("")),
        )  # fmt: skip
    except InputError as error:
        raise JobError([f"job.toml: chloride.patch_concrete: {error}"]) from None
    probabilities(settings, one, one.exposure, float(settings.horizon.m_as("yr")))
    chlorides.notes.append(
        f"The patch concrete is foreseen from published values for {concrete.binder} at w/c {concrete.w_c}, found by a rapid "
        f"test; ageing by the {concrete.convention} convention. Its exponents were found for the apparent one."
    )
    return one
