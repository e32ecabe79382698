"""Forecasts for the bars of each zone and of the patches, and the fits that they rest on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from deckcalc.chloride.formulas.diffusion import FaceContent
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.fit import Fits, Profiles
from deckcalc.chloride.formulas.initiation import InitiationTime
from deckcalc.chloride.formulas.probability import Exposure, FirstOrder, Sampled
from deckcalc.chloride.inputs.sections import Forecast, Profile
from deckcalc.chloride.inputs.zones import Floats, Placed
from deckcalc.core.units import Quantity


@dataclass(frozen=True)
class CoverPlace:
    """A cover and where it was found: `name` of the reading or core, `place` with its station and offset."""

    name: str
    cover: Quantity
    place: Placed


@dataclass
class BarForecast:
    """When the bars of a zone, or those in the patches, lose their protection.

    Attributes
    ----------
    name : str
        Of the zone, or “patch”.
    where : str
        Printed name of the place.
    items : tuple of str
        What its runs are called: at the face, in the edge, below a growing surface, at the minimum cover, at the rate found on bars;
        or by each convention of ageing.
    cores : list of str
        Cores whose fits enter.
    D, C_s, x : Law or None
        Diffusion coefficient, surface content and cover, in coherent SI.
    face : InitiationTime or None
        Time to initiation below the face, without ageing.
    initiation : float or None
        The same with ageing, in years.
    t_i : dict of float
        Years to initiation by the history of the surface, in the edge, at the minimum cover; from the start of exposure.
    least : CoverPlace or None
        Minimum cover of the zone.
    cracking : float or None
        Years until the cover cracks.
    cracking_as_found : float or None
        The same, at the mean rate found on bars that were bared.
    exposure : Exposure or None
    ages : array
        Ages of the samples, in years.
    sampled : Sampled or None
    order : FirstOrder or None
    at_horizon, by_now : float or None
        Probability that protection is lost at the horizon, and by now.
    now : float
        Age now, in years (nil for a patch).
    why : str
        Why there is no time to initiation.
    """

    name: str
    where: str
    items: tuple[str, ...]
    cores: list[str] = field(default_factory=list)
    D: Law | None = None
    C_s: Law | None = None
    x: Law | None = None
    least: CoverPlace | None = None
    face: InitiationTime | None = None
    initiation: float | None = None
    t_i: dict[str, float] = field(default_factory=dict)
    cracking: float | None = None
    cracking_as_found: float | None = None
    exposure: Exposure | None = None
    ages: Floats = field(default_factory=lambda: np.empty(0))
    sampled: Sampled | None = None
    order: FirstOrder | None = None
    at_horizon: float | None = None
    by_now: float | None = None
    now: float = 0.0
    why: str = ""


@dataclass
class Forecasts:
    """Fits of all cores, and what follows from them.

    Attributes
    ----------
    profile : Profile
        How profiles are fitted.
    settings : Forecast or None
        How the forecast is made; None if the job asks for fits alone.
    names : list of str
        Cores in the order of the fits.
    fits : dict of Fits
        By history of the surface; constant is the one that is used.
    profiles : Profiles
    at_bars : dict of FaceContent
        Fitted content at the bar, by core; those that could be fitted.
    written : dict of tuple of Quantity
        D, surface content and background of the fit as written out, by core.
    left_out : dict of str
        Why a core was not fitted, by core.
    bars : dict of float
        Age at which the bar of a core loses protection, in years, by core; those whose surface content exceeds the threshold.
    zones : dict of BarForecast
    patches : list of BarForecast
        One for each concrete of the patches that published values hold for.
    """

    profile: Profile
    settings: Forecast | None
    names: list[str]
    fits: dict[str, Fits]
    profiles: Profiles
    at_bars: dict[str, FaceContent] = field(default_factory=dict)
    written: dict[str, tuple[Quantity, Quantity, Quantity]] = field(default_factory=dict)
    left_out: dict[str, str] = field(default_factory=dict)
    bars: dict[str, float] = field(default_factory=dict)
    zones: dict[str, BarForecast] = field(default_factory=dict)
    patches: list[BarForecast] = field(default_factory=list)

    @property
    def places(self) -> list[BarForecast]:
        """The zones, then the patches."""
        return [*self.zones.values(), *self.patches]
