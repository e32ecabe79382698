"""Strength at early age by type of cement, as published."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from deckcalc.core import tables as published
from deckcalc.core.calculation import Range, calculation, lookup
from deckcalc.core.sources import Cite
from deckcalc.core.units import Kind, Quantity, Ratio, Share, Stress
from deckcalc.mix.formulas.table_units import along, each

Age = Annotated[Quantity, Kind("age", "d", "d", 0, 0)]
CementType = Literal["I", "III"]
DAY = 86_400.0  # s
CURVE = Cite("macgregor", "strength against age, moist cured, as quoted on an engineers’ mailing list")


def constant_of(cement: str, column: str) -> float:
    """Return a constant of the curve."""
    return float(published.load("strength_age").row("cement", cement)[column])


@lookup("from the table, cement of type {cement}, moist cured")
def half_age(t: Age, cement: CementType) -> Age:
    """Return the constant a of the curve."""
    return each(lambda _: constant_of(cement, "a [d]") * DAY, t)


@lookup("from the same row, cement of type {cement}")
def slope(t: Age, cement: CementType) -> Ratio:
    """Return the constant b of the curve."""
    return each(lambda _: constant_of(cement, "b"), t)


class StrengthAtAge(NamedTuple):
    """Result of `strength_at_age`."""

    a: Age
    b: Ratio
    f_t: Stress


@calculation(
    title="Strength at an early age",
    source=CURVE,
    notes=(
        "Moist cured at 20 to 23 °C (68 to 73 °F), from one day up. Not for rapid-setting cements or accelerators, and no "
        "ground to open a lane: that takes cylinders or maturity.",
    ),
)
def strength_at_age(
    f_28: Annotated[Stress, Range("10 MPa", "80 MPa")], t: Annotated[Age, Range("1 d", "365 d")], cement: CementType
) -> StrengthAtAge:
    r"""Compressive strength at an age, from that at 28 days.

    .. math:: f(t) = f_{28}\, \frac{t}{a + b t}

    Parameters
    ----------
    f_28 : quantity of stress, shape (...,)
        strength at 28 days
    t : quantity of time, shape (...,)
        age
    cement : {"I", "III"}
        type of the cement

    Returns
    -------
    StrengthAtAge
        `a` and `b` constants of the curve, `f_t` strength.

    Raises
    ------
    InputError
        If the age is less than a day, or a value is implausible.

    Notes
    -----
    The curve returns 0.7 % more than the strength put in at 28 days for type I; it is not normalised.
    Source: MacGregor, as quoted on an engineers’ mailing list; the constants are those of ACI 209R-92.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_at_age(Q(35, 'MPa'), Q(3, 'day'), 'III').f_t.to('MPa'):.1f~P}"
    '20.8 MPa'
    """
    a = half_age(t, cement)  # constant of the curve
    b = slope(t, cement)  # constant of the curve
    f_t = f_28 * t / (a + b * t)  # strength at that age
    return StrengthAtAge(a, b, f_t)


@lookup("from the table at an age of {t}, in proportion between its rows")
def type_iii_share(t: Age) -> Share:
    """Return the strength with Type III cement over that with Type I."""
    table = published.load("type_iii_ratio")
    shares = [value / 100 for value in table.column("Type III over Type I [%]")]
    return along(t / DAY, table.column("age [d]"), shares, "age in days")


class TypeIII(NamedTuple):
    """Result of `type_iii_strength`."""

    r: Share
    f_iii: Stress


@calculation(title="Strength with Type III cement", source=Cite("cc-type-iii", "question and answer"))
def type_iii_strength(
    f_i: Annotated[Stress, Range("1 MPa", "80 MPa")], t: Annotated[Age, Range("1 d", "90 d")]
) -> TypeIII:
    r"""Strength with Type III cement, from that with Type I at the same age.

    .. math:: f_{III} = r(t) f_I

    Parameters
    ----------
    f_i : quantity of stress, shape (...,)
        strength with Type I cement
    t : quantity of time, shape (...,)
        age

    Returns
    -------
    TypeIII
        `r` ratio of the two, `f_iii` strength with Type III.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Near 21 °C (70 °F). Source: a trade article.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{type_iii_strength(Q(1000, 'psi'), Q(1, 'day')).f_iii.to('psi'):.0f~P}"
    '1900 psi'
    """
    r = type_iii_share(t)  # ratio of the two
    f_iii = r * f_i  # strength with Type III
    return TypeIII(r, f_iii)
