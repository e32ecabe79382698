"""Getting a form to its place and keeping wheels off it: length of shores, passage between bars, a wheel on the form."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, larger, round_up
from deckcalc.core.sources import Cite
from deckcalc.core.units import Count, Diameter, Distance, Force, Length, MemberForce, Ratio, Share
from deckcalc.formwork.formulas.lumber import MemberDepth

PRACTICE = Cite("", "geometry", "common practice")
Part = Annotated[Length, Range("0 mm", "600 mm")]


class ShoreLength(NamedTuple):
    """Result of `shore_length`."""

    d_t: Length
    L_s: Distance


@calculation(
    title="Cut length of a shore",
    source=PRACTICE,
    notes=(
        "Wedges are driven in pairs between sill and shore; half of their height is left to drive. Measure at every shore: the ground "
        "is not level. The check of the shore as a column keeps the whole clear height, on the safe side.",
    ),
    unchecked="geometry; limits are in the tests",
)
def shore_length(
    h: Annotated[Distance, Range("0.5 m", "12 m")], t_s: Part, t_w: Part, t_p: Annotated[Length, Range("6 mm", "60 mm")],
    d_j: MemberDepth, d_c: MemberDepth,
) -> ShoreLength:  # fmt: skip
    r"""Length of a shore between the wedges on its sill and the stringer.

    .. math:: L_s = h - t_s - t_w - (t_p + d_j + d_c)

    Parameters
    ----------
    h : quantity of length
        height of the underside of the slab above what it was measured from
    t_s : quantity of length
        thickness of the sill, 0 where the height was measured from its top
    t_w : quantity of length
        height of a pair of wedges as driven
    t_p : quantity of length
        thickness of the panel
    d_j : quantity of length
        depth of the joists
    d_c : quantity of length
        depth of the stringers

    Returns
    -------
    ShoreLength
        `d_t` panel, joist and stringer together; `L_s` length of a shore.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> at = Q(3.0, "m"), Q(50, "mm"), Q(40, "mm"), Q(18, "mm"), Q(89, "mm"), Q(89, "mm")
    >>> f"{shore_length(*at).L_s.to('mm'):.0f~P}"
    '2714 mm'
    """
    d_t = t_p + d_j + d_c  # panel, joist and stringer
    L_s = h - t_s - t_w - d_t  # length of a shore
    return ShoreLength(d_t, L_s)


class Passage(NamedTuple):
    """Result of `passage`."""

    c_b: Length
    d_m: Length
    u: Ratio
    n_s: Count
    w_s: Length


@calculation(
    title="Form parts lowered between the bars",
    source=PRACTICE,
    notes=(
        "For a form that is put together through the hole, with the bars in place and as far apart both ways as the deck says. Joists go "
        "down end first; the soffit goes down as strips that lie across the joists, each as stiff for its width as the whole panel. "
        "Measure the bars in the hole before anything is cut.",
    ),
    unchecked="geometry; limits are in the tests",
)
def passage(
    s_b: Annotated[Length, Range("50 mm", "600 mm")], d_b: Annotated[Diameter, Range("5 mm", "60 mm")],
    c_p: Annotated[Length, Range("0 mm", "100 mm")], b: MemberDepth, d: MemberDepth,
    w: Annotated[Distance, Range("0.1 m", "6 m")],
) -> Passage:  # fmt: skip
    r"""Whether joists pass between the bars, and into how many strips the soffit is cut so that it does.

    .. math:: c_b = s_b - d_b - c_p,\quad u = \frac{\max(b, d)}{c_b},\quad n_s = \lceil w / c_b \rceil

    Parameters
    ----------
    s_b : quantity of length
        spacing of the bars, centre to centre
    d_b : quantity of length
        diameter of the thickest bar
    c_p : quantity of length
        play that a part needs
    b : quantity of length
        breadth of a joist
    d : quantity of length
        depth of a joist
    w : quantity of length
        width of the soffit, along the joists

    Returns
    -------
    Passage
        `c_b` clear opening less the play, `d_m` greater side of a joist, `u` utilisation, `n_s` strips and `w_s` their width.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: geometry.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = passage(Q(150, "mm"), Q(16, "mm"), Q(10, "mm"), Q(38, "mm"), Q(89, "mm"), Q(0.9, "m"))
    >>> f"{made.c_b.to('mm'):.0f~P}, {made.n_s.magnitude:.0f} strips of {made.w_s.to('mm'):.0f~P}"
    '124 mm, 8 strips of 112 mm'
    """
    c_b = s_b - d_b - c_p  # clear opening between bars, less the play
    d_m = larger(b, d)  # greater side of a joist
    u = d_m / c_b  # utilisation
    n_s = round_up(w / c_b)  # strips of the soffit
    w_s = w / n_s  # width of a strip
    return Passage(c_b, d_m, u, n_s, w_s)


class WheelOnForm(NamedTuple):
    """Result of `wheel_on_form`."""

    P_i: Force
    P_f: Force
    u: Ratio
    D: Distance


@calculation(
    title="Wheel load on the form",
    source=PRACTICE,
    notes=(
        "All supports of the form together, sharing alike, which they never do: a ratio above 1 shows that no wheel may come on fresh "
        "concrete; a ratio below 1 would allow none either. Wheels also keep off the strip where strongbacks bear, and off a clear strip beyond it.",
        "Traffic farther off moves the span while the concrete sets; how much that harms is not worked out here.",
    ),
    unchecked="elementary statics; limits are in the tests",
)
def wheel_on_form(
    P: Annotated[Force, Range("5 kN", "300 kN")], i: Annotated[Share, Range("0 %", "100 %")],
    n_f: Annotated[Count, Range("1", "400")], T_f: Annotated[MemberForce, Range("0.01 kN", "500 kN")],
    e_b: Annotated[Length, Range("0 mm", "2000 mm")], l_b: Annotated[Length, Range("0 mm", "1000 mm")],
    c_k: Annotated[Distance, Range("0 m", "10 m")],
) -> WheelOnForm:  # fmt: skip
    r"""What one wheel would do to the form, and how far from the hole wheels stay.

    .. math:: u = \frac{(1 + i) P}{n_f T_f},\quad D = e_b + l_b + c_k

    Parameters
    ----------
    P : quantity of force, shape (...,)
        load of one wheel
    i : quantity without dimension
        impact, as a share of the wheel
    n_f : quantity without dimension
        hangers or shores of the form
    T_f : quantity of force
        load that one of them may carry
    e_b : quantity of length
        from the edge of the hole to the bearing of the strongbacks
    l_b : quantity of length
        length of that bearing
    c_k : quantity of length
        clear strip beyond it

    Returns
    -------
    WheelOnForm
        `P_i` wheel with impact, `P_f` what all supports may carry, `u` their ratio, `D` distance that wheels keep from the hole.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: statics.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = wheel_on_form(Q(71, "kN"), Q(30, "%"), 6, Q(2.4, "kN"), Q(100, "mm"), Q(100, "mm"), Q(0.6, "m"))
    >>> f"{made.u:.1f~P}, {made.D.to('m'):.1f~P}"
    '6.4, 0.8 m'
    """
    P_i = (1 + i) * P  # wheel with impact
    P_f = n_f * T_f  # what all supports together may carry
    u = P_i / P_f  # the wheel over it
    D = e_b + l_b + c_k  # distance that wheels keep from the hole
    return WheelOnForm(P_i, P_f, u, D)
