"""Rules for passwords: long, not common, nothing that everybody in the studio knows. Nothing about kinds of letters.

OWASP ASVS 5.0, 6.2: no rules of composition, no forced change, checked against common and context words. Django's list
of common passwords is mostly of short ones, so what people make of them to be long enough is looked for as well.
"""

import re
from collections.abc import Iterable
from functools import cache
from typing import Any

from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

CONTEXT = ("studio record",)
ROWS = ("01234567890123456789", "abcdefghijklmnopqrstuvwxyz", "qwertyuiopasdfghjklzxcvbnm")
FEWEST_LETTERS = 5  # different ones
ADDED = 6  # so few letters beside a known word make no password


@cache
def _common() -> set[str]:
    found: set[str] = CommonPasswordValidator().passwords
    return found


class NotTheHouse:
    """Refuses a password that is little more than the program's or one of these studios' names."""

    def __init__(self, studio_names: Iterable[str]) -> None:
        self.names = (*CONTEXT, *studio_names)

    def validate(self, password: str, user: Any = None) -> None:
        plain = _letters(password)
        for name in self.names:
            known = _letters(name)
            if len(known) >= 4 and known in plain and len(plain) - len(known) < ADDED:
                raise ValidationError(
                    f"This password is little more than “{name}”, which everybody knows. Add other words.",
                    code="password_of_the_house",
                )

    def get_help_text(self) -> str:
        return "Your password can't be little more than the studio's name."


class NotStretched:
    """Refuses what is only long: a common password twice or with a few figures, a row of keys, few letters."""

    def validate(self, password: str, user: Any = None) -> None:
        plain = password.lower().replace(" ", "")
        core = re.sub(r"^[\d\W_]+|[\d\W_]+$", "", plain)
        if (
            len(set(plain)) < FEWEST_LETTERS
            or any(plain in row or plain in row[::-1] for row in ROWS)
            or (core in _common() and len(plain) - len(core) <= ADDED)
            or any(plain[:size] * (len(plain) // size) == plain for size in range(1, len(plain) // 2 + 1))
        ):
            raise ValidationError(
                "This password is long, but quickly guessed. Take a few words that do not belong together.",
                code="password_stretched",
            )

    def get_help_text(self) -> str:
        return "Your password can't be a common one made longer."


def _letters(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter.isalpha())
