"""Bars to add, their laps by the code that the job names, and what they need of the patch."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from deckcalc import patch as patches
from deckcalc import steel
from deckcalc.base.subject import Material
from deckcalc.core import units
from deckcalc.core.check import Check, Limit
from deckcalc.core.sources import Cite
from deckcalc.core.units import Length, Quantity, Stress
from deckcalc.steel.design import strip
from deckcalc.steel.formulas.laps_aci import LEAST_LENGTH, coating_factor

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.steel.design import BarRow, Steel


def area_of(job: Job, size: str) -> Quantity:
    """Return the sound area of a bar by the job's choice."""
    how = job.head.reinforcement
    return steel.bar_area(size, how.area_basis if how else "nominal")


def add_bars(job: Job, subject: Steel, row: BarRow) -> None:
    """Bars that put back what a bar has lost, and their laps."""
    item, how = f"bar {row.bar}", job.head.reinforcement
    size = how.added_bar if how else row.size
    lost = subject.loss[row.bar] * area_of(job, row.size)
    found = subject.run(steel.supplement, item, A_lost=lost, A_b=steel.bar_area(size))
    count = int(found.n.magnitude)
    subject.added[row.bar] = found.A_added
    action = subject.rules["single" if subject.flagged[row.bar] == "its own loss" else "adjacent"][1]
    words = f"{action}: add {count} bar(s) {size} for {subject.flagged[row.bar]}"
    if how is None:
        subject.decisions[item] = words
        subject.materials.append(
            Material(
                f"Supplementary bars {size}", f"{count} pieces", "length with laps by the engineer", "02 Reinforcement"
            )
        )
        return
    lap = lap_of(job, subject, row)
    if row.loss_length is None:
        subject.decisions[item] = f"{words}; measure the length of the loss, the bar is that and two laps long"
        return
    along = "B" if row.layer.endswith("main") else "L"
    marked = next(run.result for run in job.patch.runs_of(patches.patch_limits) if run.item == f"patch {row.patch}")
    bar = subject.run(
        steel.added_bar,
        f"{item}, lap",
        L_loss=row.loss_length,
        l_lap=lap,
        c_end=how.end_cover,
        L_patch=getattr(marked, along),
    )
    force = subject.run(steel.coupler_force, f"{item}, lap", A_b=area_of(job, row.size), f_y=strip.old_yield(job))
    subject.bar_lengths[row.bar] = bar.L_bar
    if bar.L_grow.magnitude > 0:
        known = subject.growth.get(row.patch)
        subject.growth[row.patch] = bar.L_grow if known is None else max(known, bar.L_grow)
        subject.growth_along[row.patch] = "across traffic" if along == "B" else "along traffic"
    length = cut_length(job, bar.L_bar)
    subject.decisions[item] = (
        f"{words}, each cut to {length} with laps of {job.show(lap, Length)} on sound bar; or a coupler or weld for "
        f"{job.show(force, units.Force)}"
    )
    subject.materials.append(
        Material(f"Bars {size}, {job.show(how.added_yield, Stress)}, {how.added_coating}", f"{count} × {length}",
                 "laps included, no spare", "02 Reinforcement")
    )  # fmt: skip


def cut_length(job: Job, length: Any) -> str:
    """Print a length to which a bar is cut: rounded up to 10 mm or half an inch."""
    step, unit = (0.5, "in") if job.system == "US" else (10.0, "mm")
    return job.show(units.registry().Quantity(step * math.ceil(length.m_as(unit) / step - 1e-9), unit), Length)


def lap_of(job: Job, subject: Steel, row: BarRow) -> Quantity:
    """Lap of the added bar on the old one by the code that the job names."""
    how, item, deck = job.head.reinforcement, f"bar {row.bar}", job.head.deck
    assert how
    new, old = steel.bar_diameter(how.added_bar), steel.bar_diameter(row.size)
    cover = next(one.least_cover for one in job.file.rows["patches"] if one.patch == row.patch)
    concretes = job.head.mix.concretes
    concrete = concretes.get(job.patch.depth_class[row.patch], next(iter(concretes.values())))
    f_c, lamb, form = concrete.strength, units.registry().Quantity(1.0, ""), strip.form(job)
    aggregate = next(one for one in job.file.rows["aggregates"] if one.aggregate == concrete.coarse)
    room = subject.run(
        steel.clear_spacing, item, s=deck.bar_spacing, d_old=old, d_b=new,
        D_max=units.read(aggregate.nominal_size, Length), c_code=job.limit("bar_clear").value,
    )  # fmt: skip
    least = Limit(
        "bar_clear",
        "least clear space between bars",
        room.c_least,
        units.kind_of(Length),
        Cite("aci318-11", "7.6.1", "memory"),
    )
    subject.checks.append(
        Check(item, "clear space beside the added bar", room.c_bars, least, "at least", "use a thinner bar, or couple")
    )
    if how.lap_code == "EN 1992-1-1":
        f_ctk = subject.run(steel.tension_ec2, item, f_ck=f_c)
        one = units.registry().Quantity
        return subject.run(
            steel.lap_ec2, f"{item}, lap", d_b=new, sigma_sd=how.added_yield / 1.15, f_ctk=f_ctk, gamma_c=one(1.5, ""), bond="good",
            alpha=one(1.0, ""), alpha_6=how.alpha_6,
        ).l_0  # fmt: skip
    lengths = []
    for words, d_b, f_y, area, coating in (
        (f"added bar {how.added_bar}", new, how.added_yield, steel.bar_area(how.added_bar), how.added_coating),
        (f"old bar {row.size}", old, strip.old_yield(job), area_of(job, row.size), "uncoated"),
    ):
        about = (d_b, f_y, area, coating, cover, room.c_bars, f_c, lamb, form)
        lengths.append(developed(job, subject, f"{item}, {words}", *about))
    minimum = units.read(LEAST_LENGTH["US" if form == "US" or how.lap_code.startswith("AASHTO") else "SI"], Length)
    lap = subject.run(
        steel.lap_length,
        f"{item}, lap",
        l_1=lengths[0].l_calc,
        l_2=lengths[1].l_d,
        d_b=max(new, old),
        lap_class=how.lap_class,
        l_min=minimum,
    )
    return lap.l_lap


def developed(
    job: Job, subject: Steel, item: str, d_b: Any, f_y: Any, area: Any, coating: str, cover: Any, space: Any, f_c: Any,
    lamb: Any, form: str,
) -> Any:  # fmt: skip
    """Development length of one bar by the code that the job names."""
    assert job.head.reinforcement
    code, deck, one = job.head.reinforcement.lap_code, job.head.deck, units.registry().Quantity
    about = {"h_below": deck.slab_thickness, "coating": coating, "c_c": cover, "c_s": space, "lamb": lamb}
    if code == "ACI 318 simplified":
        case = "cover and spacing met" if cover >= d_b and space >= 2 * d_b else "other"
        return subject.run(
            steel.development_aci_simple, item, d_b=d_b, f_y=f_y, f_c=f_c, case=case, **about, form=job.system
        )
    c_b = subject.run(steel.confinement, item, c_c=cover, d_b=d_b, s=deck.bar_spacing).c_b
    if code == "ACI 318 general":
        return subject.run(
            steel.development_aci, item, d_b=d_b, f_y=f_y, f_c=f_c, c_b=c_b, A_tr=one(0.0, "mm²"), s_tr=deck.bar_spacing,
            n_b=one(1.0, ""), **about, form=form,
        )  # fmt: skip
    k_te = coating_factor(coating, cover, space, d_b)
    if code == "AASHTO LRFD 7th":
        return subject.run(steel.development_aashto_7, item, d_b=d_b, A_b=area, f_y=f_y, f_c=f_c, k_te=k_te)
    calculation = steel.development_aashto_10 if code == "AASHTO LRFD 10th" else steel.development_aashto
    return subject.run(calculation, item, d_b=d_b, f_y=f_y, f_c=f_c, c_b=c_b, k_te=k_te, lamb=lamb)


def grow(job: Job, subject: Steel) -> None:
    """Say how far patches must grow for the laps."""
    for patch, length in subject.growth.items():
        subject.decisions[f"patch {patch}"] = (
            f"must grow {subject.growth_along[patch]} by {job.show(length, Length)} for the laps of the added bars, in all, so that each "
            f"end has its lap on sound bar; enter it as marking.longer.{patch} so that limits and volumes follow, or use couplers"
        )
