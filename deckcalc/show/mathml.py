"""Formulas as MathML, for pages that set them without a program of their own."""

from __future__ import annotations

import re
from functools import lru_cache

WORD = re.compile(r"\\mathrm\{([A-Za-z,]+)\}")
#: A space before a unit that a number does not have.
NO_UNIT = re.compile(r"(?<!\\)\\ +(?!\\text)")


@lru_cache(maxsize=4096)
def mathml(tex: str) -> str:
    r"""Return a formula in TeX, as a hand calculation sets it, as MathML.

    Parameters
    ----------
    tex : str
        Without dollar signs.

    Returns
    -------
    str
        A ``math`` element; a name of several letters is one identifier in it.

    Examples
    --------
    >>> "<mtext>in²</mtext>" in mathml(r"A_{r} = 0.28\ \text{in²}")
    True
    """
    from latex2mathml.converter import convert

    prepared = WORD.sub(r"\\text{\1}", tex.strip()).replace("{aligned}", "{align*}")
    made: str = convert(NO_UNIT.sub(" ", prepared), display="block")
    return made.replace(r"\%", "%")
