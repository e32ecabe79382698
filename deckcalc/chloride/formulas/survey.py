"""What is measured from the surface: half-cell potentials, resistivity, cover."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc.chloride.formulas.distributions import Law
from deckcalc.chloride.formulas.initiation import Cover, Warmth
from deckcalc.core import tables
from deckcalc.core.calculation import Phi, Range, above, below, calculation, ln, pi, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import (
    InputError,
    Length,
    Potential,
    PotentialSlope,
    Ratio,
    Resistance,
    Resistivity,
    Share,
    TemperatureDifference,
)

Reading = Annotated[Potential, Range("-1200 mV", "400 mV")]
Electrode = Annotated[Potential, Range("0 mV", "500 mV")]
LIKELY, UNCERTAIN, UNLIKELY = "likely", "uncertain", "unlikely"


class PotentialOnCSE(NamedTuple):
    """Result of `potential_on_cse`."""

    E_25: Potential
    dT: TemperatureDifference
    E_c: Potential


@calculation(
    title="Potential against the copper-copper sulfate electrode",
    source=(
        Cite("ijc-2010-756950", "Table 2, electrodes against the hydrogen electrode at 25 °C"),
        Cite("astm-c876", "correction for temperature outside 22.2 ± 5.5 °C", "memory"),
        Cite(
            "",
            "0.9 mV per °C (0.5 mV per °F) of the copper-copper sulfate electrode, an electrode manufacturer",
            "common practice",
        ),
    ),
    notes=(
        "The correction is that of a copper-copper sulfate electrode; k_E is zero for another one or within the band.",
    ),
)
def potential_on_cse(
    E: Reading, E_r: Electrode, E_cse: Electrode, k_E: Annotated[PotentialSlope, Range("0 mV/Δ°C", "2 mV/Δ°C")],
    T: Warmth, T_0: Warmth,
) -> PotentialOnCSE:  # fmt: skip
    r"""Half-cell potential as if read with a copper-copper sulfate electrode at the temperature of the standard.

    .. math:: E_c = E + E_r - E_{cse} + k_E (T - T_0)

    Parameters
    ----------
    E : quantity of potential, shape (...,)
        reading
    E_r : quantity of potential
        electrode used, against the hydrogen electrode
    E_cse : quantity of potential
        copper-copper sulfate electrode, against the hydrogen electrode
    k_E : quantity of potential per temperature
        change of the electrode with temperature
    T : quantity of temperature
        temperature of the electrode at the reading
    T_0 : quantity of temperature
        temperature that the classes hold for

    Returns
    -------
    PotentialOnCSE
        `E_25` reading against copper-copper sulfate, `dT` difference of temperature, `E_c` corrected potential.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Linear temperature coefficient of the copper-copper sulfate electrode. Source: the table of reference electrodes.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = potential_on_cse(Q(-109, "mV"), Q(241, "mV"), Q(316, "mV"), Q(0, "mV/delta_degC"), Q(20, "°C"), Q(22.2, "°C"))
    >>> f"{made.E_c.m_as('mV'):.0f} mV"
    '-184 mV'
    """
    E_25 = E + E_r - E_cse  # reading against the copper-copper sulfate electrode
    dT = T - T_0  # difference of temperature
    E_c = E_25 + k_E * dT  # corrected potential
    return PotentialOnCSE(E_25, dT, E_c)


@calculation(
    title="Resistivity from four probes in a line",
    source=Cite("", "four-probe (Wenner) array", "common practice"),
    notes=("Probes are even, and far from edges and bars against their spacing; cold or dry concrete reads higher.",),
)
def resistivity(
    a: Annotated[Length, Range("10 mm", "200 mm")], R: Annotated[Resistance, Range("0.001 kΩ", "1000 kΩ")]
) -> Resistivity:
    r"""Resistivity of the concrete under four probes in a line.

    .. math:: \rho = 2 \pi a R

    Parameters
    ----------
    a : quantity of length, shape (...,)
        spacing of the probes
    R : quantity of resistance, shape (...,)
        resistance read

    Returns
    -------
    Resistivity
        `rho`, resistivity of the concrete.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Four equally spaced probes on a half-space, far from edges and bars. Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{resistivity(Q(50, 'mm'), Q(1, 'kΩ')).m_as('kΩ*cm'):.1f}"
    '31.4'
    """
    rho = 2 * pi * a * R  # resistivity
    return rho


class ShareBelow(NamedTuple):
    """Result of `share_below_normal`."""

    u: Ratio
    p: Share


@calculation(
    title="Share of the cover below a limit, normal law",
    source=Cite("abramowitz-stegun", "chapter 26, normal distribution"),
    notes=("The law is fitted by mean and standard deviation; its tail is not proved by the readings.",),
)
def share_below_normal(c_L: Cover, c_m: Cover, s_c: Annotated[Length, Range("0.1 mm", "100 mm")]) -> ShareBelow:
    r"""Share of the deck whose cover is below a limit, if it scatters normally.

    .. math:: p = \Phi\left(\frac{c_L - c_m}{s_c}\right)

    Parameters
    ----------
    c_L : quantity of length, shape (...,)
        limit
    c_m : quantity of length, shape (...,)
        mean cover
    s_c : quantity of length, shape (...,)
        standard deviation of the cover

    Returns
    -------
    ShareBelow
        `u` limit in standard deviations from the mean, `p` share below it.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Cover is taken to scatter normally about its mean. Source: statistics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{share_below_normal(Q(40, 'mm'), Q(50, 'mm'), Q(10, 'mm')).p.m_as('percent'):.2f}"
    '15.87'
    """
    u = (c_L - c_m) / s_c  # limit in standard deviations from the mean
    p = Phi(u)  # share below the limit
    return ShareBelow(u, p)


class ShareBelowLog(NamedTuple):
    """Result of `share_below_lognormal`."""

    w: Ratio
    v: Ratio
    h: Ratio
    l: Ratio
    u: Ratio
    p: Share


@calculation(
    title="Share of the cover below a limit, lognormal law",
    source=Cite("abramowitz-stegun", "chapter 26, normal distribution"),
    notes=("The law is fitted by mean and standard deviation; its tail is not proved by the readings.",),
)
def share_below_lognormal(c_L: Cover, c_m: Cover, s_c: Annotated[Length, Range("0.1 mm", "100 mm")]) -> ShareBelowLog:
    r"""Share of the deck whose cover is below a limit, if its logarithm scatters normally.

    .. math:: p = \Phi\left(\frac{\ln (c_L / c_m) + \zeta^2 / 2}{\zeta}\right), \quad \zeta^2 = \ln (1 + s_c^2 / c_m^2)

    Parameters
    ----------
    c_L : quantity of length, shape (...,)
        limit
    c_m : quantity of length, shape (...,)
        mean cover
    s_c : quantity of length, shape (...,)
        standard deviation of the cover

    Returns
    -------
    ShareBelowLog
        `w` 1 + square of the coefficient of variation, `v` its logarithm, `h` limit over mean, `l` its logarithm, `u`
        limit in standard deviations of the logarithm, `p` share below it.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The logarithm of the cover is taken to scatter normally. Source: statistics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{share_below_lognormal(Q(40, 'mm'), Q(50, 'mm'), Q(10, 'mm')).p.m_as('percent'):.2f}"
    '15.20'
    """
    w = 1 + (s_c / c_m) ** 2  # one and the square of the coefficient of variation
    v = ln(w)  # variance of the logarithm
    h = c_L / c_m  # limit over mean
    l = ln(h)  # its logarithm
    u = (l + v / 2) / sqrt(v)  # limit in standard deviations of the logarithm
    p = Phi(u)  # share below the limit
    return ShareBelowLog(w, v, h, l, u, p)


def electrodes() -> dict[str, float]:
    """Return reference electrodes and their potential against the hydrogen electrode, in mV at 25 °C."""
    return {row["electrode"]: float(row["potential [mV]"]) for row in tables.load("reference_electrodes").rows}


def potential_classes(E_c: Any) -> Any:
    """Say how likely corrosion is at each potential, by the limits of ASTM C876, which are strict.

    Parameters
    ----------
    E_c : array
        Corrected potentials in mV against copper-copper sulfate, uncoated bars.

    Returns
    -------
    array of str
        “unlikely” above −200 mV, “likely” below −350 mV, “uncertain” from the one to the other, both included.

    Examples
    --------
    >>> print(*potential_classes([-199.9, -200, -350, -350.1]))
    unlikely uncertain uncertain likely
    """
    table = tables.load("potential_classes")
    high, low = (float(table.row("class", name)["limit [mV]"]) for name in (UNLIKELY, LIKELY))
    E_c = np.asarray(E_c, float)
    slack = 1e-6  # mV, the noise of a conversion
    return np.where(E_c > high + slack, UNLIKELY, np.where(E_c < low - slack, LIKELY, UNCERTAIN))


def resistivity_class(rho: float, scale: Literal["likelihood", "rate"]) -> str:
    """Return the class of a resistivity on one of two scales, which are not to be mixed.

    Parameters
    ----------
    rho : float
        In kΩ·cm.
    scale : {"likelihood", "rate"}
        How likely corrosion is, or how fast it goes once the bars have lost their protection.

    Returns
    -------
    str

    Examples
    --------
    >>> resistivity_class(15, "likelihood"), resistivity_class(15, "rate")
    ('moderate', 'low to moderate')
    """
    rows = [row for row in tables.load("resistivity_classes").rows if row["scale"] == scale]
    if not rows:
        raise InputError(f"there is no scale “{scale}”, wanted likelihood or rate")
    for row in rows:
        least = float(row["from [kΩ·cm]"])
        if above(rho, least) or (not below(rho, least) and row["reached"] == "yes"):
            return row["class"]
    return rows[-1]["class"]


@dataclass(frozen=True)
class CoverStatistics:
    """Readings of cover, in metres, and how well two laws follow them.

    Attributes
    ----------
    count : int
    mean, sd, least, most : float
    normal, lognormal : float
        Maximum distance between the cumulative share of the readings and that of the law.
    """

    count: int
    mean: float
    sd: float
    least: float
    most: float
    normal: float
    lognormal: float

    @property
    def better(self) -> Literal["normal", "lognormal"]:
        """The law that stays closer to the readings."""
        return "normal" if self.normal <= self.lognormal else "lognormal"

    def law(self) -> Law:
        """The better law."""
        return Law(self.better, self.mean, self.sd)


def cover_statistics(covers: Any) -> CoverStatistics:
    """Work out mean, scatter and the fit of two laws by mean and standard deviation.

    Parameters
    ----------
    covers : array, shape (n,)
        In metres.

    Returns
    -------
    CoverStatistics

    Raises
    ------
    InputError
        If there are fewer than three readings, one is not positive, or all are the same.
    """
    from scipy.special import ndtr

    c = np.sort(np.asarray(covers, float))
    if len(c) < 3 or not np.all(np.isfinite(c)) or c[0] <= 0 or c[0] == c[-1]:
        raise InputError("cover wants at least three positive readings that are not all the same")
    mean, sd = float(c.mean()), float(c.std(ddof=1))
    mu, zeta = Law("lognormal", mean, sd).logs
    above, below = np.arange(1, len(c) + 1) / len(c), np.arange(len(c)) / len(c)

    def distance(share: Any) -> float:
        return float(max(np.max(above - share), np.max(share - below)))

    return CoverStatistics(
        len(c),
        mean,
        sd,
        float(c[0]),
        float(c[-1]),
        distance(ndtr((c - mean) / sd)),
        distance(ndtr((np.log(c) - mu) / zeta)),
    )
