"""What changes a development length: bundles, steel beyond what is needed, and the factors of AASHTO LRFD for place and coating."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, above, calculation, constant, larger, lookup, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import BarArea, Count, Diameter, Length, Ratio, Stress
from deckcalc.steel.formulas.bars import BarDiameter, each
from deckcalc.steel.formulas.laps_aci import COATED, Coating, Cover, Development, Strength, coating_factor

Edition = Literal["7th", "8th and 9th", "10th"]
Purpose = Literal[
    "anchorage", "lap", "support of positive steel", "shrinkage and temperature steel", "earthquake region"
]
Area = Annotated[BarArea, Range("1 mm²", "50000 mm²")]
BUNDLES = Cite("mccormac", "section 7.4, example 7.5 (ACI 318-11, 12.4)")
EXCESS = Cite("mccormac", "section 7.3, example 7.4 (ACI 318-11, 12.2.5)")
PLACING = Cite("aashto-lrfd", "5.10.8.2.1b, as given in public code")
BUNDLED = {1: 1.0, 2: 1.0, 3: 1.2, 4: 1.33}
#: AASHTO LRFD: factor for more than so much fresh concrete below; from this strength of concrete on it is taken for every bar.
TOP_LRFD = {"7th": 1.4, "8th and 9th": 1.3, "10th": 1.3}
MUCH, STRONG, MOST = "12 in", "10 ksi", 1.7


@lookup(
    "{k[1]:.0f} for one bar and for two, {k[3]} for a bundle of three, {k[4]} for one of four; here {n}", k=BUNDLED, source=BUNDLES
)  # fmt: skip
def bundle_factor(n: Count) -> Ratio:
    """Return the factor for bars in a bundle."""
    return each(lambda count: BUNDLED[round(count)], n)


class Bundle(NamedTuple):
    """Result of `bundled_bars`."""

    d_e: Diameter
    c_e: Length
    k_n: Ratio


@calculation(
    title="Bars in a bundle",
    source=BUNDLES,
    notes=(
        "Confinement is that of one bar with the area of the bundle: put the equivalent dimension in place of the smaller of cover and "
        "half spacing, no bars across counted, and multiply the length of a single bar by the factor. Bars of a bundle are lapped one "
        "at a time.",
    ),
)
def bundled_bars(d_b: BarDiameter, n: Annotated[Count, Range("1", "4")], c_b: Cover) -> Bundle:
    r"""Equivalent bar, equivalent confinement and factor of length of bars in a bundle.

    .. math:: d_e = \sqrt{n}\,d_b,\quad c_e = c_b\,d_b / d_e

    Parameters
    ----------
    d_b : quantity of length
        diameter of one bar
    n : quantity without dimension
        bars in the bundle
    c_b : quantity of length
        smaller of cover to the centre of the bundle and half the spacing of the bundles

    Returns
    -------
    Bundle
        `d_e` diameter of a bar with the area of the bundle, `c_e` dimension that confines one bar as the bundle is confined, `k_n`
        factor of the development length of one bar.

    Raises
    ------
    InputError
        If a value lies outside its range; no more than four bars are bundled.

    Notes
    -----
    Source: ACI 318-11, 12.4.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = bundled_bars(Q(1, "in"), 3, Q(3.16, "in"))
    >>> f"{found.d_e.to('in'):.2f~P}, {found.k_n:.1f~P}"
    '1.73 in, 1.2'
    """
    d_e = sqrt(n) * d_b  # diameter of a bar with the area of the bundle
    c_e = c_b * d_b / d_e  # dimension that confines one bar alike
    k_n = bundle_factor(n)  # factor of the length of one bar
    return Bundle(d_e, c_e, k_n)


@lookup(
    "{A_req} over {A_prov}, not above one, for an anchorage where the code does not ask for the full yield strength; not in a lap, for "
    "positive steel at a support, for shrinkage and temperature steel or in an earthquake region. Here: {purpose}",
    source=EXCESS,
)
def excess_factor(A_req: BarArea, A_prov: BarArea, purpose: Purpose) -> Ratio:
    """Return the factor for steel beyond what is needed; refuse it where the code does."""
    if purpose != "anchorage":
        raise TableError(
            f"the length may not be reduced for steel beyond what is needed: {purpose}; take the development length in full"
        )
    return np.minimum(A_req / A_prov, 1.0)


class Excess(NamedTuple):
    """Result of `development_excess`."""

    k_A: Ratio
    l_red: Length
    l_d: Length


@calculation(title="Development length where there is more steel than needed", source=EXCESS)
def development_excess(
    l_calc: Development, A_req: Area, A_prov: Area, purpose: Purpose, l_min: Annotated[Length, Range("100 mm", "1 m")]
) -> Excess:
    r"""Development length reduced for steel beyond what is needed, where the code allows it.

    .. math:: \ell_d = \max(\ell\,A_{s,required} / A_{s,provided},\ \ell_{min})

    Parameters
    ----------
    l_calc : quantity of length
        development length by the equation, without its minimum
    A_req : quantity of area
        area of steel required by the analysis
    A_prov : quantity of area
        area of steel provided
    purpose : {"anchorage", "lap", "support of positive steel", "shrinkage and temperature steel", "earthquake region"}
        what the length is for
    l_min : quantity of length
        minimum development length

    Returns
    -------
    Excess
        `k_A` factor, `l_red` length reduced, `l_d` development length.

    Raises
    ------
    InputError
        If the code allows no reduction for that purpose, or a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 12.2.5; AASHTO LRFD has the same ratio.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{development_excess(Q(634.3, 'mm'), Q(1580, 'mm²'), Q(1720, 'mm²'), 'anchorage', Q(300, 'mm')).l_d:.0f~P}"
    '583 mm'
    """
    k_A = excess_factor(A_req, A_prov, purpose)  # factor for steel beyond what is needed
    l_red = k_A * l_calc  # length reduced
    l_d = larger(l_red, l_min)  # development length
    return Excess(k_A, l_red, l_d)


@lookup(
    "{k[7th]} by the oldest of the editions (from memory) or {k[8th and 9th]} by the later ones where more than {much} of fresh concrete "
    "lie below; by the later ones also for any bar in concrete above {strong}; else one. Here {h_below}, {f_c}, {edition}",
    k=TOP_LRFD, much=MUCH, strong=STRONG, source=PLACING,
)  # fmt: skip
def top_factor_lrfd(h_below: Length, f_c: Stress, edition: Edition) -> Ratio:
    """Return the factor for bars with much fresh concrete below."""

    def one(height: float, strength: float) -> float:
        strong = edition != "7th" and above(strength, constant(STRONG))
        return TOP_LRFD[edition] if strong or above(height, constant(MUCH)) else 1.0

    return each(one, h_below, f_c)


class Placed(NamedTuple):
    """Result of `placement_aashto`."""

    k_t: Ratio
    k_e: Ratio
    k_1: Ratio
    k_te: Ratio


@calculation(
    title="Factors for place and coating of a bar, AASHTO LRFD",
    source=PLACING,
    notes=(
        f"Factors of coated bars as in ACI 318: {COATED['close']} and {COATED['other']}; the product is at most {MOST}.",
    ),
)
def placement_aashto(
    h_below: Annotated[Length, Range("0 mm", "5 m")], coating: Coating, c_c: Cover, c_s: Cover, d_b: BarDiameter, f_c: Strength,
    edition: Edition,
) -> Placed:  # fmt: skip
    r"""Product of the factors of a development length for fresh concrete below the bar and for its coating.

    .. math:: k_{te} = \min(k_t k_e,\ 1.7)

    Parameters
    ----------
    h_below : quantity of length
        fresh concrete below the bar
    coating : {"uncoated", "epoxy"}
        coating of the bar
    c_c : quantity of length
        clear cover of the bar
    c_s : quantity of length
        clear spacing of the bars
    d_b : quantity of length
        diameter of the bar
    f_c : quantity of stress
        strength of the concrete about the bar
    edition : {"7th", "8th and 9th", "10th"}
        edition of the specification

    Returns
    -------
    Placed
        `k_t` factor for the position, `k_e` for the coating, `k_1` their product, `k_te` the same, at most 1.7.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: AASHTO LRFD, 5.10.8.2.1b, as given in public code.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = placement_aashto(Q(14, "in"), "epoxy", Q(1, "in"), Q(5, "in"), Q(0.625, "in"), Q(5, "ksi"), "8th and 9th")
    >>> f"{found.k_1:.2f~P}, {found.k_te:.1f~P}"
    '1.95, 1.7'
    """
    k_t = top_factor_lrfd(h_below, f_c, edition)  # factor for the position of the bar
    k_e = coating_factor(coating, c_c, c_s, d_b)  # factor for coating
    k_1 = k_t * k_e  # position and coating together
    k_te = smaller(k_1, 1.7)  # the same, at most 1.7
    return Placed(k_t, k_e, k_1, k_te)
