"""Batch cards: half a page for each batch of the mixer, amounts as a scale, a pail or a dosing cup shows them, boxes to be ticked."""

from __future__ import annotations

import math
import textwrap

import matplotlib
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc.core import units
from deckcalc.core.units import Quantity, System, quantity
from deckcalc.mix.design import BagLoads, Design, MixDesign, MixerLoads, Mixes, Weight
from deckcalc.show.figures import STYLE, WIDTH, Picture

HEIGHT = 3.85  # inches; two to a page of either paper
#: Left edges of the columns, in inches: box, name, and what stands right of the line between the halves.
BOX, NAME, HALF, RIGHT = 0.08, 0.4, 4.2, 4.3
#: Right edges of the columns with numbers, left and right of that line.
MASS, LIMITS, GAUGE, AMOUNT = 2.72, 3.66, 4.12, 6.5
#: Type, in points: what is read at the mixer, its names, and the smallest.
LARGE, NAMED, SMALL = 13, 10, 8.5
#: Characters of a name that fit before its mass, at the smallest type.
LETTERS = 22
SAFETY = ("Gloves, goggles, mask at the bags.", "Hands and clothes out of the running drum.")


class Card:
    """A card that is written from the top down, in inches."""

    def __init__(self, heading: str, count: str, made: str, reference: str, *conditions: str) -> None:
        self.figure = Figure(figsize=(WIDTH, HEIGHT))
        self.page = self.figure.add_axes((0, 0, 1, 1))
        self.page.set_xlim(0, WIDTH)
        self.page.set_ylim(HEIGHT, 0)
        self.page.axis("off")
        self.page.add_patch(Rectangle((0.01, 0.01), WIDTH - 0.02, HEIGHT - 0.02, fill=False, linewidth=1.6))
        self.text(0.12, 0.27, heading, 15, bold=True)
        self.text(AMOUNT, 0.27, count, 15, bold=True, right=True)
        self.text(0.12, 0.47, made, NAMED)
        self.text(AMOUNT, 0.47, reference, SMALL, right=True)
        self.text(0.12, 0.64, "; ".join(conditions), SMALL, bold=True)
        self.rule(0.71, 1.4)
        self.page.plot([HALF, HALF], [0.71, HEIGHT - 0.01], color="black", linewidth=0.6)
        for place, words in enumerate(SAFETY):
            self.text(0.12, HEIGHT - 0.24 + 0.15 * place, words, SMALL, bold=True)

    def text(self, x: float, y: float, text: str, size: float = NAMED, bold: bool = False, right: bool = False) -> None:
        """Write a line with its foot at `y`."""
        self.page.text(
            x, y, text, fontsize=size, fontweight="bold" if bold else "normal",
            ha="right" if right else "left", va="baseline",
        )  # fmt: skip

    def tick(self, y: float, x: float = BOX, side: float = 0.22) -> None:
        """Draw a box to be ticked, its foot a little under the line at `y`."""
        self.page.add_patch(Rectangle((x, y - side + 0.05), side, side, fill=False, linewidth=1.2))

    def rule(self, y: float, width: float = 0.5, start: float = 0.01, end: float = WIDTH - 0.01) -> None:
        """Draw a line across the card, or a part of it."""
        self.page.plot([start, end], [y, y], color="black", linewidth=width)

    def blank(self, x: float, y: float, label: str, end: float) -> None:
        """Draw a line to write on, with its label before it."""
        self.text(x, y, label, SMALL)
        self.rule(y + 0.03, 0.6, x + 0.072 * len(label) + 0.05, end)

    def name(self, y: float, words: str, below: str = "") -> None:
        """Write what is put in, with a box to tick, over two lines where it is long or something stands below it."""
        size = NAMED if len(words) < LETTERS - 3 else SMALL
        lines = [words, below] if below else textwrap.wrap(words, LETTERS)[:2]
        top = y - 0.065 * (len(lines) - 1)
        self.tick(y)
        for place, line in enumerate(lines):
            self.text(NAME, top + 0.14 * place, line, SMALL if place else size)


def scale(mass: Quantity, system: System, up: bool = False, decimals: int = 1) -> str:
    """Return a limit of the scale, rounded to the safe side."""
    value = float(units.magnitude(mass, units.kind_of(units.Mass), system)) * 10**decimals
    return f"{(math.ceil(value - 1e-9) if up else math.floor(value + 1e-9)) / 10**decimals:.{decimals}f}"


def places(one: Weight, system: System) -> int:
    """Return the decimals that a mass needs so that its tolerance can be read."""
    assert one.low is not None and one.high is not None  # it is weighed
    band = float(units.magnitude(one.high - one.low, units.kind_of(units.Mass), system))
    return 1 if band >= 0.4 else 2


def in_bags(mass: str, bag: Quantity, system: System) -> str:
    """Return a mass as printed in bags and a part of one, in words."""
    kind = units.kind_of(units.Mass)
    each, unit = float(units.magnitude(bag, kind, system)), kind.symbol(system)
    decimals = len(mass.partition(".")[2])
    whole = math.floor(float(mass) / each + 1e-9)
    rest = f"{float(mass) - whole * each:.{decimals}f}"
    if not whole:
        return f"part of a bag of {each:g} {unit}"
    return f"{whole} bag{'s' * (whole > 1)} of {each:g} {unit}" + (f" + {rest} {unit}" if float(rest) > 0 else "")


def in_cup(volume: Quantity, system: System) -> tuple[str, str]:
    """Return a dose as a dosing cup shows it: millilitres, and fluid ounces beside them in a US job."""
    ml = float(volume.m_as("mL"))
    shown = f"{ml:.1f} mL" if ml < 10 else f"{ml:.0f} mL"
    return shown, f"{float(volume.m_as('floz')):.1f} fl oz" if system == "US" else ""


def in_pail(mass: Quantity, system: System) -> str:
    """Return water as the marks of a pail show it, rounded down: gallons, or quarts where it is less than one."""
    if system == "SI":
        return ""
    gallons = float((mass / quantity(1000, "kg/m³")).m_as("gal"))  # cold water, the heaviest: no mark tells too much
    count, name = (gallons, "gal") if gallons >= 1 else (4 * gallons, "qt")
    return f"{math.floor(10 * count + 1e-9) / 10:.1f} {name}"


def cards(mixes: Mixes, reference: str) -> list[Picture]:
    """Return a card for every batch of every patch; the reference says of which package it is."""
    made = []
    for name in [one.name for one in mixes.patches] or [one.name for one in mixes]:
        loads, bags = mixes.loads.get(name), mixes.bag_loads.get(name)
        made += [card(mixes, loads, number, reference) for number in range(1, loads.count + 1)] if loads else []
        made += [bag_card(mixes, bags, number, reference) for number in range(1, bags.count + 1)] if bags else []
    return made


def title(patch: str, design: Design) -> str:
    """Return what a card is for: a patch, or a concrete in a job without patches."""
    return f"Patch {patch}" if patch else f"Concrete {design.name}"


def caption(patch: str, design: Design, number: int, count: int, said: str) -> str:
    """Return the line below a card."""
    words = title(patch, design)
    return f"Batch card, {words[0].lower()}{words[1:]}, batch {number} of {count}. {said}"


def bag_card(mixes: Mixes, loads: BagLoads, number: int, reference: str) -> Picture:
    """Return the card of one batch of a prepackaged concrete: whole bags, water and aggregate by the bag."""
    product, bags, made = loads.design.concrete, loads.bags[number - 1], loads.found
    unit = units.kind_of(units.Mass).symbol(mixes.system)
    with matplotlib.rc_context(STYLE):
        page = Card(
            title(loads.patch, loads.design), f"batch {number} of {loads.count}",
            f"{loads.design.item}: {mixes.show(bags * made.V_bag, units.BatchVolume)}", reference, product.product[:70],
        )  # fmt: skip
        y = 1.1
        page.name(y, f"bags of {units.magnitude(product.bag, units.kind_of(units.Mass), mixes.system):g} {unit}, whole")
        page.text(LIMITS, y, f"{bags}", 18, bold=True, right=True)
        if loads.extended:
            y += 0.45
            page.name(y, product.aggregate, "saturated surface-dry")
            page.text(LIMITS, y, f"{scale(bags * made.m_ag, mixes.system)} {unit}", LARGE, bold=True, right=True)
            page.text(NAME, y + 0.35, "water on the aggregate counts: dry it off, or take it off", SMALL)
        page.text(NAME, y + 0.6, "NO PART OF A BAG", NAMED, bold=True)
        water = bags * product.water
        foot = water_lines(mixes, page, [("in the drum first", water, "")], water)
        record(mixes, loads.design, page, foot)
    return Picture(page.figure, caption(loads.patch, loads.design, number, loads.count, "Water rounded down."))


def card(mixes: Mixes, loads: MixerLoads, number: int, reference: str) -> Picture:
    """Return the card of one batch."""
    wet = ", ".join(
        f"{row.aggregate} {100 * float(loads.mix.moisture[use].m_as('')):.1f} %"
        for use, row in (("coarse", loads.mix.coarse), ("fine", loads.mix.fine))
    )
    with matplotlib.rc_context(STYLE):
        page = Card(
            title(loads.patch, loads.mix), f"batch {number} of {loads.count}",
            f"{loads.mix.item}: {mixes.show(loads.volume, units.BatchVolume)}", reference,
            f"for total moisture {wet}", "void if it has changed",
        )  # fmt: skip
        table(mixes, loads, page)
        found, ice = loads.water, loads.ice
        as_ice = f"of it {water_mass(mixes, ice, found.m_most)} as ice" if ice.magnitude > 0 else ""
        rows = [("add first", found.m_first, as_ice), ("hold back until the slump is seen", found.m_held, "")]
        record(mixes, loads.mix, page, water_lines(mixes, page, rows, found.m_most))
    said = "Limits of the scale rounded inwards, water down."
    return Picture(page.figure, caption(loads.patch, loads.mix, number, loads.count, said))


def table(mixes: Mixes, loads: MixerLoads, page: Card) -> None:
    """Write what goes in, in the order of charging."""
    boxes = any(one.boxes is not None for one in loads.weights)
    page.text(NAME, 0.86, "charge in this order", SMALL)
    page.text(MASS, 0.86, f"weigh [{units.kind_of(units.Mass).symbol(mixes.system)}]", SMALL, right=True)
    page.text(LIMITS, 0.86, "scale between", SMALL, right=True)
    if boxes:
        page.text(GAUGE, 0.86, "boxes", SMALL, right=True)
    page.rule(0.92, end=HALF)
    y, step = 0.92, min(0.38, (2.3 if boxes else 2.6) / len(loads.weights))
    for one in loads.weights:
        y += step
        line(mixes, one, page, y - step / 2 + 0.05)
        page.rule(y, 0.4, end=HALF)
    if boxes and (box := mixes.inputs.mix.gauge_box) is not None:
        size = f"{box.m_as('L'):.3g} L" if mixes.system == "SI" else f"{box.m_as('gal'):.3g} gal"
        page.text(0.12, y + 0.16, f"Boxes of {size}, loose, level, ± 10 %: only without a scale.", SMALL)


def line(mixes: Mixes, one: Weight, page: Card, y: float) -> None:
    """Write one material."""
    if one.volume is not None:
        shown, beside = in_cup(one.volume, mixes.system)
        page.name(y, one.material)
        page.text(MASS, y, shown, LARGE - 1, bold=True, right=True)
        page.text(LIMITS, y, beside, NAMED, right=True)
        return
    assert one.mass is not None and one.low is not None and one.high is not None  # what is no liquid is weighed
    decimals = places(one, mixes.system)
    wanted = mixes.show(one.mass, units.Mass, decimals).partition(" ")[0]
    bagged = one.material.startswith("cement")
    page.name(y, one.material, in_bags(wanted, mixes.inputs.mix.bag, mixes.system) if bagged else "")
    page.text(MASS, y, wanted, LARGE, bold=True, right=True)
    low, high = (scale(end, mixes.system, up, decimals) for end, up in ((one.low, True), (one.high, False)))
    page.text(LIMITS, y, f"{low} to {high}", SMALL, right=True)
    if one.boxes is not None:
        page.text(GAUGE, y, f"{float(one.boxes.m_as('')):.1f}", NAMED, right=True)


def water_mass(mixes: Mixes, mass: Quantity, most: Quantity) -> str:
    """Return a mass of water, rounded down one and all, so that the parts never come to more than the most."""
    kind = units.kind_of(units.Mass)
    decimals = 1 if float(units.magnitude(most, kind, mixes.system)) >= 5 else 2
    return f"{scale(mass, mixes.system, decimals=decimals)} {kind.symbol(mixes.system)}"


def water_lines(mixes: Mixes, page: Card, rows: list[tuple[str, Quantity, str]], most: Quantity) -> float:
    """Write the water: each part of it in turn, and the most; return where it ends."""
    y, step = (0.92, 0.31) if mixes.system == "SI" else (0.86, 0.36)
    page.text(RIGHT, y, "WATER, 1 kg is 1 L" if mixes.system == "SI" else "WATER", NAMED, bold=True)
    for words, mass, said in rows:
        y += step
        first, *rest = textwrap.wrap(words, 14)
        page.tick(y, RIGHT)
        page.text(RIGHT + 0.32, y, first, NAMED)
        page.text(AMOUNT, y, water_mass(mixes, mass, most), LARGE, bold=True, right=True)
        if below := " ".join(rest) or said:
            page.text(RIGHT + 0.32, y + 0.15, below, SMALL)
        page.text(AMOUNT, y + 0.16, in_pail(mass, mixes.system), NAMED, right=True)
    y += 0.4
    page.text(RIGHT, y, "NEVER MORE THAN", SMALL, bold=True)
    page.text(AMOUNT, y, water_mass(mixes, most, most), LARGE, bold=True, right=True)
    page.text(RIGHT, y + 0.16, "water in the drum counts", SMALL)
    page.text(AMOUNT, y + 0.16, in_pail(most, mixes.system), NAMED, right=True)
    page.rule(y + 0.23, 1.4, HALF)
    return y + 0.23


def record(mixes: Mixes, mix: Design, page: Card, y: float) -> None:
    """Write what is wanted of the fresh concrete, and leave lines for what was found."""
    kind, wanted = units.kind_of(units.Length), []
    if mix.slump is not None:
        wanted.append(f"slump {units.magnitude(mix.slump, kind, mixes.system):g} {kind.symbol(mixes.system)}")
    if isinstance(mix, MixDesign) and mixes.inputs.mix.entrained == "air-entrained":
        tolerance = mixes.limit("air_tolerance").value.m_as("percent")
        wanted.append(f"air {mix.air.m_as('percent'):.1f} ± {tolerance:.1f} %")
    cold, hot = (limit.value for limit in mixes.placing_limits(mix))
    warm = f"{mixes.show(cold, units.Temperature).partition(' ')[0]} to {mixes.show(hot, units.Temperature)}"
    for place, words in enumerate(filter(None, (", ".join(wanted), f"as placed {warm}"))):
        page.text(RIGHT, y + 0.19 + 0.16 * place, words, SMALL, bold=True)
    middle, end = RIGHT + 1.12, WIDTH - 0.1
    y = max(y + 0.62, 2.85)
    for labels in (("date and time",), ("water in all",), ("slump", "air"), ("°" + ("C" if mixes.system == "SI" else "F"), "cylinders"), ("batched by",)):  # fmt: skip
        page.blank(RIGHT, y, labels[0], middle - 0.08 if len(labels) > 1 else end)
        if len(labels) > 1:
            page.blank(middle, y, labels[1], end)
        y += 0.225
