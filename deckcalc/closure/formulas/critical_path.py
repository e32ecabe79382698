"""The timetable as a network of steps: longest paths forwards and backwards, and their spread by sampling.

Times are in minutes. Every step comes after those it follows in the work. On a crew or plant, steps are taken in a fixed
order, none passing another, each by the one that is free first. The start of a step is then the latest of what it
follows and of the c-th latest finish before it on its crew of c: a rising function of every duration and a falling one
of c. So for one order neither a faster step nor another crew ever makes the end later, and what holds for each order
holds for the best of several. (A list of steps from which whoever is free takes the first that is ready has no such
property: Graham 1969, from memory.) The latest times and the samples keep the allotment that this gives for the likely durations.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.special import ndtr

from deckcalc.core.remembered import remembered
from deckcalc.core.units import InputError


@dataclass(frozen=True)
class Step:
    """One step of the work.

    Attributes
    ----------
    name : str
    after : tuple of str
        Steps that must be done before it.
    uses : tuple of str
        Crews and plant, one of each.
    likely : float
        Duration [min].
    least, most : float
        Ends of its spread [min].
    group : str
        Patch that it belongs to; empty for the closure as a whole.
    rank : int
        Place in the order of the work.
    activity : str
        What is done, whatever the patch; empty where nobody asks.
    """

    name: str
    after: tuple[str, ...]
    uses: tuple[str, ...]
    likely: float
    least: float
    most: float
    group: str = ""
    rank: int = 0
    activity: str = ""


@dataclass(frozen=True)
class Network:
    """Steps in an order in which each comes after all that it waits for.

    Attributes
    ----------
    steps : tuple of Step
    before : tuple of tuple of int
        Places of the steps that each one waits for.
    """

    steps: tuple[Step, ...]
    before: tuple[tuple[int, ...], ...]

    def likely(self) -> np.ndarray:
        """Return the likely durations [min]."""
        return np.array([step.likely for step in self.steps])

    def finishes(self, durations: np.ndarray) -> np.ndarray:
        """Return earliest finishes [min] for durations of shape (n, ...)."""
        done = np.zeros(durations.shape)
        for i, before in enumerate(self.before):
            start = done[list(before)].max(axis=0) if before else 0.0
            done[i] = start + durations[i]
        return done

    def latest(self, durations: np.ndarray, end: Any) -> np.ndarray:
        """Return latest finishes [min] for the last step to end at `end`; durations of shape (n, ...)."""
        late = np.broadcast_to(end, durations.shape).astype(float)
        for i in range(len(self.steps) - 1, -1, -1):
            for j in self.before[i]:
                late[j] = np.minimum(late[j], late[i] - durations[i])
        return late


@dataclass(frozen=True)
class Times:
    """Timetable of a network; minutes from the closing."""

    start: np.ndarray
    finish: np.ndarray
    latest_start: np.ndarray
    slack: np.ndarray
    end: float

    @property
    def critical(self) -> np.ndarray:
        """Whether each step has the minimum slack."""
        return self.slack <= self.slack.min() + 1e-6


def times(network: Network, end: float | None = None) -> Times:
    """Return earliest and latest times by the likely durations.

    Parameters
    ----------
    network : Network
    end : float, optional
        When the last step must be done [min]; by default when it is.
    """
    d = network.likely()
    finish = network.finishes(d)
    last = float(finish.max())
    late = network.latest(d, last if end is None else end)
    return Times(finish - d, finish, late - d, late - finish, last)


def sorted_steps(steps: Sequence[Step]) -> list[Step]:
    """Return the steps so that each stands after all that it follows.

    Raises
    ------
    InputError
        If a step follows itself by way of others, or follows a step that there is not.
    """
    known = {step.name: step for step in steps}
    done: dict[str, Step] = {}
    path: list[str] = []

    def visit(name: str) -> None:
        if name in done:
            return
        if name in path:
            raise InputError(f"the order goes round in a circle: {' after '.join([*path[path.index(name) :], name])}")
        path.append(name)
        for other in known[name].after:
            if other not in known:
                raise InputError(f"step {name} follows “{other}”, which is no step")
            visit(other)
        path.pop()
        done[name] = known[name]

    for step in steps:
        visit(step.name)
    return list(done.values())


def chained(order: Sequence[Step], crews: Mapping[str, int]) -> Network:
    """Return the network in which every step waits for the one before it on the crew that is free first."""
    place = {step.name: i for i, step in enumerate(order)}
    free: dict[str, list[tuple[float, int]]] = {}  # of each crew: when each of them is free, and after which step
    done: list[float] = []
    before = []
    for i, step in enumerate(order):
        waits = {place[name] for name in step.after}
        taken = []
        for name in step.uses:
            line = free.setdefault(name, [(0.0, -1)] * crews[name])
            first = min(range(len(line)), key=lambda k: (line[k], k))
            waits |= {line[first][1]} - {-1}
            taken.append((line, first))
        done.append(max((done[j] for j in waits), default=0.0) + step.likely)
        for line, first in taken:
            line[first] = done[i], i
        before.append(tuple(sorted(waits)))
    return Network(tuple(order), tuple(before))


def orders(steps: Sequence[Step]) -> list[list[Step]]:
    """Return orders of the work: step by step over all patches, patch by patch, and waves between the two."""
    base = sorted_steps(steps)
    level: dict[str, int] = {}
    for step in base:  # a step stands at least one level above what it follows, so that every order is a valid one
        level[step.name] = max([level[name] + 1 for name in step.after], default=0)
    groups = list(dict.fromkeys(step.group for step in steps if step.group))
    count = {name: i for i, name in enumerate(groups)}
    deep = max(level.values(), default=0) + 1
    found = []
    for wave in (0, 1, 2, 4, deep):

        def key(step: Step, wave: int = wave) -> tuple[float, int, int]:
            at = count.get(step.group, -1)
            head = wave * at + level[step.name] if at >= 0 else (-1e9 if not step.after else 1e9) + level[step.name]
            return head, max(at, 0), level[step.name]

        found.append(sorted(base, key=key))
    return [order for order in found if valid(order)]


def valid(order: Sequence[Step]) -> bool:
    """Whether each step stands after all that it follows."""
    seen: set[str] = set()
    for step in order:
        if not set(step.after) <= seen:
            return False
        seen.add(step.name)
    return True


@remembered(most=128)
def plan(steps: Sequence[Step], crews: Mapping[str, int]) -> Network:
    """Return the network that ends first by the likely durations.

    Parameters
    ----------
    steps : sequence of Step
    crews : dict of int
        How many there are of each crew and each plant.

    Raises
    ------
    InputError
        If the order goes round in a circle, or a step uses what there is not.
    """
    for step in steps:
        for name in step.uses:
            if crews.get(name, 0) < 1:
                raise InputError(f"step {step.name} uses “{name}”, of which there is none")
    networks = [chained(order, crews) for order in orders(steps)]
    return min(networks, key=lambda network: float(network.finishes(network.likely()).max()))


@lru_cache(maxsize=256)
def drawn(step: Step, samples: int, seed: int, common: float) -> np.ndarray:
    """Return durations drawn from the triangle between minimum, likely and most [min].

    A step draws the same in every network, so that sets of patches are compared without the noise of sampling. Every
    triangle stays as it is; what the steps share is the night: the normal scores of any two of them have the correlation
    `common` (a common factor and one of the step's own).
    """
    score = np.sqrt(common) * scores(NIGHT, samples, seed) + np.sqrt(1 - common) * scores(step.name, samples, seed)
    return triangle(ndtr(score), step.least, step.likely, step.most)


#: Name of the common factor among the streams of draws; no step is called so, since names of steps are not empty.
NIGHT = ""


@lru_cache(maxsize=64)
def scores(name: str, samples: int, seed: int) -> np.ndarray:
    """Return normal scores of one step, or of the night."""
    return np.random.default_rng([seed, zlib.crc32(name.encode())]).standard_normal(samples)


def triangle(draw: np.ndarray, least: float, likely: float, most: float) -> np.ndarray:
    """Return values of a triangular distribution for even draws between 0 and 1.

    Examples
    --------
    >>> triangle(np.array([0.0, 0.5, 1.0]), 10.0, 20.0, 30.0).tolist()
    [10.0, 20.0, 30.0]
    """
    width = most - least
    if width <= 0:
        return np.full(draw.shape, likely)
    rise = least + np.sqrt(draw * width * (likely - least))
    fall = most - np.sqrt((1 - draw) * width * (most - likely))
    return np.where(draw * width < likely - least, rise, fall)


def triangular(network: Network, samples: int, seed: int, common: float) -> np.ndarray:
    """Return durations drawn for all steps; shape (n, samples)."""
    return np.stack([drawn(step, samples, seed, common) for step in network.steps])


@dataclass(frozen=True)
class Spread:
    """What sampling finds.

    Attributes
    ----------
    in_time : float
        Share of the samples that end in time.
    ends : array
        Ends in rising order [min].
    critical : array
        Share of the samples in which each step is critical.
    remaining : array, shape (n, samples)
        From the start of each step to the end of all that must follow it [min].
    """

    in_time: float
    ends: np.ndarray
    critical: np.ndarray
    remaining: np.ndarray

    def quantile(self, share: float) -> float:
        """Return the end that a share of the samples keeps [min]."""
        return kept(self.ends, share)


def kept(values: np.ndarray, share: float) -> float:
    """Return the minimum of the values that at least a share of them does not exceed.

    Examples
    --------
    >>> kept(np.array([1.0, 2.0, 3.0, 4.0]), 0.75)
    3.0
    """
    return float(np.quantile(values, share, method="inverted_cdf"))


@remembered(most=128)
def spread(network: Network, end: float, samples: int, seed: int, common: float) -> Spread:
    """Sample the timetable; a slow night is slow throughout.

    Parameters
    ----------
    network : Network
    end : float
        Opening [min from the closing].
    samples, seed : int
    common : float
        What the steps have in common, from 0 (independent of one another) to 1 (all as slow as one another).

    Returns
    -------
    Spread
    """
    d = triangular(network, samples, seed, common)
    finish = network.finishes(d)
    last = finish.max(axis=0)
    critical = np.mean(network.latest(d, last) - finish <= 1e-6, axis=1)
    return Spread(float(np.mean(last <= end + 1e-9)), np.sort(last), critical, remaining(network, d))


@remembered(most=128)
def end_kept(network: Network, share: float, samples: int, seed: int, common: float) -> float:
    """Return the end that a share of the samples keeps, and no less than the end by likely durations [min]."""
    last = network.finishes(triangular(network, samples, seed, common)).max(axis=0)
    return max(kept(last, share), float(network.finishes(network.likely()).max()))


@remembered(most=256)
def in_time(network: Network, end: float, samples: int, seed: int, common: float) -> int:
    """Return how many of the samples end in time, without the memory of what was drawn."""
    last = network.finishes(np.stack([drawn.__wrapped__(s, samples, seed, common) for s in network.steps])).max(axis=0)
    return int(np.count_nonzero(last <= end + 1e-9))


def remaining(network: Network, durations: np.ndarray) -> np.ndarray:
    """Return the time from the start of each step to the end of all that must follow it [min], shape (n, samples)."""
    tail = durations.copy()
    for i in range(len(network.steps) - 1, -1, -1):
        for j in network.before[i]:
            tail[j] = np.maximum(tail[j], durations[j] + tail[i])
    return tail
