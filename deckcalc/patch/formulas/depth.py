"""Depth of a patch: the readings, the room around the bars, and how deep the saw may go."""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

import numpy as np

from deckcalc.core.calculation import ListOf, Range, calculation, larger, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import Count, Diameter, Length, Ratio

Depth = Annotated[Length, Range("1 mm", "1500 mm")]
Needed = Annotated[Length, Range("0 mm", "1500 mm")]
Depths = Annotated[Length, Range("1 mm", "1500 mm"), ListOf()]
Thickness = Annotated[Length, Range("50 mm", "1500 mm")]
Cover = Annotated[Length, Range("0 mm", "500 mm")]
Covers = Annotated[Length, Range("0 mm", "500 mm"), ListOf()]
Layer = Annotated[Diameter, Range("0 mm", "80 mm")]
Space = Annotated[Length, Range("0 mm", "200 mm")]
Aggregate = Annotated[Length, Range("1 mm", "80 mm")]


@lookup("the mean of the readings {h}")
def mean_depth(h: Depths) -> Length:
    """Return the mean of the depth readings of a patch."""
    return np.mean(h, axis=-1)


@lookup("the deepest of the readings {h}, in a slab of {t}")
def deepest(h: Depths, t: Thickness) -> Length:
    """Return the deepest reading; a hole cannot be deeper than the slab is thick."""
    most = np.max(h, axis=-1)
    if np.any(most > t * (1 + 1e-9)):
        found, slab = float(np.max(most)), float(np.min(t))
        raise TableError(
            f"h holds a reading of {found * 1000:.0f} mm ({found / 0.0254:.2f} in), which is more than the slab "
            f"thickness t of {slab * 1000:.0f} mm ({slab / 0.0254:.2f} in); measure both from the same surface"
        )
    return most


class PatchDepth(NamedTuple):
    """Result of `patch_depth`."""

    h_mean: Length
    h_max: Length
    r_h: Ratio


@calculation(
    title="Depth of unsound concrete",
    source=(
        Cite("", "mean and deepest of the readings", "common practice"),
        Cite("ufc-3-270-04", "4.2.6: depth as a share of the slab thickness"),
    ),
    notes=(
        "Readings and slab thickness are measured from the same surface.",
        "The ratio is that of the deepest reading: one deep place decides between partial and full depth.",
        (
            "Published limits of partial depth disagree: half the slab (UFC 3-270-04) and one third (FHWA), both written "
            "for pavements."
        ),
    ),
)
def patch_depth(h: Depths, t: Thickness) -> PatchDepth:
    r"""Mean and deepest reading of a patch, and the share of the slab that the deepest takes.

    .. math:: r_h = \frac{h_{max}}{t}

    Parameters
    ----------
    h : quantity of length, shape (..., n)
        depth readings over the area of the patch
    t : quantity of length
        thickness of the slab

    Returns
    -------
    PatchDepth
        `h_mean` mean and `h_max` deepest reading, `r_h` the deepest reading as a share of the thickness.

    Raises
    ------
    InputError
        If a reading is more than the thickness of the slab, or a value lies outside its range.

    Notes
    -----
    Source: UFC 3-270-04, 4.2.6 (half the slab); FHWA, partial-depth repairs (one third).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{patch_depth(Q([62, 48, 55], 'mm'), Q(200, 'mm')).r_h:.2f~P}"
    '0.31'
    """
    h_mean = mean_depth(h)  # mean depth
    h_max = deepest(h, t)  # deepest reading
    r_h = h_max / t  # share of the slab thickness
    return PatchDepth(h_mean, h_max, r_h)


class ClearSpace(NamedTuple):
    """Result of `clear_space`."""

    s_D: Length
    s_c: Length


@calculation(
    title="Clear space to open under the bars",
    source=(
        Cite("aci-364-6", "answer: 19 mm (3/4 in), or the aggregate and 6 mm (1/4 in), whichever is more"),
        Cite("ufgs-03931", "3.3.1.4: the same rule with a minimum value of 25 mm (1 in)"),
    ),
    notes=(
        (
            "Published minimum values disagree: 1/2 in (UFC 3-270-03), 3/4 in (ACI PRC-364.6), 3/4 to 1 in (ACI 364.10T), "
            "1 in (UFGS 03931)."
        ),
    ),
)
def clear_space(s_min: Space, D_max: Aggregate, e: Space) -> ClearSpace:
    r"""Clear space to open around exposed bars, so that the repair concrete gets under them.

    .. math:: s_c = \max(s_{min}, D_{max} + e)

    Parameters
    ----------
    s_min : quantity of length
        minimum clear space around a bar
    D_max : quantity of length
        nominal maximum size of the aggregate of the repair concrete
    e : quantity of length
        room that the aggregate needs beyond its own size

    Returns
    -------
    ClearSpace
        `s_D` space that the aggregate needs, `s_c` clear space to open.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI PRC-364.6-22 (19 mm or 3/4 in); UFGS 03931, 3.3.1.4 (25 mm or 1 in).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{clear_space(Q(0.75, 'in'), Q(0.75, 'in'), Q(0.25, 'in')).s_c.to('in'):.2f~P}"
    '1.00 in'
    """
    s_D = D_max + e  # space that the aggregate needs
    s_c = larger(s_min, s_D)  # clear space to open
    return ClearSpace(s_D, s_c)


@lookup("the minimum of the readings {c}")
def least_cover(c: Covers) -> Length:
    """Return the minimum cover read."""
    return np.min(c, axis=-1)


@lookup("the mean of the readings {c}")
def mean_cover(c: Covers) -> Length:
    """Return the mean of the covers read."""
    return np.mean(c, axis=-1)


@lookup("the maximum of the readings {c}")
def greatest_cover(c: Covers) -> Length:
    """Return the maximum cover read."""
    return np.max(c, axis=-1)


class PatchCover(NamedTuple):
    """Result of `patch_cover`."""

    c_min: Length
    c_mean: Length
    c_max: Length

    @property
    def least(self) -> Length:
        """The minimum cover: for saw cuts, laps, and whether bars are reached."""
        return self.c_min

    @property
    def mean(self) -> Length:
        """The mean cover: of no limit by itself."""
        return self.c_mean

    @property
    def greatest(self) -> Length:
        """The maximum cover: for the depth that exposes the bars all round, and for the strength of top bars."""
        return self.c_max


@calculation(
    title="Cover of the top mat",
    source=Cite(
        "", "minimum, mean and maximum of the readings; which of them is safe depends on the use", "common practice"
    ),
    notes=(
        (
            "The minimum is used for the saw cut and for whether the bars are reached; the maximum for the depth that frees "
            "them. No limit is checked on the mean."
        ),
        "Bars between the readings may lie higher or lower than any of them: locate them along the cut.",
    ),
)
def patch_cover(c: Covers) -> PatchCover:
    r"""Minimum, mean and maximum cover of the top mat over a patch.

    .. math:: c_{min} \le c_{mean} \le c_{max}

    Parameters
    ----------
    c : quantity of length, shape (..., n)
        readings of the cover over the patch

    Returns
    -------
    PatchCover
        `c_min` minimum, `c_mean` mean, `c_max` maximum cover; also as `least`, `mean`, `greatest`.

    Raises
    ------
    InputError
        If a reading is not between 0 and 500 mm.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> cover = patch_cover(Q([38, 41, 44], "mm"))
    >>> f"{cover.least.to('mm'):.0f~P}, {cover.mean.to('mm'):.0f~P}, {cover.greatest.to('mm'):.0f~P}"
    '38 mm, 41 mm, 44 mm'
    """
    c_min = least_cover(c)  # minimum cover
    c_mean = mean_cover(c)  # mean cover
    c_max = greatest_cover(c)  # maximum cover
    return PatchCover(c_min, c_mean, c_max)


@lookup(
    "the deepest reading, {h_max}, against the minimum cover, {c_min}, which is not more than the maximum, {c_max}: "
    "1 if it goes past the minimum cover, 0 if not"
)
def bars_reached(h_max: Depth, c_min: Cover, c_max: Cover) -> Count:
    """Return 1 where unsound concrete goes past the top of the highest bar, else 0."""
    if np.any(np.greater(c_min, np.multiply(c_max, 1 + 1e-9))):
        low, high = float(np.max(c_min)), float(np.min(c_max))
        raise TableError(
            f"the minimum cover c_min of {low * 1000:.1f} mm is more than the maximum c_max of {high * 1000:.1f} mm; "
            "give the minimum and the maximum reading of one patch"
        )
    reached: Any = np.where(np.greater(h_max, np.multiply(c_min, 1 + 1e-9)), 1.0, 0.0)
    return reached[()]


@lookup("the deepest of the readings {h_i}")
def deepest_reading(h_i: Depths) -> Length:
    """Return the deepest reading."""
    return np.max(h_i, axis=-1)


@lookup("the mean of the readings {h_i}, each taken as {h_r} where it is less")
def mean_removal(h_i: Depths, h_r: Needed) -> Length:
    """Return the mean of the readings, none less than the bars ask for."""
    taken = np.maximum(h_i, np.expand_dims(h_r, -1))
    return taken.mean(axis=-1)


class RemovalDepth(NamedTuple):
    """Result of `removal_depth`."""

    h_max: Length
    h_bars: Length
    n_r: Count
    h_r: Length
    h: Length


@calculation(
    title="Depth of removal",
    source=Cite("", "bars that the unsound concrete reaches are exposed all round", "common practice"),
    notes=(
        (
            "The mean of the readings stands for the whole area of the patch: right for the volume of an uneven floor, "
            "less than what is taken out at the deepest place."
        ),
        ("Once one reading goes past the cover, the bars are taken as exposed over the whole marked area."),
        (
            "Whether the bars are reached goes by the minimum cover measured over the patch, the depth that exposes them all round by the "
            "maximum, so that the clear space is there under the deepest bar read. Both layers of the top mat are in "
            "contact, and the ribs of the bars are not added."
        ),
    ),
)
def removal_depth(h_i: Depths, c_min: Cover, c_max: Cover, d_1: Layer, d_2: Layer, s_c: Space) -> RemovalDepth:
    r"""Depth to which concrete is taken out, for the volume of a partial-depth patch.

    .. math:: h = \frac{1}{n} \sum_i \max(h_i,\ n_r (c_{max} + d_1 + d_2 + s_c))

    Parameters
    ----------
    h_i : quantity of length, shape (..., n)
        depth readings over the area of the patch
    c_min : quantity of length, shape (...,)
        minimum cover of the top mat
    c_max : quantity of length, shape (...,)
        maximum cover of the top mat
    d_1 : quantity of length
        diameter of the upper layer of the top mat
    d_2 : quantity of length
        diameter of the lower layer of the top mat, 0 if there is one layer only
    s_c : quantity of length
        clear space to open under the bars

    Returns
    -------
    RemovalDepth
        `h_max` deepest reading, `h_bars` depth that exposes both layers, `n_r` whether the bars are reached (1) or not (0), `h_r` depth that
        the bars ask for, `h` depth of removal for the volume.

    Raises
    ------
    InputError
        If a depth is not between 1 mm and 1500 mm, a cover not between 0 and 500 mm, a diameter not between
        0 and 80 mm, or the minimum cover is more than the maximum.

    Notes
    -----
    A reading that equals the minimum cover does not reach the bars. Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> mat = dict(c_min=Q(46, "mm"), c_max=Q(51, "mm"), d_1=Q(16, "mm"), d_2=Q(16, "mm"), s_c=Q(26, "mm"))
    >>> f"{removal_depth(Q([34, 62], 'mm'), **mat).h:.0f~P}"
    '109 mm'
    >>> f"{removal_depth(Q([34, 46], 'mm'), **mat).h:.0f~P}"
    '40 mm'
    """
    h_max = deepest_reading(h_i)  # deepest reading
    h_bars = c_max + d_1 + d_2 + s_c  # depth that exposes both layers of the top mat
    n_r = bars_reached(h_max, c_min, c_max)  # whether the bars are reached
    h_r = n_r * h_bars  # depth that the bars ask for
    h = mean_removal(h_i, h_r)  # depth of removal
    return RemovalDepth(h_max, h_bars, n_r, h_r, h)


@calculation(
    title="Maximum depth of the saw cut",
    source=(
        Cite("", "the saw stays clear of the bars by a margin", "common practice"),
        Cite("ufgs-03931", "perimeter saw cut: never as deep as the bars"),
    ),
    notes=(
        "Zero or less means that no saw cut clears the bars: the edge is then chipped by hand.",
        "Cover is measured along the line of the cut before sawing.",
    ),
)
def saw_cut(c_min: Cover, m_saw: Space) -> Length:
    r"""Maximum depth of saw cut that stays clear of the bars.

    .. math:: d_{saw,max} = c_{min} - m_{saw}

    Parameters
    ----------
    c_min : quantity of length, shape (...,)
        minimum cover measured along the cut
    m_saw : quantity of length
        margin kept between blade and bar

    Returns
    -------
    Length
        `d_saw_max`, held against the planned depth of cut.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: UFGS 03931, perimeter saw cut (never as deep as the bars); a margin: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{saw_cut(Q(1.5, 'in'), Q(0.25, 'in')).to('in'):.2f~P}"
    '1.25 in'
    """
    d_saw_max = c_min - m_saw  # maximum depth of cut that clears the bars
    return d_saw_max
