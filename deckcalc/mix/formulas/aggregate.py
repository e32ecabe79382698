"""Size of aggregate, mixing water and air, and how much coarse aggregate goes into a unit of concrete."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from deckcalc.core import tables as published
from deckcalc.core.calculation import Range, calculation, lookup, smaller
from deckcalc.core.forms import BOTH, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Content, Kind, Length, Quantity, Ratio, Share
from deckcalc.mix.formulas.table_units import IN, KG_M3, LB_YD3, MM, Tables, along, each

AggregateSize = Annotated[Quantity, Kind("size of aggregate", "mm", "in", 1, 3, tape="in", kept=True)]
NominalSize = Annotated[AggregateSize, Range("5 mm", "160 mm")]
Exposure = Literal["not air-entrained", "mild", "moderate", "severe"]

SIZE_SLACK = 0.6 * MM  # 20 mm is not 19 mm, but 38.1 mm is 1 1/2 in and 37.5 mm
SLUMP_SLACK = 3 * MM  # about half of the step, 5 mm or 1/4 in, to which slump is read
WATER = Cite("aci211-1-91", "Tables 6.3.3 (US) and A1.5.3.3 (SI), as reproduced by course copies")
BULK = Cite("aci211-1-91", "Tables 6.3.6 and A1.5.3.6, as reproduced by course copies")


class SizeLimits(NamedTuple):
    """Result of `size_limits`."""

    D_depth: AggregateSize
    D_space: AggregateSize
    D_fit: AggregateSize
    D_allowed: AggregateSize


@calculation(
    title="Largest aggregate size for the patch",
    source=(
        Cite("aci211-1-91", "6.3.2, as reproduced by a course handout"),
        Cite("", "limit for patches", "common practice"),
    ),
    notes=("The depth is that of the shallowest part of the patch.",),
)
def size_limits(
    h: Annotated[Length, Range("5 mm", "1000 mm")],
    s: Annotated[Length, Range("1 mm", "1000 mm")],
    D_patch: NominalSize,
) -> SizeLimits:
    r"""Largest nominal maximum size of aggregate for a patch.

    .. math:: D_{allowed} = \min(h / 3,\ 3 s / 4,\ D_{patch})

    Parameters
    ----------
    h : quantity of length, shape (...,)
        minimum depth of the patch
    s : quantity of length, shape (...,)
        clear space between the bars or behind them, whichever is smaller
    D_patch : quantity of length
        largest size that the job admits in patches

    Returns
    -------
    SizeLimits
        `D_depth` by depth, `D_space` by space, `D_fit` by both, `D_allowed` with the limit of the job.

    Raises
    ------
    InputError
        If a length is missing, negative or implausible.

    Notes
    -----
    The third rule of the code, one fifth of the narrowest form, does not arise in a patch wider than it is deep.
    Source: ACI 211.1-91, 6.3.2; the limit for patches, often 20 mm (3/4 in), is common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> limits = size_limits(Q(75, "mm"), Q(50, "mm"), Q(20, "mm"))
    >>> f"{limits.D_depth:.1f~P}, {limits.D_space:.1f~P}, {limits.D_allowed:.1f~P}"
    '25.0 mm, 37.5 mm, 20.0 mm'
    """
    D_depth = h / 3  # a third of the depth
    D_space = 3 * s / 4  # three quarters of the clear space
    D_fit = smaller(D_depth, D_space)  # largest size that fits
    D_allowed = smaller(D_fit, D_patch)  # largest size admitted
    return SizeLimits(D_depth, D_space, D_fit, D_allowed)


def size_row(size: float) -> tuple[int, float]:
    """Return the row of a size in the tables, and the nominal size in m that it was taken for."""
    found = None
    for number, row in enumerate(published.load("coarse_volume").rows):
        for nominal in (float(row["D [mm]"]) * MM, float(row["D [in]"]) * IN):
            off = abs(nominal - size)
            if off <= SIZE_SLACK * (1 + 1e-9) and (found is None or off < found[2]):
                found = number, nominal, off
    if found is None:
        rows = published.load("coarse_volume").rows
        raise TableError(
            f"a nominal maximum size of {size / MM:g} mm ({size / IN:.3g} in) is not in the tables, which have "
            f"{', '.join(row['D [mm]'] for row in rows)} mm ({', '.join(row['D [in]'] for row in rows)} in)"
        )
    return found[:2]


def size_in(row: dict[str, str], number: int, what: str) -> float:
    """Return the value of a row in the column of a size."""
    heading, text = [item for item in row.items() if item[0][0].isdigit()][number]
    if not text:
        raise TableError(f"the table has no {what} for {heading.partition(' [')[0]} aggregate")
    return float(text)


def water_rows(tables: str) -> tuple[list[dict[str, str]], str, float, float]:
    """Return the table of mixing water, the unit of slump as written, and the factors of slump and of water."""
    unit, length, content = ("mm", MM, KG_M3) if tables == "SI" else ("in", IN, LB_YD3)
    return published.load(f"mixing_water_{tables.lower()}").rows, unit, length, content


def wetter_range(slump: float, tables: str) -> float:
    """Return the upper end, in m, of the slump range that holds the slump, or of the next wetter one."""
    rows, unit, length, _ = water_rows(tables)
    least = min(float(row[f"slump from [{unit}]"]) for row in rows)
    ends = sorted({float(row[f"slump to [{unit}]"]) for row in rows})
    if slump >= least * length - SLUMP_SLACK:
        for end in ends:
            if slump <= end * length + SLUMP_SLACK:
                return end * length
    raise TableError(
        f"a slump of {slump / length:.3g} {unit} lies outside the table, "
        f"which runs from {least:g} to {ends[-1]:g} {unit}"
    )


@lookup("the size of the tables within {slack:g} mm of {D}", slack=SIZE_SLACK / MM)
def nominal_size(D: AggregateSize) -> AggregateSize:
    """Return the nominal size of the tables that a size stands for."""
    return each(lambda size: size_row(size)[1], D)


@lookup(
    "the upper end of the range in the {form} table that holds a slump of {slump}, or of the next wetter range if it "
    "lies between two (read to {slack:g} mm)",
    slack=SLUMP_SLACK / MM,
)
def slump_range(slump: Length, form: Tables) -> Length:
    """Return the upper end of the slump range to be used."""
    return each(wetter_range, slump, form)


@lookup("from the {form} table for {D_n} aggregate, the slump range up to {slump_to}, {exposure}")
def water_of_table(D_n: AggregateSize, slump_to: Length, exposure: Exposure, form: Tables) -> Content:
    """Return the mixing water of the table."""

    def one(size: float, slump: float) -> float:
        rows, unit, length, content = water_rows(form)
        concrete = "not air-entrained" if exposure == "not air-entrained" else "air-entrained"
        end = round(wetter_range(slump, form) / length, 6)
        row = next(row for row in rows if row["concrete"] == concrete and float(row[f"slump to [{unit}]"]) == end)
        what = f"mixing water at a slump of {row[f'slump from [{unit}]']} to {end:g} {unit}"
        return size_in(row, size_row(size)[0], what) * content

    return each(one, D_n, slump_to)


@lookup("from the table of air content for {D_n} aggregate, {exposure}")
def air_of_table(D_n: AggregateSize, exposure: Exposure) -> Share:
    """Return the air content of the table."""
    row = published.load("air_content").row("exposure", exposure)
    return each(lambda size: size_in(row, size_row(size)[0], "air content") / 100, D_n)


class MixingWater(NamedTuple):
    """Result of `mixing_water`."""

    D_n: AggregateSize
    slump_to: Length
    W: Content
    air: Share


@calculation_by_form(
    title="Mixing water and air content",
    source=WATER,
    notes=(
        (
            "First estimate for well-shaped angular aggregate without water-reducing admixture; a trial batch decides. "
            "The SI and the US table are rounded apart and differ by up to 4 kg/m³ (7 lb/yd³)."
        ),
        "A deck that meets de-icing chemicals is severe exposure.",
    ),
    forms=BOTH,
)
def mixing_water(
    D_max: NominalSize, slump: Annotated[Length, Range("5 mm", "250 mm")], exposure: Exposure, *, form: str
) -> MixingWater:
    r"""Water for the slump wanted, and the air that belongs to it.

    .. math:: W = f(D_{max}, slump, exposure)

    Parameters
    ----------
    D_max : quantity of length
        nominal maximum size of the aggregate
    slump : quantity of length
        slump at placing
    exposure : {"not air-entrained", "mild", "moderate", "severe"}
        exposure to freezing that decides the air content
    form : {"SI", "US"}
        which of the two hard tables is used

    Returns
    -------
    MixingWater
        `D_n` nominal size of the tables, `slump_to` upper end of the slump range used, `W` water per volume of
        concrete, `air` total (or entrapped) air.

    Raises
    ------
    InputError
        If the size is none of the tables', the slump lies outside them, or the table has no value.

    Notes
    -----
    A size is taken for that of the tables if it lies within 0.6 mm of it in either unit. The table gives ranges of
    slump: the range that holds the slump is used, to 3 mm; between two ranges the wetter one.
    Source: ACI 211.1-91, Tables 6.3.3 and A1.5.3.3.

    Examples
    --------
    >>> from deckcalc import Q
    >>> water = mixing_water(Q(0.75, "in"), Q(3, "in"), "moderate", form="US")
    >>> f"{water.W.to('lb/yd³'):.0f~P}, {water.air:.1f~P}"
    '305 lb/yd³, 5.0 %'
    """
    D_n = nominal_size(D_max)  # nominal size of the aggregate
    slump_to = slump_range(slump, form)  # range of slump
    W = water_of_table(D_n, slump_to, exposure, form)  # mixing water
    air = air_of_table(D_n, exposure)  # air content
    return MixingWater(D_n, slump_to, W, air)


@lookup("from the table for {D_n} aggregate, between its columns in proportion to a fineness modulus of {FM}")
def bulk_volume(D_n: AggregateSize, FM: Ratio) -> Ratio:
    """Return the bulk volume of coarse aggregate, interpolated linearly in fineness modulus."""

    def one(size: Any, modulus: Any) -> Any:
        row = published.load("coarse_volume").rows[size_row(size)[0]]
        columns = [name for name in row if name.startswith("FM ")]
        moduli = [float(name[3:]) for name in columns]
        return along(modulus, moduli, [float(row[name]) for name in columns], "fineness modulus")

    return one(D_n, FM) if np.ndim(D_n) == 0 else each(one, D_n, FM)


class CoarseVolume(NamedTuple):
    """Result of `coarse_volume`."""

    D_n: AggregateSize
    b: Ratio


@calculation(
    title="Coarse aggregate in a unit of concrete",
    source=BULK,
    notes=("Linear in the fineness modulus between 2.40 and 3.00; outside, the table gives no value.",),
)
def coarse_volume(D_max: NominalSize, FM: Annotated[Ratio, Range("1", "5")]) -> CoarseVolume:
    r"""Bulk volume of dry-rodded coarse aggregate in a unit volume of concrete.

    .. math:: b = f(D_{max}, FM)

    Parameters
    ----------
    D_max : quantity of length
        nominal maximum size of the aggregate
    FM : quantity without dimension, shape (...,)
        fineness modulus of the fine aggregate

    Returns
    -------
    CoarseVolume
        `D_n` nominal size of the tables, `b` bulk volume of coarse aggregate per volume of concrete.

    Raises
    ------
    InputError
        If size or fineness modulus is none of the table's.

    Notes
    -----
    The same table serves both unit systems. Source: ACI 211.1-91, Tables 6.3.6 and A1.5.3.6.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{coarse_volume(Q(19, 'mm'), 2.70).b.magnitude:.2f}"
    '0.63'
    """
    D_n = nominal_size(D_max)  # nominal size of the aggregate
    b = bulk_volume(D_n, FM)  # bulk volume of coarse aggregate per volume of concrete
    return CoarseVolume(D_n, b)
