"""Measured for payment: items of work by the rules of the job, as planned and as built, and what each comes to.

Quantities are rounded patch by patch to the decimals of their item, and all that follows is worked out from what is printed: totals are
the sums of printed lines, an amount is a printed quantity times a printed price, rounded half up to the hundredth.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import lru_cache

from deckcalc.core import units
from deckcalc.core.bars import bar_mass
from deckcalc.core.units import Quantity, quantity
from deckcalc.job.order import Job, if_computed
from deckcalc.job.record import Record, record_of, recorded
from deckcalc.job.record_rows import COUNTED, KINDS, PayItemRow, names_of
from deckcalc.patch.design import PatchDesign

CENT = Decimal("0.01")
NONE = Decimal(0)


@dataclass(frozen=True)
class Part:
    """One item of work at one patch or closure: quantities as printed; `measured` is False where the hole was not, and counts as planned."""

    where: str
    planned: Decimal
    built: Decimal
    measured: bool = True


@dataclass(frozen=True)
class Amount:
    """A line of the account: a quantity at one price; no amount where the price is to be agreed."""

    item: str
    what: str
    quantity: Decimal
    unit: str
    price: Decimal | None
    amount: Decimal | None


@dataclass(frozen=True)
class Measured:
    """One item of work.

    Attributes
    ----------
    row : PayItemRow
    parts : list of Part
        By patch or closure.
    """

    row: PayItemRow
    parts: list[Part]

    @property
    def price(self) -> Decimal:
        """Price of one unit, as it was written."""
        return exact(self.row.price)

    @property
    def planned(self) -> Decimal:
        """Sum of the planned parts."""
        return sum((part.planned for part in self.parts), NONE)

    @property
    def built(self) -> Decimal:
        """Sum of the parts as built."""
        return sum((part.built for part in self.parts), NONE)

    @property
    def within(self) -> Decimal:
        """Quantity up to which the price holds, of what was built."""
        if self.row.overrun is None:
            return self.built
        most = self.planned * exact(self.row.overrun.to("percent")) / 100
        return min(self.built, most.quantize(step(self.row), ROUND_FLOOR))

    @property
    def lines(self) -> list[Amount]:
        """The lines of the account: at the price of the item, and beyond its overrun."""
        row, unit = self.row, self.row.unit
        found = [Amount(row.item, row.description, self.within, unit, self.price, money(self.within * self.price))]
        if (beyond := self.built - self.within) > 0:
            price = None if row.overrun_price is None else exact(row.overrun_price)
            share = f"{exact(row.overrun.to('percent'))} %"
            found.append(
                Amount(
                    row.item,
                    f"above {share} of the plan",
                    beyond,
                    unit,
                    price,
                    None if price is None else money(beyond * price),
                )
            )
        return found

    @property
    def planned_amount(self) -> Decimal:
        """What the planned quantity comes to at the price of the item."""
        return money(self.planned * self.price)


@dataclass(frozen=True)
class Account:
    """What is paid.

    Attributes
    ----------
    items : list of Measured
    currency : str
    built : bool
        Whether anything was built by the record; else quantities are planned alone.
    """

    items: list[Measured]
    currency: str
    built: bool

    @property
    def lines(self) -> list[Amount]:
        """Every line of the account as built."""
        return [line for item in self.items for line in item.lines]

    @property
    def planned(self) -> Decimal:
        """Sum of the planned amounts."""
        return sum((item.planned_amount for item in self.items), NONE)

    @property
    def total(self) -> Decimal:
        """Sum of the printed amounts as built; what has no agreed price is not in it."""
        return sum((line.amount for line in self.lines if line.amount is not None), NONE)

    @property
    def to_agree(self) -> list[Amount]:
        """The lines whose price is to be agreed."""
        return [line for line in self.lines if line.price is None]


def exact(value: Quantity) -> Decimal:
    """Return a number as it was written.

    Examples
    --------
    >>> exact(quantity(12.35))
    Decimal('12.35')
    """
    return Decimal(format(float(value.magnitude), ".12g"))


def money(value: Decimal) -> Decimal:
    """Return an amount to the hundredth."""
    return value.quantize(CENT, ROUND_HALF_UP)


def step(row: PayItemRow) -> Decimal:
    """Return the step to which a quantity is measured; things are counted whole."""
    return Decimal(1).scaleb(-row.decimals if row.measure not in COUNTED else 0)


@lru_cache(maxsize=2)
def account(job: Job) -> Account | None:
    """Return the account of a job; None where it has no items of work, or no patches.

    Raises
    ------
    JobError
        If what was found cannot be carried.
    """
    rows: list[PayItemRow] = job.file.rows["pay_items"]
    if not rows or if_computed(lambda: job.patch) is None:
        return None
    record = record_of(job) if recorded(job) else None
    payment, closure = job.settings.payment, job.settings.closure
    currency = (payment.currency if payment else "") or (closure.currency if closure else "")
    return Account([Measured(row, parts_of(row, job, record)) for row in rows], currency, record is not None)


def parts_of(row: PayItemRow, job: Job, record: Record | None) -> list[Part]:
    """Return an item of work at each patch or closure that has any of it, planned or built."""
    if row.measure == "lump sum":
        return [Part("", Decimal(1), Decimal(1) if record and done(record) else NONE)]
    if row.measure == "closures":
        worked = done(record) if record else set()
        return [Part(one.name, Decimal(1), Decimal(int(bool(set(one.patches) & worked)))) for one in job.file.work]
    parts, ready, holes = (
        [],
        done(record) if record else set(),
        {one.patch for one in record.rows("as_found")} if record else set(),
    )
    for one in job.patch:
        planned = printed(row, measure(row.measure, job, one))
        built = (
            printed(row, measure(row.measure, record.found, record.found.patch[one.name]))
            if record and one.name in ready
            else NONE
        )
        if planned or built:
            parts.append(Part(one.name, planned, built, not built or one.name in holes or row.measure == "patches"))
    return parts


def done(record: Record) -> set[str]:
    """Return the patches whose concrete is in place by the record."""
    return {name for load in record.rows("as_built") for name in names_of(load.patches)}


def printed(row: PayItemRow, value: Quantity) -> Decimal:
    """Return a quantity in the unit of its item, to its decimals."""
    if row.measure in COUNTED:
        return Decimal(int(value.magnitude))
    one = units.read(f"1 {row.unit}", KINDS[row.measure])
    number = float((value / one).m_as(""))
    return Decimal(units.fixed(number, row.decimals))


def measure(name: str, job: Job, one: PatchDesign) -> Quantity:
    """Return what there is of an item of work at a patch."""
    return MEASURES[name](job, one)


def through(one: PatchDesign) -> Quantity:
    """Return the area of a patch that goes through the slab."""
    if not one.full:
        return 0 * one.limits.A
    return one.limits.A if one.through is None else quantity(one.through.area, "m²")


def bars(job: Job, one: PatchDesign) -> Quantity:
    """Return the mass of the bars that are added in a patch; a bar of which no length is known has none."""
    steel = if_computed(lambda: job.steel)
    found = (
        [bar for bar in steel.bars_in(one.name) if bar.supplement is not None and bar.cut is not None]
        if steel is not None
        else []
    )
    return sum((bar.supplement.n * bar.cut * bar_mass(bar.size) for bar in found), quantity(0.0, "kg"))  # type: ignore[union-attr]


MEASURES: Mapping[str, Callable[[Job, PatchDesign], Quantity]] = {
    "area of removal": lambda job, one: one.limits.A,
    "area of removal, partial depth": lambda job, one: one.limits.A - through(one),
    "area of removal, full depth": lambda job, one: through(one),
    "volume of concrete": lambda job, one: one.volume.V_hole,
    "saw cut": lambda job, one: one.limits.P_cut,
    "bars added": bars,
    "forms": lambda job, one: through(one),
    "patches": lambda job, one: quantity(1.0, ""),
}
