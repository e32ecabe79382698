"""Profiles fitted: which slices and cores enter, what is left out and why, and the content at the bars."""

from __future__ import annotations

from typing import Any

import numpy as np

from deckcalc import chloride
from deckcalc.base.subject import joined
from deckcalc.chloride.design.forecast_results import Forecasts
from deckcalc.chloride.design.results import Chlorides, CoreResult
from deckcalc.chloride.formulas.curves import Surface
from deckcalc.chloride.formulas.fit import Fits, Profiles, fit_profiles
from deckcalc.chloride.inputs.contents import content_per_volume
from deckcalc.chloride.inputs.sections import Profile
from deckcalc.core.sources import Cite
from deckcalc.core.units import Quantity, quantity

SURFACES: tuple[Surface, ...] = ("constant", "linear", "root")
ON_A_CRACK = "the core stands on a crack"
LEFT_OUT = (
    "A core that cannot be fitted is often one in which chloride moves fast: without it the coefficient of the zone comes out low and its "
    "time too long"
)


def content(value: float) -> Quantity:
    """Return a chloride content given in kg/m³."""
    return quantity(value, "kg/m**3")


def surface_layer(core: CoreResult, profile: Profile) -> Quantity:
    """Return the depth above which slices of a core stay out of the fit: its own, or that of the job."""
    return profile.surface_layer if core.row.surface_layer is None else core.row.surface_layer


def used_slices(core: CoreResult, profile: Profile) -> list[bool]:
    """Say which slices of a core are fitted."""
    layer = float(surface_layer(core, profile).m_as("m")) * (1 - 1e-9)
    return [float(one.row.upper.m_as("m")) >= layer and not one.row.left_out_of_fit for one in core.slices]


def profiles_of(chlorides: Chlorides, profile: Profile) -> Profiles:
    """Return all cores as arrays, with the slices that are fitted marked."""
    cores = list(chlorides.cores.values())
    shape = len(cores), max(len(core.slices) for core in cores)
    upper, lower, contents = (np.zeros(shape) for _ in range(3))
    used = np.zeros(shape, bool)
    for i, core in enumerate(cores):
        for j, one in enumerate(core.slices):
            upper[i, j], lower[i, j] = one.row.upper.m_as("m"), one.row.lower.m_as("m")
            contents[i, j] = one.content.m_as("kg/m**3")
        used[i, : len(core.slices)] = used_slices(core, profile)
    return Profiles(upper, lower, contents, used, np.full(len(cores), profile.age.m_as("s")))


def fitted(chlorides: Chlorides, profile: Profile) -> Forecasts:
    """Fit all profiles in one call."""
    choice, cores = chlorides.inputs.chloride, list(chlorides.cores.values())
    profiles = profiles_of(chlorides, profile)
    known = profile.background == "known"
    background = np.full(len(cores), chlorides.background.m_as("kg/m**3")) if known else None
    refused = [ON_A_CRACK if core.row.crack == "yes" else "" for core in cores]
    sliced = profile.slices == "integrated"
    surface = content_per_volume(profile.surface_content, chlorides.deck) if profile.surface_content else None
    given = None if surface is None else np.full(len(cores), surface)
    fits: dict[str, Fits] = {
        name: fit_profiles(profiles, background, name, sliced, refused, given) for name in SURFACES
    }  # fmt: skip
    found = Forecasts(profile, choice.forecast, list(chlorides.cores), fits, profiles)
    found.left_out = {name: why for name, why in zip(found.names, fits["constant"].why, strict=True) if why}
    contents_at_bars(chlorides, found)
    chlorides.cites += [
        Cite("fdot-ba502", "p. 10, least squares on profiles"), Cite("schoefs-2023", "abstract: scatter of 15 %"),
    ]  # fmt: skip
    notes(chlorides, found)
    return found


def notes(chlorides: Chlorides, found: Forecasts) -> None:
    """Say what the fits rest on, and what was left out of them."""
    profile, made = found.profile, found.fits["constant"]
    chlorides.notes.append(
        "The fit gives an apparent diffusion coefficient for the years that the deck has had; it is taken to hold for the years "
        "ahead. Slices of the surface layer are left out, where washing, drying and carbonation have changed the content."
    )
    if left := [f"{name} ({why})" for name, why in found.left_out.items() if why != ON_A_CRACK]:
        chlorides.notes.append(f"Cores left out of the forecast: {'; '.join(left)}. {LEFT_OUT}.")
    if profile.background == "fitted":
        last = np.where(found.profiles.used, found.profiles.lower, 0.0).max(1)
        beyond = [name for i, name in enumerate(found.names) if 2 * np.sqrt(made.D[i] * made.age[i]) > last[i]]
        if beyond:
            chlorides.notes.append(
                f"In {', '.join(beyond)} chloride reaches beyond the deepest slice, and a background that is fitted cannot be told "
                "from it: D comes out low. Take deeper samples, or state the background from sound concrete."
            )
    if profile.surface_content:
        chlorides.notes.append(
            f"The surface content is the engineer's, {profile.surface_content} ({profile.surface_content_source}); it has no "
            "scatter between cores, and the coefficients go with it."
        )


def contents_at_bars(chlorides: Chlorides, found: Forecasts) -> None:
    """Write out the fit of every core that could be fitted, and work out the content at its bar."""
    fits, profile = found.fits["constant"], found.profile
    for i, (name, core) in enumerate(chlorides.cores.items()):
        if fits.why[i]:
            continue
        D, C_s, C_0 = found.written[name] = written_fit(chlorides, core, profile, content(fits.C_s[i]))
        found.at_bars[name] = chlorides.run(
            chloride.face_content, core.fit_item, x=core.row.bar_depth, t=profile.age, D=D, C_s=C_s, C_0=C_0
        )


def written_fit(
    chlorides: Chlorides, core: CoreResult, profile: Profile, C_s: Quantity
) -> tuple[Quantity, Quantity, Quantity]:
    """Run the fit of one core as a calculation; return D, surface content and background."""
    slices = [one for one, used in zip(core.slices, used_slices(core, profile), strict=True) if used]
    points = profile.slices != "integrated"
    ends = ([one.depth for one in slices],) * 2 if points else (
        [one.row.upper for one in slices], [one.row.lower for one in slices]
    )  # fmt: skip
    given: dict[str, Any] = {
        "x_from": joined(ends[0]), "x_to": joined(ends[1]), "C": joined(one.content for one in slices), "t": profile.age,
    }  # fmt: skip
    if profile.surface_content:
        coefficient = chlorides.run(chloride.fit_coefficient, core.fit_item, **given, C_0=chlorides.background, C_s=C_s)
        return coefficient.D, C_s, chlorides.background
    if profile.background == "known":
        made = chlorides.run(chloride.fit_profile, core.fit_item, **given, C_0=chlorides.background)
        return made.D, made.C_s, chlorides.background
    free = chlorides.run(chloride.fit_profile_and_background, core.fit_item, **given)
    return free.D, free.C_s, free.C_0
