"""Length of an added bar, the patch that it needs, and the coupler or weld that can stand in for a lap."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger
from deckcalc.core.sources import Cite
from deckcalc.core.units import Force, Length, Stress
from deckcalc.steel.formulas.bars import OneBarArea


class AddedBar(NamedTuple):
    """Result of `added_bar`."""

    L_bar: Length
    L_need: Length
    L_short: Length
    L_grow: Length


@calculation(
    title="Length of an added bar, and of the patch for it",
    source=Cite("rebar-repair-guide", "length of loss and a lap at each end, on sound bar"),
    notes=("The bar lies in the middle of the patch; if the loss does not, the patch grows by more at one end.",),
)
def added_bar(
    L_loss: Annotated[Length, Range("0 mm", "20 m")],
    l_lap: Annotated[Length, Range("100 mm", "10 m")],
    c_end: Annotated[Length, Range("0 mm", "200 mm")],
    L_patch: Annotated[Length, Range("50 mm", "100 m")],
) -> AddedBar:
    r"""Length of a bar that bridges a loss with a lap at each end, and how far the patch must grow for it.

    .. math:: L_{bar} = L_{loss} + 2\ell_{lap},\quad L_{grow} = \max(0, L_{bar} + 2c_{end} - L_{patch})

    Parameters
    ----------
    L_loss : quantity of length
        length over which the existing bar is not sound
    l_lap : quantity of length
        lap at each end
    c_end : quantity of length
        clear distance from the end of the bar to the edge of the patch
    L_patch : quantity of length
        length of the marked patch along the bar

    Returns
    -------
    AddedBar
        `L_bar` length of the added bar, `L_need` length of patch that it needs, `L_short` what is missing (negative: to spare),
        `L_grow` length by which the patch must grow.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: a public guide to the repair of reinforcement.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = added_bar(Q(10, "in"), Q(13, "in"), Q(1, "in"), Q(29, "in"))
    >>> f"{found.L_bar.to('in'):.0f~P}, {found.L_grow.to('in'):.0f~P}"
    '36 in, 9 in'
    """
    L_bar = L_loss + 2 * l_lap  # length of the added bar
    L_need = L_bar + 2 * c_end  # length of patch for it
    L_short = L_need - L_patch  # length that is missing
    L_grow = larger(L_short, 0 * L_patch)  # length by which the patch must grow
    return AddedBar(L_bar, L_need, L_short, L_grow)


@calculation(
    title="Force of a mechanical coupler or a full weld",
    source=Cite("mccormac", "ACI 318-11, 12.14.3: 125 % of the yield strength, as reproduced in section 7.12"),
    notes=("Weld only bars that are known to be weldable; the heat of welding can crack concrete and harm old steel.",),
)
def coupler_force(A_b: OneBarArea, f_y: Annotated[Stress, Range("150 MPa", "700 MPa")]) -> Force:
    r"""Force that a coupler or a weld must develop.

    .. math:: P = 1.25 A_b f_y

    Parameters
    ----------
    A_b : quantity of area
        nominal area of the bar
    f_y : quantity of stress
        specified yield strength of the bar

    Returns
    -------
    Force
        `P` force to be developed.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 318-11, 12.14.3.2 and 12.14.3.4.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{coupler_force(Q(1, 'in²'), Q(60, 'ksi')).to('kip'):.0f~P}"
    '75 kip'
    """
    P = 1.25 * A_b * f_y  # force to be developed
    return P
