"""Shrinkage of a thin patch held by existing concrete: an estimate of the tension in it, with every assumption stated."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, exp, smaller, sqrt
from deckcalc.core.forms import Form, calculation_by_form
from deckcalc.core.sources import Cite
from deckcalc.core.units import (
    Days,
    ExpansionCoefficient,
    Length,
    Microstrain,
    Modulus,
    Ratio,
    Share,
    Stress,
    TemperatureDifference,
)

ACI209 = "aci209r-92"
Strength = Annotated[Stress, Range("2 MPa", "80 MPa")]


class FreeShrinkage(NamedTuple):
    """Result of `free_shrinkage`."""

    gamma_RH: Ratio
    y: Ratio
    gamma_h: Ratio
    epsilon: Microstrain


@calculation(
    title="Free drying shrinkage",
    source=Cite(ACI209, "Eq. 2-8 and 2.5, ambient humidity 2.5.4, moist cured 7 d", "memory"),
    notes=(
        "Corrections for humidity and size only; ultimate shrinkage of 780 µm/m is the mean of the source, a measured one is better.",
        "Drying from the top face alone: volume over surface is the thickness.",
    ),
)
def free_shrinkage(
    t: Annotated[Days, Range("0 d", "36500 d")],
    t_h: Annotated[Days, Range("20 d", "80 d")],
    epsilon_u: Annotated[Microstrain, Range("100 µm/m", "1500 µm/m")],
    RH: Annotated[Share, Range("40 %", "100 %")],
    h: Annotated[Length, Range("10 mm", "600 mm")],
    h_r: Annotated[Length, Range("100 mm", "400 mm")],
) -> FreeShrinkage:
    r"""Drying shrinkage of an unrestrained patch.

    .. math:: \varepsilon = \gamma_{RH} \, 1.2 e^{-h/h_r} \frac{t}{t_h + t} \varepsilon_u

    Parameters
    ----------
    t : quantity of time, shape (...,)
        time of drying after curing
    t_h : quantity of time
        time to half of the ultimate shrinkage, 35 d after moist curing
    epsilon_u : quantity of strain
        ultimate shrinkage under standard conditions
    RH : quantity of share
        mean relative humidity of the place
    h : quantity of length, shape (...,)
        volume over drying surface: the thickness of the patch
    h_r : quantity of length
        size constant, 1/0.12 in = 211.7 mm

    Returns
    -------
    FreeShrinkage
        `gamma_RH` factor for humidity, `y` and `gamma_h` steps of the factor for size, `epsilon` free shrinkage.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: ACI 209R-92, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> out = free_shrinkage(Q(35, "d"), Q(35, "d"), Q(780, "µm/m"), Q(40, "%"), Q(38.6, "mm"), Q(211.67, "mm"))
    >>> f"{out.epsilon.to('µm/m'):.0f~P}"
    '390 µm/m'
    """
    gamma_RH = smaller(1.40 - RH, 3 - 3 * RH)  # factor for humidity, the second from 80 % up
    y = h / h_r  # exponent of the factor for size
    gamma_h = exp(-y)  # share left by size
    epsilon = gamma_RH * 1.2 * gamma_h * t / (t_h + t) * epsilon_u  # free shrinkage
    return FreeShrinkage(gamma_RH, y, gamma_h, epsilon)


@calculation_by_form(
    title="Modulus of elasticity (ACI 318)",
    forms={
        "SI": Form(
            {"c": 4700}, units={"f_c": "MPa", "E_c": "MPa"}, title="Modulus of elasticity (ACI 318, SI)",
            source=Cite("aci318-05", "8.5.1 of 318M, as quoted on an engineers’ mailing list"),
        ),
        "US": Form(
            {"c": 57000}, units={"f_c": "psi", "E_c": "psi"}, title="Modulus of elasticity (ACI 318, US)",
            source=Cite("aci318-05", "8.5.1, as quoted on an engineers’ mailing list"),
        ),
    },
)  # fmt: skip
def modulus(f_c: Strength, *, c: float) -> Modulus:
    r"""Modulus of elasticity of normal-weight concrete.

    .. math:: E_c = c \sqrt{f'_c}

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        strength of the concrete
    form : {"SI", "US"}
        form of the equation

    Returns
    -------
    Modulus
        `E_c`, modulus of elasticity.

    Raises
    ------
    InputError
        If the strength is not from 2 to 80 MPa.

    Notes
    -----
    Source: ACI 318-05 and 318M-05, 8.5.1, as quoted on an engineers’ mailing list; later editions keep both.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{modulus(Q(28, 'MPa'), form='SI').to('MPa'):.0f~P}, {modulus(Q(4000, 'psi'), form='US').to('ksi'):.0f~P}"
    '24870 MPa, 3605 ksi'
    """
    E_c = c * sqrt(f_c)  # modulus of elasticity
    return E_c


@calculation_by_form(
    title="Tensile strength",
    source=Cite("aci224r-01", "direct tension, lower of the usual range", "memory"),
    forms={
        "SI": Form(
            {"c": 0.33}, units={"f_c": "MPa", "f_t": "MPa"}, title="Tensile strength (SI)",
        ),
        "US": Form(
            {"c": 4}, units={"f_c": "psi", "f_t": "psi"}, title="Tensile strength (US)",
        ),
    },
)  # fmt: skip
def tensile_strength(f_c: Strength, *, c: float) -> Stress:
    r"""Direct tensile strength.

    .. math:: f_t = c \sqrt{f'_c}

    Parameters
    ----------
    f_c : quantity of stress, shape (...,)
        strength of the concrete
    form : {"SI", "US"}
        form of the equation

    Returns
    -------
    Stress
        `f_t`, direct tensile strength.

    Raises
    ------
    InputError
        If the strength is not from 2 to 80 MPa.

    Notes
    -----
    Source: ACI 224R, from memory.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{tensile_strength(Q(36, 'MPa'), form='SI'):.2f~P}, {tensile_strength(Q(4900, 'psi'), form='US').to('psi'):.0f~P}"
    '1.98 MPa, 280 psi'
    """
    f_t = c * sqrt(f_c)  # direct tensile strength
    return f_t


@calculation(
    title="Degree of restraint by the slab left under a patch",
    source=Cite("", "two layers that share a strain by their stiffness, no bending", "common practice"),
    notes=("The slab round the patch holds it as well, at its edges; the estimate leaves that out.",),
)
def restraint(
    h: Annotated[Length, Range("10 mm", "600 mm")],
    h_o: Annotated[Length, Range("5 mm", "1000 mm")],
    n: Annotated[Ratio, Range("0.3", "3")],
) -> Ratio:
    r"""Degree of restraint of a patch by the existing concrete under it, of the same width.

    .. math:: R = \frac{1}{1 + n h / h_o}

    Parameters
    ----------
    h : quantity of length, shape (...,)
        thickness of the patch
    h_o : quantity of length, shape (...,)
        thickness of the existing concrete under it
    n : quantity of ratio
        modulus of elasticity of the patch over that of the existing concrete

    Returns
    -------
    quantity
        degree of restraint by the slab left under the patch: towards 1 the thinner the patch is beside it

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> f"{restraint(Q(50, 'mm'), Q(150, 'mm'), 1).magnitude:.2f}"
    '0.75'
    """
    R = 1 / (1 + n * h / h_o)  # degree of restraint
    return R


class Restrained(NamedTuple):
    """Result of `restrained_stress`."""

    epsilon_T: Microstrain
    E_e: Modulus
    sigma: Stress


@calculation(
    title="Tension in a restrained patch, an estimate",
    source=Cite("", "restrained strain times a modulus reduced for creep", "common practice"),
    notes=(
        "An estimate only: one strain through the thickness, one relaxation for all ages, no curling, no weakening by vibration "
        "or traffic while the patch sets. A tension near the strength says that cracks or loss of bond are likely; one well "
        "below it promises nothing at corners and edges.",
    ),
)
def restrained_stress(
    epsilon: Annotated[Microstrain, Range("0 µm/m", "2000 µm/m")],
    alpha_T: Annotated[ExpansionCoefficient, Range("4 µm/m/K", "16 µm/m/K")],
    Delta_T: Annotated[TemperatureDifference, Range("0 Δ°C", "60 Δ°C")],
    R: Annotated[Ratio, Range("0", "1")],
    E_c: Annotated[Modulus, Range("1 GPa", "60 GPa")],
    phi: Annotated[Ratio, Range("0", "5")],
) -> Restrained:
    r"""Tension in a patch that existing concrete keeps from shortening.

    .. math:: \sigma = R (\varepsilon + alpha_T \Delta T) \frac{E_c}{1 + \varphi}

    Parameters
    ----------
    epsilon : quantity of strain, shape (...,)
        free shrinkage
    alpha_T : quantity of expansion coefficient
        coefficient of thermal expansion
    Delta_T : quantity of temperature difference, shape (...,)
        cooling of the patch against the existing concrete after it has set
    R : quantity of ratio
        degree of restraint, from 0 where the patch is free to 1 where the existing concrete yields nothing
    E_c : quantity of stress
        modulus of elasticity
    phi : quantity of ratio
        creep coefficient that stands for relaxation

    Returns
    -------
    Restrained
        `epsilon_T` shortening by cooling, `E_e` modulus reduced for creep, `sigma` tension.

    Raises
    ------
    InputError
        If a value lies outside its range.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> made = restrained_stress(Q(200, "µm/m"), Q(10, "µm/m/K"), Q(10, "Δ°C"), 0.5, Q(30, "GPa"), 2)
    >>> f"{made.sigma:.2f~P}"
    '1.50 MPa'
    """
    epsilon_T = alpha_T * Delta_T  # shortening by cooling
    E_e = E_c / (1 + phi)  # modulus reduced for creep
    sigma = R * (epsilon + epsilon_T) * E_e  # tension in the patch
    return Restrained(epsilon_T, E_e, sigma)
