"""Batch cards: one page for each mixer load, large enough to be read in the rain, with boxes drawn to be ticked."""

from __future__ import annotations

import math

import matplotlib
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.core import units
from deckcalc.core.units import Quantity, System
from deckcalc.mix.design import BagLoads, Design, MixDesign, MixerLoads, Mixes, Weight
from deckcalc.show.figures import STYLE, Picture

WIDTH, HEIGHT = 6.6, 7.45  # inches; as wide as the text of the sheet
#: Left edges of the columns, in inches.
BOX, NAME = 0.08, 0.48
#: Right edges of the columns with numbers.
MASS, LIMITS, GAUGE = 4.15, 5.75, 6.5


class Card:
    """A page that is written from the top down, in inches."""

    def __init__(self) -> None:
        self.figure = Figure(figsize=(WIDTH, HEIGHT))
        self.page = self.figure.add_axes((0, 0, 1, 1))
        self.page.set_xlim(0, WIDTH)
        self.page.set_ylim(HEIGHT, 0)
        self.page.axis("off")
        self.page.add_patch(Rectangle((0.01, 0.01), WIDTH - 0.02, HEIGHT - 0.02, fill=False, linewidth=1.6))

    def text(self, x: float, y: float, text: str, size: float = 12, bold: bool = False, right: bool = False) -> None:
        """Write a line with its foot at `y`."""
        self.page.text(
            x, y, text, fontsize=size, fontweight="bold" if bold else "normal",
            ha="right" if right else "left", va="baseline",
        )  # fmt: skip

    def tick(self, y: float, x: float = BOX, side: float = 0.27) -> None:
        """Draw a box to be ticked, its foot a little under the line at `y`."""
        self.page.add_patch(Rectangle((x, y - side + 0.05), side, side, fill=False, linewidth=1.4))

    def rule(self, y: float, width: float = 0.6) -> None:
        """Draw a line across the page."""
        self.page.plot([0.01, WIDTH - 0.01], [y, y], color="black", linewidth=width)

    def blank(self, x: float, y: float, label: str, width: float) -> None:
        """Draw a line to write on, with its label before it."""
        self.text(x, y, label, 10.5)
        start = x + 0.083 * len(label) + 0.05
        self.page.plot([start, x + width], [y + 0.03, y + 0.03], color="black", linewidth=0.7)


def scale(mass: Quantity, system: System, up: bool = False, decimals: int = 1) -> str:
    """Return a limit of the scale, rounded to the safe side."""
    value = float(units.magnitude(mass, units.kind_of(units.Mass), system)) * 10**decimals
    return f"{(math.ceil(value - 1e-9) if up else math.floor(value + 1e-9)) / 10**decimals:.{decimals}f}"


def places(one: Weight, system: System) -> int:
    """Return the decimals that a mass needs so that its tolerance can be read."""
    assert one.low is not None and one.high is not None  # it is weighed
    band = float(units.magnitude(one.high - one.low, units.kind_of(units.Mass), system))
    return 1 if band >= 0.4 else 2


def cards(mixes: Mixes, reference: str) -> list[Picture]:
    """Return a card for every load of every patch; the reference says of which package it is."""
    made = []
    for name in [one.name for one in mixes.patches] or [one.name for one in mixes]:
        loads, bags = mixes.loads.get(name), mixes.bag_loads.get(name)
        made += [card(mixes, loads, number, reference) for number in range(1, loads.count + 1)] if loads else []
        made += [bag_card(mixes, bags, number, reference) for number in range(1, bags.count + 1)] if bags else []
    return made


def title(patch: str, design: Design) -> str:
    """Return what a card is for: a patch, or a concrete in a job without patches."""
    return f"Patch {patch}" if patch else f"Concrete {design.name}"


def lower(words: str) -> str:
    """Return words with a small first letter."""
    return words[0].lower() + words[1:]


def bag_card(mixes: Mixes, loads: BagLoads, number: int, reference: str) -> Picture:
    """Return the card of one load of a prepackaged concrete: whole bags, water and aggregate by the bag."""
    product, bags = loads.design.concrete, loads.bags[number - 1]
    unit, made = units.kind_of(units.Mass).symbol(mixes.system), loads.found
    with matplotlib.rc_context(STYLE):
        page = Card()
        page.text(0.12, 0.42, title(loads.patch, loads.design), 22, bold=True)
        page.text(WIDTH - 0.12, 0.42, f"load {number} of {loads.count}", 22, bold=True, right=True)
        page.text(
            0.12, 0.74, f"{loads.design.item}: {mixes.show(bags * made.V_bag, units.BatchVolume)} of concrete", 14
        )
        page.text(0.12, 0.98, reference, 9.5)
        page.text(0.12, 1.22, product.product[:70], 11, bold=True)
        page.rule(1.52, 1.4)
        y = 2.0
        page.tick(y)
        page.text(NAME, y, f"bags of {mixes.show(product.bag, units.Mass)}, whole", 14)
        page.text(LIMITS, y, f"{bags}", 22, bold=True, right=True)
        if loads.extended:
            y += 0.5
            page.tick(y)
            page.text(NAME, y, f"{product.aggregate}, saturated surface-dry", 14)
            page.text(LIMITS, y, f"{scale(bags * made.m_ag, mixes.system)} {unit}", 18, bold=True, right=True)
        y += 0.3
        page.rule(y)
        y += 0.45
        page.text(0.12, y, "WATER", 14, bold=True)
        page.tick(y, 1.15)
        page.text(1.55, y, "in the drum first", 14)
        page.text(LIMITS, y, f"{scale(bags * product.water, mixes.system)} {unit}", 18, bold=True, right=True)
        y += 0.4
        page.text(1.15, y, "NEVER MORE WATER, NO PART OF A BAG", 14, bold=True)
        y += 0.24
        page.text(1.15, y, "water on the aggregate counts: dry it off, or take it off here", 10)
        page.rule(y + 0.1, 1.4)
        finish(mixes, loads.design, page, y + 0.1)
    return Picture(
        page.figure,
        f"Batch card, {lower(title(loads.patch, loads.design))}, load {number} of {loads.count}. Water rounded down.",
    )


def card(mixes: Mixes, loads: MixerLoads, number: int, reference: str) -> Picture:
    """Return the card of one load."""
    with matplotlib.rc_context(STYLE):
        page = Card()
        y = heading(mixes, loads, number, reference, page)
        y = table(mixes, loads, page, y)
        y = water(mixes, loads, page, y)
        finish(mixes, loads.mix, page, y)
    return Picture(
        page.figure,
        f"Batch card, {lower(title(loads.patch, loads.mix))}, load {number} of {loads.count}. Limits of the scale are rounded inwards, water down.",
    )


def heading(mixes: Mixes, loads: MixerLoads, number: int, reference: str, page: Card) -> float:
    """Write which load it is."""
    volume = mixes.show(loads.volume, units.BatchVolume)
    page.text(0.12, 0.42, title(loads.patch, loads.mix), 22, bold=True)
    page.text(WIDTH - 0.12, 0.42, f"load {number} of {loads.count}", 22, bold=True, right=True)
    page.text(0.12, 0.74, f"{loads.mix.item}: {volume} of concrete", 14)
    page.text(0.12, 0.98, reference, 9.5)
    wet = ", ".join(
        f"{row.aggregate} {100 * float(loads.mix.moisture[use].m_as('')):.1f} %"
        for use, row in (("coarse", loads.mix.coarse), ("fine", loads.mix.fine))
    )
    page.text(0.12, 1.22, f"for total moisture: {wet}", 11, bold=True)
    page.text(0.12, 1.43, "if the moisture has changed, this card is void", 11, bold=True)
    page.rule(1.52, 1.4)
    return 1.52


def table(mixes: Mixes, loads: MixerLoads, page: Card, y: float) -> float:
    """Write what goes in, in the order of charging."""
    unit = units.kind_of(units.Mass).symbol(mixes.system)
    boxes = any(one.boxes is not None for one in loads.weights)
    y += 0.24
    page.text(NAME, y, "put in, in this order", 10)
    page.text(MASS, y, f"weigh [{unit}]", 10, right=True)
    page.text(LIMITS, y, "scale between", 10, right=True)
    if boxes:
        page.text(GAUGE, y, "or boxes", 10, right=True)
    page.rule(y + 0.07)
    step = min(0.42, 2.25 / max(len(loads.weights), 1))
    y += 0.07
    for one in loads.weights:
        y += step
        line(mixes, one, page, y - 0.12)
        page.rule(y, 0.4)
    if boxes:
        y += 0.22
        box = mixes.inputs.mix.gauge_box
        assert box is not None
        size = f"{box.m_as('L'):.3g} L" if mixes.system == "SI" else f"{box.m_as('gal'):.3g} gal"
        page.text(NAME, y, f"boxes of {size}, loose, struck level: only if there is no scale; may be 10 % off", 9)
        y += 0.08
        page.rule(y)
    return y


def line(mixes: Mixes, one: Weight, page: Card, y: float) -> None:
    """Write one material."""
    page.tick(y)
    size = 14 if len(one.material) < 22 else 11.5
    page.text(NAME, y, one.material, size)
    if one.volume is not None:
        litres = f"{one.volume.m_as('mL'):.0f} mL"
        if mixes.system == "US":
            page.text(MASS, y, f"{one.volume.m_as('floz'):.2f} fl oz", 14, bold=True, right=True)
            page.text(LIMITS, y, f"= {litres}", 14, bold=True, right=True)
        else:
            page.text(LIMITS, y, litres, 18, bold=True, right=True)
        return
    assert one.mass is not None and one.low is not None and one.high is not None  # what is no liquid is weighed
    decimals = places(one, mixes.system)
    wanted = mixes.show(one.mass, units.Mass, decimals).partition(" ")[0]
    page.text(MASS, y, wanted, 18, bold=True, right=True)
    page.text(
        LIMITS,
        y,
        f"{scale(one.low, mixes.system, True, decimals)} to {scale(one.high, mixes.system, False, decimals)}",
        12,
        right=True,
    )
    if one.boxes is not None:
        page.text(GAUGE, y, f"{float(one.boxes.m_as('')):.1f}", 12, right=True)


def water(mixes: Mixes, loads: MixerLoads, page: Card, y: float) -> float:
    """Write the water: first, held back, and the most."""
    found = loads.water
    unit = units.kind_of(units.Mass).symbol(mixes.system)
    decimals = 1 if float(units.magnitude(found.m_most, units.kind_of(units.Mass), mixes.system)) >= 5 else 2
    # rounded down one and all, so that the parts never come to more than the most
    mass = lambda q: f"{scale(q, mixes.system, decimals=decimals)} {unit}"  # noqa: E731
    y += 0.34
    page.text(0.12, y, "WATER", 14, bold=True)
    page.tick(y, 1.15)
    page.text(1.55, y, "add first", 14)
    page.text(MASS, y, mass(found.m_first), 18, bold=True, right=True)
    if loads.ice.magnitude > 0:
        page.text(MASS + 0.15, y, f"of it {mass(loads.ice)} as ice", 13, bold=True)
    y += 0.38
    page.tick(y, 1.15)
    page.text(1.55, y, "hold back", 14)
    page.text(MASS, y, mass(found.m_held), 18, bold=True, right=True)
    page.text(MASS + 0.15, y, "until the slump is seen", 11)
    y += 0.38
    page.text(1.15, y, f"NEVER MORE THAN {mass(found.m_most)} IN ALL", 14, bold=True)
    y += 0.24
    page.text(1.15, y, "water left in the drum counts; stiff concrete gets no more than this", 10)
    page.rule(y + 0.1, 1.4)
    return y + 0.1


def finish(mixes: Mixes, mix: Design, page: Card, y: float) -> None:
    """Write what is wanted, and leave lines for what was found."""
    kind = units.kind_of(units.Length)
    wanted = []
    if mix.slump is not None:
        wanted.append(f"slump {units.magnitude(mix.slump, kind, mixes.system):g} {kind.symbol(mixes.system)}")
    if isinstance(mix, MixDesign) and mixes.inputs.mix.entrained == "air-entrained":
        tolerance = mixes.limit("air_tolerance").value.m_as("percent")
        wanted.append(f"air {mix.air.m_as('percent'):.1f} ± {tolerance:.1f} %")
    cold, hot = (limit.value for limit in mixes.placing_limits(mix))
    wanted.append(f"{mixes.show(cold, units.Temperature).partition(' ')[0]} to {mixes.show(hot, units.Temperature)}")
    page.text(0.12, y + 0.3, "wanted:  " + ",  ".join(wanted), 13, bold=True)
    y += 0.6
    page.blank(0.12, y, "date and time", 3.1)
    page.blank(3.4, y, "water in all", 3.0)
    y += 0.32
    page.blank(0.12, y, "slump", 2.0)
    page.blank(2.3, y, "air", 1.9)
    page.blank(4.4, y, "temperature", 2.0)
    y += 0.32
    page.blank(0.12, y, "cylinders", 2.4)
    page.blank(2.7, y, "batched by", 3.7)
    y += 0.28
    page.text(0.12, y, "Gloves, goggles, mask at the bags. Hands and clothes out of the running drum.", 10, bold=True)
