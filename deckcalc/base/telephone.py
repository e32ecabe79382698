"""Answers that somebody reads when things go wrong: what is only a placeholder is refused, and what cannot be a telephone number."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import BeforeValidator, Field

from deckcalc.core.units import InputError

#: What stands in a form that nobody has filled in.
PLACEHOLDER = re.compile(
    r"\b(tbd|tbc|tba|todo|x{3,}|n\.?/?a\.?|none|nil|unknown|to be (confirmed|decided|determined|advised|filled|announced|named)|"
    r"fill in|placeholder|lorem|insert|somebody|someone|anybody|name here|your)\b|\?\?|_{2,}|\.{3,}|…|<[\w .,'-]*>|^[\W_]*$",
    re.IGNORECASE,
)
DIGITS = "01234567890123456789"


def told(value: object) -> object:
    """Refuse what only stands in the place of an answer: in an emergency somebody reads it."""
    if isinstance(value, str) and (found := PLACEHOLDER.search(value)):
        raise InputError(
            f"found “{found[0]}”, which is a placeholder; write what the crew needs in an emergency, or leave the section out"
        )
    return value


def telephone(value: object) -> object:
    """Refuse what cannot be a telephone number."""
    value = told(value)
    digits = re.sub(r"\D", "", str(value))
    if not isinstance(value, str) or not 3 <= len(digits) <= 15:
        raise InputError(f'found “{value}”, wanted a telephone number in quotes, for instance "112"')
    if digits == "123" or (len(digits) > 3 and (len(set(digits)) == 1 or digits in DIGITS or digits in DIGITS[::-1])):
        raise InputError(f"found “{value}”, which is a placeholder and no telephone number")
    return value


Told = Annotated[str, Field(min_length=1, max_length=300), BeforeValidator(told)]
Telephone = Annotated[str, Field(max_length=60), BeforeValidator(telephone)]
#: A number that may be left empty until it is known.
OptionalTelephone = Annotated[str, Field(max_length=60), BeforeValidator(lambda value: value and telephone(value))]
