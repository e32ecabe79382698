"""Digits of a printed number: as many as its use wants.

A *proof value* keeps the digits that a line needs to follow from its printed operands; `deckcalc.show.hand` finds them. A
*decision value* stands in tables of results, verdicts, sentences, drawings and reports: three significant digits, and of
lengths what a tape shows. Common practice, with no source: a tape is read to 1/8 in or 1 mm, a scale for bags to 1 lb.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal

#: Inches of the smallest mark of a tape that is read on a deck.
MARK = 0.125
#: What is smaller, in the unit that it is printed in, is the noise of a computation.
NOISE = 1e-9
#: From here on a number is printed with a power of ten.
LARGE = 1e6
SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def fixed(value: float, decimals: int, rounding: str = ROUND_HALF_UP) -> str:
    """Print a number with fixed decimals, half rounded up as the trade does, without a negative zero.

    Examples
    --------
    >>> fixed(-0.0001, 2), fixed(82.55, 1), fixed(62.5, 0)
    ('0.00', '82.6', '63')
    """
    if not math.isfinite(value):
        return str(value)
    # fourteen digits: what a number was meant to be, without the noise of its binary form
    text = f"{Decimal(f'{value:.14g}').quantize(Decimal(1).scaleb(-decimals), rounding):f}"
    return text.lstrip("-") if float(text) == 0 else text


def exact_decimals(value: float, most: int = 6) -> int | None:
    """Return the fewest decimals that print `value` without loss, or None if `most` are not enough."""
    for decimals in range(most + 1):
        if math.isclose(float(fixed(value, decimals)), value, rel_tol=1e-12, abs_tol=1e-15):
            return decimals
    return None


def order(value: float, significant: int) -> int:
    """Return the power of ten of a number once it is rounded to so many significant digits.

    Examples
    --------
    >>> order(9.994, 3), order(9.996, 3)
    (0, 1)
    """
    return int(f"{value:.{significant - 1}e}".partition("e")[2])


def small_decimals(value: float, least: int, significant: int = 3) -> int:
    """Return the decimals of a number, more than usual where it is so small that digits would be lost.

    Examples
    --------
    >>> small_decimals(0.5, 2), small_decimals(1.0 - 1e-16, 2)
    (3, 2)
    """
    value = float(f"{value:.12g}")  # a one with the noise of a computation is a one
    if not value or not math.isfinite(value) or abs(value) >= 1:
        return least
    return max(least, significant - 1 - math.floor(math.log10(abs(value))))


def decision_decimals(value: float, most: int, significant: int = 3) -> int:
    """Return the decimals of a decision value: so many significant digits, and no more decimals than usual; below one, two.

    Examples
    --------
    >>> [fixed(x, decision_decimals(x, 2)) for x in (0.0123456, 0.5, 1.234, 12.34, 99.96, 1234.5)]
    ['0.012', '0.50', '1.23', '12.3', '100', '1235']
    """
    if not value or not math.isfinite(value) or abs(value) < 1:
        return small_decimals(value, most, 2)
    return min(most, max(0, significant - 1 - order(value, significant)))


def power_of_ten(power: int) -> str:
    """Print a power of ten.

    Examples
    --------
    >>> power_of_ten(6), power_of_ten(-12)
    ('10⁶', '10⁻¹²')
    """
    return f"10{str(power).translate(SUPERSCRIPT)}"


def large(value: float, rounding: str = ROUND_HALF_UP) -> str:
    """Print a number of a million and more with three significant digits and a power of ten that is a multiple of three.

    Examples
    --------
    >>> large(134218021.0), large(-2.5e6)
    ('134 × 10⁶', '-2.50 × 10⁶')
    """
    power = order(value, 3)
    thousands = power - power % 3
    return f"{fixed(value / 10**thousands, 2 - power % 3, rounding)} × {power_of_ten(thousands)}"


def grouped(count: int) -> str:
    r"""Print a count in groups of three digits, set apart by a narrow blank that nobody takes for a decimal sign.

    Examples
    --------
    >>> grouped(20000) == "20\u202f000"
    True
    """
    return f"{count:,}".replace(",", "\u202f")


def on_the_tape(inches: float) -> bool:
    """Whether a length falls on a mark of the tape."""
    return math.isclose(inches, round(inches / MARK) * MARK, rel_tol=1e-9, abs_tol=1e-9)


def tape(inches: float, feet: bool = False, rounding: str = ROUND_HALF_UP) -> str:
    """Print a length as a tape shows it, to an eighth of an inch.

    Parameters
    ----------
    inches : float
    feet : bool
        Whether twelve inches are printed as a foot.
    rounding : str
        Of the decimal module.

    Returns
    -------
    str
        With its unit; empty where the tape shows nothing of it, or not enough: less than an inch, and between two marks.

    Examples
    --------
    >>> tape(30.49), tape(30.49, feet=True), tape(420.0, feet=True), tape(0.75), tape(0.3)
    ('30 1/2 in', '2 ft 6 1/2 in', '35 ft 0 in', '3/4 in', '')
    """
    if not math.isfinite(inches) or (abs(inches) < 1 and not on_the_tape(inches)):
        return ""
    marks = int(
        Decimal(f"{inches / MARK:.12g}").quantize(Decimal(1), ROUND_HALF_UP if on_the_tape(inches) else rounding)
    )
    sign, marks = "-" if marks < 0 else "", abs(marks)
    whole, part = divmod(marks, 8)
    over = math.gcd(part, 8)
    fraction = f"{part // over}/{8 // over}" if part else ""
    foot, whole = divmod(whole, 12) if feet else (0, whole)
    said = " ".join(word for word in (str(whole) if whole or not part else "", fraction) if word)
    if feet and not marks:
        return "0 ft"
    return f"{sign}{f'{foot} ft ' if foot else ''}{said} in"
