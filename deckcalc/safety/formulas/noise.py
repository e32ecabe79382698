"""Noise dose in a shift."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import ListOf, Range, calculation, lookup
from deckcalc.core.noise import GREATEST_LEVEL, LEAST_LEVEL, NoiseRule
from deckcalc.core.sources import Cite
from deckcalc.core.units import ExposureHours, Share, SoundLevel

Level = Annotated[SoundLevel, Range(LEAST_LEVEL, GREATEST_LEVEL)]

RULES = (
    Cite("osha-1926-52", "table D-2: 5 dB halve the time"),
    Cite("njc-noise", "87 dBA for 8 h, 3 dB halve the time"),
    Cite("", "85 dBA for 8 h, 3 dB halve the time: recommended in several countries", "common practice"),
)


@lookup("by the rule “{rule}”", source=RULES)
def criterion(rule: NoiseRule) -> SoundLevel:
    """Return the level that may last for eight hours, which stands in the name of the rule."""
    level: Any = float(rule.split()[3])
    return level


@lookup(
    "by the rule “{rule}”; its three are ten times the decimal logarithm of two, which halve the energy", source=RULES
)
def exchange_rate(rule: NoiseRule) -> SoundLevel:
    """Return the step that halves the time; 3 dB are that of halving the energy."""
    named = rule.split()[0]
    step: Any = 10 * np.log10(2) if named == "3" else float(named)
    return step


class NoiseHours(NamedTuple):
    """Result of `noise_hours`."""

    L_0: SoundLevel
    q: SoundLevel
    T: ExposureHours


@calculation(
    title="Permissible duration of a noise",
    source=RULES,
    units={"L": "", "L_0": "", "q": "", "T": "h"},
    notes=(
        "Table D-2 prints whole hours; the formula gives 6.06 h at 92 dBA. No exposure above 115 dBA, no blow above 140 dB.",
    ),
)
def noise_hours(L: Level, rule: NoiseRule) -> NoiseHours:
    r"""Hours in a day that a level of noise may last without protection.

    .. math:: T = \frac{8}{2^{(L - L_0)/q}}

    Parameters
    ----------
    L : quantity without dimension
        sound level in dBA, slow
    rule : str
        criterion and exchange rate

    Returns
    -------
    NoiseHours
        `L_0` level of eight hours, `q` step that halves the time, `T` hours in a day.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: 29 CFR 1926.52; the Canadian directive.

    Examples
    --------
    >>> f"{noise_hours(95, '5 dB from 90 dBA').T.to('h'):.1f~P}"
    '4.0 h'
    """
    L_0 = criterion(rule)  # level that may last for eight hours
    q = exchange_rate(rule)  # step above it that halves the time
    T = 8 / 2 ** ((L - L_0) / q)  # hours that the level may last
    return NoiseHours(L_0, q, T)


class Dose(NamedTuple):
    """Result of `noise_dose`."""

    D: Share


@lookup("each time over the hours that its level may last, added up", source=Cite("osha-1926-52", "(d)(2)"))
def added(t: Annotated[ExposureHours, Range("0 h", "24 h"), ListOf()], T: Annotated[ExposureHours, Range("0.01 h", "1000 h"), ListOf()]) -> Share:  # fmt: skip
    """Return the sum of shares of the day's exposure."""
    return np.sum(np.asarray(t) / np.asarray(T), axis=-1)


@calculation(
    title="Noise dose in a shift",
    source=(Cite("osha-1926-52", "(d)(2)"), Cite("osha-noise-examples", "dose of several levels")),
    notes=(
        "More than 100 % exceeds the limit: wear hearing protection, shorten the time or take turns. Levels are those at the ear of the worker.",
    ),
)
def noise_dose(
    t: Annotated[ExposureHours, Range("0 h", "24 h"), ListOf()],
    T: Annotated[ExposureHours, Range("0.01 h", "1000 h"), ListOf()],
) -> Dose:
    r"""Share of the day's exposure to noise that is used up.

    .. math:: D = \sum \frac{t_i}{T_i}

    Parameters
    ----------
    t : quantity of time, shape (..., n)
        time at each level
    T : quantity of time, shape (..., n)
        hours that each level may last

    Returns
    -------
    Dose
        `D` share of what is permitted.

    Raises
    ------
    InputError
        If a time lies outside its range.

    Notes
    -----
    Source: 29 CFR 1926.52.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{noise_dose(Q([1, 4, 3], 'h'), Q([2, 8, 16], 'h')).D.to('%'):.2f~P}"
    '118.75 %'
    """
    D = added(t, T)  # share of the day's exposure
    return Dose(D)
