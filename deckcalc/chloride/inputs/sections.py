"""Chlorides: the section of job.toml and its parts."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from deckcalc.base.fields import InRange, Strict, Text
from deckcalc.chloride.formulas.ageing import ageing_exponent
from deckcalc.core.units import (
    ChlorideContent,
    CurrentDensity,
    Distance,
    Length,
    Quantity,
    Ratio,
    Share,
    Temperature,
    TemperatureConstant,
    Years,
)


class OwnThreshold(Strict):
    """A threshold of the engineer's own."""

    value: Text = Field(
        description="with its basis, for instance “1.2 lb/yd3” or “0.4 % of cement”", examples=["0.4 % of cement"]
    )
    extraction: Literal["acid-soluble", "water-soluble"] = Field(description="chloride that it counts")
    source: Text = Field(description="where it comes from", examples=["engineer of record"])


class Profile(Strict):
    """How profiles are fitted."""

    age: Annotated[Quantity, InRange(Years, "0.1 yr", "200 yr")] = Field(
        description="exposure when the cores were taken"
    )
    surface_layer: Annotated[Quantity, InRange(Length, "0 mm", "50 mm")] = Field(
        description="slices that begin above this depth are left out of the fit"
    )
    slices: Literal["integrated", "mid-depth"] = Field(description="how a slice enters the fit")
    background: Literal["known", "fitted"] = Field("known", description="whether the background is known or fitted")
    surface_content: str = Field(
        "", description="content of the surface, where it is the engineer's instead of fitted, with its basis"
    )
    surface_content_source: str = Field("", description="where that content comes from")
    exposed_since: Annotated[int, Field(ge=1850, le=2100)] | None = Field(
        None, description="year in which the exposure began"
    )
    sampled: Annotated[int, Field(ge=1850, le=2100)] | None = Field(
        None, description="year in which the cores were taken"
    )


class Critical(Strict):
    """Scatter of the chloride content that ends protection; its mean is the threshold of the job."""

    law: Literal["normal", "lognormal", "beta"] = Field(description="distribution of the content")
    mean: str = Field("", description="left out, or the threshold of the job once more")
    sd: Text = Field(description="standard deviation, with its basis")
    low: str = Field("", description="minimum content of a beta distribution, with its basis")
    high: str = Field("", description="maximum content of a beta distribution, with its basis")
    source: Text = Field(description="where mean and scatter come from")


class AgeingTests(Strict):
    """Diffusion coefficients of the existing concrete at two ages."""

    D_1: Annotated[Quantity, InRange.of(ageing_exponent, "D_1")] = Field(description="coefficient of the earlier test")
    t_1: Annotated[Quantity, InRange(Years, "1 day", "200 yr")] = Field(description="age at the earlier test")
    D_2: Annotated[Quantity, InRange.of(ageing_exponent, "D_2")] = Field(description="coefficient of the later test")
    t_2: Annotated[Quantity, InRange(Years, "1 day", "200 yr")] = Field(description="age at the later test")
    source: Text = Field(description="where the tests stand")


class Forecast(Strict):
    """How long the deck as found lasts."""

    horizon: Annotated[Quantity, InRange(Years, "1 yr", "120 yr")] = Field(description="years wanted from now")
    critical: Critical
    ageing: Annotated[Quantity | None, InRange(Ratio, "0", "0.95")] = Field(
        None, description="exponent of the existing concrete, 0 for none; or give ageing_tests"
    )
    ageing_tests: AgeingTests | None = None
    cracks: Annotated[Quantity, InRange(Ratio, "1", "100")] = Field(description="factor of cracks on diffusion")
    obstruction: Annotated[Quantity, InRange(Ratio, "0.3", "1")] = Field(description="factor of the bar on the time")
    edge_cover: Annotated[Quantity, InRange(Length, "5 mm", "300 mm")] = Field(
        description="cover below both faces of a bar in the edge"
    )
    current: Annotated[Quantity, InRange(CurrentDensity, "0.001 µA/cm^2", "100 µA/cm^2")] = Field(
        description="corrosion current density, measured or taken"
    )
    length_ratio: Annotated[Quantity, InRange(Ratio, "0", "3")] = Field(
        description="cover over length of the corroding part of the bar"
    )
    samples: Annotated[int, Field(ge=1000, le=100_000_000)] = Field(200_000, description="number of samples drawn")
    seed: Annotated[int, Field(ge=0)] = Field(
        1, description="from which samples are drawn; the same seed gives the same numbers"
    )
    source: Text = Field(description="where current, factors and ageing come from")


class PatchConcrete(Strict):
    """What the life of the patches rests on beside their concretes, whose binder and ratio stand in the mix."""

    temperature: Annotated[Quantity, InRange(Temperature, "-10 °C", "45 °C")] = Field(description="mean of the year")
    temperature_constant: Annotated[Quantity, InRange(TemperatureConstant, "1000 K", "10000 K")] = Field(
        description="constant by which diffusion rises with temperature"
    )
    temperature_constant_sd: Annotated[Quantity, InRange(TemperatureConstant, "0 K", "3000 K")] = Field(
        description="its standard deviation"
    )
    cover: Annotated[Quantity, InRange(Length, "10 mm", "200 mm")] = Field(
        description="mean cover of the bars in the patches"
    )
    cover_sd: Annotated[Quantity, InRange(Length, "0.1 mm", "50 mm")] = Field(
        description="standard deviation of the cover"
    )
    convention: Literal["apparent", "time-integrated"] = Field(description="what the ageing exponent acts on")
    source: Text = Field(description="where these come from")


class Survey(Strict):
    """How the surface was surveyed."""

    electrode: Text = Field(description="reference electrode of the potentials")
    temperature: Annotated[Quantity, InRange(Temperature, "-10 °C", "60 °C")] = Field(description="of the electrode")
    least_cover: Annotated[Quantity, InRange(Length, "5 mm", "150 mm")] = Field(description="cover asked for")
    ring: Annotated[Quantity, InRange(Distance, "0.1 m", "5 m")] = Field(
        description="distance about a patch that is judged"
    )


class ZoneLimits(Strict):
    """From what on patching alone is not enough; the engineer's."""

    cores: Annotated[Quantity, InRange(Share, "0 %", "100 %")] = Field(
        description="share of cores with the threshold reached"
    )
    potentials: Annotated[Quantity, InRange(Share, "0 %", "100 %")] = Field(
        description="share of potentials in the class likely"
    )
    probability: Annotated[Quantity, InRange(Share, "0 %", "100 %")] = Field(description="probability at the horizon")
    content_error: Annotated[Quantity, InRange(ChlorideContent, "0.01 kg/m^3", "5 kg/m^3")] = Field(
        description="error allowed in the mean content of a zone"
    )
    source: Text = Field(description="who set these")


class Chloride(Strict):
    """How the samples were analysed, and the threshold that the engineer chooses."""

    extraction: Literal["acid-soluble", "water-soluble"] = Field(description="how chloride was extracted")
    threshold: Text | OwnThreshold = Field(
        description="a key of the table chloride_thresholds, or value, extraction and source"
    )
    counts: Literal["all chloride", "chloride above background"] = Field(
        "all chloride", description="what the threshold counts"
    )
    bars: Literal["bare", "epoxy-coated", "galvanised", "stainless"] = Field(
        "bare", description="kind of the bars, for which the threshold holds"
    )
    background: str = Field(
        "0 % of concrete",
        description="chloride cast into the concrete, with unit and basis, e.g. “0.005 % of concrete”",
    )
    background_source: Text = Field("none is stated", description="where it comes from")
    profile: Profile | None = None
    survey: Survey | None = None
    forecast: Forecast | None = None
    patch_concrete: PatchConcrete | None = None
    zone_limits: ZoneLimits | None = None
