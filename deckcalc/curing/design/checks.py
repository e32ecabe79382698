"""Curing and opening, held against limits: drying, temperatures, opening, forms, curing, shrinkage."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from deckcalc import curing, patch
from deckcalc.base.fields import FULL, PARTIAL
from deckcalc.base.subject import Material, joined
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Quantity
from deckcalc.curing.design.evaporation import q, window
from deckcalc.curing.formulas import evaporation as drying
from deckcalc.curing.formulas import hydration, opening, placing
from deckcalc.curing.formulas.moist_curing import COUNTS_C
from deckcalc.curing.inputs.rows import celsius, clock

if TYPE_CHECKING:
    from deckcalc.curing.design import CuringSubject, Placing
    from deckcalc.job import Job


def age_run(subject: CuringSubject, item: str, T: Quantity, t: Quantity) -> Quantity:
    """Run the calculation of equivalent age that the job chooses."""
    choice = subject.choice
    assert choice
    if choice.maturity == "equivalent age":
        return subject.run(
            curing.equivalent_age, item, T=T, E_a=choice.activation_energy, T_r=choice.reference, t=t
        ).t_e
    return subject.run(curing.nurse_saul, item, T=T, T_0=choice.datum, T_r=choice.reference, t=t).t_e


def strength_run(subject: CuringSubject, item: str, t_e: Quantity) -> Quantity:
    """Run the strength of the chosen curve at an equivalent age."""
    fit = subject.fit
    if not subject.fits:
        return subject.run(
            curing.strength_aci209, item, t=t_e.to("d"), f_28=q(fit.f_28, "MPa"), a=q(fit.a / 24, "d"), b=q(fit.b, "")
        )
    a, b, *rest = fit.values
    if fit.curve == "hyperbolic":
        return subject.run(
            curing.strength_hyperbolic, item, t_e=t_e, S_u=q(a, "MPa"), k=q(b, "1/h"), t_0=q(rest[0], "h")
        ).S
    if fit.curve == "exponential":
        return subject.run(
            curing.strength_exponential, item, t_e=t_e, S_u=q(a, "MPa"), tau=q(b, "h"), a=q(rest[0], "")
        ).S
    return subject.run(curing.strength_logarithmic, item, t_e=t_e, a=q(a, "MPa"), b=q(b, "MPa")).S


def hold_temperatures(job: Job, subject: CuringSubject, one: Placing) -> None:
    """Air, old concrete, concrete as placed, and the temperatures of the first days, against limits."""
    item, temperature = one.name, units.kind_of(units.Temperature)
    hours = window(one)
    coldest = min(hours, key=lambda hour: celsius(hour.air)).air
    subject.checks += [
        Check(item, "lowest air temperature while placing", coldest, job.limit("air_least"), "at least", "heat, or wait"),
        Check(item, "temperature of the old concrete at the start", one.row.slab_temperature, job.limit("contact_least"),
              "at least", "warm the hole and its bars"),
        Check(item, "temperature of the concrete as placed", one.concrete, job.limit("concrete_most"), "at most",
              "cool the concrete"),
    ]  # fmt: skip
    least = subject.run(
        curing.least_placing_temperature, item, h=q(float(one.thickness.min()), "m"), tables_of=job.system
    )
    after = [hour for hour in one.air if one.row.start <= hour.time <= one.row.opening]
    if min(celsius(hour.air) for hour in after) <= celsius(job.limit("cold_weather").value):
        limit = Limit(
            "least_placed", "least temperature as placed in cold weather", least.T_least, temperature, placing.ACI306
        )
        subject.checks.append(
            Check(item, "cold weather: temperature as placed", one.concrete, limit, "at least", "heat the mixing water")
        )
    ran, to = one.temperatures, one.hours <= one.hour(one.row.opening) + 1e-9
    hottest = float(ran.hottest[to].max())
    apart = float((ran.hottest[to] - ran.surface[to]).max())
    subject.checks += [
        Check(item, "highest temperature in a patch, by the heat model", q(hottest, "degC"), job.limit("peak_temperature")),
        Check(item, "hottest point against surface, by the heat model", q(apart, "delta_degC"), job.limit("core_surface"),
              "at most", "insulate the surface"),
    ]  # fmt: skip
    kind = units.kind_of(units.TemperatureDifference)
    fall = Limit("fall", "greatest fall in 24 h for this thickness", least.Delta_24, kind, placing.ACI306)
    at = int(np.argmin(np.abs(one.hours - one.hour(one.row.opening))))
    air = float(
        np.interp(one.hours[at], [one.hour(hour.time) for hour in one.air], [celsius(hour.air) for hour in one.air])
    )
    over = float((ran.surface[at] - air).max())
    subject.checks += [
        Check(item, "greatest fall of the mean temperature in 24 h", q(steepest(one, to), "delta_degC"), fall, "at most",
              "a thicker cover, or cooler concrete"),
        Check(item, "surface above air when the cover comes off at the opening", q(max(over, 0.0), "delta_degC"),
              job.limit("removal_difference"), "at most", "take the cover off in steps"),
    ]  # fmt: skip
    freeze(job, subject, one, to)


def steepest(one: Placing, to: np.ndarray) -> float:
    """Return the greatest fall of the mean temperature over any 24 h, or over less where the record is shorter [K]."""
    mean = one.temperatures.mean[to]
    step = round(24 / (one.hours[1] - one.hours[0]))
    fall = 0.0
    for i in range(len(mean)):
        fall = max(fall, float((mean[i] - mean[i : i + step + 1].min(axis=0)).max()))
    return fall


def freeze(job: Job, subject: CuringSubject, one: Placing, to: np.ndarray) -> None:
    """Strength at the first frost in the patch, if there is one."""
    ran, limit = one.temperatures, job.limit("freeze_strength")
    safe = opening.reached(one.governing.hours, one.governing.low, float(limit.value.m_as("MPa")))
    until = "beyond the record" if safe is None else clock(one.moment(safe))
    protect = f"protect from frost until {until}, when the lower edge has {job.show(limit.value, units.Stress)}"
    cold = (ran.coldest[to] <= 0.0).any(axis=1)
    if not cold.any():
        subject.decisions[f"{one.name}: frost"] = (
            f"the heat model keeps every patch above freezing until the opening; {protect}"
        )
        return
    subject.decisions[f"{one.name}: frost"] = protect
    first = int(np.argmax(cold))
    band = one.bands[one.slowest]
    value = q(float(band.low[first]), "MPa")
    title = f"strength at the first frost in the patch, {one.moment(one.hours[first]):%H:%M}"
    subject.checks.append(Check(one.name, title, value, limit, "at least", "insulate or heat"))


def open_lane(job: Job, subject: CuringSubject, one: Placing) -> None:
    """Strength at the hour of opening, and when it is reached."""
    choice = subject.choice
    assert choice
    limit = job.limit("opening_strength")
    required = float(limit.value.m_as("MPa"))
    band, at = one.governing, one.hour(one.row.opening)
    age, low, mid, high = band.at(at)
    how = "measured history" if one.measured else "heat model"
    item = f"{one.name} at {clock(one.row.opening)}"
    warm = mean_temperature(one, at)
    age_run(subject, f"{one.name}, the hour before opening", q(warm, "degC"), q(1.0, "h"))
    strength_run(subject, item, q(age, "h"))
    title = f"strength at opening, lower edge of the band, by {how}"
    why = "keep the lane closed until the lower edge reaches what is required, or break cylinders cured with the patch"
    beyond = age < subject.fit.first * (1 - 1e-9) or age > subject.fit.last * (1 + 1e-9)
    subject.checks.append(
        Check(one.name, title, None if beyond else q(low, "MPa"), limit, "at least",
              "the equivalent age lies outside the ages of the cylinders; break some at that age" if beyond else why)
    )  # fmt: skip
    shown = [job.show(q(value, "MPa"), units.Stress) for value in (mid, low, high, required)]
    times = [opening.reached(band.hours, edge, required) for edge in (band.high, band.mid, band.low)]
    when = [clock(one.moment(t)) if t is not None else "not within the record" for t in times]
    word = opening.decide(low, mid, required)
    subject.decisions[f"{one.name}: opening"] = (
        f"at {clock(one.row.opening)}, by {how}: {shown[0]} expected, {shown[1]} to {shown[2]}; required {shown[3]} ({limit.source}): {word}. "
        f"The required strength is reached at {when[1]} by the expected value, at {when[2]} by the lower edge, which decides"
    )


def mean_temperature(one: Placing, hour: float) -> float:
    """Return the mean temperature of the hour before, measured or by the heat model [°C]."""
    if one.measured:
        since = [one.hour(reading.time) for reading in one.history]
        values = [celsius(reading.temperature) for reading in one.history]
        return float(np.mean(np.interp([hour - 1, hour], since, values)))
    return float(np.mean(np.interp([hour - 1, hour], one.hours, one.trace)))


def strip_forms(job: Job, subject: CuringSubject, one: Placing) -> None:
    """When the soffit form of a full-depth hole may come off."""
    share = job.limit("stripping_share")
    full = job.mix.for_depth(FULL)
    wanted = float((full.strength * share.value).m_as("MPa"))
    for i, item in enumerate(one.items):
        if not (one.full[i] and one.row.names):
            continue
        band = one.bands[i]
        time = opening.reached(band.hours, band.low, wanted)
        when = "not within the record: keep the form in place" if time is None else f"{clock(one.moment(time))}"
        subject.decisions[f"{one.name}: form of {item}"] = (
            f"soffit form needs {job.show(q(wanted, 'MPa'), units.Stress)} ({job.show(share.value, units.Share, 0)} of the specified "
            f"strength) at the lower edge of the band: {when}. A form that is still needed when the lane opens is still loaded: its designer "
            "says whether it may be"
        )


def cure(job: Job, subject: CuringSubject, one: Placing) -> None:
    """Duration of moist curing, compound and water."""
    choice = subject.choice
    assert choice
    names = one.row.names
    if not names:
        return
    after = [celsius(hour.air) for hour in one.air if hour.time >= one.row.end]
    warm = max(float(np.mean(after)), COUNTS_C)
    wanted = subject.run(curing.curing_duration, one.name, t_c=job.limit("curing_time").value, T=q(warm, "degC")).t
    until = q(one.hour(one.row.opening) / 24, "d")
    limit = Limit(
        "curing", "duration of moist curing", wanted, units.kind_of(units.Days), job.limit("curing_time").source
    )
    subject.checks.append(
        Check(one.name, "time from end of placing to opening, for moist curing", until, limit, "at least",
              "the lane opens before curing is over: agree with the owner how the rest is cured, or open later")
    )  # fmt: skip
    sides = [run.result for run in job.patch.runs_of(patch.patch_limits) if run.item in one.items]
    area, edge = (
        sum((side.A for side in sides[1:]), sides[0].A),
        sum((side.P_cut for side in sides[1:]), sides[0].P_cut),
    )
    subject.decisions[f"{one.name}: curing"] = (
        f"cover as soon as the surface bears fabric without marks, in wind or sun within minutes of finishing; keep wet {job.show(wanted, units.Days)} "
        f"in all; {job.show(until, units.Days)} of it fit before the opening"
    )
    spare = job.limit("waste")
    compound = subject.run(
        curing.curing_compound, one.name, A=area, P=edge, w=choice.edge_strip, q=job.limit("compound_coverage").value,
        n=choice.coats, q_w=spare.value,
    )  # fmt: skip
    each = lambda name: joined([getattr(hour, name) for hour in one.air if hour.time >= one.row.end])  # noqa: E731
    means = {name: each(name).mean() for name in ("air", "humidity", "wind")}
    rate = drying.rate(choice.evaporation, job.system, means["air"], means["air"], means["humidity"], means["wind"])
    water = subject.run(
        curing.wet_cure_water, one.name, A=compound.A_e, E=max(rate, 0 * rate), t=wanted, q_w=q(50, "percent")
    )
    subject.materials += [
        Material(f"Curing compound, {one.name}", job.show(compound.V, units.CompoundVolume),
                 f"{choice.coats.m_as(''):.0f} coats, {job.show(spare.value, units.Share, 0)} lost", "06 Curing and opening"),
        Material(f"Wet fabric and sheet, {one.name}", job.show(compound.A_e, units.Area, 1), "edges included; laps to be added",
                 "06 Curing and opening"),
        Material(f"Curing water, {one.name}", job.show(water.m, units.Mass, 0), "for uncovered fabric, half as much again",
                 "06 Curing and opening"),
    ]  # fmt: skip


def heat_given(job: Job, subject: CuringSubject, content: Quantity, ratio: Quantity) -> None:
    """Degree of hydration and adiabatic rise at the opening of the first placing, as a measure for the model."""
    choice = subject.choice
    assert choice
    cement = hydration.cement(choice.cement)
    one = subject.placings[0]
    age = one.bands[one.slowest].at(one.hour(one.row.opening))[0]
    made = subject.run(
        curing.degree_of_hydration, f"{one.name} at {clock(one.row.opening)}", t_e=q(age, "h"), tau=q(cement.tau / 3600, "h"),
        beta=q(cement.beta, ""), w_cm=ratio,
    )  # fmt: skip
    subject.run(
        curing.adiabatic_rise, f"{one.name} at {clock(one.row.opening)}", C=content, H_u=q(cement.heat / 1e3, "kJ/kg"),
        alpha=made.alpha, rho=job.head.deck.unit_weight, c_p=choice.heat.specific_heat,
    )  # fmt: skip


def shrink(job: Job, subject: CuringSubject) -> None:
    """Tension in the thinnest patch after four weeks of drying, against its tensile strength."""
    choice = subject.choice
    assert choice
    found = [(float(one.thickness.min()), one) for one in subject.placings if one.row.names]
    if not found:
        return
    thin, one = min(found, key=lambda pair: pair[0])
    item, given = f"thinnest patch of {one.name}", choice.shrinkage
    free = subject.run(
        curing.free_shrinkage, item, t=q(28, "d"), t_h=q(35, "d"), epsilon_u=given.ultimate, RH=given.humidity, h=q(thin, "m"),
        h_r=q(25.4 / 0.12, "mm"),
    )  # fmt: skip
    thin_mix = job.mix.for_depth(PARTIAL)
    f_c = thin_mix.strength
    SI = job.system == "SI"
    E_c = subject.run(curing.modulus_si if SI else curing.modulus_us, item, f_c=f_c)
    f_t = subject.run(curing.tensile_strength_si if SI else curing.tensile_strength_us, item, f_c=f_c)
    mean = one.temperatures.mean[:, int(np.argmin(one.thickness))]
    drop = max(float(mean.max()) - min(celsius(hour.air) for hour in one.air), 0.0)
    held = subject.run(
        curing.restrained_stress, item, epsilon=free.epsilon, alpha_T=given.expansion, Delta_T=q(drop, "delta_degC"),
        R=given.restraint, E_c=E_c, phi=given.creep,
    )  # fmt: skip
    limit = Limit(
        "tension",
        "tensile strength at the specified strength",
        f_t,
        units.kind_of(units.Stress),
        "estimate of this sheet",
    )
    subject.checks.append(
        Check(item, "tension by shrinkage and cooling after 28 d, an estimate", held.sigma, limit, "less than",
              "cracks or loss of bond are likely: cure longer, less water and paste, or a concrete that shrinks less")
    )  # fmt: skip


def notes(subject: CuringSubject) -> list[str]:
    """Simplifications and cautions of the sheet."""
    choice = subject.choice
    assert choice
    record = (
        f"Strength from the job's own cylinders ({choice.curve} curve); the band is that of one more test at "
        f"{100 * float(choice.confidence.m_as('')):.0f} % two-sided confidence, scatter of the cylinders alone: it knows nothing of a batch with other water."
        if subject.fits
        else "There are no cylinders: strength is a first estimate from print by type of cement, with a stated spread. It does not open a lane."
    )
    return [
        "An hour of opening on this sheet is a forecast. Before traffic is let on, the strength is confirmed by cylinders cured with the patch "
        "or by the measured temperature of the patch, as the owner's rules and the engineer in charge ask.",
        record,
        "Age counts from the end of placing for every patch. The lane opens when the lower edge of the band has reached the required strength. "
        "Opening strengths in print are mostly pavement values; the limit table says which.",
        "The heat model is one-dimensional: no heat leaves through the sides, so that small patches and edges run cooler in the cold and are "
        "behind the figures. One conductivity and heat capacity for old and new concrete; bars, radiation to a clear sky and rain are left out; "
        "half of the wind is taken to reach the soffit; the cover lies on from the end of placing.",
        "Evaporation uses the temperature of the concrete as placed; sun on the surface raises it.",
        f"All times are local, in the clock {choice.time_zone}.",
        "What cold bars and old concrete draw from a thin patch is in the heat model through the temperature of the slab, not for single bars.",
    ]
