"""Text that people typed: which characters can be printed, and how it stands in a document as itself.

Courses and checks give text; whatever puts it into Markdown passes it through `plain`, a file that is shown as it stands through `fenced`.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

#: Characters, in hexadecimal, that both the fonts of the PDF and the font of the drawings have: letters of the Latin, Greek
#: and Cyrillic scripts, signs and arrows. Left out are what steers text (controls, directions, marks that combine), and the
#: box to tick, which stands on the crew pages alone.
COVERED = """
20-7E A0-AC AE-2E9 2EC-2EE 2F3 2F7 370-373 375-377 37A-37D 384-386 388-38A 38C 38E-3A1 3A3-482 48A-4FF 510-513 51A-51D
1D00-1D14 1D16-1D23 1D26-1D2E 1D30-1D5B 1D5D-1D6A 1D77-1D78 1D7B 1D7D 1D85 1D9B-1DBF 1E00-1EFB 1F00-1F15 1F18-1F1D
1F20-1F45 1F48-1F4D 1F50-1F57 1F59 1F5B 1F5D 1F5F-1F70 1F72 1F74 1F76 1F78 1F7A 1F7C 1F80-1FB4 1FB6-1FBA 1FBC-1FBD
1FBF-1FC4 1FC6-1FC8 1FCA 1FCC-1FD2 1FD6-1FDA 1FDD-1FE2 1FE4-1FEA 1FEC-1FED 1FF2-1FF4 1FF6-1FF8 1FFA 1FFC 1FFE 2009
2010-2027 202F-2040 2042 2044-2052 2054-205E 2070-2071 2074-208E 2090-209C 20A0-20B5 20B8-20BA 20BD 2100-2109 210B-211E
2120 2122 2124 2127-2129 212C-2149 214B 214E 2150-2151 2153-2184 2189 2190-2311 2318-2319 231C-2321 2324-2328 232B-232C
2373-2375 237A 237D 2387 2394 239B-23AE 23CE-23CF 23E3 23E5 23E8 2422-2423 2460-2469 2500-25A0 25A2-2606 2609-262F
2638-268B 2690-269C 26A0-26A7 26AA-26AF 26B2 2701-2704 2706-2709 270C-2714 2717-2726 272A-274B 274D 274F-2752 2756
2758-275E 2761-277F 2794 2798-27AF 27B1-27BE 27C5-27C6 27E0 27E6-27EB 27F0-28FF 2906-2907 290A-290B 2940-2941 2983-2984
29CE-29D5 29EB 29FA-29FB 2A00-2A02 2A0C-2A1C 2A2F 2A6A-2A6B 2A7D-2AA0 2AAE-2ABA 2AF9-2AFA 2B00-2B1A 2B1F-2B24 2B53-2B54
2C60-2C77 2C79-2C7F A656-A657 FB00-FB06
"""
WANTED = "wanted letters of the Latin, Greek and Cyrillic scripts, digits and the usual signs"
#: What would begin a list, a heading, a rule, a definition or a caption at the beginning of a paragraph.
BEGINS = re.compile(r"^(?:([0-9A-Za-z]{1,9})(?=[.)](?: |$))|([Tt]able)(?=:)|(?=[-+=:%@(]))")


@cache
def _outside(also: str) -> re.Pattern[str]:
    ranges = "".join("-".join(rf"\U{part:0>8}" for part in one.split("-")) for one in COVERED.split())
    return re.compile(f"[^{ranges}{re.escape(also)}]")


def printable_faults(text: str, also: str = "") -> str | None:
    r"""Return what is wrong with a text if it has a character that cannot be printed.

    Parameters
    ----------
    text : str
    also : str
        Controls that may stand in it: ``"\n\r\t"`` in a file, none in a field.

    Returns
    -------
    str or None
        The first such character, with its number and name, and what would be right.
    """
    found = _outside(also).search(text)
    if found is None:
        return None
    sign = found[0]
    number, name = f"U+{ord(sign):04X}", unicodedata.name(sign, "").lower()
    if sign in "\n\r\t":
        return f"a {'tab' if sign == chr(9) else 'line break'} ({number}) in a text; wanted text in one line"
    if unicodedata.category(sign)[0] in "CZ":
        return f"the sign {number}{f', {name},' if name else ''} is not seen in print and may mislead; delete it"
    if unicodedata.category(sign)[0] == "M":
        return f"the sign {number}, {name}, has no letter to combine with that can be printed; {WANTED}"
    return f"the character “{sign}” ({number}) cannot be printed; {WANTED}"


def visible(text: str) -> str:
    """Return text for a screen, with signs that steer it written as their numbers."""
    hidden = lambda sign: unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")  # noqa: E731
    return "".join(f"<U+{ord(sign):04X}>" if hidden(sign) and sign not in "\n\t" else sign for sign in text)


def plain(text: object) -> str:
    """Return text so that Markdown prints it as it was written: no list, link, mathematics or element comes of it."""
    said = re.sub(r"[ \t\r\n]+", " ", str(text)).strip(" ")
    marked = re.sub(r"([\\`*_~^$\[\]#<>{}&])", r"\\\1", said).replace("|", "&#124;")
    return BEGINS.sub(r"\g<0>\\", marked)


def fenced(text: str) -> str:
    """Return text as a block that is shown as it stands, its fence longer than any in the text."""
    longest = max((len(run) for run in re.findall("~+", text)), default=0)
    fence = "~" * max(3, longest + 1)
    return f"{fence}\n{text}\n{fence}"


def in_style(text: str) -> str:
    """Return text as it stands between the quotation marks of a style sheet."""
    return "".join(sign if sign.isalnum() or sign == " " else f"\\{ord(sign):06x}" for sign in text)
