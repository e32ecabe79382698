"""Probability that the bars have lost their protection: by sampling, and by the reliability index of first order.

Everything here takes plain numbers in coherent SI. A sample is turned into its own time to initiation, so that one
pass gives the probability at every age. Samples are drawn chunk by chunk: memory does not grow with their number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from deckcalc.chloride.formulas.distributions import Law
from deckcalc.core.remembered import remembered
from deckcalc.core.units import InputError

Array = Any
CHUNK = 1 << 14
FEW = 2  # ages
NONE = Law("fixed", 0.0)
VARIABLES = ("x", "C_s", "C_0", "C_T", "D", "m", "b")
MEANINGS = {
    "x": "cover", "C_s": "surface content", "C_0": "background", "C_T": "threshold", "D": "diffusion coefficient",
    "m": "ageing exponent", "b": "constant of temperature",
}  # fmt: skip


@dataclass(frozen=True)
class Exposure:
    """What decides when a bar loses its protection.

    Attributes
    ----------
    x, C_s, C_0, C_T, D, m : Law
        Cover, surface content, background, threshold, diffusion coefficient at the age `t_r`, ageing exponent.
    t_r : float
        Age at which D was found, in seconds.
    convention : {"apparent", "time-integrated"}
        What the ageing exponent acts on.
    b : Law
        Constant of temperature in K; nil for none.
    T, T_r : float
        Temperature of the deck and of the test that gave D, in K.
    k_cr, k_b : float
        Factor of cracks on D, and of the bar's obstruction on the time.
    """

    x: Law
    C_s: Law
    C_0: Law
    C_T: Law
    D: Law
    m: Law
    t_r: float
    convention: Literal["apparent", "time-integrated"] = "apparent"
    b: Law = NONE
    T: float = 293.0
    T_r: float = 293.0
    k_cr: float = 1.0
    k_b: float = 1.0

    def __post_init__(self) -> None:
        if self.convention not in ("apparent", "time-integrated"):
            raise InputError(f"ageing convention is “{self.convention}”, wanted apparent or time-integrated")
        if not (self.t_r > 0 and self.k_cr > 0 and 0 < self.k_b <= 1):
            raise InputError("the age of D and the factors are positive, and the factor of obstruction is at most 1")

    @property
    def laws(self) -> dict[str, Law]:
        """The laws by name."""
        return {name: getattr(self, name) for name in VARIABLES}

    def spread(self, t: Array, D: Array, m: Array, b: Array) -> Array:
        """Return D t as it has come about by the age t, all factors in it."""
        share = 1.0 if self.convention == "apparent" else 1.0 / (1.0 - m)
        warm = np.exp(b * (1 / self.T_r - 1 / self.T))
        return share * warm * (self.k_cr / self.k_b) * t * (self.t_r / t) ** m * D

    def margin(self, t: float, v: Mapping[str, Array]) -> Array:
        """Return threshold less content at the bar at the age t: negative once protection is lost."""
        from scipy.special import erfc

        length = np.sqrt(np.maximum(4 * self.spread(t, v["D"], v["m"], v["b"]), 1e-300))
        return v["C_T"] - v["C_0"] - (v["C_s"] - v["C_0"]) * erfc(v["x"] / length)

    def initiation(self, v: Mapping[str, Array]) -> Array:
        """Return the time to initiation; nil where the background reaches the threshold, infinite where never."""
        from scipy.special import erfcinv

        with np.errstate(all="ignore"):
            z = erfcinv(np.clip((v["C_T"] - v["C_0"]) / np.maximum(v["C_s"] - v["C_0"], 1e-300), 0.0, 1.0))
            z *= 2
            first = (np.maximum(v["x"], 0.0) / z) ** 2
            first /= self.spread(self.t_r, v["D"], v["m"], v["b"])
            one = np.ndim(v["m"]) == 0 and v["m"] == 0
            t = self.t_r * (first if one else first ** (1 / (1 - v["m"])))
        return np.where(
            v["C_T"] <= v["C_0"], 0.0, np.where(np.less_equal(v["D"], 0), np.inf, np.nan_to_num(t, nan=np.inf))
        )


@dataclass(frozen=True)
class Sampled:
    """Probability by sampling.

    Attributes
    ----------
    times, share, error : array, shape (k,)
        Ages in seconds; share of samples that have lost protection by then, and its standard error.
    count, seed : int
    """

    times: Array
    share: Array
    error: Array
    count: int
    seed: int


@remembered(most=64)
def sample(exposure: Exposure, times: Array, count: int, seed: int, chunk: int = CHUNK) -> Sampled:
    """Draw samples and count those that have lost protection at each age.

    Parameters
    ----------
    exposure : Exposure
    times : array, shape (k,)
        Rising, in seconds.
    count : int
        Samples.
    seed : int
        The same seed gives the same result.
    chunk : int
        Samples held at a time; the result belongs to seed and chunk.

    Returns
    -------
    Sampled

    Raises
    ------
    InputError
        If ages do not rise, or begin at zero, or there are no samples.

    Examples
    --------
    >>> fixed = lambda value: Law("fixed", value)
    >>> year = 31557600.0
    >>> one = Exposure(Law("normal", 0.05, 0.01), fixed(6), fixed(0), fixed(1), fixed(1e-12), fixed(0), 20 * year)
    >>> made = sample(one, [20 * year, 40 * year], 100_000, 1)
    >>> [round(float(p), 2) for p in made.share]
    [0.47, 0.97]
    """
    times = np.asarray(times, float)
    if times.ndim != 1 or not len(times) or not (times[0] > 0 and np.all(np.diff(times) > 0)):
        raise InputError("ages are greater than zero and rise")
    if count < 1 or chunk < 1:
        raise InputError("there is at least one sample")
    rng = np.random.Generator(np.random.SFC64(seed))
    counts = np.zeros(len(times), np.int64)
    laws = exposure.laws
    for start in range(0, count, chunk):
        size = min(chunk, count - start)
        v = {name: law.draw(rng, size) for name, law in laws.items()}
        if len(times) <= FEW:  # content at the age: cheaper than the time of each sample
            counts += [np.count_nonzero(np.broadcast_to(exposure.margin(age, v), (size,)) <= 0) for age in times]
            continue
        t = exposure.initiation(v)
        t = np.broadcast_to(t, (size,))
        counts += np.cumsum(np.bincount(np.searchsorted(times, t), minlength=len(times) + 1)[:-1])
    share = counts / count
    return Sampled(times, share, np.sqrt(share * (1 - share) / count), count, seed)


@dataclass(frozen=True)
class FirstOrder:
    """Reliability index of first order at one age.

    Attributes
    ----------
    beta : float
        Distance of the most likely failure from the mean, in standard deviations; negative if failure is likelier.
    share : float
        Probability that goes with it.
    importance : dict of float
        Part of each variable in the scatter of the margin at that point; they add up to 1.
    point : dict of float
        Values of the variables there.
    mean_value : float
        Index by the slope at the mean values alone.
    """

    beta: float
    share: float
    importance: dict[str, float]
    point: dict[str, float]
    mean_value: float


@remembered(most=64)
def first_order(exposure: Exposure, t: float) -> FirstOrder:
    """Find the most likely point of failure and its distance from the mean.

    Parameters
    ----------
    exposure : Exposure
    t : float
        Age in seconds.

    Returns
    -------
    FirstOrder

    Raises
    ------
    InputError
        If nothing is uncertain, or no point of failure is found.

    Notes
    -----
    Hasofer and Lind 1974; the search is a constrained least square from two starts.
    """
    from scipy.optimize import minimize
    from scipy.special import ndtr

    laws = exposure.laws
    names = [name for name, law in laws.items() if law.name != "fixed"]
    if not names:
        raise InputError("nothing is uncertain: there is no reliability index")
    scale = abs(laws["C_T"].mean) or 1.0

    def values(u: Array) -> dict[str, Array]:
        moved = dict(zip(names, u, strict=True))
        v = {name: law.at(moved[name]) if name in moved else law.mean for name, law in laws.items()}
        return {**v, "m": np.minimum(v["m"], 0.999)}

    def margin(u: Array) -> float:
        return float(exposure.margin(t, values(u))) / scale

    def slope(u: Array) -> Array:
        step = 1e-5
        return np.array([(margin(u + step * e) - margin(u - step * e)) / (2 * step) for e in np.eye(len(names))])

    best = None
    for start in (0.0, 1.0):
        first = np.full(len(names), start) * np.sign(slope(np.zeros(len(names))) + 1e-30)
        found = minimize(
            lambda u: u @ u, first, jac=lambda u: 2 * u, method="SLSQP",
            constraints={"type": "eq", "fun": margin, "jac": slope}, options={"maxiter": 300, "ftol": 1e-12},
        )  # fmt: skip
        if abs(margin(found.x)) < 1e-6 and (best is None or found.fun < best.fun - 1e-9):
            best = found
    if best is None:
        raise InputError("no point of failure was found within the reach of the laws")
    u, g = best.x, slope(best.x)
    beta = float(np.sqrt(u @ u)) * (1 if margin(np.zeros(len(names))) > 0 else -1)
    parts = g**2 / (g @ g)
    return FirstOrder(
        beta, float(ndtr(-beta)), {name: float(part) for name, part in zip(names, parts, strict=True)},
        {name: float(value) for name, value in values(u).items()}, mean_value_index(exposure, t),
    )  # fmt: skip


def mean_value_index(exposure: Exposure, t: float) -> float:
    """Return mean over standard deviation of the margin, by its slope at the mean values."""
    means = {name: law.mean for name, law in exposure.laws.items()}
    variance = 0.0
    for name, law in exposure.laws.items():
        if law.sd:
            step = 1e-4 * law.sd
            up, down = ({**means, name: law.mean + way * step} for way in (1, -1))
            variance += ((exposure.margin(t, up) - exposure.margin(t, down)) / (2 * step) * law.sd) ** 2
    return float(exposure.margin(t, means) / np.sqrt(variance)) if variance else float("nan")
