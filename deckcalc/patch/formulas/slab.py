"""The slab under and over a patch: what remains of it, where the bottom mat lies, a panel under it, an overlay on it."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger
from deckcalc.core.sources import Cite
from deckcalc.core.units import Area, Diameter, Length, Ratio, Volume

Depth = Annotated[Length, Range("1 mm", "1500 mm")]
Needed = Annotated[Length, Range("0 mm", "1500 mm")]
Thickness = Annotated[Length, Range("50 mm", "1500 mm")]
Cover = Annotated[Length, Range("0 mm", "500 mm")]
Layer = Annotated[Diameter, Range("0 mm", "80 mm")]
Panel = Annotated[Length, Range("25 mm", "300 mm")]
Overlay = Annotated[Length, Range("1 mm", "300 mm")]
MarkedArea = Annotated[Area, Range("0.0004 m²", "10000 m²")]


class RemainingSlab(NamedTuple):
    """Result of `remaining_slab`."""

    h_d: Length
    t_r: Length
    r_t: Ratio


@calculation(
    title="Slab that remains under the open patch",
    source=Cite("", "thickness less the deepest removal", "common practice"),
    notes=(
        (
            "The minimum thickness while the patch is open, at its deepest place. What load the slab may carry then, on and "
            "beside the patch, is for the engineer in charge to check; nothing here says that it may carry any."
        ),
    ),
    unchecked="a difference of two depths",
)
def remaining_slab(h_max: Depth, h_r: Needed, t: Thickness) -> RemainingSlab:
    r"""Thickness of slab that is left at the deepest place of a partial-depth patch.

    .. math:: t_r = t - \max(h_{max}, h_r)

    Parameters
    ----------
    h_max : quantity of length, shape (...,)
        deepest reading
    h_r : quantity of length, shape (...,)
        depth that the bars ask for
    t : quantity of length
        thickness of the slab

    Returns
    -------
    RemainingSlab
        `h_d` deepest removal, `t_r` thickness that remains, `r_t` its share of the slab.

    Raises
    ------
    InputError
        If a depth lies outside what a slab can have.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{remaining_slab(Q(80, 'mm'), Q(105, 'mm'), Q(200, 'mm')).t_r.to('mm'):.0f~P}"
    '95 mm'
    """
    h_d = larger(h_max, h_r)  # deepest removal
    t_r = t - h_d  # slab that remains
    r_t = t_r / t  # share of the slab
    return RemainingSlab(h_d, t_r, r_t)


@calculation(
    title="Depth of the bottom mat",
    source=Cite("", "thickness less bottom cover and both layers", "common practice"),
    notes=("Both layers of the bottom mat are in contact; the ribs of the bars are not added.",),
)
def bottom_mat(t: Thickness, c_b: Cover, d_b1: Layer, d_b2: Layer) -> Length:
    r"""Depth from the top of the slab to the upper side of the bottom mat.

    .. math:: h_b = t - c_b - d_{b1} - d_{b2}

    Parameters
    ----------
    t : quantity of length
        thickness of the slab
    c_b : quantity of length
        cover of the bottom mat, from below
    d_b1 : quantity of length
        diameter of the lower layer of the bottom mat
    d_b2 : quantity of length
        diameter of the upper layer of the bottom mat, 0 if there is one layer only

    Returns
    -------
    Length
        `h_b`, depth from which removal reaches the bottom mat.

    Raises
    ------
    InputError
        If a thickness, the cover or a diameter lies outside what a slab can have.

    Notes
    -----
    Source: plane geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{bottom_mat(Q(8, 'in'), Q(1, 'in'), Q(0.625, 'in'), Q(0.5, 'in')).to('in'):.3f~P}"
    '5.875 in'
    """
    h_b = t - c_b - d_b1 - d_b2  # depth of the upper side of the bottom mat
    return h_b


@calculation(
    title="Depth of the precast panel",
    source=Cite("txdot-crm", "ch. 3, sect. 4: over a precast panel concrete is removed down to the panel"),
    notes=("A panel that is cracked or delaminated is replaced with the slab over it: full depth.",),
    unchecked="a difference of two thicknesses",
)
def panel_depth(t: Thickness, t_p: Panel) -> Length:
    r"""Depth from the top of the slab to the precast panel under it.

    .. math:: h_p = t - t_p

    Parameters
    ----------
    t : quantity of length
        thickness of the slab, panel included
    t_p : quantity of length
        thickness of the panel

    Returns
    -------
    Length
        `h_p`, depth to which concrete is removed.

    Raises
    ------
    InputError
        If a thickness lies outside what a slab or panel can have.

    Notes
    -----
    Source: TxDOT Concrete Repair Manual, ch. 3, sect. 4.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{panel_depth(Q(8, 'in'), Q(4, 'in')).to('in'):.1f~P}"
    '4.0 in'
    """
    h_p = t - t_p  # depth to the panel
    return h_p


@calculation(
    title="Overlay over the patch",
    source=Cite("iowa-2413", "2413.01: the patch is replaced up to the underside of the overlay"),
    notes=(
        (
            "Depths and covers are read from the riding surface; the thickness of the overlay is taken off each before "
            "anything else is done with it."
        ),
        "The overlay over the patch is taken off first and replaced with it; it is no part of the order volume.",
    ),
    unchecked="an area times a thickness",
)
def overlay_volume(A: MarkedArea, t_o: Overlay) -> Volume:
    r"""Volume of overlay over a patch.

    .. math:: V_o = A t_o

    Parameters
    ----------
    A : quantity of area, shape (...,)
        marked area
    t_o : quantity of length
        thickness of the overlay

    Returns
    -------
    Volume
        `V_o`, overlay to take off and to replace.

    Raises
    ------
    InputError
        If the area or the thickness lies outside what a patch or an overlay can have.

    Notes
    -----
    Source: Iowa DOT Standard Specifications, section 2413.01.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{overlay_volume(Q(9, 'ft²'), Q(2, 'in')).to('ft³'):.2f~P}"
    '1.50 ft³'
    """
    V_o = A * t_o  # overlay to take off and to replace
    return V_o
