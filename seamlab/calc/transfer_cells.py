"""Cells of a table of cloths, supplies, recipes or trials: what each says, or in a sentence why it says nothing.

Lengths come out in mm whatever unit the cell or the column's head names; numbers may have a comma or a point, unless
the comma could be one for the thousands. A formula is never worked out: what it shows is not in the file.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any, Final
from zoneinfo import ZoneInfo

from studio.calc.transfer_files import FORMULA, Cell, cell_text
from studio.calc.transfer_words import fold, parse_moment, unit_in_head
from studio.calc.units import parse_length

_THOUSANDS: Final = re.compile(r"\d{1,3},\d{3}")
_SHARE: Final = re.compile(r"(\d+(?:[.,]\d+)?) ?%? +(?!\d)(.+)|(.+?) +(\d+(?:[.,]\d+)?) ?%?")
LONGEST_TEXT: Final = 2000
MOST_SEEN: Final = 20_000


@dataclass(frozen=True)
class Column:
    """One column: the ``head`` by which it is written, ``also`` other heads by which it is known.

    ``kind`` is text, number, whole, length, list, fibres, moment, day or choice; ``choices`` {what is kept: [words]}.
    """

    key: str
    head: str
    kind: str = "text"
    also: tuple[str, ...] = ()
    needed: bool = False
    choices: Mapping[str, Sequence[str]] = field(default_factory=dict)
    is_told: bool = False  # written for people and other programs; not taken over


@dataclass(frozen=True)
class Table:
    """One kind of row, in the order of its columns. ``keys`` name a row: one of each."""

    code: str
    title: str
    noun: str
    columns: tuple[Column, ...]

    @property
    def by_key(self) -> dict[str, Column]:
        return {column.key: column for column in self.columns}


@dataclass(frozen=True)
class Place:
    """A column of the file: which one of ours, and the unit that its head names.

    ``seen`` remembers what a cell said: the same words and figures come again and again.
    """

    column: Column
    unit: str
    seen: dict[Cell, Any] = field(default_factory=dict, compare=False)


@dataclass(frozen=True)
class Reading:
    """How cells are read: units' words, months' words, the zone of moments without an offset."""

    units: Mapping[str, str]
    months: Mapping[str, int]
    zone: ZoneInfo


def match_heads(cells: Sequence[Cell], table: Table, units: Mapping[str, str]) -> dict[int, Place]:
    """{index of the cell: what it heads} for one row that may be the heads; each column is found once."""
    words = {
        fold(name): column
        for column in table.columns
        for name in (column.head, _bare(column.head), column.key, *column.also)
    }
    found: dict[int, Place] = {}
    taken: set[str] = set()
    for index, cell in enumerate(cells):
        text = cell_text(cell)
        column = words.get(fold(text)) or words.get(fold(_bare(text)))
        if column is not None and column.key not in taken:
            taken.add(column.key)
            found[index] = Place(column, unit_in_head(text, units) or "mm")
    return found


def _bare(head: str) -> str:
    """Without what stands in brackets at its end, such as a unit."""
    return re.sub(r"[(\[][^()\[\]]*[)\]]\s*$", "", head)


def read_row(
    cells: Sequence[Cell], places: Mapping[int, Place], how: Reading, tell: Callable[[Column, str], None]
) -> dict[str, Any]:
    """What a row says, {key: value}; empty cells are left out. ``tell`` takes every problem."""
    found: dict[str, Any] = {}
    for index, place in places.items():
        if place.column.is_told or index >= len(cells):
            continue
        cell = cells[index]
        if cell == "" or (isinstance(cell, str) and not cell.strip()):
            continue
        value = place.seen.get(cell)
        if value is None:
            try:
                value = _value(cell, place, how)
            except ValueError as exc:
                tell(place.column, str(exc))
                continue
            if len(place.seen) < MOST_SEEN:
                place.seen[cell] = value
        found[place.column.key] = value
    return found


def _value(cell: Cell, place: Place, how: Reading) -> Any:
    if cell is FORMULA:
        raise ValueError("A formula is not read: paste its value.")
    kind = place.column.kind
    if kind == "moment":
        return _moment(cell, how)
    text = cell_text(cell)
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"This cell has {len(text)} signs; {LONGEST_TEXT} are allowed.")
    if kind == "day":
        return _moment(cell, how).date()
    if kind == "number":
        return number(text)
    if kind == "whole":
        return _whole(text)
    if kind == "length":
        return _short(parse_length(text if isinstance(cell, str) else f"{text} {place.unit}", place.unit))
    if kind == "list":
        return [part for part in (part.strip() for part in re.split(r"[;\n]", text)) if part]
    if kind == "fibres":
        return shares(text)
    if kind == "choice":
        return _choice(text, place.column)
    return text


def number(text: str) -> Decimal:
    """A decimal number as people type it; raises ValueError in a sentence."""
    plain = text.strip().replace("\N{MINUS SIGN}", "-")
    if _THOUSANDS.fullmatch(plain):
        raise ValueError(f"“{plain}” can be read in two ways: write it without a comma.")
    try:
        found = Decimal(plain.replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"“{plain[:40]}” is not a number.") from None
    if not found.is_finite() or found.adjusted() > 12:
        raise ValueError(f"“{plain[:40]}” is not a number.")
    return _short(found)


def _short(value: Decimal) -> Decimal:
    """Without zeros at the end: they are no decimals that anybody measured."""
    return Decimal(format(value.normalize(), "f"))


def _whole(text: str) -> int:
    found = number(text)
    if found != int(found) or abs(found) > 10**9:
        raise ValueError(f"“{text[:40]}” is not a whole number.")
    return int(found)


def shares(text: str) -> list[dict[str, Any]]:
    """ "80 % wool, 20 % polyamide" or "wool 80; polyamide 20" -> [{"fibre": "wool", "percent": Decimal("80")}, ...].

    Whether the names are known and add to 100 is asked elsewhere. Raises ValueError in a sentence.
    """
    found = []
    # A comma with a figure on both sides is a decimal comma.
    for part in re.split(r"[;/\n]|,(?!\d)|(?<!\d),", text):
        plain = " ".join(part.split())
        if not plain:
            continue
        match = _SHARE.fullmatch(plain)
        if match is None:
            raise ValueError(
                f"“{plain[:40]}” is not a share of a fibre. Write it as in 80 % wool, 20 % polyamide."
            )
        percent, fibre = (match[1], match[2]) if match[1] else (match[4], match[3])
        found.append({"fibre": fibre.strip(), "percent": number(percent)})
    return found


def _choice(text: str, column: Column) -> str:
    wanted = fold(text)
    for kept, words in column.choices.items():
        if wanted in (fold(kept), *(fold(word) for word in words)):
            return kept
    known = ", ".join(kept.replace("_", " ") for kept in column.choices if kept)
    raise ValueError(f"“{text[:40]}” is not one of {known}.")


def _moment(cell: Cell, how: Reading) -> datetime:
    if isinstance(cell, datetime):
        return cell if cell.tzinfo else cell.replace(tzinfo=how.zone)
    return parse_moment(cell_text(cell), "", how.months, how.zone)
