"""Patches: from the unsound areas to limits, depth class, removal and volume."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field

from deckcalc import patch, steel, units
from deckcalc.check import Check, Limit, Sense
from deckcalc.course.base import Material, Subject, joined
from deckcalc.inputs import Id, Strict, Text, Written
from deckcalc.units import Distance, Length, Quantity, Share

if TYPE_CHECKING:
    from deckcalc.job import Job
    from deckcalc.jobfile import Head

PARTIAL, FULL = "partial depth", "full depth"


class Removal(Strict):
    """Allowances for removal and placing; none is published with authority, so each is the engineer's."""

    overbreak: Annotated[Quantity, Written(Share, "0 %", "60 %")] = Field(
        description="concrete broken out beyond the measured volume"
    )
    overbreak_source: Text = Field(description="where the allowance comes from")


class PatchRow(Strict):
    """patches.csv: one unsound area a row."""

    patch: Id
    station: Annotated[Quantity, Written(Distance, "0 m", "100 km")]
    offset: Annotated[Quantity, Written(Distance, "0 m", "100 m")]
    length: Annotated[Quantity, Written(Distance, "20 mm", "100 m")]
    width: Annotated[Quantity, Written(Distance, "20 mm", "50 m")]
    least_cover: Annotated[Quantity, Written(Length, "1 mm", "200 mm")]
    depths: Annotated[Quantity, Written(Length, "5 mm", "600 mm", least=1)]


SECTIONS = {"removal": Removal}
ROWS = {"patches": PatchRow}


def check(head: Head, rows: Mapping[str, list[Any]], limits: Mapping[str, Limit], faults: list[str]) -> None:
    """Hold patches against the deck."""
    t = head.deck.slab_thickness
    for row in rows["patches"]:
        if max(row.depths) > t * (1 + 1e-9):
            faults.append(
                f"patches.csv, patch {row.patch}: a depth of {max(row.depths):.4g~P} is more than the slab {t:.4g~P}"
            )
        if row.least_cover >= t:
            faults.append(f"patches.csv, patch {row.patch}: the cover is not less than the slab thickness {t:.4g~P}")


@dataclass
class Patches(Subject):
    """Patches, with what other subjects need of them.

    Attributes
    ----------
    depth_class : dict of str
        By patch: `PARTIAL` or `FULL`.
    order_volume : Quantity
        Concrete to order for all patches.
    """

    depth_class: dict[str, str] = field(default_factory=dict)
    order_volume: Any = None


def carry(job: Job) -> Patches:
    """Limits, depth class, removal and volume of every patch."""
    subject = Patches("patch", "Patches")
    deck, removal = job.head.deck, job.head.removal
    concretes = job.head.mix.concretes
    stone = concretes.get(PARTIAL, next(iter(concretes.values()))).coarse  # bars are freed in partial-depth patches
    aggregate = next(row for row in job.file.rows["aggregates"] if row.aggregate == stone)
    d_max = units.read(aggregate.nominal_size, units.Length)
    clear = subject.run(
        patch.clear_space, "all patches", s_min=job.limit("clear_space").value, D_max=d_max,
        e=job.limit("clear_over_aggregate").value,
    )  # fmt: skip
    d_1, d_2 = steel.bar_diameter(deck.top_bar_outer), steel.bar_diameter(deck.top_bar_inner)
    margin = job.limit("margin")
    orders = []
    for row in job.file.rows["patches"]:
        item = f"patch {row.patch}"
        sides = subject.run(patch.patch_limits, item, L_u=row.length, B_u=row.width, m=margin.value)
        depth = subject.run(patch.patch_depth, item, h=row.depths, t=deck.slab_thickness)
        ratio = job.limit("partial_depth_ratio")
        full = Check(item, "", depth.r_h, ratio, "less than").verdict != "satisfied"
        subject.depth_class[row.patch] = FULL if full else PARTIAL
        shown = job.show(depth.h_max, units.Length), job.show(deck.slab_thickness, units.Length)
        subject.decisions[item] = (
            f"{subject.depth_class[row.patch]}: the deepest reading {shown[0]} is {job.show(depth.r_h, units.Ratio)} of the "
            f"slab thickness {shown[1]}, {'not less' if full else 'less'} than {job.show(ratio.value, units.Ratio)}"
        )
        if full:
            h = deck.slab_thickness
        else:
            removed = subject.run(
                patch.removal_depth, item, h_i=row.depths, c=row.least_cover, d_1=d_1, d_2=d_2, s_c=clear.s_c
            )
            h = removed.h
        saw = subject.run(patch.saw_cut, item, c_min=row.least_cover, m_saw=job.limit("saw_margin").value)
        volume = subject.run(
            patch.patch_volume, item, A=sides.A, h=h, q_over=removal.overbreak, q_waste=job.limit("waste").value
        )
        orders.append(volume.V_order)
        greatest = Limit(
            "saw_depth", "greatest saw cut that stays clear of the bars", saw, units.kind_of(units.Length),
            "least measured cover less the margin",
        )  # fmt: skip
        side = job.limit("least_side")
        subject.checks += [
            Check(
                item,
                "planned saw cut",
                job.limit("saw_depth").value,
                greatest,
                "at most",
                "cut shallower, or locate the bars",
            ),
            Check(
                item,
                "lesser side of the marked limits",
                min(sides.L, sides.B),
                side,
                "at least",
                "enlarge the limits",
            ),
        ]
        if not full:
            least = job.limit("least_patch_depth")
            subject.checks.append(
                Check(
                    item,
                    "removal against the least depth of a patch",
                    h,
                    least,
                    "at least",
                    "remove to the least depth",
                )
            )
            thickness = Limit(
                "slab", "slab thickness, so that slab remains under the patch", deck.slab_thickness,
                units.kind_of(units.Length), "geometry",
            )  # fmt: skip
            subject.checks.append(
                Check(
                    item,
                    "removal leaves slab below it",
                    h,
                    thickness,
                    "less than",
                    "the removal goes through: treat as full depth",
                )
            )
    senses: dict[str, Sense] = {"margin_least": "at least", "margin_most": "at most"}
    for key, sense in senses.items():
        subject.checks.append(
            Check("all patches", "margin beyond the unsound concrete", margin.value, job.limit(key), sense)
        )
    subject.order_volume = subject.run(patch.order_total, "all patches", V=joined(orders)).V_total
    waste = f"waste {job.show(job.limit('waste').value, units.Share)} included"
    ordered = job.show(subject.order_volume, units.OrderVolume)
    subject.materials.append(Material("Concrete in place with waste", ordered, waste, "01 Patches"))
    subject.notes += [
        "The slab that remains under an open partial-depth patch, and traffic on or beside it, is for the engineer in "
        "charge to judge; it is not checked here.",
        "Saw cuts are dry or wet work with silica dust: use water or extraction, and respirators as the local rules ask.",
        "A full-depth hole is a fall edge and opens above whatever passes below: barricade it, keep the ground below "
        "clear, and have the formwork designed by a licensed engineer.",
    ]
    return subject
