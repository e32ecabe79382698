"""Grading of aggregates: fineness modulus, limits of the standard, and the combined curve of a mix."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated

import numpy as np

from deckcalc.core import tables
from deckcalc.core.calculation import ListOf, Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import InputError, Ratio, Share

#: Sieves of the fineness modulus, in mm, and all that a grading may name.
MODULUS = (9.5, 4.75, 2.36, 1.18, 0.60, 0.30, 0.15)
SIEVES = (75.0, 50.0, 37.5, 25.0, 19.0, 12.5, 9.5, 4.75, 2.36, 1.18, 0.60, 0.30, 0.15, 0.075)
#: The same sieves as US practice names them.
NAMES = dict(
    zip(
        ("3 in", "2 in", "1 1/2 in", "1 in", "3/4 in", "1/2 in", "3/8 in", "No. 4", "No. 8", "No. 16", "No. 30", "No. 50",
         "No. 100", "No. 200"),
        SIEVES, strict=True,
    )
)  # fmt: skip
Passing = Annotated[Share, Range("0 %", "100 %"), ListOf(least=6)]


@lookup("the sum of what is retained on each sieve, as ratios, where {P} pass")
def retained(P: Passing) -> Ratio:
    """Return the sum of the shares retained."""
    return np.sum(1 - np.asarray(P), axis=-1)


@calculation(
    title="Fineness modulus",
    source=Cite("crd-c104", "1.1 and 4.1: shares retained on the sieves of the series, summed"),
    notes=("Sieves 9.5, 4.75, 2.36, 1.18, 0.60, 0.30 and 0.15 mm (3/8 in, No. 4, 8, 16, 30, 50 and 100).",),
)
def fineness_modulus(P: Passing) -> Ratio:
    r"""Fineness modulus of an aggregate that passes the 19 mm sieve whole.

    .. math:: FM = \sum (1 - P_i)

    Parameters
    ----------
    P : quantity without dimension, shape (..., n)
        share passing each sieve of the series, from 9.5 mm to 0.15 mm

    Returns
    -------
    quantity without dimension
        Fineness modulus.

    Raises
    ------
    InputError
        If sieves are missing, or a value lies outside its range.

    Notes
    -----
    Source: CRD-C 104, which gives the definition of the standards, and an example.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{fineness_modulus(Q([100, 98, 85, 65, 45, 21, 3], '%')).magnitude:.2f}"
    '2.83'
    """
    FM = retained(P)  # fineness modulus
    return FM


def read_grading(text: str) -> dict[float, float]:
    """Read “9.5 mm 100; 4.75 mm 22” or “3/8 in 100; No. 4 22” into share passing by sieve in mm.

    Parameters
    ----------
    text : str
        Sieve and per cent passing, separated by semicolons, from the largest sieve down.

    Returns
    -------
    dict of float
        Share passing (0 to 1) by sieve opening in mm.

    Raises
    ------
    InputError
        If a sieve is not of the series, a share lies outside 0 to 100 %, or shares rise towards the fine end.

    Examples
    --------
    >>> read_grading("9.5 mm 100; 4.75 mm 22")
    {9.5: 1.0, 4.75: 0.22}
    """
    found: dict[float, float] = {}
    for part in (part.strip() for part in text.split(";")):
        name, _, share = part.removesuffix("%").strip().rpartition(" ")
        try:
            sieve = NAMES[name] if name in NAMES else float(name.removesuffix("mm"))
            passing = float(share)
        except ValueError:
            raise InputError(
                f"found “{part}”, wanted a sieve and the per cent passing, such as “4.75 mm 22” or “No. 4 22”"
            ) from None
        if sieve not in SIEVES:
            raise InputError(f"found a sieve of “{name}”, wanted one of {', '.join(f'{s:g}' for s in SIEVES)} mm")
        if not 0 <= passing <= 100:
            raise InputError(f"found {passing:g} % passing {sieve:g} mm, wanted 0 to 100 %")
        if found and (sieve >= min(found) or passing / 100 > min(found.values())):
            raise InputError(f"at {sieve:g} mm: list sieves from the largest down; what passes cannot rise")
        found[sieve] = passing / 100
    return found


def passing(grading: Mapping[float, float], sieve: float) -> float:
    """Return the share passing a sieve, in proportion to the logarithm of the opening between those tested.

    Above the largest sieve tested all passes if all passed that one; below the smallest, what the last one passed is
    taken in proportion to the opening.
    """
    sizes = sorted(grading)
    if sieve >= sizes[-1]:
        return grading[sizes[-1]]
    if sieve < sizes[0]:
        return grading[sizes[0]] * sieve / sizes[0]
    return float(np.interp(np.log(sieve), np.log(sizes), [grading[size] for size in sizes]))


def combined(
    gradings: Sequence[Mapping[float, float]], volumes: Sequence[float], sieves: Sequence[float] = SIEVES
) -> list[float]:
    """Return the share of all aggregate that passes each sieve.

    Parameters
    ----------
    gradings : sequence of dict
        One for each aggregate.
    volumes : sequence of float
        Absolute volume of each.
    sieves : sequence of float
        Openings in mm.

    Returns
    -------
    list of float

    Examples
    --------
    >>> combined([{9.5: 1.0, 4.75: 0.2}, {4.75: 1.0, 2.36: 0.8}], [0.6, 0.4], [4.75])
    [0.52]
    """
    total = sum(volumes)
    return [sum(v * passing(g, s) for g, v in zip(gradings, volumes, strict=True)) / total for s in sieves]


def limits(size: str) -> dict[float, tuple[float, float]]:
    """Return the limits of a size number, or of fine aggregate, as shares by sieve in mm.

    Raises
    ------
    TableError
        If there is no such size; the message lists what there is.

    Examples
    --------
    >>> limits("8")[9.5]
    (0.85, 1.0)
    """
    row = tables.load("grading_limits").row("size", size)
    found = {}
    for name, text in row.items():
        if name.endswith(" mm") and text:
            low, high = text.split(" to ")
            found[float(name.removesuffix(" mm"))] = (float(low) / 100, float(high) / 100)
    return found
