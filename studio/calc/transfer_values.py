"""The value of one cell: exact millimetres or kilograms, as its text, its unit and the file's decimal mark say."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from studio.calc.units import LENGTH_UNITS, WEIGHT_UNITS, parse_length, parse_weight

LONGEST_TYPED: Final = 32  # what the database keeps of what was typed
WEIGHT_BESIDE: Final = {"cm": "kg", "mm": "kg", "in": "lb"}  # the scale's unit beside the tape's
KEPT: Final = 50_000  # cells whose meaning is remembered: the same figures come again and again

_UNIT_AT_END: Final = re.compile(r"([^\W\d_]+|\"|''|″|”)\.?\s*$")
_COMMA_DECIMALS: Final = re.compile(r"^([0-9]+),([0-9]+)(?![0-9,.])")
_THREE_DECIMALS: Final = re.compile(r"^([0-9]+\.[0-9]{3})(?![0-9])")


@dataclass(frozen=True)
class Read:
    """``value`` in mm or kg; ``typed`` as it stands in the file; ``unit`` in which a sentence should show it."""

    value: Decimal
    typed: str
    unit: str


class ValueReader:
    """Reads cells of one file. ``units`` are the known words for units, ``unit`` is the file's, for lengths."""

    def __init__(self, units: Mapping[str, str], unit: str, decimal_mark: str) -> None:
        self.units, self.unit, self.decimal_mark = units, unit, decimal_mark
        self._seen: dict[tuple[str, bool, str, bool], Read | str] = {}

    def read(self, text: str, unit_word: str, *, weight: bool, is_number: bool) -> Read:
        """The value that ``text`` says. ``unit_word`` comes from the unit column or the column's head, or is "".

        ``is_number``: the cell held a number, so its point is the decimal point. Raises ValueError in a sentence.
        """
        key = (text, weight, unit_word, is_number)
        found = self._seen.get(key)
        if found is None:
            try:
                found = self._read(text, unit_word, weight=weight, is_number=is_number)
            except ValueError as exc:
                found = str(exc)
            if len(self._seen) >= KEPT:
                self._seen.clear()
            self._seen[key] = found
        if isinstance(found, str):
            raise ValueError(found)
        return found

    def agrees(self, typed: str, value: Decimal, *, weight: bool) -> bool:
        """Does what was typed say this value, in one of the units that it may have been typed in?"""
        for unit in WEIGHT_UNITS if weight else LENGTH_UNITS:
            try:
                said = parse_weight(typed, unit) if weight else parse_length(typed, unit)
            except ValueError:
                continue
            if said == value:
                return True
        return False

    def _read(self, text: str, unit_word: str, *, weight: bool, is_number: bool) -> Read:
        if len(text) > LONGEST_TYPED:
            raise ValueError(f"The value has {len(text)} signs; {LONGEST_TYPED} are allowed.")
        default = self._unit_of(unit_word, weight=weight)
        plain = self._decided(text, is_number=is_number)
        ending = _UNIT_AT_END.search(text)
        if ending is None:
            if default == "m":
                plain, default = f"{plain} m", "cm"
        else:
            own = self.units.get(ending.group(1).casefold().replace("''", '"').replace("”", '"'), "")
            if unit_word and own and own != default:
                raise ValueError(f"The value names the unit {own}, the unit beside it {default}.")
            if default == "m":
                default = "cm"
        value = parse_weight(plain, default) if weight else parse_length(plain, default)
        return Read(value, text, default)

    def _unit_of(self, word: str, *, weight: bool) -> str:
        if not word:
            return WEIGHT_BESIDE[self.unit] if weight else self.unit
        unit = self.units.get(word.strip().casefold().rstrip("."), "")
        allowed = WEIGHT_UNITS if weight else (*LENGTH_UNITS, "m")
        if unit not in allowed:
            shown = "".join(sign if sign.isprintable() else "?" for sign in word[:16])
            raise ValueError(f"“{shown}” is not a unit of this measure; use one of {', '.join(allowed)}.")
        return unit

    def _decided(self, text: str, *, is_number: bool) -> str:
        """Where the decimal mark is known, write the number so that it can't be read in two ways."""
        if self.decimal_mark == "comma" and not is_number:
            if "." in text.partition(",")[0]:
                raise ValueError(f"“{text}” has a point, but decimals come after a comma in this file.")
            text = _COMMA_DECIMALS.sub(r"\1.\2", text)
        elif self.decimal_mark == "point" and not is_number and "," in text:
            raise ValueError(f"“{text}” has a comma, but decimals come after a point in this file.")
        if is_number or self.decimal_mark:
            text = _THREE_DECIMALS.sub(r"\g<1>0", text)
        return text
