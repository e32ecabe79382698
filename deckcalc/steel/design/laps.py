"""Bars to add, their laps by the code that the job names, and what they need of the patch."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast

from deckcalc.base.subject import Material
from deckcalc.core import units
from deckcalc.core.bars import bar_area, bar_diameter
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError, Length, Quantity, Stress, System, quantity
from deckcalc.core.words import how_many
from deckcalc.steel.design.results import BarDesign, Growth, Steel
from deckcalc.steel.design.strengths import old_yield
from deckcalc.steel.formulas.bars import clear_spacing, confinement, supplement
from deckcalc.steel.formulas.development_changes import placement_aashto
from deckcalc.steel.formulas.laps_aashto_ec2 import (
    development_aashto,
    development_aashto_7,
    development_aashto_10,
    lap_ec2,
    tension_ec2,
)
from deckcalc.steel.formulas.laps_aci import (
    LEAST_LENGTH,
    development_aci,
    development_aci_simple,
    lap_length,
    simple_case,
)
from deckcalc.steel.formulas.splices import added_bar, coupler_force
from deckcalc.steel.inputs import Reinforcement


def add_bars(steel: Steel, bar: BarDesign) -> None:
    """Bars that put back what a bar has lost, and their laps."""
    how, row = steel.inputs.reinforcement, bar.row
    bar.size = how.added_bar if how else row.size
    lost = bar.loss * steel.sound_area(row.size)
    bar.supplement = found = steel.run(supplement, bar.item, A_lost=lost, A_b=bar_area(bar.size))
    count = int(found.n.magnitude)
    rule = steel.rules["single" if bar.over else "adjacent"]
    words = f"{rule.action}: add {how_many(count, 'bar')} {bar.size} for {bar.why}"
    why = no_lap(steel, bar, how)
    if why:
        steel.decisions[bar.item] = f"{words}; laps: {why}"
        steel.materials.append(
            Material(
                f"Supplementary bars {bar.size}",
                f"{count} pieces",
                "length with laps by the engineer",
                "02 Reinforcement",
            )
        )
        return
    assert how
    bar.lap = lap = lap_of(steel, bar, how)
    if row.loss_length is None:
        steel.decisions[bar.item] = f"{words}; measure the length of the loss, the bar is that and two laps long"
        return
    marked = steel.patches[row.patch].limits
    bar.patch_length = marked.B if bar.main else marked.L
    lap_item = f"{bar.item}, lap"
    bar.added = added = steel.run(
        added_bar, lap_item, L_loss=row.loss_length, l_lap=lap, c_end=how.end_cover, L_patch=bar.patch_length
    )
    force = steel.run(coupler_force, lap_item, A_b=steel.sound_area(row.size), f_y=old_yield(steel))
    bar.cut = cut_length(added.L_bar, steel.system)
    if added.L_grow.magnitude > 0:
        steel.growth[row.patch] = steel.growth.get(row.patch, Growth()).with_lap(bar.main, added.L_grow)
    shown = steel.show(bar.cut, Length)
    steel.decisions[bar.item] = (
        f"{words}, each cut to {shown} with laps of {steel.show(lap, Length)} on sound bar (concrete of "
        f"{steel.show(bar.lap_strength, Stress)}); or a coupler or weld for "
        f"{steel.show(force, units.Force)}"
    )
    steel.materials.append(
        Material(f"Bars {bar.size}, {steel.show(how.added_yield, Stress)}, {how.added_coating}", f"{count} × {shown}",
                 "laps included, no spare", "02 Reinforcement")
    )  # fmt: skip


def no_lap(steel: Steel, bar: BarDesign, how: Reinforcement | None) -> str:
    """Return why no lap is worked out for a bar: what the job does not say; empty where it says all."""
    lacks = [
        words for words, there in (
            ("the section [reinforcement]", how), ("the patch in which it lies", bar.row.patch in steel.patches),
            ("a concrete of that patch", steel.concretes.each),
        ) if not there
    ]  # fmt: skip
    return f"not worked out, the job does not give {' and '.join(lacks)}" if lacks else ""


def cut_length(length: Quantity, system: System) -> Quantity:
    """Return the length to which a bar is cut: rounded up to 10 mm or half an inch.

    Examples
    --------
    >>> f"{cut_length(quantity(921.0, 'mm'), 'SI'):~P}, {cut_length(quantity(36.1, 'in'), 'US'):~P}"
    '930.0 mm, 36.5 in'
    """
    step, unit = (0.5, "in") if system == "US" else (10.0, "mm")
    return quantity(step * math.ceil(length.m_as(unit) / step - 1e-9), unit)


@dataclass(frozen=True)
class Surroundings:
    """What lies about a bar that is developed: cover, clear spacing, strength of the concrete."""

    cover: Quantity
    space: Quantity
    f_c: Quantity


def lap_of(steel: Steel, bar: BarDesign, how: Reinforcement) -> Quantity:
    """Lap of the added bar on the old one: for the strength at which the lane opens, or the specified one if that is lower."""
    item, patch = bar.item, steel.patches[bar.row.patch]
    new, old = bar_diameter(how.added_bar), bar_diameter(bar.row.size)
    concrete = steel.concretes.of(patch.name, patch.depth_class)
    room = steel.run(
        clear_spacing, item, s=steel.deck.bar_spacing, d_old=old, d_b=new, D_max=concrete.nominal_size,
        c_code=steel.limit("bar_clear").value,
    )  # fmt: skip
    least = Limit(
        "bar_clear",
        "minimum clear space between bars",
        room.c_least,
        units.kind_of(Length),
        Cite("cc-bar-spacing", "answer"),
    )
    steel.checks.append(
        Check(
            item,
            "clear space beside the added bar",
            room.c_bars,
            least,
            "at least",
            "use a thinner bar, or couple",
        )
    )
    bar.lap_strength = min(concrete.strength, steel.opening_strength(patch.name))
    about = Surroundings(patch.marked.least_cover, room.c_bars, bar.lap_strength)
    bar.lap_specified = specified_lap(steel, bar, how, Surroundings(about.cover, about.space, concrete.strength))
    bar.items += [*lap_items(steel, bar, how), f"{item}, lap"]
    return lap_at(steel, bar, how, about, steel.run)


def specified_lap(steel: Steel, bar: BarDesign, how: Reinforcement, about: Surroundings) -> Quantity | None:
    """Lap at the specified strength, for comparison; None where the code does not reach to it."""
    try:
        return lap_at(steel, bar, how, about, lambda calculation, _, **given: calculation(**given))
    except InputError:
        return None


def lap_items(steel: Steel, bar: BarDesign, how: Reinforcement) -> list[str]:
    """Return what the runs of the two bars of a lap are called; EN 1992-1-1 looks at the added bar alone."""
    if steel.inputs.lap_code == "EN 1992-1-1":
        return []
    return [f"{bar.item}, added bar {how.added_bar}", f"{bar.item}, existing bar {bar.row.size}"]


def lap_at(steel: Steel, bar: BarDesign, how: Reinforcement, about: Surroundings, run: Callable[..., Any]) -> Quantity:
    """Lap that a bar needs in concrete of a given strength, by the code of the laps.

    Parameters
    ----------
    steel, bar, how
        The reinforcement, the bar that is supplemented, and the section of the job.
    about : Surroundings
        Cover and clear spacing of the bar, and the strength that the concrete has when the bar must carry.
    run : callable
        Takes a calculation, the name of the item and the arguments, and gives the result: `steel.run` puts it on the sheet.
    """
    code, last = steel.inputs.lap_code, f"{bar.item}, lap"
    new, old = bar_diameter(how.added_bar), bar_diameter(bar.row.size)
    if code == "EN 1992-1-1":
        f_ctk = run(tension_ec2, bar.item, f_ck=about.f_c)
        found = run(
            lap_ec2, last, d_b=new, sigma_sd=how.added_yield / 1.15, f_ctk=f_ctk, gamma_c=quantity(1.5), bond="good",
            alpha=quantity(1.0), alpha_6=how.alpha_6,
        )  # fmt: skip
        return cast("Quantity", found.l_0)
    added, sound = lap_items(steel, bar, how)
    first = developed(run, steel, added, new, how.added_yield, bar_area(how.added_bar), how.added_coating, about)
    second = developed(run, steel, sound, old, old_yield(steel), steel.sound_area(bar.row.size), "uncoated", about)
    minimum = LEAST_LENGTH["US" if steel.form == "US" or code.startswith("AASHTO") else "SI"]
    found = run(
        lap_length, last, l_1=first.l_calc, l_2=second.l_d, d_b=max(new, old), lap_class=how.lap_class,
        l_min=units.read(minimum, Length),
    )  # fmt: skip
    return cast("Quantity", found.l_lap)


def developed(
    run: Callable[..., Any], steel: Steel, item: str, d_b: Quantity, f_y: Quantity, area: Quantity, coating: str,
    about: Surroundings,
) -> Any:  # fmt: skip
    """Development length of one bar by the code of the laps; the slab is the most fresh concrete that can lie below it."""
    code, deck, cover, space, lamb = steel.inputs.lap_code, steel.deck, about.cover, about.space, quantity(1.0)
    given = {"d_b": d_b, "f_y": f_y, "f_c": about.f_c}
    placed = {"h_below": deck.slab_thickness, "coating": coating, "c_c": cover, "c_s": space}
    if code == "ACI 318 simplified":
        case = simple_case(cover, space, d_b)
        return run(development_aci_simple, item, **given, case=case, **placed, lamb=lamb, form=steel.system)
    c_b = run(confinement, item, c_c=cover, d_b=d_b, s=deck.bar_spacing).c_b
    if code == "ACI 318 general":
        return run(
            development_aci, item, **given, c_b=c_b, A_tr=quantity(0.0, "mm²"), s_tr=deck.bar_spacing, n_b=quantity(1.0),
            **placed, lamb=lamb, form=steel.form,
        )  # fmt: skip
    edition = code.removeprefix("AASHTO LRFD ")
    k_te = run(placement_aashto, item, **placed, d_b=d_b, f_c=about.f_c, edition=edition).k_te
    if edition == "7th":
        return run(development_aashto_7, item, **given, A_b=area, k_te=k_te)
    calculation = development_aashto_10 if edition == "10th" else development_aashto
    return run(calculation, item, **given, c_b=c_b, k_te=k_te, lamb=lamb)


def grow(steel: Steel) -> None:
    """Say how far patches must grow for the laps."""
    for patch, growth in steel.growth.items():
        steel.decisions[f"patch {patch}"] = (
            f"must grow {growth.words(steel.system)} for the laps of the added bars, in all, so that each "
            f"end has its lap on sound bar; enter it as marking.longer.{patch} so that limits and volumes follow, or use couplers"
        )
