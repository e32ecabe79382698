"""Curing and opening, checked against limits: temperatures, opening, forms, moist curing, shrinkage."""

from __future__ import annotations

import numpy as np

from deckcalc import curing
from deckcalc.base.subject import Material, joined
from deckcalc.base.work import PlacementRow
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.units import Quantity, quantity
from deckcalc.curing.design.covers import fabric
from deckcalc.curing.design.placings import Placing, Placings, Reached
from deckcalc.curing.design.strength import age_run, at_hour, strength_run
from deckcalc.curing.formulas import evaporation as drying
from deckcalc.curing.formulas import hydration, placing
from deckcalc.curing.formulas.moist_curing import COUNTS_C
from deckcalc.curing.inputs.rows import celsius, clock


def check_temperatures(placings: Placings, one: Placing) -> None:
    """Air, existing concrete, concrete as placed, and the temperatures of the first days, against limits."""
    item, temperature = one.item, units.kind_of(units.Temperature)
    hours = one.window
    coldest = min(hours, key=lambda hour: celsius(hour.air)).air
    placings.checks += [
        Check(item, "lowest air temperature while placing", coldest, placings.limit("air_least"), "at least", "heat, or wait"),
        Check(item, "temperature of the existing concrete at the start", one.row.slab_temperature, placings.limit("contact_least"),
              "at least", "warm the hole and its bars"),
        Check(item, "temperature of the concrete as placed", one.concrete, most_placed(placings, one), "at most",
              "cool the concrete"),
    ]  # fmt: skip
    least = placings.run(
        curing.least_placing_temperature, item, h=quantity(float(one.thickness.min()), "m"), form=placings.system
    )
    after = [hour for hour in one.air if one.row.start <= hour.time <= one.row.opening]
    given = [(hour.time, celsius(hour.air)) for hour in after]
    cold = placing.is_cold_weather(given, celsius(placings.limit("cold_weather").value), placings.choices.cold_weather)
    if cold:
        limit = Limit(
            "least_placed", "minimum temperature as placed in cold weather", least.T_least, temperature, placing.LEAST
        )
        placings.checks.append(
            Check(item, "cold weather: temperature as placed", one.concrete, limit, "at least", "heat the mixing water")
        )
    ran, to = one.temperatures, one.hours <= one.opening_hour + 1e-9
    hottest = float(ran.hottest[to].max())
    apart = float((ran.hottest[to] - ran.surface[to]).max())
    peak, core = "highest temperature in a patch, by the heat model", "hottest point against surface, by the heat model"
    if one.design.heat is None:
        why = f"nobody states the heat of {one.design.name}, and the model counts none; read thermometers in the patch"
        placings.not_covered(item, peak, placings.limit("peak_temperature"), why)
        placings.not_covered(item, core, placings.limit("core_surface"), why)
    else:
        placings.checks += [
            Check(item, peak, quantity(hottest, "degC"), placings.limit("peak_temperature")),
            Check(item, core, quantity(apart, "delta_degC"), placings.limit("core_surface"), "at most", "insulate the surface"),
        ]  # fmt: skip
    kind = units.kind_of(units.TemperatureDifference)
    fall = Limit("fall", "maximum temperature drop in 24 h for this thickness", least.Delta_24, kind, placing.DROP)
    at = int(np.argmin(np.abs(one.hours - one.opening_hour)))
    air = float(
        np.interp(one.hours[at], [one.hour(hour.time) for hour in one.air], [celsius(hour.air) for hour in one.air])
    )
    over = float((ran.surface[at] - air).max())
    placings.checks += [
        Check(item, "maximum drop of the mean temperature in 24 h", quantity(steepest(one, to), "delta_degC"), fall, "at most",
              "a thicker cover, or cooler concrete"),
        Check(item, "surface above air when the cover comes off at the opening", quantity(max(over, 0.0), "delta_degC"),
              placings.limit("removal_difference"), "at most", "take the cover off in steps"),
    ]  # fmt: skip
    frost(placings, one, to)


def most_placed(placings: Placings, one: Placing) -> Limit:
    """Return the maximum temperature as placed: that of the concrete, where its manufacturer or the engineer states one."""
    if one.design.concrete.placed_most is None:
        return placings.limit("concrete_most")
    return placings.concretes.placing_limits(one.design)[1]


def as_mixed(placings: Placings, one: Placing) -> None:
    """Check the temperature as placed that is stated against that of the fresh concrete by its materials."""
    mixed = one.design.temperature
    if one.patches and mixed is not None and one.row.concrete_temperature:
        apart = abs(celsius(one.concrete) - celsius(mixed))
        placings.checks.append(
            Check(one.item, "temperature as placed away from that as mixed", quantity(apart, "delta_degC"),
                  placings.limit("placed_from_mixed"),
                  why="the temperatures of the materials are of another day: state those of this placing, or leave the column empty")
        )  # fmt: skip


def steepest(one: Placing, to: np.ndarray) -> float:
    """Return the maximum drop of the mean temperature over any 24 h, or over less where the record is shorter [K]."""
    mean = one.temperatures.mean[to]
    step = round(24 / (one.hours[1] - one.hours[0]))
    fall = 0.0
    for i in range(len(mean)):
        fall = max(fall, float((mean[i] - mean[i : i + step + 1].min(axis=0)).max()))
    return fall


def frost(placings: Placings, one: Placing, to: np.ndarray) -> None:
    """Strength at the first frost in the patch, if there is one."""
    ran, limit = one.temperatures, placings.limit("freeze_strength")
    safe = Reached.by(one.governing, float(limit.value.m_as("MPa"))).sure
    until = "beyond the record" if safe is None else clock(one.moment(safe))
    if one.curve is None:
        until = "cylinders cured with it show it"
    protect = f"protect from frost until {until}, when the lower edge has {placings.show(limit.value, units.Stress)}"
    cold = (ran.coldest[to] <= 0.0).any(axis=1)
    if not cold.any():
        placings.decisions[f"{one.item}: frost"] = (
            f"the heat model keeps every patch above freezing until the opening; {protect}"
        )
        return
    placings.decisions[f"{one.item}: frost"] = protect
    first = int(np.argmax(cold))
    band = one.bands[one.slowest]
    value = None if one.curve is None else quantity(float(band.low[first]), "MPa")
    title = f"strength at the first frost in the patch, {one.moment(one.hours[first]):%H:%M}"
    placings.checks.append(Check(one.item, title, value, limit, "at least", "insulate or heat"))


def open_lane(placings: Placings, one: Placing) -> None:
    """Strength at the hour of opening, and when it is reached."""
    limit, at = placings.limit("opening_strength"), one.opening_hour
    now = at_hour(placings, one, at)
    one.opens = Reached.by(one.governing, placings.required)
    item = f"{one.item} at {clock(one.row.opening)}"
    warm = mean_temperature(one, at)
    age_run(placings, f"{one.item}, the hour before opening", quantity(warm, "degC"), quantity(1.0, "h"))
    if one.curve is not None:
        strength_run(placings, one.curve, item, quantity(now.age, "h"))
    title = f"strength at opening, lower edge of the band, by {one.source}"
    why = "keep the lane closed until the lower edge reaches what is required, or break cylinders cured with the patch"
    missing = unknown_strength(one, now.age)
    placings.checks.append(
        Check(one.item, title, None if missing else quantity(now.low, "MPa"), limit, "at least", missing or why)
    )
    if one.curve is None:
        placings.decisions[f"{one.item}: opening"] = (
            f"no hour is computed: {one.design.name} has no cylinders of its own and nobody states its strength by age, and the curve of another "
            f"concrete does not hold for it. The lane opens when cylinders cured with the patch have {placings.show(limit.value, units.Stress)} "
            f"({limit.source})"
        )
        return
    shown = [
        placings.show(quantity(value, "MPa"), units.Stress) for value in (now.mid, now.low, now.high, placings.required)
    ]
    expected, sure = (
        clock(one.moment(hour)) if hour is not None else "not within the record"
        for hour in (one.opens.expected, one.opens.sure)
    )
    placings.decisions[f"{one.item}: opening"] = (
        f"at {clock(one.row.opening)}, by {one.source} and {one.curve.rests_on} ({one.design.name}): {shown[0]} expected, {shown[1]} to {shown[2]}; required {shown[3]} ({limit.source}): {now.decision}. "
        f"The required strength is reached at {expected} by the expected value, at {sure} by the lower edge, which decides"
    )


def unknown_strength(one: Placing, age: float) -> str:
    """Return why there is no verdict on the strength of a placing at an equivalent age [h]; empty if there is one."""
    if one.curve is None:
        return "this concrete has no strength-maturity curve of its own; break cylinders cured with the patch"
    if one.curve.outside(age):
        return "the equivalent age lies outside the ages of the cylinders; break some at that age"
    if one.curve.estimated:
        return (
            f"a first estimate opens no lane ({one.curve.rests_on}); break cylinders cured with the patch, or measure its maturity by a curve "
            f"of {one.design.name}"
        )
    return ""


def mean_temperature(one: Placing, hour: float) -> float:
    """Return the mean temperature of the hour before, measured or by the heat model [°C]."""
    if one.measured:
        since = [one.hour(reading.time) for reading in one.history]
        values = [celsius(reading.temperature) for reading in one.history]
        return float(np.mean(np.interp([hour - 1, hour], since, values)))
    return float(np.mean(np.interp([hour - 1, hour], one.hours, one.trace)))


def strip_forms(placings: Placings, one: Placing) -> None:
    """When the soffit form of a full-depth hole may come off."""
    share = placings.limit("stripping_share")
    for i, item in enumerate(one.items):
        if not (one.full[i] and one.patches):
            continue
        wanted = float(placings.concretes.stripping[one.patches[i].name].m_as("MPa"))
        time = Reached.by(one.bands[i], wanted).sure
        when = "not within the record: keep the form in place" if time is None else f"{clock(one.moment(time))}"
        if not one.computed:
            when = "an estimate opens no lane and strips no form: cylinders cured with the patch show it"
        placings.decisions[f"{one.item}: form of {item}"] = (
            f"soffit form needs {placings.show(quantity(wanted, 'MPa'), units.Stress)} ({placings.show(share.value, units.Share, 0)} of the specified "
            f"strength) at the lower edge of the band: {when}. A form that is still needed when the lane opens is still loaded: its designer "
            "says whether it may be"
        )


def cure(placings: Placings, one: Placing) -> None:
    """Duration of moist curing, and its water."""
    choices = placings.choices
    if not one.patches:
        return
    after = [celsius(hour.air) for hour in one.air if hour.time >= one.row.end]
    warm = max(float(np.mean(after)), COUNTS_C)
    rule, own = placings.limit("curing_time"), one.design.concrete.moist
    if own is not None:
        rule = Limit("curing_time", rule.meaning, own, rule.kind, f"mix.concretes.{one.design.name}.moist", "engineer")
    one.moist = wanted = placings.run(curing.curing_duration, one.item, t_c=rule.value, T=quantity(warm, "degC")).t
    until = quantity(one.opening_hour / 24, "d")
    limit = Limit("curing", "duration of moist curing", wanted, units.kind_of(units.Days), rule.source)
    placings.checks.append(
        Check(one.item, "time from end of placing to opening, for moist curing", until, limit, "at least",
              "the lane opens before curing is over: agree with the owner how the rest is cured, or open later")
    )  # fmt: skip
    placings.decisions[f"{one.item}: curing"] = (
        f"cover as soon as the surface bears fabric without marks, in wind or sun within minutes of finishing; keep wet {placings.show(wanted, units.Days)} "
        f"in all; {placings.show(until, units.Days)} of it fit before the opening"
    )
    if not one.row.wet:
        return
    each = lambda name: joined([getattr(hour, name) for hour in one.air if hour.time >= one.row.end])  # noqa: E731
    means = {name: each(name).mean() for name in ("air", "humidity", "wind")}
    rate = drying.rate(
        choices.evaporation, placings.system, means["air"], means["air"], means["humidity"], means["wind"]
    )
    water = placings.run(
        curing.wet_cure_water,
        one.item,
        A=fabric(one.patches),
        E=max(rate, 0 * rate),
        t=wanted,
        q_w=quantity(50, "percent"),
    )
    placings.materials.append(
        Material(f"Curing water, {one.item}", placings.show(water.m, units.Mass, 0), "for uncovered fabric, half as much again",
                 "06 Curing and opening")
    )  # fmt: skip


def not_recorded(placings: Placings, row: PlacementRow, why: str) -> None:
    """Say of a placing that the record of the weather does not reach that nothing is computed of it."""
    placings.unrecorded[row.placement] = row
    placings.not_covered(
        f"placing {row.placement}",
        "drying, temperatures and strength at opening",
        placings.limit("opening_strength"),
        why,
    )


def heat_of_hydration(placings: Placings) -> None:
    """Degree of hydration and adiabatic rise at the opening of the first placing of every concrete, as a measure for the model."""
    seen = set()
    for one in placings:
        concrete = one.design
        if concrete.name in seen or concrete.heat is None:
            continue
        seen.add(concrete.name)
        item, cement = f"{one.item} at {clock(one.row.opening)}", hydration.cement(concrete.heat.cement)
        age = one.bands[one.slowest].at(one.opening_hour)[0]
        made = placings.run(
            curing.degree_of_hydration, item, t_e=quantity(age, "h"), tau=quantity(cement.tau / 3600, "h"),
            beta=quantity(cement.beta), w_cm=concrete.heat.w_cm,
        )  # fmt: skip
        placings.run(
            curing.adiabatic_rise, item, C=concrete.heat.content, H_u=quantity(cement.heat / 1e3, "kJ/kg"),
            alpha=made.alpha, rho=concrete.density, c_p=placings.choices.heat.specific_heat,
        )  # fmt: skip


def shrink(placings: Placings) -> None:
    """Tension in the thinnest patch after four weeks of drying, against its tensile strength."""
    choices = placings.choices
    found = [(float(one.thickness.min()), one) for one in placings if one.patches]
    if not found:
        return
    thin, one = min(found, key=lambda pair: pair[0])
    item, given = f"thinnest patch of {one.item}", choices.shrinkage
    restraint = degree_of_restraint(placings, item, thin)
    free = placings.run(
        curing.free_shrinkage, item, t=quantity(28, "d"), t_h=quantity(35, "d"), epsilon_u=given.ultimate, RH=given.humidity, h=quantity(thin, "m"),
        h_r=quantity(25.4 / 0.12, "mm"),
    )  # fmt: skip
    f_c = one.design.strength
    E_c = placings.run(curing.modulus.form(placings.system), item, f_c=f_c)
    f_t = placings.run(curing.tensile_strength.form(placings.system), item, f_c=f_c)
    mean = one.temperatures.mean[:, int(np.argmin(one.thickness))]
    drop = max(float(mean.max()) - min(celsius(hour.air) for hour in one.air), 0.0)
    tension = placings.run(
        curing.restrained_stress, item, epsilon=free.epsilon, alpha_T=given.expansion, Delta_T=quantity(drop, "delta_degC"),
        R=restraint, E_c=E_c, phi=given.creep,
    )  # fmt: skip
    limit = Limit(
        "tension",
        "tensile strength at the specified strength",
        f_t,
        units.kind_of(units.Stress),
        "estimate of this sheet",
    )
    placings.checks.append(
        Check(item, "tension by shrinkage and cooling after 28 d, an estimate", tension.sigma, limit, "less than",
              "cracks or loss of bond are likely: cure longer, less water and paste, or a concrete that shrinks less")
    )  # fmt: skip


def degree_of_restraint(placings: Placings, item: str, thickness: float) -> Quantity:
    """Return the degree of restraint: as the engineer states it, checked against the stiffness of the slab, or that itself."""
    stated, slab = placings.choices.shrinkage.restraint, float(placings.deck.slab_thickness.m_as("m"))
    if thickness > 0.95 * slab:  # nothing is left under it: its edges hold it
        return quantity(1.0) if stated is None else stated
    found = placings.run(
        curing.restraint, item, h=quantity(thickness, "m"), h_o=quantity(slab - thickness, "m"), n=quantity(1.0)
    )
    if stated is None:
        return found
    least = Limit(
        "restraint",
        "degree of restraint by the slab left under it",
        found,
        units.kind_of(units.Ratio),
        "estimate of this sheet",
    )
    placings.checks.append(
        Check(item, "degree of restraint as stated", stated, least, "at least",
              "the slab holds the patch more than is stated: leave the entry out, or say why it yields")
    )  # fmt: skip
    return stated


def notes(placings: Placings) -> list[str]:
    """Simplifications and cautions of the sheet."""
    choices = placings.choices
    record = (
        f"Strength from the cylinders of each concrete ({choices.curve} curve); the band is that of one more test at "
        f"{100 * float(choices.confidence.m_as('')):.0f} % two-sided confidence, scatter of the cylinders alone: a batch with a different water content is not covered."
        if placings.inputs.cylinders
        else "There are no cylinders."
    )
    guessed = {one.design.name: one.curve.rests_on for one in placings if one.curve and one.curve.estimated}
    if guessed:
        said = "; ".join(f"{name}: {words}" for name, words in guessed.items())
        record += f" Strength is a first estimate with a stated spread where a concrete has none ({said}). It does not open a lane."
    cool = list(dict.fromkeys(one.design.name for one in placings if one.design.heat is None))
    if cool:
        record += (
            f" The heat of {', '.join(cool)} is not known and counted as zero: the patch is cooler in the model than on the deck, which is the "
            "safe side for its strength; its highest temperature is not covered."
        )
    return [
        "An hour of opening on this sheet is a forecast. Before traffic is let on, the strength is confirmed by cylinders cured with the patch "
        "or by the measured temperature of the patch, as the owner's rules and the engineer in charge ask.",
        record,
        "Age counts from the end of placing for every patch. The lane opens when the lower edge of the band has reached the required strength. "
        "Opening strengths in print are mostly pavement values; the limit table says which.",
        "The heat model is one-dimensional: no heat leaves through the sides, so that small patches and edges run cooler in the cold and are "
        "behind the figures. One conductivity and heat capacity for existing and new concrete, by the density of the fresh concrete; bars, radiation to a clear sky and rain are left out; "
        "half of the wind is taken to reach the soffit; the cover lies on from the end of placing.",
        "Evaporation uses the temperature of the concrete as placed; sun on the surface raises it.",
        f"All times are local{f', in the clock of {placings.work.zone.key}' if placings.work.zone else ''}.",
        "What cold bars and existing concrete draw from a thin patch is in the heat model through the temperature of the slab, not for single bars.",
    ]
