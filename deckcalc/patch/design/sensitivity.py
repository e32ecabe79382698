"""What moves the order volume: the patches carried again with one thing changed at a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

from deckcalc.core import units
from deckcalc.core.check import Limit
from deckcalc.core.units import Length, Quantity, Share
from deckcalc.patch.design import carry
from deckcalc.patch.design.marking import mark

if TYPE_CHECKING:
    from deckcalc.job import Job


@dataclass
class Variant:
    """The job with something changed, as `carry` needs it."""

    head: Any
    file: Any
    system: str
    limits: dict[str, Limit]

    def limit(self, key: str) -> Limit:
        """Return a limit by its key."""
        return self.limits[key]

    def show(self, value: Any, kind: Any, decimals: int | None = None) -> str:
        """Print a quantity."""
        return units.show(value, kind, self.system, decimals)


def sensitivity(job: Job) -> list[tuple[str, tuple[str, str], tuple[Quantity, Quantity]]]:
    """Return what was changed, its two values as printed, and the two order volumes, the widest first."""
    want, marked = job.head.sensitivity, job.patch.marked
    if want is None:
        return []
    thick = float(job.head.deck.slab_thickness.m_as("m"))

    def order(head: Any, limits: Mapping[str, Limit], deeper: float = 0.0) -> Quantity:
        readings = [reading for one in marked.patches for reading in one.readings]
        shifted = [
            r if r.depth is None else replace(r, depth=min(max(r.depth + deeper, 0.005), thick))
            for r in {r.name: r for r in readings}.values()
        ]
        again = mark(head, limits, marked.found, shifted)
        rows = {**job.file.rows, "patches": again.patches, "survey": [again]}
        return carry(Variant(head, SimpleNamespace(rows=rows, limits=limits), job.system, dict(limits))).order_volume  # type: ignore[arg-type]

    def with_limit(key: str, value: Quantity) -> Quantity:
        return order(job.head, {**job.file.limits, key: replace(job.file.limits[key], value=value)})

    def with_overbreak(value: Quantity) -> Quantity:
        return order(job.head.model_copy(update={"removal": job.head.removal.model_copy(update={"overbreak": value})}),
                     job.file.limits)  # fmt: skip

    delta = float(want.depth.m_as("m"))
    tried = [
        ("margin", [job.show(v, Length) for v in want.margin], [with_limit("margin", v) for v in want.margin]),
        ("depth of every reading", [f"{sign}{job.show(want.depth, Length)}" for sign in ("−", "+")],
         [order(job.head, job.file.limits, sign * delta) for sign in (-1, 1)]),
        ("over-break", [job.show(v, Share) for v in want.overbreak], [with_overbreak(v) for v in want.overbreak]),
        ("waste", [job.show(v, Share) for v in want.waste], [with_limit("waste", v) for v in want.waste]),
    ]  # fmt: skip
    found = [(name, (a[0], a[1]), (v[0], v[1])) for name, a, v in tried]
    return sorted(found, key=lambda one: -abs(float((one[2][1] - one[2][0]).m_as("m³"))))
