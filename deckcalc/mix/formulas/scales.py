"""What the scale may read, and gauge boxes where there is none."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation
from deckcalc.core.sources import Cite
from deckcalc.core.units import BatchVolume, Density, Kind, Mass, Quantity, Share
from deckcalc.mix.formulas.batching import Moisture
from deckcalc.mix.formulas.mixer import SmallMass

Boxes = Annotated[Quantity, Kind("count", "", "", 1, 1)]  # boxes are filled to a tenth


class Tolerance(NamedTuple):
    """Result of `scale_limits`."""

    m_low: Mass
    m_high: Mass


@calculation(
    title="Minimum and maximum scale reading",
    source=(
        Cite("astm-c94", "batching, water within 1.5 %"),
        Cite("astm-c94", "batching, cement and aggregates", "memory"),
    ),
    notes=("The tolerances are for ready-mixed concrete; a small scale on the deck is held to the same.",),
)
def scale_limits(m: SmallMass, q_tol: Annotated[Share, Range("0 %", "10 %")]) -> Tolerance:
    r"""Readings between which a batched mass must lie.

    .. math:: m (1 \pm q_{tol})

    Parameters
    ----------
    m : quantity of mass, shape (...,)
        mass wanted
    q_tol : quantity without dimension
        tolerance

    Returns
    -------
    Tolerance
        `m_low` and `m_high`.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: ASTM C94.

    Examples
    --------
    >>> from deckcalc import Q
    >>> limits = scale_limits(Q(20, "kg"), Q(1.5, "%"))
    >>> f"{limits.m_low.to('kg'):.1f~P}, {limits.m_high.to('kg'):.1f~P}"
    '19.7 kg, 20.3 kg'
    """
    m_low = m * (1 - q_tol)  # minimum reading
    m_high = m * (1 + q_tol)  # maximum reading
    return Tolerance(m_low, m_high)


class GaugeBoxes(NamedTuple):
    """Result of `gauge_boxes`."""

    M: Mass
    V_dry: BatchVolume
    V_moist: BatchVolume
    n_box: Boxes


@calculation(
    title="Aggregate by gauge box, where there is no scale",
    source=Cite("", "loose bulk density, and bulking of moist sand", "common practice"),
    notes=(
        "Volume batching is a last resort: how a box is filled alone changes the mass by 10 % and more, and sand that "
        "bulks is short by a fifth or more if it is not allowed for. Measure loose density and bulking on the day, "
        "strike the box level, do not tamp. Weigh where a scale can be had.",
    ),
)
def gauge_boxes(
    m: SmallMass,
    w: Moisture,
    rho_l: Annotated[Density, Range("900 kg/m³", "2000 kg/m³")],
    q_bulk: Annotated[Share, Range("0 %", "45 %")],
    V_box: Annotated[BatchVolume, Range("0.001 m³", "0.5 m³")],
) -> GaugeBoxes:
    r"""Level gauge boxes that hold a mass of moist aggregate.

    .. math:: M = \frac{m}{1 + w},\quad V = \frac{M}{\rho_l} (1 + q_{bulk}),\quad n_{box} = V / V_{box}

    Parameters
    ----------
    m : quantity of mass, shape (...,)
        aggregate as it lies
    w : quantity without dimension, shape (...,)
        its total moisture
    rho_l : quantity of density
        loose density, oven-dry
    q_bulk : quantity without dimension, shape (...,)
        bulking at that moisture, measured
    V_box : quantity of volume
        box or bucket, struck level

    Returns
    -------
    GaugeBoxes
        `M` oven-dry, `V_dry` loose and dry, `V_moist` as it lies, `n_box` boxes.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = gauge_boxes(Q(94.5, "kg"), Q(5, "%"), Q(1500, "kg/m³"), Q(25, "%"), Q(0.025, "m³"))
    >>> f"{found.V_moist.to('L'):.0f~P}, {found.n_box.magnitude:.1f}"
    '75 l, 3.0'
    """
    M = m / (1 + w)  # aggregate, oven-dry
    V_dry = M / rho_l  # loose volume, dry
    V_moist = V_dry * (1 + q_bulk)  # loose volume as it lies
    n_box = V_moist / V_box  # level boxes
    return GaugeBoxes(M, V_dry, V_moist, n_box)
