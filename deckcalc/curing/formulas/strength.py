"""Strength against age: curves fitted to cylinders, and published curves for a first estimate."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core import tables
from deckcalc.core.calculation import Range, calculation, exp, log10, smaller, sqrt
from deckcalc.core.sources import Cite
from deckcalc.core.units import Days, Hours, RatePerHour, Ratio, Stress

Age = Annotated[Hours, Range("0 h", "50000 h", above=True)]
Limiting = Annotated[Stress, Range("1 MPa", "200 MPa")]
CARINO = "carino-lew-2001"
OWN = "Holds for the concrete of the cylinders and over their ages; a change of materials asks for new cylinders."


class Hyperbolic(NamedTuple):
    """Result of `strength_hyperbolic`."""

    t: Hours
    S: Stress


@calculation(
    title="Strength at an equivalent age (hyperbola)",
    source=Cite(CARINO, "hyperbolic strength-age function", "memory"), notes=(OWN,),
)  # fmt: skip
def strength_hyperbolic(
    t_e: Age,
    S_u: Limiting,
    k: Annotated[RatePerHour, Range("0.00001 h⁻¹", "5 h⁻¹")],
    t_0: Annotated[Hours, Range("0 h", "48 h")],
) -> Hyperbolic:
    r"""Strength on a hyperbola fitted to cylinders.

    .. math:: S = S_u \frac{k (t_e - t_0)}{1 + k (t_e - t_0)}

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age
    S_u : quantity of stress
        limiting strength of the fit
    k : quantity of rate
        rate constant of the fit
    t_0 : quantity of time
        equivalent age at which strength begins

    Returns
    -------
    Hyperbolic
        `t` equivalent age since strength began, `S` strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Carino, from memory. Before `t_0` there is no strength.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_hyperbolic(Q(26, 'h'), Q(40, 'MPa'), Q(0.04, '1/h'), Q(1, 'h')).S:.1f~P}"
    '20.0 MPa'
    """
    t = t_e - smaller(t_0, t_e)  # equivalent age since strength began, none before
    S = S_u * k * t / (1 + k * t)  # strength
    return Hyperbolic(t, S)


class Exponential(NamedTuple):
    """Result of `strength_exponential`."""

    y: Ratio
    g: Ratio
    S: Stress


@calculation(
    title="Strength at an equivalent age (exponential)",
    source=Cite(CARINO, "exponential strength-age function", "memory"), notes=(OWN,),
)  # fmt: skip
def strength_exponential(
    t_e: Age,
    S_u: Limiting,
    tau: Annotated[Hours, Range("0.1 h", "1000 h")],
    a: Annotated[Ratio, Range("0.1", "5")],
) -> Exponential:
    r"""Strength on an exponential curve fitted to cylinders.

    .. math:: S = S_u \exp\left(-(\tau/t_e)^a\right)

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age
    S_u : quantity of stress
        limiting strength of the fit
    tau : quantity of time
        time constant of the fit
    a : quantity of ratio
        shape parameter of the fit

    Returns
    -------
    Exponential
        `y` exponent, `g` share of the limiting strength, `S` strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Carino; Freiesleben Hansen and Pedersen; from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_exponential(Q(24, 'h'), Q(40, 'MPa'), Q(24, 'h'), 0.9).S:.2f~P}"
    '14.72 MPa'
    """
    y = (tau / t_e) ** a  # exponent
    g = exp(-y)  # share of the limiting strength
    S = S_u * g  # strength
    return Exponential(y, g, S)


class Logarithmic(NamedTuple):
    """Result of `strength_logarithmic`."""

    L: Ratio
    S: Stress


@calculation(
    title="Strength at an equivalent age (logarithmic)",
    source=Cite("plowman-1956", "strength against the logarithm of maturity", "memory"),
    units={"t_e": "h", "a": "MPa", "b": "MPa", "L": "", "S": "MPa"},
    notes=(OWN, "Never to be carried to very early or very late ages."),
)
def strength_logarithmic(
    t_e: Age,
    a: Annotated[Stress, Range("-300 MPa", "100 MPa")],
    b: Annotated[Stress, Range("0 MPa", "200 MPa")],
) -> Logarithmic:
    r"""Strength on a straight line over the logarithm of age, fitted to cylinders.

    .. math:: S = a + b \log_{10} t_e

    Parameters
    ----------
    t_e : quantity of time, shape (...,)
        equivalent age
    a : quantity of stress
        strength of the line at 1 h
    b : quantity of stress
        strength gained for each tenfold age

    Returns
    -------
    Logarithmic
        `L` decimal logarithm of the age in hours, `S` strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: Plowman 1956, from memory; the regression is held in the tests against open strength-age data.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_logarithmic(Q(100, 'h'), Q(-10, 'MPa'), Q(20, 'MPa')).S:.0f~P}"
    '30 MPa'
    """
    L = log10(t_e)  # decimal logarithm of the age in hours
    S = a + b * L  # strength
    return Logarithmic(L, S)


@calculation(
    title="Strength at an age by cement and curing (ACI 209)",
    source=Cite("aci209r-92", "Eq. 2-1 and Table 2.2.1", "memory"),
    notes=(
        "A first estimate, not a record of this concrete. It gives 1.007 of the 28-day strength at 28 d for Type I.",
    ),
)
def strength_aci209(
    t: Annotated[Days, Range("0 d", "4000 d", above=True)],
    f_28: Annotated[Stress, Range("5 MPa", "120 MPa")],
    a: Annotated[Days, Range("0.05 d", "6 d")],
    b: Annotated[Ratio, Range("0.6", "1.05")],
) -> Stress:
    r"""Strength at an age from that at 28 days.

    .. math:: f = \frac{t}{a + b t} f_{28}

    Parameters
    ----------
    t : quantity of time, shape (...,)
        age, at about 20 °C
    f_28 : quantity of stress
        strength at 28 days
    a : quantity of time
        constant of the cement and curing
    b : quantity of ratio
        constant of the cement and curing

    Returns
    -------
    Stress
        `f`, strength at the age.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 209R-92, equation 2-1, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_aci209(Q(7, 'd'), Q(30, 'MPa'), Q(4, 'd'), 0.85):.1f~P}"
    '21.1 MPa'
    """
    f = t / (a + b * t) * f_28  # strength at the age
    return f


class Ec2(NamedTuple):
    """Result of `strength_ec2`."""

    x: Ratio
    b_cc: Ratio
    f: Stress


@calculation(
    title="Mean strength at an age by class of cement (EN 1992-1-1)",
    source=Cite("en-1992-1-1", "3.1.2(6), expressions (3.1) and (3.2)"),
    units={"t": "d", "f_cm": "MPa", "s": "", "x": "", "b_cc": "", "f": "MPa"},
    notes=("s is 0.20, 0.25, 0.38 for cements of class R, N, S.", "A first estimate, not a record of this concrete."),
)
def strength_ec2(
    t: Annotated[Days, Range("0 d", "4000 d", above=True)],
    f_cm: Annotated[Stress, Range("5 MPa", "120 MPa")],
    s: Annotated[Ratio, Range("0.15", "0.45")],
) -> Ec2:
    r"""Mean strength at an age from that at 28 days.

    .. math:: f = f_{cm} \exp\left(s (1 - \sqrt{28/t})\right)

    Parameters
    ----------
    t : quantity of time, shape (...,)
        age, at 20 °C
    f_cm : quantity of stress
        mean strength at 28 days
    s : quantity of ratio
        coefficient of the class of cement

    Returns
    -------
    Ec2
        `x` exponent, `b_cc` share of the 28-day strength, `f` mean strength.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: EN 1992-1-1, 3.1.2(6).

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{strength_ec2(Q(3, 'd'), Q(38, 'MPa'), 0.25).f:.1f~P}"
    '22.7 MPa'
    """
    x = s * (1 - sqrt(28 / t))  # exponent
    b_cc = exp(x)  # share of the strength at 28 days
    f = b_cc * f_cm  # mean strength at the age
    return Ec2(x, b_cc, f)


def cement_curve(cement: str) -> tuple[float, float]:
    """Return the constants a [d] and b of ACI 209 for a cement type, moist cured.

    Raises
    ------
    TableError
        If the table has no such cement.

    Examples
    --------
    >>> cement_curve("III")
    (2.3, 0.92)
    """
    row = tables.load("strength_age").row("cement", cement)
    return float(row["a [d]"]), float(row["b"])
