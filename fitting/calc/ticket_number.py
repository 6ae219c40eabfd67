"""The number of a ticket with its check digit, so that a slip of the tongue or the pen finds nobody else's garment.

The digit is that of ISO 7064, MOD 11,10: it notices every single wrong figure and all but a few swapped neighbours.
"""

from __future__ import annotations

import re
from typing import Final

_TYPED: Final = re.compile(r"#?\s*([1-9][0-9]{0,8})\s*[-–/ ]?\s*([0-9])")


def check_digit(number: int) -> int:
    """The check digit of a number (0 to 9). Source: ISO 7064, hybrid system MOD 11,10."""
    if number < 0:
        raise ValueError(f"A ticket's number is 0 or more, not {number}.")
    product = 10
    for figure in str(number):
        total = (int(figure) + product) % 10 or 10
        product = total * 2 % 11
    return (11 - product) % 10


def ticket_words(number: int) -> str:
    """As it is written and said: ``1042-7``."""
    return f"{number}-{check_digit(number)}"


def typed_number(text: str) -> int | None:
    """The number that somebody typed or read out (``1042-7``, ``10427``, ``ticket 1042 7``); None where it is none.

    Only a number whose check digit is right is one.
    """
    plain = re.sub(r"^\s*ticket\b[.:]?", "", text, flags=re.IGNORECASE).strip()
    found = _TYPED.fullmatch(plain)
    if found is None:
        return None
    number = int(found[1])
    return number if check_digit(number) == int(found[2]) else None
