"""Chlorides: profiles fitted, time to corrosion, and its probability, for the deck as found and for the patches."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc import chloride
from deckcalc.base.fields import JobError
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.fit import Fits, Profiles, fit_profiles
from deckcalc.chloride.formulas.probability import Exposure, FirstOrder, Sampled, first_order, sample
from deckcalc.chloride.inputs import critical_law
from deckcalc.core import units
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError, registry
from deckcalc.steel import bar_diameter

if TYPE_CHECKING:
    from deckcalc.chloride.design import Chlorides
    from deckcalc.job import Job

YEAR = 31_557_600.0
SURFACES = ("constant", "linear", "root")
#: Iron: molar mass, electrons, constant of Faraday, density.
IRON = {"M": (55.845, "g/mol"), "n_e": (2, ""), "F": (96485.3, "C/mol"), "rho_s": (7.87, "g/cm**3")}


@dataclass
class ZoneForecast:
    """What a zone, or the patches, will do.

    Attributes
    ----------
    name : str
    cores : list of str
        Cores whose fits enter.
    D, C_s, x : Law
        Diffusion coefficient, surface content and cover, in coherent SI.
    t_i : dict of float
        Years to initiation by the history of the surface, counted from the start of exposure.
    exposure : Exposure or None
    sampled : Sampled or None
    order : FirstOrder or None
    at_horizon : float or None
        Probability that protection is lost at the horizon.
    now : float
        Age now, in years (nil for a patch).
    why : str
        Why there is no forecast.
    """

    name: str
    cores: list[str] = field(default_factory=list)
    D: Any = None
    C_s: Any = None
    x: Any = None
    t_i: dict[str, float] = field(default_factory=dict)
    exposure: Exposure | None = None
    sampled: Sampled | None = None
    order: FirstOrder | None = None
    at_horizon: float | None = None
    now: float = 0.0
    why: str = ""


@dataclass
class Forecasts:
    """Fits of all cores, and what follows from them.

    Attributes
    ----------
    names : list of str
        Cores in the order of the fits.
    fits : dict of Fits
        By history of the surface; constant is the one that is used.
    profiles : Profiles
    zones : dict of ZoneForecast
    patch : ZoneForecast or None
    """

    names: list[str]
    fits: dict[str, Fits]
    profiles: Profiles
    zones: dict[str, ZoneForecast] = field(default_factory=dict)
    patch: ZoneForecast | None = None


def profiles_of(job: Job, subject: Chlorides) -> Profiles:
    """Return all cores as arrays; slices in the surface layer are left out of the fit."""
    setting = job.head.chloride.profile
    assert setting
    cores = list(subject.cores.values())
    shape = len(cores), max(len(core.slices) for core in cores)
    upper, lower, content = (np.zeros(shape) for _ in range(3))
    used = np.zeros(shape, bool)
    for i, core in enumerate(cores):
        for j, row in enumerate(core.slices):
            upper[i, j], lower[i, j] = row.upper.m_as("m"), row.lower.m_as("m")
            content[i, j] = core.contents[j].m_as("kg/m**3")
            used[i, j] = upper[i, j] >= setting.surface_layer.m_as("m") * (1 - 1e-9)
    return Profiles(upper, lower, content, used, np.full(len(cores), setting.age.m_as("s")))


def carry(job: Job, subject: Chlorides) -> Forecasts:
    """Fit all profiles in one call, then look ahead for every zone and for the patches."""
    setting, forecast = job.head.chloride.profile, job.head.chloride.forecast
    assert setting
    profiles = profiles_of(job, subject)
    cores = list(subject.cores.values())
    background = np.full(len(cores), subject.background.m_as("kg/m**3")) if setting.background == "known" else None
    refused = ["the core stands on a crack" if core.row.crack == "yes" else "" for core in cores]
    fits = {
        name: fit_profiles(profiles, background, name, setting.slices == "integrated", refused)  # type: ignore[arg-type]
        for name in SURFACES
    }
    found = Forecasts(list(subject.cores), fits, profiles)
    at_bars(job, subject, found)
    subject.cites += [
        Cite("fdot-ba502", "p. 10, least squares on profiles"), Cite("schoefs-2023", "abstract: scatter of 15 %"),
    ]  # fmt: skip
    subject.notes += [
        "The fit gives an apparent diffusion coefficient for the years that the deck has had; it is taken to hold for the years "
        "ahead. Slices of the surface layer are left out, where washing, drying and carbonation have changed the content.",
    ]
    if forecast:
        for zone in subject.zones:
            found.zones[zone.name] = look_ahead(job, subject, found, zone.name)
        made = [one for one in found.zones.values() if one.exposure]
        if job.head.chloride.patch_concrete and made:
            found.patch = patch_ahead(job, subject, max(made, key=lambda one: one.C_s.mean))
        subject.notes += [
            "Probabilities are those of the models and scatters stated, not of the deck: variables are taken as independent, "
            "the scatter of fitted coefficients is between cores and not within the zone, and spread over an area is not "
            "counted. Loss of protection is not yet damage.",
        ]
        subject.cites.append(Cite("hasofer-lind-1974", "index of first order", "memory"))
        if found.patch:
            subject.cites.append(Cite("fib-34", "Annex B2, ageing exponents", "memory"))
    return found


def at_bars(job: Job, subject: Chlorides, found: Forecasts) -> None:
    """Work out the fitted content at the bars of every core that could be fitted."""
    q, fits, setting = registry().Quantity, found.fits["constant"], job.head.chloride.profile
    assert setting
    for i, name in enumerate(found.names):
        if fits.why[i]:
            continue
        subject.run(
            chloride.face_content, f"fit of core {name}", x=subject.cores[name].row.bar_depth, t=setting.age,
            D=q(fits.D[i], "m**2/s"), C_s=q(fits.C_s[i], "kg/m**3"), C_0=q(fits.C_0[i], "kg/m**3"),
        )  # fmt: skip


def law_of(values: Any, name: str = "lognormal") -> Law:
    """Return a law by mean and standard deviation of values; one that is fixed where there is only one."""
    values = np.asarray(values, float)
    sd = float(values.std(ddof=1)) if len(values) > 1 else 0.0
    return Law(name, float(values.mean()), sd) if sd > 0 else Law("fixed", float(values.mean()))  # type: ignore[arg-type]


def threshold_plain(subject: Chlorides, background: float, all_chloride: bool) -> float:
    """Return the threshold in kg/m³ counted with the background."""
    level = float(subject.threshold_content.m_as("kg/m**3"))
    return level if all_chloride else level + background


def look_ahead(job: Job, subject: Chlorides, found: Forecasts, name: str) -> ZoneForecast:
    """Time and probability for a zone of the deck as found."""
    choice = job.head.chloride
    setting, ahead = choice.profile, choice.forecast
    assert setting and ahead
    one = ZoneForecast(name, now=float(setting.age.m_as("yr")))
    fits = found.fits["constant"]
    mine = [i for i, core in enumerate(found.names) if subject.cores[core].zone == name and not fits.why[i]]
    if not mine:
        one.why = "no core of the zone could be fitted"
        return one
    one.cores = [found.names[i] for i in mine]
    one.D, one.C_s = law_of(fits.D[mine]), law_of(fits.C_s[mine])
    measured = subject.survey.covers.get(name)
    one.x = measured.law() if measured else law_of([c.row.bar_depth.m_as("m") for c in subject.in_zone(name)], "normal")
    C_0 = float(np.mean(fits.C_0[mine]))
    all_chloride = choice.counts == "all chloride"
    C_T = threshold_plain(subject, C_0, all_chloride)
    if not C_0 < C_T < one.C_s.mean:
        one.why = (
            "the surface content does not exceed the threshold: corrosion is not initiated by it" if one.C_s.mean <= C_T
            else "the background alone reaches the threshold"
        )  # fmt: skip
    else:
        times(job, subject, found, one, mine, C_0, C_T)
    critical = critical_law(ahead.critical, job.head.deck)
    if not all_chloride:
        critical = Law(critical.name, critical.mean + C_0, critical.sd, critical.low + C_0, critical.high + C_0)
    one.exposure = Exposure(
        one.x, one.C_s, Law("fixed", C_0), critical, one.D, Law("fixed", float(ahead.ageing.m_as(""))), one.now * YEAR,
        "apparent", k_cr=float(ahead.cracks.m_as("")), k_b=float(ahead.obstruction.m_as("")),
    )  # fmt: skip
    chances(job, one, one.now + float(ahead.horizon.m_as("yr")))
    return one


def times(
    job: Job, subject: Chlorides, found: Forecasts, one: ZoneForecast, mine: list[int], C_0: float, C_T: float
) -> None:
    """Work out by hand when the bars of a zone lose protection and when their cover cracks, at the means."""
    q, ahead, setting = registry().Quantity, job.head.chloride.forecast, job.head.chloride.profile
    assert ahead and setting
    item = f"zone {one.name}"
    content = {"C_s": q(one.C_s.mean, "kg/m**3"), "C_0": q(C_0, "kg/m**3"), "C_T": q(C_T, "kg/m**3")}
    x, D = q(one.x.mean, "m"), q(one.D.mean, "m**2/s")
    steady = subject.run(
        chloride.time_to_initiation, item, x=x, D=D, **content, k_T=q(1, ""), k_cr=ahead.cracks, k_b=ahead.obstruction
    )
    aged = subject.run(chloride.apparent_ageing, item, t_1=steady.t_1, t_r=setting.age, m=ahead.ageing)
    one.t_i["constant"] = float(aged.t_i.m_as("yr"))
    v = subject.run(
        chloride.corrosion_rate, item, i_corr=ahead.current, **{key: q(*value) for key, value in IRON.items()}
    )
    crack = subject.run(
        chloride.penetration_to_crack, item, c=x, d_b=bar_diameter(job.head.deck.top_bar_outer), r_L=ahead.length_ratio
    )
    subject.run(chloride.time_to_cracking, item, t_i=aged.t_i, x_cr=crack.x_cr, v=v)
    corner = subject.run(chloride.time_to_initiation_corner, f"{item}, edge", x=ahead.edge_cover, D=D, **content)
    subject.run(
        chloride.corner_content, f"{item}, edge", x=ahead.edge_cover, y=ahead.edge_cover, t=setting.age, D=D,
        C_s=content["C_s"], C_0=content["C_0"],
    )  # fmt: skip
    one.t_i["edge"] = float(corner.t_1.m_as("yr"))
    for surface, calculation in (("linear", chloride.content_linear_surface), ("root", chloride.content_root_surface)):
        fits = found.fits[surface]
        good = [i for i in mine if not fits.why[i]]
        if not good:
            continue
        D_s, C_a = float(np.mean(fits.D[good])), float(np.mean(fits.C_s[good]))
        t = chloride.growing_time(one.x.mean, D_s, C_a, one.now * YEAR, C_0, C_T, surface)  # type: ignore[arg-type]
        one.t_i[surface] = t / YEAR
        subject.run(
            calculation, f"{item}, growing surface", x=x, t=q(t, "s").to("yr"), D=q(D_s, "m**2/s"), C_a=q(C_a, "kg/m**3"),
            t_a=setting.age, C_0=content["C_0"],
        )  # fmt: skip


def chances(job: Job, one: ZoneForecast, horizon: float) -> None:
    """Sample the time to initiation, and find the index of first order at the horizon."""
    ahead = job.head.chloride.forecast
    assert ahead and one.exposure
    ages = sorted({*np.linspace(horizon / 40, horizon, 40), horizon, *([one.now] if one.now else [])})
    one.sampled = sample(one.exposure, np.array(ages) * YEAR, ahead.samples, ahead.seed)
    one.at_horizon = float(one.sampled.share[-1])
    try:
        one.order = first_order(one.exposure, horizon * YEAR)
    except InputError:
        one.order = None


def patch_ahead(job: Job, subject: Chlorides, worst: ZoneForecast) -> ZoneForecast:
    """Time and probability for bars in the patches, under the surface content of the zone with most of it."""
    q, choice = registry().Quantity, job.head.chloride
    made, ahead = choice.patch_concrete, choice.forecast
    assert made and ahead
    one = ZoneForecast("patch", worst.cores)
    D = subject.run(chloride.migration_coefficient, "patch", binder=made.binder, w_c=made.w_c)
    warm = subject.run(
        chloride.temperature_factor, "patch", T=made.temperature, T_r=q(293, "K"), b=made.temperature_constant
    )
    C_T = threshold_plain(subject, 0.0, choice.counts == "all chloride")
    exponent = chloride.ageing_law(made.binder)
    if worst.C_s.mean > C_T:
        steady = subject.run(
            chloride.time_to_initiation, "patch", x=made.cover, D=D, C_s=q(worst.C_s.mean, "kg/m**3"), C_0=q(0.0, "kg/m**3"),
            C_T=q(C_T, "kg/m**3"), k_T=warm.k_T, k_cr=q(1, ""), k_b=ahead.obstruction,
        )  # fmt: skip
        given = {"t_1": steady.t_1, "t_r": q(28, "day"), "m": q(exponent.mean, "")}
        for convention, calculation in (
            ("apparent", chloride.apparent_ageing), ("time-integrated", chloride.integrated_ageing)
        ):  # fmt: skip
            item = "patch" if convention == made.convention else "patch, the other convention of ageing"
            aged = subject.run(calculation, item, **given)
            one.t_i[convention] = float(aged.t_i.m_as("yr"))
    else:
        one.why = "the surface content does not exceed the threshold: corrosion is not initiated by it"
    mean = float(D.m_as("m**2/s"))
    one.x = Law("normal", float(made.cover.m_as("m")), float(made.cover_sd.m_as("m")))
    one.C_s, one.D = worst.C_s, Law("normal", mean, 0.2 * mean)
    b, b_sd = float(made.temperature_constant.m_as("K")), float(made.temperature_constant_sd.m_as("K"))
    try:
        one.exposure = Exposure(
            one.x, one.C_s, Law("fixed", 0.0), critical_law(ahead.critical, job.head.deck), one.D, exponent, 28 * 86400.0,
            made.convention, Law("normal", b, b_sd) if b_sd else Law("fixed", b), float(made.temperature.to("K").magnitude),
            293.0, k_b=float(ahead.obstruction.m_as("")),
        )  # fmt: skip
    except InputError as error:
        raise JobError([f"job.toml: chloride.patch_concrete: {error}"]) from None
    chances(job, one, float(ahead.horizon.m_as("yr")))
    subject.notes.append(
        f"The patch concrete is foreseen from published values for {made.binder} at w/c {made.w_c}, found by a rapid test; "
        f"ageing by the {made.convention} convention. Its exponents were found for the apparent one."
    )
    return one


def kinds() -> dict[str, Any]:
    """Return the kind of each variable of a forecast, for tables."""
    return {"x": units.Length, "C_s": units.ChlorideContent, "C_0": units.ChlorideContent, "C_T": units.ChlorideContent,
            "D": units.Diffusion, "m": units.Ratio, "b": units.TemperatureConstant}  # fmt: skip
