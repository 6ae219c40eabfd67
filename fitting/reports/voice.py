"""How a document for a client speaks: its language, its unit, its days and numbers.

The English sentence is the key. Every other language has one catalogue, ``words/<language>.json``: by context, the
English and what is said instead; where a count decides, one form for each of the language's plural categories. Nothing
depends on the language that the process happens to have. What people typed (a garment's words, a note) is never
translated; what stands in a table of the house is. A test tells which sentence a catalogue lacks.

Days, times and numbers are written by Babel after the Unicode locale data (CLDR).
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from babel import Locale
from babel.dates import format_date, format_time
from babel.lists import format_list
from babel.numbers import format_decimal, get_decimal_symbol

FOLDER = Path(__file__).resolve().parent / "words"
LOCALES = {"en": "en_GB", "de": "de_DE"}
LESS_THAN = "less than "

Said = str | Mapping[str, str]


@cache
def catalogue(language: str) -> Mapping[str, Mapping[str, Said]]:
    """What a language says, by context and English; raises ValueError for a language that has none."""
    if language not in LOCALES:
        raise ValueError(f"There is no language {language[:16]!r}; choose one of {', '.join(LOCALES)}.")
    found: dict[str, dict[str, Said]] = json.loads((FOLDER / f"{language}.json").read_text(encoding="utf-8"))
    return found


@dataclass(frozen=True)
class Voice:
    """Speaks to one client. ``unit`` is "cm" or "in"; lengths are mm."""

    language: str
    unit: str = "cm"

    @cached_property
    def locale(self) -> Locale:
        if self.language not in LOCALES:
            raise ValueError(
                f"There is no language {self.language[:16]!r}; choose one of {', '.join(LOCALES)}."
            )
        return Locale.parse(LOCALES[self.language])

    def __call__(
        self, text: str, context: str = "report", /, *, count: int | None = None, **values: Any
    ) -> str:
        """The sentence of a context, its places filled; ``count`` chooses the form and fills {count}."""
        said = self._said(text, context)
        if count is not None:
            values["count"] = self.number(count)
        if not isinstance(said, str):
            form = self.locale.plural_form(count if count is not None else 1)
            said = said.get(form) or said["other"]
        return said.format(**values) if values else said

    def name(self, text: str, context: str) -> str:
        """What a table of the house calls something; what the catalogue does not know was typed and stays."""
        said = self._said(text, context)
        return said if isinstance(said, str) else said["other"]

    def _said(self, text: str, context: str) -> Said:
        return catalogue(self.language).get(context, {}).get(text, text)

    # --- days and numbers --------------------------------------------------------------------------------------------

    def day(self, when: date) -> str:
        """25 November 2026; 25. November 2026."""
        return str(format_date(when, "long", locale=self.locale))

    def day_and_time(self, when: datetime) -> str:
        """A moment in the studio's time zone: 25 November 2026, 16:40."""
        return f"{self.day(when)}, {format_time(when, 'HH:mm', locale=self.locale, tzinfo=when.tzinfo)}"

    def number(self, value: Decimal | float, places: int | None = None) -> str:
        """A number with as many decimals as it has, or with ``places``."""
        pattern = "#,##0.####" if places is None else "#,##0" + ("." + "0" * places if places else "")
        return str(format_decimal(value, format=pattern, locale=self.locale))

    def percent(self, value: Decimal | float, places: int | None = None) -> str:
        """1.5 %, with the space of ISO 31-0 in every language."""
        return f"{self.number(value, places)}\u00a0%"

    def listed(self, words: Sequence[str]) -> str:
        """Words in a row: "waist, hip and thigh"."""
        return str(format_list(list(words), locale=self.locale)) if words else ""

    def figure(self, text: str) -> str:
        """A length or weight that the house has written ("97.2 cm", "38 1/4 in", "less than 0.1 cm"), as it is said
        here.
        """
        if text.startswith(LESS_THAN):
            return self("less than {length}", length=self.figure(text.removeprefix(LESS_THAN)))
        number, _, unit = text.rpartition(" ")
        point = get_decimal_symbol(self.locale)
        return f"{re.sub(r'(?<=[0-9])[.](?=[0-9])', point, number)} {self.unit_word(unit)}"

    def unit_word(self, unit: str = "") -> str:
        """How a unit is written: cm, in; Zoll."""
        return self.name(unit or self.unit, "unit")


def capital(words: str) -> str:
    """The first letter large, the others as they are."""
    return words[:1].upper() + words[1:]
