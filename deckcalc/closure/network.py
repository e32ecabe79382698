"""The timetable as a network of steps: longest paths forwards and backwards, and their spread by sampling.

Times are in minutes. Every step comes after those it follows in the work and after those that use its crew or plant
before it. Who comes before whom on a crew is fixed by an order and by the number of crews, never by the durations: so
a faster step never makes the end later. The order is the best of several, with all crews or fewer: so another crew
never makes it later either.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from deckcalc.units import InputError


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
    """

    name: str
    after: tuple[str, ...]
    uses: tuple[str, ...]
    likely: float
    least: float
    most: float
    group: str = ""
    rank: int = 0


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
        """Return earliest finishes [min] for durations of shape (..., n)."""
        done = np.zeros(durations.shape)
        for i, before in enumerate(self.before):
            start = done[..., list(before)].max(axis=-1) if before else 0.0
            done[..., i] = start + durations[..., i]
        return done

    def latest(self, durations: np.ndarray, end: float) -> np.ndarray:
        """Return latest finishes [min] for the last step to end at `end`; durations of shape (n,)."""
        late = np.full(len(self.steps), float(end))
        for i in range(len(self.steps) - 1, -1, -1):
            for j in self.before[i]:
                late[j] = min(late[j], late[i] - durations[i])
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
        """Whether each step has the least slack."""
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
    """Return the network in which step k on a crew waits for step k less the number of crews."""
    place = {step.name: i for i, step in enumerate(order)}
    users: dict[str, list[int]] = {}
    before = []
    for i, step in enumerate(order):
        waits = {place[name] for name in step.after}
        for name in step.uses:
            line = users.setdefault(name, [])
            if len(line) >= crews[name]:
                waits.add(line[-crews[name]])
            line.append(i)
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
    used = list(dict.fromkeys(name for step in steps for name in step.uses))
    for step in steps:
        for name in step.uses:
            if crews.get(name, 0) < 1:
                raise InputError(f"step {step.name} uses “{name}”, of which there is none")
    ways = orders(steps)
    best: tuple[float, Network] | None = None
    for counts in product(*(range(crews[name], 0, -1) for name in used)):
        for order in ways:
            network = chained(order, dict(zip(used, counts, strict=True)))
            end = float(network.finishes(network.likely()).max())
            if best is None or end < best[0] - 1e-9:
                best = end, network
    assert best
    return best[1]


def triangular(network: Network, samples: int, seed: int) -> np.ndarray:
    """Return durations drawn from triangles between least, likely and most; shape (samples, n)."""
    rng = np.random.default_rng(seed)
    columns = []
    for step in network.steps:
        draw = rng.random(samples)
        width = step.most - step.least
        if width <= 0:
            columns.append(np.full(samples, step.likely))
            continue
        cut = (step.likely - step.least) / width
        rise = step.least + np.sqrt(draw * width * (step.likely - step.least))
        fall = step.most - np.sqrt((1 - draw) * width * (step.most - step.likely))
        columns.append(np.where(draw < cut, rise, fall))
    return np.stack(columns, axis=-1)


@dataclass(frozen=True)
class Spread:
    """What sampling finds: share of samples that end in time, ends in rising order [min], how often each step is critical."""

    in_time: float
    ends: np.ndarray
    critical: np.ndarray

    def quantile(self, share: float) -> float:
        """Return the end that a share of the samples keeps [min]."""
        return float(np.quantile(self.ends, share))


def spread(network: Network, end: float, samples: int, seed: int) -> Spread:
    """Sample the timetable; steps are independent of one another.

    Parameters
    ----------
    network : Network
    end : float
        Opening [min from the closing].
    samples, seed : int

    Returns
    -------
    Spread
    """
    d = triangular(network, samples, seed)
    finish = network.finishes(d)
    last = finish.max(axis=-1)
    late = np.repeat(last[:, None], d.shape[1], axis=1)
    for i in range(d.shape[1] - 1, -1, -1):
        for j in network.before[i]:
            late[:, j] = np.minimum(late[:, j], late[:, i] - d[:, i])
    critical = np.mean(late - finish <= 1e-6, axis=0)
    return Spread(float(np.mean(last <= end + 1e-9)), np.sort(last), critical)


def remaining(network: Network, durations: np.ndarray) -> np.ndarray:
    """Return the time from the start of each step to the end of all that must follow it [min], shape (samples, n)."""
    tail = durations.copy()
    for i in range(len(network.steps) - 1, -1, -1):
        for j in network.before[i]:
            tail[:, j] = np.maximum(tail[:, j], durations[:, j] + tail[:, i])
    return tail
