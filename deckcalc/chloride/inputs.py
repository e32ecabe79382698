"""Chlorides: the sections and tables of the job folder."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from deckcalc import chloride
from deckcalc.base.fields import Id, Strict, Text, Written
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.core import units
from deckcalc.core.sources import Cite
from deckcalc.core.units import (
    ChlorideContent,
    CurrentDensity,
    Distance,
    InputError,
    Length,
    Potential,
    Quantity,
    Ratio,
    Resistance,
    Share,
    Temperature,
    TemperatureConstant,
    Years,
)

CHLORIDE = re.compile(r"(.+?)(?:\s+of\s+(concrete|cement))?$")
Station = Annotated[Quantity, Written(Distance, "0 m", "100 km")]
Offset = Annotated[Quantity, Written(Distance, "0 m", "100 m")]


class OwnThreshold(Strict):
    """A threshold of the engineer's own."""

    value: Text = Field(description="with its basis, for instance “1.2 lb/yd3” or “0.4 % of cement”")
    extraction: Literal["acid-soluble", "water-soluble"]
    source: Text


class Profile(Strict):
    """How profiles are fitted."""

    age: Annotated[Quantity, Written(Years, "0.1 yr", "200 yr")] = Field(
        description="exposure when the cores were taken"
    )
    surface_layer: Annotated[Quantity, Written(Length, "0 mm", "50 mm")] = Field(
        description="slices that begin above this depth are left out of the fit"
    )
    slices: Literal["integrated", "mid-depth"] = Field(description="how a slice enters the fit")
    background: Literal["known", "fitted"] = Field("known", description="whether the background is known or fitted")


class Critical(Strict):
    """The chloride content that ends protection, with its scatter."""

    law: Literal["normal", "lognormal", "beta"]
    mean: Text
    sd: Text
    low: str = ""
    high: str = ""
    source: Text


class Forecast(Strict):
    """How long the deck as found lasts."""

    horizon: Annotated[Quantity, Written(Years, "1 yr", "120 yr")] = Field(description="years wanted from now")
    critical: Critical
    ageing: Annotated[Quantity, Written(Ratio, "0", "0.95")] = Field(
        description="exponent of the old concrete, 0 for none"
    )
    cracks: Annotated[Quantity, Written(Ratio, "1", "100")] = Field(description="factor of cracks on diffusion")
    obstruction: Annotated[Quantity, Written(Ratio, "0.3", "1")] = Field(description="factor of the bar on the time")
    edge_cover: Annotated[Quantity, Written(Length, "5 mm", "300 mm")] = Field(
        description="cover below both faces of a bar in the edge"
    )
    current: Annotated[Quantity, Written(CurrentDensity, "0.001 µA/cm^2", "100 µA/cm^2")] = Field(
        description="corrosion current density, measured or taken"
    )
    length_ratio: Annotated[Quantity, Written(Ratio, "0", "3")] = Field(
        description="cover over length of the corroding part of the bar"
    )
    samples: Annotated[int, Field(ge=1000, le=100_000_000)] = 200_000
    seed: Annotated[int, Field(ge=0)] = 1
    source: Text = Field(description="where current, factors and ageing come from")


class PatchConcrete(Strict):
    """The concrete of the patches, and its cover."""

    binder: Literal["CEM I", "CEM I with fly ash", "CEM III/B"]
    w_c: Literal["0.40", "0.45", "0.50", "0.55", "0.60"] = Field(description="column of the table, written so")
    temperature: Annotated[Quantity, Written(Temperature, "-10 °C", "45 °C")] = Field(description="mean of the year")
    temperature_constant: Annotated[Quantity, Written(TemperatureConstant, "1000 K", "10000 K")]
    temperature_constant_sd: Annotated[Quantity, Written(TemperatureConstant, "0 K", "3000 K")]
    cover: Annotated[Quantity, Written(Length, "10 mm", "200 mm")]
    cover_sd: Annotated[Quantity, Written(Length, "0.1 mm", "50 mm")]
    convention: Literal["apparent", "time-integrated"] = Field(description="what the ageing exponent acts on")
    source: Text


class Survey(Strict):
    """How the surface was surveyed."""

    electrode: Text = Field(description="reference electrode of the potentials")
    temperature: Annotated[Quantity, Written(Temperature, "-10 °C", "60 °C")] = Field(description="of the electrode")
    least_cover: Annotated[Quantity, Written(Length, "5 mm", "150 mm")] = Field(description="cover asked for")
    ring: Annotated[Quantity, Written(Distance, "0.1 m", "5 m")] = Field(
        description="distance about a patch that is judged"
    )


class ZoneLimits(Strict):
    """From what on patching alone is not enough; the engineer's."""

    cores: Annotated[Quantity, Written(Share, "0 %", "100 %")] = Field(
        description="share of cores with the threshold reached"
    )
    potentials: Annotated[Quantity, Written(Share, "0 %", "100 %")] = Field(
        description="share of potentials in the class likely"
    )
    probability: Annotated[Quantity, Written(Share, "0 %", "100 %")] = Field(description="probability at the horizon")
    content_error: Annotated[Quantity, Written(ChlorideContent, "0.01 kg/m^3", "5 kg/m^3")] = Field(
        description="error allowed in the mean content of a zone"
    )
    source: Text


class Chloride(Strict):
    """How the samples were analysed, and the threshold that the engineer chooses."""

    extraction: Literal["acid-soluble", "water-soluble"] = Field(description="how chloride was extracted")
    threshold: Text | OwnThreshold = Field(
        description="a key of the table chloride_thresholds, or value, extraction and source"
    )
    counts: Literal["all chloride", "chloride above background"] = Field(
        "all chloride", description="what the threshold counts"
    )
    bars: Literal["bare", "epoxy-coated", "galvanised", "stainless"] = "bare"
    background: str = Field(
        description="chloride cast into the concrete, with unit and basis, e.g. “0.005 % of concrete”"
    )
    background_source: Text
    profile: Profile | None = None
    survey: Survey | None = None
    forecast: Forecast | None = None
    patch_concrete: PatchConcrete | None = None
    zone_limits: ZoneLimits | None = None


class CoreRow(Strict):
    """cores.csv: one core a row."""

    core: Id
    station: Station
    offset: Offset
    bar_depth: Annotated[Quantity, Written(Length, "5 mm", "300 mm")]
    crack: Literal["yes", "no"]


class SliceRow(Strict):
    """chlorides.csv: one slice of a core a row; a reading at a point begins and ends at the same depth."""

    slice: Id
    core: Id
    upper: Annotated[Quantity, Written(Length, "0 mm", "600 mm")]
    lower: Annotated[Quantity, Written(Length, "0 mm", "600 mm")]
    chloride: str


class ZoneRow(Strict):
    """zones.csv: a part of the deck that is judged as one."""

    zone: Id
    station_from: Station
    station_to: Station
    offset_from: Offset
    offset_to: Offset


class PotentialRow(Strict):
    """potentials.csv: one half-cell reading a row."""

    point: Id
    station: Station
    offset: Offset
    potential: Annotated[Quantity, Written(Potential, "-1200 mV", "400 mV")]


class CoverRow(Strict):
    """covers.csv: one reading of the cover a row."""

    point: Id
    station: Station
    offset: Offset
    cover: Annotated[Quantity, Written(Length, "2 mm", "300 mm")]


class ResistanceRow(Strict):
    """resistances.csv: one reading with four probes a row."""

    point: Id
    station: Station
    offset: Offset
    spacing: Annotated[Quantity, Written(Length, "10 mm", "200 mm")]
    resistance: Annotated[Quantity, Written(Resistance, "0.001 kΩ", "1000 kΩ")]


class RuleRow(Strict):
    """rules.csv: what is done where; the first rule that fits holds."""

    rule: Id
    chloride: Literal["reached", "below", "any"]
    potential: Literal["likely", "uncertain", "unlikely", "any"]
    sounding: Literal["unsound", "sound", "any"]
    action: Text


@dataclass(frozen=True)
class ChlorideValue:
    """A chloride reading with its basis."""

    value: Quantity
    basis: Literal["concrete", "cement", "volume"]


def read_chloride(text: str) -> ChlorideValue:
    """Read “0.05 % of concrete”, “320 ppm of concrete”, “0.4 % of cement” or “1.2 kg/m3”.

    Raises
    ------
    InputError
        If the basis is not stated, or the unit does not fit it.
    """
    match = CHLORIDE.fullmatch(text.strip())
    basis = match[2] if match else None
    if basis:
        assert match
        return ChlorideValue(Written(units.ChlorideShare, "0 %", "10 %").one(match[1]), basis)  # type: ignore[arg-type]
    try:
        return ChlorideValue(Written(ChlorideContent, "0 kg/m^3", "60 kg/m^3").one(text), "volume")
    except InputError:
        raise InputError(
            f"found “{text}”, wanted a chloride content with its basis: % of concrete, ppm of concrete, % of cement, "
            "kg/m³ or lb/yd³"
        ) from None


def chosen_threshold(choice: Chloride) -> chloride.Threshold:
    """Return the threshold that the job chooses: one of the table, or its own.

    Raises
    ------
    TableError, InputError
        If the table has no such key, or the value states no basis.
    """
    own = choice.threshold
    if isinstance(own, str):
        return chloride.threshold(own)
    reading = read_chloride(own.value)
    cite = Cite("", own.source, "common practice")
    return chloride.Threshold("own", reading.value, own.value, "", reading.basis, own.extraction, own.source, "", cite)


def plain_content(text: str, deck: Any) -> float:
    """Return a chloride reading in kg/m³, its basis changed by the deck's own cement content or unit weight."""
    reading = read_chloride(text)
    if reading.basis == "volume":
        return float(reading.value.m_as("kg/m**3"))
    factor = deck.unit_weight if reading.basis == "concrete" else deck.cement_content
    return float(reading.value.m_as("") * factor.m_as("kg/m**3"))


def critical_law(critical: Critical, deck: Any) -> Law:
    """Return the law of the content that ends protection, in kg/m³.

    Raises
    ------
    InputError
        If its values are not all on one basis, or do not make a law.
    """
    written = [text for text in (critical.mean, critical.sd, critical.low, critical.high) if text]
    if len({read_chloride(text).basis for text in written}) > 1:
        raise InputError("mean, sd, low and high are on one basis")
    if critical.law == "beta" and not (critical.low and critical.high):
        raise InputError("a beta law wants low and high")
    low, high = (
        plain_content(text, deck) if text else end for text, end in ((critical.low, 0.0), (critical.high, 1.0))
    )
    return Law(critical.law, plain_content(critical.mean, deck), plain_content(critical.sd, deck), low, high)
