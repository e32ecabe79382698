"""Chloride by mass of concrete, by mass of cement and per volume of concrete: from one to another."""

from __future__ import annotations

from typing import Annotated

from deckcalc.core.calculation import Range, calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import ChlorideContent, ChlorideShare, Content, Density

ShareOfConcrete = Annotated[ChlorideShare, Range("0 %", "3 %")]
ShareOfCement = Annotated[ChlorideShare, Range("0 %", "20 %")]
UnitWeight = Annotated[Density, Range("1400 kg/m³", "2800 kg/m³")]
CementContent = Annotated[Content, Range("100 kg/m³", "800 kg/m³")]
Measured = Annotated[ChlorideContent, Range("0 kg/m³", "60 kg/m³")]

UNIT_WEIGHT_NOTE = (
    "The unit weight is that of the sampled concrete. Reports that do not measure it assume one, and not the same: 3800, "
    "3900 and 4000 lb/yd³ all occur. Powder weighed as ground, not oven-dried, carries 2 to 3 % of water."
)
CEMENT_NOTE = (
    "The cement content is that of the sampled concrete, which is seldom known exactly; the result is as uncertain as "
    "it is. Whether slag and ash count as cement is for the source of the share or threshold to say."
)
EXTRACTION_NOTE = "The extraction (acid-soluble or water-soluble) stays what it was: no basis turns one into the other."


@calculation(
    title="Chloride content from the share by mass of concrete",
    source=(
        Cite("", "mass per volume is the share by mass times the unit weight", "common practice"),
        Cite("fdot-ba502", "p. 9: powder result times an assumed unit weight"),
    ),
    notes=(UNIT_WEIGHT_NOTE, EXTRACTION_NOTE),
)
def content_from_concrete_share(p: ShareOfConcrete, rho: UnitWeight) -> ChlorideContent:
    r"""Chloride per volume of concrete from a laboratory result by mass of concrete.

    .. math:: C = p \rho

    Parameters
    ----------
    p : quantity without dimension, shape (...,)
        chloride by mass of concrete, in % or ppm
    rho : quantity of mass per volume
        unit weight of the concrete

    Returns
    -------
    ChlorideContent
        `C`, mass of chloride per volume of concrete.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: definition of the two bases; that the unit weight is an assumption to be stated: Florida DOT BA502, p. 9.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{content_from_concrete_share(Q(336, 'ppm'), Q(3915, 'lb/yd³')).to('lb/yd³'):.2f~P}"
    '1.32 lb/yd³'
    """
    C = p * rho  # chloride per volume of concrete
    return C


@calculation(
    title="Chloride content from the share by mass of cement",
    source=(
        Cite("", "mass per volume is the share by mass of cement times the cement content", "common practice"),
        Cite("fdot-ba502", "sec. 2.1.4, p. 20-21"),
    ),
    notes=(CEMENT_NOTE, EXTRACTION_NOTE),
)
def content_from_cement_share(p: ShareOfCement, c: CementContent) -> ChlorideContent:
    r"""Chloride per volume of concrete from a result or a threshold by mass of cement.

    .. math:: C = p c

    Parameters
    ----------
    p : quantity without dimension, shape (...,)
        chloride by mass of cement
    c : quantity of mass per volume
        cement content of the concrete

    Returns
    -------
    ChlorideContent
        `C`, mass of chloride per volume of concrete.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: definition of the two bases; used so in Florida DOT BA502, sec. 2.1.4.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{content_from_cement_share(Q(0.5, '%'), Q(752, 'lb/yd³')).to('lb/yd³'):.2f~P}"
    '3.76 lb/yd³'
    """
    C = p * c  # chloride per volume of concrete
    return C


@calculation(
    title="Chloride content as a share by mass of cement",
    source=Cite("", "share by mass of cement is mass per volume over the cement content", "common practice"),
    notes=(CEMENT_NOTE, EXTRACTION_NOTE),
)
def cement_share(C: Measured, c: CementContent) -> ChlorideShare:
    r"""Chloride by mass of cement, to hold a content against a threshold stated so.

    .. math:: p = C / c

    Parameters
    ----------
    C : quantity of mass per volume, shape (...,)
        chloride per volume of concrete
    c : quantity of mass per volume
        cement content of the concrete

    Returns
    -------
    ChlorideShare
        `p`, chloride by mass of cement.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: definition of the two bases.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{cement_share(Q(1.32, 'lb/yd³'), Q(658, 'lb/yd³')):.2f~P}"
    '0.20 %'
    """
    p = C / c  # chloride by mass of cement
    return p


@calculation(
    title="Chloride content as a share by mass of concrete",
    source=Cite("", "share by mass of concrete is mass per volume over the unit weight", "common practice"),
    notes=(UNIT_WEIGHT_NOTE, EXTRACTION_NOTE),
)
def concrete_share(C: Measured, rho: UnitWeight) -> ChlorideShare:
    r"""Chloride by mass of concrete, to hold a content against a threshold stated so.

    .. math:: p = C / \rho

    Parameters
    ----------
    C : quantity of mass per volume, shape (...,)
        chloride per volume of concrete
    rho : quantity of mass per volume
        unit weight of the concrete

    Returns
    -------
    ChlorideShare
        `p`, chloride by mass of concrete.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: definition of the two bases.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{concrete_share(Q(1, 'lb/yd³'), Q(4000, 'lb/yd³')).to('ppm'):.1f~P}"
    '250.0 ppm'
    """
    p = C / rho  # chloride by mass of concrete
    return p
