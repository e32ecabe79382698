"""Equations of the error function, solved: each prints as a sentence that a table of the function proves."""

from __future__ import annotations

from typing import Any

import numpy as np

from deckcalc.core.calculation import lookup
from deckcalc.core.sources import Cite
from deckcalc.core.tables import TableError
from deckcalc.core.units import ChlorideContent, Ratio

ERROR_FUNCTION = Cite("abramowitz-stegun", "chapter 7, error function")
NEVER = "the surface content does not exceed the threshold: corrosion is not initiated, however long it lasts"
AT_ONCE = "the background alone reaches the threshold: there is no time before initiation"


def quotient(part: Any, whole: Any) -> Any:
    """Return threshold over surface content, both above the background, refusing what leaves no time to find."""
    if np.any(np.asarray(part) <= 0):
        raise TableError(AT_ONCE)
    if np.any(np.asarray(whole) <= np.asarray(part)):
        raise TableError(NEVER)
    return np.divide(part, whole)


@lookup("the z for which erfc(z) = {part} / {whole}", source=ERROR_FUNCTION)
def z_on_a_face(part: ChlorideContent, whole: ChlorideContent) -> Ratio:
    """Return the depth, in units of 2 √(D t), at which chloride from one face is this part of the surface content."""
    from scipy.special import erfcinv

    return erfcinv(quotient(part, whole))


@lookup("the z for which 1 − erf²(z) = {part} / {whole}", source=ERROR_FUNCTION)
def z_in_a_corner(part: ChlorideContent, whole: ChlorideContent) -> Ratio:
    """Return the same where chloride comes from two faces at right angles, as deep from both."""
    from scipy.special import erfinv

    return erfinv(np.sqrt(1 - quotient(part, whole)))
