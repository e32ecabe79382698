"""Supplementary cementitious materials: shares by mass or by volume, masses and the density of the blend."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Content, Ratio, Share

Part = Annotated[Share, Range("0 %", "75 %")]
Density_c = Annotated[Ratio, Range("2.0", "3.5")]
Density_s = Annotated[Ratio, Range("1.8", "3.2")]
VOLUME = Cite("aci211-1-91", "6.3.4.1, mass and absolute-volume equivalency", "memory")


@lookup("all that is left, {q_left}, which is more than zero")
def cement_share(q_left: Share) -> Share:
    """Return the share of cement, if there is any."""
    if np.min(q_left) <= 0:
        raise TableError(
            f"the supplementary materials make {100 * (1 - np.min(q_left)):.0f} % of the cementitious material and leave no "
            "cement; shares are of all cementitious material"
        )
    return q_left


class MassShares(NamedTuple):
    """Result of `mass_shares`."""

    v_left: Share
    v_c: Share
    RD_1: Ratio
    RD_cm: Ratio
    q_ash: Share
    q_slag: Share
    q_fume: Share


@calculation(
    title="Shares by mass from shares by absolute volume",
    source=VOLUME,
    notes=("The ratio of water to cementitious material stays one by mass; only the shares are restated.",),
)
def mass_shares(
    v_ash: Part, v_slag: Part, v_fume: Part, RD_c: Density_c, RD_ash: Density_s, RD_slag: Density_s, RD_fume: Density_s
) -> MassShares:
    r"""Shares by mass of supplementary materials that were chosen by absolute volume.

    .. math:: RD_{cm} = \sum v_i RD_i,\quad q_i = v_i RD_i / RD_{cm}

    Parameters
    ----------
    v_ash : quantity without dimension
        fly ash, share of the volume of cementitious material
    v_slag : quantity without dimension
        slag cement, share of that volume
    v_fume : quantity without dimension
        silica fume, share of that volume
    RD_c : quantity without dimension
        relative density of the cement
    RD_ash : quantity without dimension
        relative density of the fly ash
    RD_slag : quantity without dimension
        relative density of the slag cement
    RD_fume : quantity without dimension
        relative density of the silica fume

    Returns
    -------
    MassShares
        `v_left` and `v_c` cement by volume, `RD_1` its first two terms, `RD_cm` relative density of the blend, `q_ash`, `q_slag` and `q_fume` by mass.

    Raises
    ------
    InputError
        If a share or density is implausible.

    Notes
    -----
    Source: ACI 211.1-91, 6.3.4.1 (memory).

    Examples
    --------
    >>> found = mass_shares(0.20, 0, 0, 3.15, 2.40, 2.90, 2.20)
    >>> f"{found.q_ash.m_as(''):.3f}"
    '0.160'
    """
    v_left = 1 - v_ash - v_slag - v_fume  # volume left for cement
    v_c = cement_share(v_left)  # cement by volume
    RD_1 = v_c * RD_c + v_ash * RD_ash  # part of cement and fly ash in the density of the blend
    RD_cm = RD_1 + v_slag * RD_slag + v_fume * RD_fume  # relative density of the blend
    q_ash = v_ash * RD_ash / RD_cm  # fly ash by mass
    q_slag = v_slag * RD_slag / RD_cm  # slag cement by mass
    q_fume = v_fume * RD_fume / RD_cm  # silica fume by mass
    return MassShares(v_left, v_c, RD_1, RD_cm, q_ash, q_slag, q_fume)


class Blend(NamedTuple):
    """Result of `blend`."""

    q_left: Share
    q_c: Share
    M_ash: Content
    M_slag: Content
    M_fume: Content
    M_c: Content
    v: Ratio
    RD_cm: Ratio


@calculation(
    title="Cement and supplementary materials",
    source=VOLUME,
    notes=(
        "Shares are of the mass of all cementitious material. The table of strength is for portland cement: whether the "
        "blend reaches the strength, and when, is for trial batches.",
    ),
)
def blend(
    C_m: Annotated[Content, Range("100 kg/m³", "1000 kg/m³")], q_ash: Part, q_slag: Part, q_fume: Part,
    RD_c: Density_c, RD_ash: Density_s, RD_slag: Density_s, RD_fume: Density_s,
) -> Blend:  # fmt: skip
    r"""Masses of cement and supplementary materials, and the relative density of the blend.

    .. math:: M_i = q_i C_m,\quad RD_{cm} = 1 / \sum (q_i / RD_i)

    Parameters
    ----------
    C_m : quantity of mass per volume, shape (...,)
        cementitious material
    q_ash : quantity without dimension, shape (...,)
        fly ash, share of the mass of cementitious material
    q_slag : quantity without dimension, shape (...,)
        slag cement, share of that mass
    q_fume : quantity without dimension, shape (...,)
        silica fume, share of that mass
    RD_c : quantity without dimension
        relative density of the cement
    RD_ash : quantity without dimension
        relative density of the fly ash
    RD_slag : quantity without dimension
        relative density of the slag cement
    RD_fume : quantity without dimension
        relative density of the silica fume

    Returns
    -------
    Blend
        `q_left` and `q_c` share of cement, masses `M_ash`, `M_slag`, `M_fume` and `M_c` of cement, `v` volume that a
        unit mass of the blend takes against water, `RD_cm` relative density of the blend.

    Raises
    ------
    InputError
        If a share or density is implausible.

    Notes
    -----
    Source: absolute volumes add. ACI 211.1-91, 6.3.4.1 (memory).

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = blend(Q(400, "kg/m³"), Q(20, "%"), Q(0, "%"), Q(0, "%"), 3.15, 2.40, 2.90, 2.20)
    >>> f"{found.M_c.to('kg/m³'):.0f~P}, {found.RD_cm.magnitude:.3f}"
    '320 kg/m³, 2.965'
    """
    q_left = 1 - q_ash - q_slag - q_fume  # share left for cement
    q_c = cement_share(q_left)  # share of cement
    M_ash = q_ash * C_m  # fly ash
    M_slag = q_slag * C_m  # slag cement
    M_fume = q_fume * C_m  # silica fume
    M_c = q_c * C_m  # cement
    v = q_c / RD_c + q_ash / RD_ash + q_slag / RD_slag + q_fume / RD_fume  # volume for a unit mass
    RD_cm = 1 / v  # relative density of the blend
    return Blend(q_left, q_c, M_ash, M_slag, M_fume, M_c, v, RD_cm)
