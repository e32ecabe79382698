"""Strength of a packaged material by its manufacturer's table: between two of its ages, on a straight line over the logarithm of age."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, NamedTuple

from deckcalc.core.calculation import Range, calculation, exp, ln
from deckcalc.core.sources import Cite
from deckcalc.core.units import Hours, InputError, Quantity, Ratio, Stress

Age = Annotated[Hours, Range("0.1 h", "2400 h")]
Strength = Annotated[Stress, Range("0.5 MPa", "150 MPa")]
STRAIGHT = Cite("", "strength rises about as the logarithm of age between two tests", "common practice")


class TimeToStrength(NamedTuple):
    """Result of `time_to_strength`."""

    r: Ratio
    x: Ratio
    t: Hours


@calculation(
    title="Age at which a strength is reached, by the manufacturer's table",
    source=STRAIGHT,
    notes=(
        "The manufacturer's ages are at the temperature of the tests, mostly 20 to 23 °C (68 to 73 °F), neat unless stated otherwise; "
        "cold bars and existing concrete delay it. It opens no lane: cylinders or maturity of the patch do.",
    ),
)
def time_to_strength(t_1: Age, S_1: Strength, t_2: Age, S_2: Strength, S: Strength) -> TimeToStrength:
    r"""Age at which a strength between two of a table is reached.

    .. math:: t = t_1 \exp\left(\frac{S - S_1}{S_2 - S_1} \ln\frac{t_2}{t_1}\right)

    Parameters
    ----------
    t_1 : quantity of time
        age of the row below
    S_1 : quantity of stress
        its strength
    t_2 : quantity of time
        age of the row above
    S_2 : quantity of stress
        its strength
    S : quantity of stress
        strength wanted, between the two

    Returns
    -------
    TimeToStrength
        `r` part of the way between the rows, `x` logarithm of the ratio of ages, `t` age.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = time_to_strength(Q(3, 'h'), Q(21, 'MPa'), Q(24, 'h'), Q(35, 'MPa'), Q(28, 'MPa'))
    >>> f"{found.t.to('h'):.2f~P}"
    '8.49 h'
    """
    r = (S - S_1) / (S_2 - S_1)  # part of the way between the two rows
    x = ln(t_2 / t_1) * r  # logarithm of the ratio of ages
    t = t_1 * exp(x)  # age at which the strength is reached
    return TimeToStrength(r, x, t)


class StrengthAtTime(NamedTuple):
    """Result of `strength_at_time`."""

    r: Ratio
    S: Stress


@calculation(
    title="Strength at an age, by the manufacturer's table",
    source=STRAIGHT,
    notes=("It opens no lane: cylinders or maturity of the patch do.",),
)
def strength_at_time(t_1: Age, S_1: Strength, t_2: Age, S_2: Strength, t: Age) -> StrengthAtTime:
    r"""Strength at an age between two of a table.

    .. math:: S = S_1 + (S_2 - S_1) \frac{\ln(t/t_1)}{\ln(t_2/t_1)}

    Parameters
    ----------
    t_1 : quantity of time
        age of the row below
    S_1 : quantity of stress
        its strength
    t_2 : quantity of time
        age of the row above
    S_2 : quantity of stress
        its strength
    t : quantity of time
        equivalent age, between the two

    Returns
    -------
    StrengthAtTime
        `r` part of the way between the rows, `S` strength.

    Raises
    ------
    InputError
        If a value is implausible.

    Notes
    -----
    Source: common practice.

    Examples
    --------
    >>> from deckcalc import Q
    >>> found = strength_at_time(Q(3, 'h'), Q(21, 'MPa'), Q(24, 'h'), Q(35, 'MPa'), Q(8.486, 'h'))
    >>> f"{found.S.to('MPa'):.1f~P}"
    '28.0 MPa'
    """
    r = ln(t / t_1) / ln(t_2 / t_1)  # part of the way between the two rows
    S = S_1 + (S_2 - S_1) * r  # strength at that age
    return StrengthAtTime(r, S)


@dataclass(frozen=True)
class MakersCurve:
    """The manufacturer's strength by age: it holds between its first and its last row, and nowhere else.

    Attributes
    ----------
    rows : tuple of (Quantity, Quantity)
        Age and strength, both rising.
    """

    rows: tuple[tuple[Quantity, Quantity], ...]
    provenance: str = "manufacturer's data"

    def between(self, wanted: Quantity) -> dict[str, Quantity] | None:
        """Return the arguments of `time_to_strength` for a strength; None where the table does not hold it."""
        for (t_1, S_1), (t_2, S_2) in pairwise(self.rows):
            if S_1 * (1 - 1e-9) <= wanted <= S_2 * (1 + 1e-9):
                return {"t_1": t_1, "S_1": S_1, "t_2": t_2, "S_2": S_2, "S": wanted}
        return None

    def around(self, age: Quantity) -> dict[str, Quantity] | None:
        """Return the arguments of `strength_at_time` for an age; None where the table does not hold it."""
        for (t_1, S_1), (t_2, S_2) in pairwise(self.rows):
            if t_1 * (1 - 1e-9) <= age <= t_2 * (1 + 1e-9):
                return {"t_1": t_1, "S_1": S_1, "t_2": t_2, "S_2": S_2, "t": age}
        return None


def read_makers_curve(text: str) -> MakersCurve:
    """Read a manufacturer's table such as ``2 h 14 MPa; 24 h 35 MPa``.

    Raises
    ------
    InputError
        If a row is no age and strength, or ages or strengths do not rise.

    Examples
    --------
    >>> len(read_makers_curve("3 h 3000 psi; 1 d 5000 psi").rows)
    2
    """
    rows: list[tuple[Quantity, Quantity]] = []
    for part in (part.strip() for part in text.split(";") if part.strip()):
        words = part.split()
        if len(words) != 4:
            raise InputError(f"found “{part}”, wanted an age and a strength such as 3 h 21 MPa")
        age, strength = (time_to_strength.params[name] for name in ("t_1", "S_1"))
        row: tuple[Quantity, Quantity] = (age.read(" ".join(words[:2])), strength.read(" ".join(words[2:])))
        age.plain(row[0], "manufacturer's strengths")  # refuses what lies outside its range
        strength.plain(row[1], "manufacturer's strengths")
        rows.append(row)
    if len(rows) < 2:
        raise InputError(
            f"found “{text}”, wanted at least two ages with their strengths, such as 3 h 21 MPa; 24 h 35 MPa"
        )
    for (t_1, S_1), (t_2, S_2) in pairwise(rows):
        if not (t_1 < t_2 and S_1 < S_2):
            raise InputError(
                f"found {t_2:~P} {S_2:~P} after {t_1:~P} {S_1:~P}; ages and strengths rise from row to row"
            )
    return MakersCurve(tuple(rows))
