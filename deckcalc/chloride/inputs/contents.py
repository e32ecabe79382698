"""Chloride contents as the job writes them: a value with its basis, the threshold, and the scatter of the threshold."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from deckcalc.base.fields import Deck, InRange
from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.threshold import Threshold, threshold
from deckcalc.chloride.inputs.sections import Chloride, Critical
from deckcalc.core.sources import Cite
from deckcalc.core.units import ChlorideContent, ChlorideShare, InputError, Quantity

#: Part by which a value written twice, rounded in two systems, may differ from itself.
SAME = 0.005
POUND_PER_YARD = 0.5932764212577829  # kg/m³
CHLORIDE = re.compile(r"(.+?)(?:\s+of\s+(concrete|cement))?$")


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
        return ChlorideValue(InRange(ChlorideShare, "0 %", "10 %").one(match[1]), basis)  # type: ignore[arg-type]
    try:
        return ChlorideValue(InRange(ChlorideContent, "0 kg/m^3", "60 kg/m^3").one(text), "volume")
    except InputError:
        raise InputError(
            f"found “{text}”, wanted a chloride content with its basis: % of concrete, ppm of concrete, % of cement, "
            "kg/m³ or lb/yd³"
        ) from None


def chosen_threshold(choice: Chloride) -> Threshold:
    """Return the threshold that the job chooses: one of the table, or its own.

    Raises
    ------
    TableError, InputError
        If the table has no such key, or the value states no basis.
    """
    own = choice.threshold
    if isinstance(own, str):
        return threshold(own)
    reading = read_chloride(own.value)
    cite = Cite("", own.source, "common practice")
    return Threshold("own", reading.value, own.value, "", reading.basis, own.extraction, own.source, "", cite)


def content_per_volume(text: str, deck: Deck) -> float:
    """Return a chloride reading in kg/m³, its basis changed by the deck's own cement content or unit weight."""
    reading = read_chloride(text)
    if reading.basis == "volume":
        return float(reading.value.m_as("kg/m**3"))
    factor = deck.unit_weight if reading.basis == "concrete" else deck.cement_content
    return float(reading.value.m_as("") * factor.m_as("kg/m**3"))


def threshold_per_volume(threshold: Threshold, deck: Deck) -> float:
    """Return a threshold in kg/m³, its basis changed by the deck's own cement content or unit weight."""
    if threshold.basis == "volume":
        return float(threshold.value.m_as("kg/m**3"))
    factor = deck.unit_weight if threshold.basis == "concrete" else deck.cement_content
    return float(threshold.value.m_as("") * factor.m_as("kg/m**3"))


def critical_distribution(critical: Critical, deck: Deck, threshold: float) -> Law:
    """Return the distribution of the content that ends protection, in kg/m³: its mean is the threshold of the job.

    Parameters
    ----------
    critical : Critical
    deck : Deck
    threshold : float
        Of the job, in kg/m³: one value for time and probability alike.

    Raises
    ------
    InputError
        If its values are not all on one basis, do not make a distribution, or its mean is another threshold.
    """
    written = [text for text in (critical.mean, critical.sd, critical.low, critical.high) if text]
    if len({read_chloride(text).basis for text in written}) > 1:
        raise InputError("mean, sd, low and high are on one basis")
    if critical.law == "beta" and not (critical.low and critical.high):
        raise InputError("a beta law wants low and high")
    low = content_per_volume(critical.low, deck) if critical.low else 0.0
    high = content_per_volume(critical.high, deck) if critical.high else 1.0
    if critical.mean and abs(content_per_volume(critical.mean, deck) / threshold - 1) > SAME:
        raise InputError(
            f"mean is {critical.mean}, and the threshold of the job is {threshold:.4g} kg/m³ "
            f"({threshold / POUND_PER_YARD:.4g} lb/yd³): one deck has one threshold, for the time and for its probability; leave the "
            "mean out, or state it as chloride.threshold with value, extraction and source"
        )
    return Law(critical.law, threshold, content_per_volume(critical.sd, deck), low, high)
