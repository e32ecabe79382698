"""The life of the patches: time and probability for bars in each concrete that they are made of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from deckcalc import chloride
from deckcalc.base.concrete import PlacedConcrete
from deckcalc.base.fields import JobError
from deckcalc.chloride.design.fits import content
from deckcalc.chloride.design.forecast_results import BarForecast, Forecasts
from deckcalc.chloride.design.results import Chlorides
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.patch_concrete import Binder, binder_of
from deckcalc.chloride.formulas.probability import Exposure, first_order, sample
from deckcalc.chloride.inputs.contents import critical_distribution
from deckcalc.chloride.inputs.sections import Forecast, PatchConcrete
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import InputError, quantity

YEAR, DAY = 31_557_600.0, 86_400.0  # seconds
#: The rapid test of patch concrete: age in days, temperature in K, scatter of its coefficient over the mean.
TEST_AGE, TEST_TEMPERATURE, TEST_SCATTER = 28, 293, 0.2
NOT_REACHED = "the surface content does not exceed the threshold: corrosion is not initiated by it"


def threshold_with(chlorides: Chlorides, background: float) -> float:
    """Return the threshold in kg/m³ with the background in it."""
    level = float(chlorides.threshold_content.m_as("kg/m**3"))
    return level if chlorides.all_chloride else level + background


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


def patch_forecasts(
    chlorides: Chlorides, found: Forecasts, settings: Forecast, about: PatchConcrete, placed: Sequence[PlacedConcrete] | None
) -> None:  # fmt: skip
    """One forecast for each concrete that patches take; where no published value holds for it, that is said of it by name."""
    limits = chlorides.inputs.chloride.zone_limits
    wanted = Limit(
        "horizon", "years wanted from now", settings.horizon, units.kind_of(units.Years), settings.source, "engineer"
    )
    title = "time until protection is lost"
    if placed is None:
        chlorides.not_covered("patches", title, wanted, "the concretes of the patches could not be computed")
        return
    for one in placed:
        item = f"patches of {one.name}"
        binder, why = binder_of(one.shares, one.portland)
        ranged = chloride.migration_coefficient.params["w_cm"].range
        assert ranged
        if one.w_cm is None:
            why = why or "its ratio of water to cementitious material is not known"
        elif binder and not float(ranged.low) * (1 - 1e-9) <= float(one.w_cm.m_as("")) <= float(ranged.high) * (
            1 + 1e-9
        ):
            why = f"the table has no value for its ratio of {chlorides.show(one.w_cm, units.Ratio)}"
        if binder is None or one.w_cm is None or why:
            chlorides.not_covered(
                item, title, wanted, f"no published diffusion coefficient for {one.name} ({', '.join(one.patches)}): {why}; its manufacturer's test, or one of its own"
            )  # fmt: skip
            continue
        made = patch_forecast(chlorides, found, settings, about, one, binder)
        if made is None:
            continue
        found.patches.append(made)
        if limits and made.at_horizon is not None:
            most = Limit(
                "zone_probability", "most probability that protection is lost at the horizon", limits.probability,
                units.kind_of(units.Share), limits.source, "engineer",
            )  # fmt: skip
            why = "more cover, a denser concrete, or a surface that keeps chloride out"
            chlorides.checks.append(
                Check(item, most.meaning.removeprefix("most "), quantity(made.at_horizon), most, "at most", why)
            )


def patch_forecast(
    chlorides: Chlorides, found: Forecasts, settings: Forecast, concrete: PatchConcrete, placed: PlacedConcrete, binder: Binder
) -> BarForecast | None:  # fmt: skip
    """Time and probability for bars in the patches of one concrete, under the surface content of the zone with most of it."""
    surfaces = [(one.C_s, one.cores) for one in found.zones.values() if one.exposure and one.C_s]
    if not surfaces:
        return None
    C_s, cores = max(surfaces, key=lambda pair: pair[0].mean)
    one = BarForecast(
        f"patch, {placed.name}", f"patches of {placed.name}",
        (f"patches of {placed.name}", f"patches of {placed.name}, the other convention of ageing"), cores,
    )  # fmt: skip
    D = chlorides.run(chloride.migration_coefficient, one.items[0], binder=binder, w_cm=placed.w_cm)
    warm = chlorides.run(
        chloride.temperature_factor, one.items[0], T=concrete.temperature, T_r=quantity(TEST_TEMPERATURE, "K"),
        b=concrete.temperature_constant,
    )  # fmt: skip
    C_T = threshold_with(chlorides, 0.0)
    exponent = chloride.ageing_law(binder)
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
            one.x, one.C_s, Law("fixed", 0.0), critical_distribution(settings.critical, chlorides.deck, C_T), one.D, exponent,
            TEST_AGE * DAY, concrete.convention, Law("normal", b, b_sd) if b_sd else Law("fixed", b),
            float(concrete.temperature.to("K").magnitude), float(TEST_TEMPERATURE),
            k_b=float(settings.obstruction.m_as("")),
        )  # fmt: skip
    except InputError as error:
        raise JobError([f"job.toml: chloride.patch_concrete: {error}"]) from None
    probabilities(settings, one, one.exposure, float(settings.horizon.m_as("yr")))
    chlorides.notes.append(
        f"The life of patches of {placed.name} is predicted from published values for {binder} at the w/c of the table that is next above its "
        f"own, found by a rapid test; ageing by the {concrete.convention} convention. Its exponents were found for the apparent one."
    )
    return one
