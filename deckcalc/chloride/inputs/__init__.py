"""What the job folder says of the chlorides: the section of job.toml, cores with their slices, and surveys of the surface."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

from deckcalc.base.context import Context
from deckcalc.base.fields import Faults, Strict
from deckcalc.base.needs import Needs
from deckcalc.base.start import Start
from deckcalc.chloride.formulas.ageing import ageing_exponent
from deckcalc.chloride.formulas.survey import electrodes
from deckcalc.chloride.inputs.ages import age_faults
from deckcalc.chloride.inputs.contents import (
    chosen_threshold,
    content_per_volume,
    critical_distribution,
    read_chloride,
    threshold_per_volume,
)
from deckcalc.chloride.inputs.rows import CoreRow, CoverRow, PotentialRow, ResistanceRow, RuleRow, SliceRow, ZoneRow
from deckcalc.chloride.inputs.sections import Chloride, Forecast, Profile
from deckcalc.chloride.inputs.zones import Placed, Zone, zone
from deckcalc.core.tables import TableError
from deckcalc.core.units import ChlorideContent, InputError, Length, quantity
from deckcalc.patch.design import Marked

__all__ = ["FEWEST_COVERS", "NEEDS", "ROWS", "SECTIONS", "START", "Chloride", "Inputs", "check", "read_chloride"]

SECTIONS: dict[str, type[Strict]] = {"chloride": Chloride}
ROWS: dict[str, type[Strict]] = {
    "cores": CoreRow, "chlorides": SliceRow, "zones": ZoneRow, "potentials": PotentialRow, "covers": CoverRow, "resistances": ResistanceRow, "rules": RuleRow,
}  # fmt: skip
NEEDS = Needs(
    "chlorides", ("chloride",), (), "chloride at the bars, and the service life of the deck",
    {"cores": ("chlorides",), "chlorides": ("cores",), "chloride.forecast": ("deck.top_bar_outer",)},
)  # fmt: skip
START = Start(
    rows={"cores": "C1", "chlorides": "C1-1 C1-2"},
    own=("cores", "chlorides", "zones", "potentials", "covers", "resistances"),
)  # fmt: skip
#: Maximum ageing exponent that is worked with.
MOST_AGEING = 0.95
#: Readings of cover from which a mean and a scatter are taken.
FEWEST_COVERS = 3


@dataclass(frozen=True)
class Inputs:
    """What the chlorides are worked out from."""

    chloride: Chloride
    cores: list[CoreRow]
    chlorides: list[SliceRow]
    zones: list[ZoneRow]
    potentials: list[PotentialRow]
    covers: list[CoverRow]
    resistances: list[ResistanceRow]
    rules: list[RuleRow]


def check(context: Context[Inputs], marked: Marked, faults: Faults) -> None:
    """Check the section by itself, slices against cores, and surveys against zones and section."""
    check_section(context, faults)
    check_slices(context.inputs, faults)
    check_contents(context, faults)
    check_zones(context.inputs, faults)
    check_survey(context.inputs, faults)
    check_covers(context, faults)


def check_covers(context: Context[Inputs], faults: Faults) -> None:
    """Check that no bar lies below the slab, and ask about one below its middle. Common practice."""
    deck, inputs = context.deck, context.inputs
    if deck.slab_thickness is None:
        return
    above = deck.overlay or 0 * deck.slab_thickness
    for field, where, found in (
        *((f"covers.{row.point}.cover", f"covers.csv, point {row.point}", row.cover) for row in inputs.covers),
        *((f"cores.{row.core}.bar_depth", f"cores.csv, core {row.core}", row.bar_depth) for row in inputs.cores),
    ):
        shown = [
            context.show(value, Length)
            for value in (found, above + deck.slab_thickness, above + deck.slab_thickness / 2)
        ]
        if found >= above + deck.slab_thickness:
            faults.append(f"{where}: {shown[0]} to the bar is not less than the slab, {shown[1]}")
        elif found > above + deck.slab_thickness / 2:
            faults.ask(field, where, f"found {shown[0]} to the bar, usual is at most half the slab, {shown[2]}")


def check_section(context: Context[Inputs], faults: list[str]) -> None:
    """Check background, threshold and the scatter of the threshold, and that what a part needs is there."""
    choice = context.inputs.chloride
    if context.deck.cement_content is None:
        faults += [f"job.toml: deck.cement_content: missing; {one} by cement" for one in by_cement(context.inputs)]
    try:
        background = read_chloride(choice.background)
        if background.basis == "cement" and background.value.m_as("") > 0.05:
            raise InputError("more than 5 % of cement")
    except InputError as error:
        faults.append(f"job.toml: chloride.background: {error}")
    threshold = None
    try:
        threshold = chosen_threshold(choice)
        if threshold.extraction != choice.extraction:
            raise InputError(
                f"“{threshold.key}” is for {threshold.extraction} chloride, the samples are {choice.extraction}; "
                "the two are not comparable: choose another, or state your own with value, extraction and source"
            )
    except (InputError, TableError) as error:
        faults.append(f"job.toml: chloride.threshold: {error}")
    if choice.profile:
        check_profile(context, choice.profile, faults)
    if choice.forecast:
        if not choice.profile:
            faults.append("job.toml: chloride.forecast: wants chloride.profile, which says how old the profiles are")
        check_ageing(choice.forecast, faults)
        try:
            if threshold:
                level = threshold_per_volume(threshold, context.deck)
                critical_distribution(choice.forecast.critical, context.deck, level)
        except InputError as error:
            faults.append(f"job.toml: chloride.forecast.critical: {error}")
    if choice.patch_concrete and not choice.forecast:
        faults.append("job.toml: chloride.patch_concrete: wants chloride.forecast, which says for how long")


def by_cement(inputs: Inputs) -> list[str]:
    """Return what states a content as a share of cement, in words."""
    choice, found = inputs.chloride, []
    profile, critical = choice.profile, choice.forecast.critical if choice.forecast else None
    texts = {
        "background": choice.background, "profile.surface_content": profile.surface_content if profile else "",
        "forecast.critical": " ".join((critical.mean, critical.sd, critical.low, critical.high)) if critical else "",
    }  # fmt: skip
    found += [f"chloride.{field} is stated" for field, text in texts.items() if "cement" in text]
    found += ["chlorides.csv states contents"] if any("cement" in row.chloride for row in inputs.chlorides) else []
    with suppress(InputError, TableError):  # named as a fault of its own
        if chosen_threshold(choice).basis in ("cement", "cementitious"):
            found.append("chloride.threshold is stated")
    return found


def check_profile(context: Context[Inputs], profile: Profile, faults: list[str]) -> None:
    """Check a surface content of the engineer's own, and that the ages agree with one another."""
    faults += [f"job.toml: chloride.profile: {line}" for line in age_faults(
        profile.age, exposed_since=profile.exposed_since, sampled=profile.sampled, built=context.deck.year_built
    )]  # fmt: skip
    where = "job.toml: chloride.profile.surface_content"
    if bool(profile.surface_content) != bool(profile.surface_content_source):
        faults.append(f"{where}: wants surface_content_source beside it, and that wants the content")
    if not profile.surface_content:
        return
    if profile.background != "known":
        faults.append(f"{where}: wants the background known, since both ends of the curve are then given")
    try:
        surface = content_per_volume(profile.surface_content, context.deck)
        if surface <= content_per_volume(context.inputs.chloride.background, context.deck):
            raise InputError("does not exceed the background")
    except InputError as error:
        faults.append(f"{where}: {error}")


def check_ageing(forecast: Forecast, faults: list[str]) -> None:
    """Check that the ageing exponent is stated once, and that tests give one that can be used."""
    tests = forecast.ageing_tests
    if (forecast.ageing is None) == (tests is None):
        faults.append("job.toml: chloride.forecast: wants either ageing or ageing_tests, one of the two")
    if tests is None:
        return
    try:
        m = float(ageing_exponent(tests.D_1, tests.t_1, tests.D_2, tests.t_2).m.m_as(""))
    except InputError as error:
        faults.append(f"job.toml: chloride.forecast.ageing_tests: {error}")
        return
    if not 0 <= m <= MOST_AGEING:
        faults.append(
            f"job.toml: chloride.forecast.ageing_tests: give an exponent of {m:.3g}, wanted from 0 to {MOST_AGEING:g}: "
            "tests of one concrete by one method?"
        )


def check_slices(inputs: Inputs, faults: list[str]) -> None:
    """Check slices against their cores: in order, without overlap, at least two, all on one basis."""
    slices: dict[str, list[SliceRow]] = {row.core: [] for row in inputs.cores}
    for row in inputs.chlorides:
        where = f"chlorides.csv, slice {row.slice}"
        if row.core not in slices:
            faults.append(f"{where}: there is no core “{row.core}” in cores.csv")
            continue
        before = slices[row.core][-1] if slices[row.core] else None
        if row.lower < row.upper:
            faults.append(f"{where}: the slice ends at {row.lower:.4g~P}, not below its start {row.upper:.4g~P}")
        elif before and (row.upper < before.lower * (1 - 1e-9) or row.lower <= before.lower):
            faults.append(f"{where}: overlaps slice {before.slice} above it; list slices from the top down")
        slices[row.core].append(row)
        try:
            read_chloride(row.chloride)
        except InputError as error:
            faults.append(f"{where}, column chloride: {error}")
    for core in inputs.cores:
        if bool(core.surface_layer_reason) != (core.surface_layer is not None):
            faults.append(
                f"cores.csv, core {core.core}: a surface layer of its own wants a surface layer reason, and that wants the layer"
            )
    for name, mine in slices.items():
        if len(mine) < 2:
            faults.append(f"cores.csv, core {name}: {len(mine)} slices in chlorides.csv, wanted at least two")


def check_contents(context: Context[Inputs], faults: list[str]) -> None:
    """Check that contents are on one basis, and the background is not more than what was found above it.

    Where the threshold counts chloride above a background that is known, no slice lies under it.
    """
    if faults or not context.inputs.chlorides:
        return
    inputs, deck = context.inputs, context.deck
    bases = {read_chloride(row.chloride).basis for row in inputs.chlorides}
    if len(bases) > 1:
        faults.append(f"chlorides.csv, column chloride: bases are mixed ({', '.join(sorted(bases))}); one basis a job")
    least = content_per_volume(inputs.chloride.background, deck)
    contents = {row.slice: content_per_volume(row.chloride, deck) for row in inputs.chlorides}

    def said(value: float) -> str:
        return context.show(quantity(value, "kg/m**3"), ChlorideContent)

    if contents and least > max(contents.values()) > 0:
        faults.append(f"job.toml: chloride.background: {said(least)} is more than every slice of chlorides.csv")
    fitted = inputs.chloride.profile is not None and inputs.chloride.profile.background == "fitted"
    if fitted or inputs.chloride.counts == "all chloride":
        return
    faults += [
        f"chlorides.csv, slice {name}: {said(content)} is less than the background {said(least)}, above which the threshold counts; "
        "correct one of them, or let the background be fitted"
        for name, content in contents.items() if content < least
    ]  # fmt: skip


def check_zones(inputs: Inputs, faults: list[str]) -> None:
    """Check that zones do not overlap, and that every core and point lies in one."""
    zones: list[Zone] = []
    for row in inputs.zones:
        made = zone(row)
        if not (made.left < made.right and made.low < made.high):
            faults.append(f"zones.csv, zone {row.zone}: ends before it begins")
        faults += [f"zones.csv, zone {row.zone}: overlaps zone {one.name}" for one in zones if made.overlaps(one)]
        zones.append(made)
    places: list[tuple[str, Placed]] = [
        *((f"cores.csv, core {row.core}", row) for row in inputs.cores),
        *((f"potentials.csv, point {row.point}", row) for row in inputs.potentials),
        *((f"covers.csv, point {row.point}", row) for row in inputs.covers),
        *((f"resistances.csv, point {row.point}", row) for row in inputs.resistances),
    ]
    for where, place in places:
        if zones and not any(one.contains(place) for one in zones):
            faults.append(f"{where}: lies in no zone of zones.csv")


def check_survey(inputs: Inputs, faults: list[str]) -> None:
    """Check potentials and covers against the section of the survey."""
    choice = inputs.chloride
    if (inputs.potentials or inputs.covers) and not choice.survey:
        faults.append(
            "job.toml: chloride.survey: missing; it names the electrode and its temperature for potentials.csv"
        )
    if inputs.potentials and choice.bars != "bare":
        faults.append(
            f"potentials.csv: the classes hold for bare bars, and chloride.bars says {choice.bars}: leave the file out"
        )
    if choice.survey and choice.survey.electrode not in electrodes():
        faults.append(
            f"job.toml: chloride.survey.electrode: found “{choice.survey.electrode}”, wanted one of "
            f"{'; '.join(electrodes())}"
        )
    for row in inputs.potentials:
        if row.potential.m_as("mV") > 100:
            faults.append(
                f"potentials.csv, point {row.point}: {row.potential.m_as('mV'):.0f} mV is positive; steel in concrete reads "
                "negative against a reference electrode: are the leads the other way round?"
            )
    if inputs.covers and len(inputs.covers) < FEWEST_COVERS:
        faults.append("covers.csv: wanted at least three readings")
