"""The decimal comma: printed numbers of a document that a job wants with one, changed at one place when it is bound.

The point stays where it is no decimal sign of a value: in code, file names, addresses, versions, keys and places of sources
(`[ACI 318-11], 12.2.3`, “table 3.1”), numbers of headings and equations, and values with letters on them. Between numbers of a
list the comma becomes a semicolon, so that it is not read as a decimal sign; thousands are set apart by a narrow blank where they
are printed (`deckcalc.core.digits.grouped`). Changing a text twice is changing it once.

What is told by pattern has limits: a place with one point that neither follows the key of a source, the name of a standard nor a
word such as “section” is taken for a value, unless it is handed over in `keep`; a value straight after the key of a source, and
without a unit, is taken for a place. Code set by indentation alone is not seen as code.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_PLACED = (
    r"(?:tables?|sections?|sec\.|clauses?|eqs?\.|equations?|expressions?|examples?|figures?|figs?\.|chapters?|ch\.|annex|appendix|"
    r"app\.|pp?\.|§|articles?|art\.|version|edition|revision|deckcalc|Python)"
)
_STANDARD = r"(?:ACI|ASTM|AASHTO|ANSI|BS|CEB|CFR|CRD-C|CSA|DIN|EN|FHWA|fib|ISO|MUTCD|NDS|NIOSH|OSHA|PCA|UFC|UFGS)"
_UNIT = r"(?! ?(?:[µkMG]?(?:m|g|N|L|Pa)\b|%|°|in\b|ft\b|yd\b|lb|psi|ksi|psf|pcf|kip|gal|fl oz|h\b|d\b|yr\b|min\b))"
_PLACE = rf"[A-Z]?\d[\w.()-]*+{_UNIT}"
_KEY = r"\\?\[[A-Z][^\[\]\n|]*\]"
#: What is left as it stands, the first that fits.
KEPT = (
    r"^(?P<indent>[ >]*)(?P<fence>`{3,}|~{3,})[^\n]*\n(?s:.*?)^[ >]*(?P=fence)",  # fenced code
    r"(?P<tick>`+)(?!`)(?s:.+?)(?<!`)(?P=tick)(?!`)",  # code spans
    r"<!--(?s:.*?)-->|<(?P<tag>code|pre|style|script|math)\b(?s:.*?)</(?P=tag)>|</?[A-Za-z][^<>]*>",  # elements
    r"\]\([^()\n]*\)|(?<=[\])\w ])\{[#.\w][^{}\n]*\}",  # targets of links, attributes
    r"\b(?:https?|mailto|file):\S+|\b10\.\d{4,}/\S+|\b[\w.+-]+@[\w.-]+",  # addresses
    r"^#+ +\d+(?:\.\d+)*\.?(?= )",  # numbers of headings
    rf"{_KEY}(?:, (?i:{_PLACED}) ?{_PLACE}|, {_PLACE})?(?:(?:, (?:and )?| and | to | or )(?:(?i:{_PLACED}) )?{_PLACE})*",
    rf"\b{_STANDARD}\b[- ][A-Z]?\d[\w.-]*(?:(?:, | and | to )\d[\w.-]*+{_UNIT})*",
    rf"(?<!\w)(?i:{_PLACED}) ?{_PLACE}(?:(?: and | to | or ){_PLACE})*",
)
_MATHS = r"(?<!\\)\$\$(?s:.+?)(?<!\\)\$\$|(?<!\\)\$(?=[^\s$])[^$\n]*?(?<=[^\s\\])\$(?!\d)"
_VALUE = r"\d+(?:\.\d+)?(?![A-Za-z0-9]|\.\w|-\d|/\d|:\d|,\d)"
#: Values, one or a list of them, that no letter, point, comma or slash touches.
VALUES = re.compile(rf"(?<![\w.,/\\:])(?<!\w-)(?<![.,])[-−+±]?{_VALUE}(?:, (?:and )?[-−+±]?{_VALUE})*")
IN_MATHS = re.compile(r"\\(?:tag|label|ref|eqref)\*?\{[^{}]*\}|(?<![\d.])(\d+)\.(\d+)(?!\.?\d)")
LIST_IN_MATHS = re.compile(r"(?<=\d),(?=(?:\\? |\\,)[-\d])")


def with_comma(markdown: str, keep: Iterable[str] = ()) -> str:
    r"""Return Markdown, or the text of a drawing, with decimal commas in its printed numbers, TeX included.

    Parameters
    ----------
    markdown : str
    keep : iterable of str
        Texts in which a point stays, as names and numbers that the user gave.

    Returns
    -------
    str
        The same text where nothing in it is a decimal; what has commas already stays.

    Examples
    --------
    >>> print(with_comma(r"$d = 2 \cdot 0.5\ \text{mm}$ is 1.0 mm [ACI 318-11], 16.6; `0.5`; 0.5, 1.25 and 0.1.0"))
    $d = 2 \cdot 0{,}5\ \text{mm}$ is 1,0 mm [ACI 318-11], 16.6; `0.5`; 0,5; 1,25 and 0.1.0
    """
    kept = "|".join(sorted(map(re.escape, {one for one in keep if "." in one}), key=len, reverse=True))
    parts = [
        *([rf"(?<!\w)(?:{kept})(?!\w)"] if kept else []),
        *KEPT,
        rf"(?P<maths>{_MATHS})",
        rf"(?P<values>{VALUES.pattern})",
    ]
    return re.sub("|".join(f"(?:{part})" for part in parts), _changed, markdown, flags=re.M)


def _changed(match: re.Match[str]) -> str:
    """Return one part of a text as it is printed."""
    if match["maths"]:
        return IN_MATHS.sub(
            lambda one: f"{one[1]}{{,}}{one[2]}" if one[1] else one[0], LIST_IN_MATHS.sub(";", match[0])
        )
    if not match["values"]:
        return match[0]
    numbers = match[0].split(", ")
    apart = "; " if any("." in one for one in numbers) else ", "
    return apart.join(numbers).replace(".", ",")
