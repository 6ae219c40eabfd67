"""Readings out of a file's rows: which column holds what, and every row turned into what was measured.

Two forms are understood. Long: one reading a row, with a column for the measure and one for the value. Wide: one
measuring a row, with a column for each measure; of several columns for one measure the first is the first take.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Final, NamedTuple, Protocol

from studio.calc.transfer_files import LOOKED_AT, MOST_COLUMNS, Cell, Trouble, cell_text
from studio.calc.transfer_values import LONGEST_TYPED
from studio.calc.transfer_words import DATE_ORDERS, Words, bare_head

UNITS: Final = ("cm", "in", "mm")
DECIMAL_MARKS: Final = ("point", "comma")

# What a column can hold, with the longest text that is kept of it (0: it is turned into something else).
OF_OCCASION: Final = {
    "client_id": 0, "client": 160, "born": 0, "telephone": 40, "guardian": 160, "body_model": 0,
    "occasion": 64, "date": 0, "time": 0, "measured_by": 120, "over": 0, "shoes": 0, "posture": 80, "tape": 80,
    "guardian_present": 160, "notes": 2000,
}  # fmt: skip
OF_READING: Final = {
    "measure": 0, "take": 0, "value": 0, "unit": 0, "typed": LONGEST_TYPED, "reading": 64, "supersedes": 64,
    "reason": 200, "kept_because": 200,
}  # fmt: skip
FIELDS: Final = (*OF_OCCASION, *OF_READING)
TEXTS: Final = {name: most for name, most in {**OF_OCCASION, **OF_READING}.items() if most}
FIELD_WORDS: Final = {
    "client_id": "Client's id in this studio", "client": "Client's name", "born": "Birthday",
    "telephone": "Telephone", "guardian": "Guardian", "body_model": "Body model",
    "occasion": "Which measuring", "date": "Date",
    "time": "Time of day", "measured_by": "Measured by", "over": "Over what", "shoes": "In shoes",
    "posture": "Posture", "tape": "Tape", "guardian_present": "Guardian present", "notes": "Notes",
    "measure": "Measure", "take": "Take", "value": "Value", "unit": "Unit", "typed": "As typed",
    "reading": "Number of the reading", "supersedes": "Supersedes which reading", "reason": "Why it was corrected",
    "kept_because": "Why it was kept",
}  # fmt: skip


@dataclass(frozen=True)
class Layout:
    """Which column (from 1) holds what. ``measures``: column -> code, in the wide form alone.

    ``unit`` holds where neither cell nor column names one; ``date_order`` "dmy", "mdy" or "" for not said;
    ``decimal_mark`` "point", "comma" or "" for not said; ``head_row`` is the row of the heads, 0 for none.
    """

    fields: Mapping[str, int]
    measures: Mapping[int, str] = field(default_factory=dict)
    unit: str = "cm"
    date_order: str = ""
    decimal_mark: str = ""
    head_row: int = 1
    heads: Sequence[str] = ()

    @property
    def wide(self) -> bool:
        return bool(self.measures)

    def column_of(self, name: str) -> int:
        return self.fields.get(name, 0)


class Occasion(NamedTuple):
    """When, of whom and how, as one row says it; texts are "" where nothing is said."""

    client_id: str
    client: str
    born: str  # a day in ISO form, or ""
    telephone: str
    guardian: str
    body_model: str  # "both", "female", "male", "none" or ""
    token: str
    at: datetime
    measured_by: str
    over: str
    shoes: str  # "yes", "no" or ""
    posture: str
    tape: str
    guardian_present: str
    notes: str


class Reading(NamedTuple):
    """One reading; ``value`` is None where it could not be read (the problem is told beside it)."""

    row: int
    column: int
    measure: str
    take: int
    value: Decimal | None
    typed: str
    typed_in: str
    token: str
    supersedes: str
    reason: str
    kept_because: str


class Intake(Protocol):
    """What takes the rows' content, one thing after another; a reading belongs to the last occasion before it."""

    def occasion(self, row: int, occasion: Occasion) -> None: ...
    def reading(self, reading: Reading) -> None: ...
    def problem(self, row: int, name: str, column: int, reason: str) -> None: ...


def find_heads(rows: Sequence[tuple[int, list[Cell] | Trouble]], words: Words) -> tuple[int, list[str]]:
    """(the row that holds the heads, the heads); without such a row (0, ["Column 1", ...]). Looks at the first rows."""
    readable = [(number, row) for number, row in rows if isinstance(row, list)][:LOOKED_AT]
    width = min(max((len(row) for _, row in readable), default=0), MOST_COLUMNS)
    best = max(readable[:10], key=lambda each: _known(each[1], words), default=None)
    if best is not None and _known(best[1], words) >= 2:
        return best[0], _padded(best[1], width)
    if readable and all(_wordy(cell) for cell in readable[0][1]) and len(readable) > 1:
        return readable[0][0], _padded(readable[0][1], width)
    return 0, [f"Column {number}" for number in range(1, width + 1)]


def _known(row: list[Cell], words: Words) -> int:
    heads = [bare_head(cell, words.units) for cell in row if isinstance(cell, str) and len(cell) < 80]
    return sum(head in words.fields or head in words.measures for head in heads)


def _wordy(cell: Cell) -> bool:
    return isinstance(cell, str) and (not cell.strip() or not any(sign.isdigit() for sign in cell))


def _padded(row: list[Cell], width: int) -> list[str]:
    texts = [" ".join(cell_text(cell).split())[:80] for cell in row[:width]] + [""] * (width - len(row))
    return [
        "".join(s for s in text if s.isprintable()) or f"Column {n}" for n, text in enumerate(texts, start=1)
    ]


def guess_layout(heads: Sequence[str], head_row: int, words: Words, unit: str = "cm") -> Layout:
    """What each column seems to hold, by its head. A guess: people see it before anything is checked."""
    bare = [bare_head(head, words.units) if head_row else "" for head in heads]
    fields: dict[str, int] = {}
    for number, head in enumerate(bare, start=1):
        name = words.fields.get(head)
        if name and name not in fields:
            fields[name] = number
    measures: dict[int, str] = {}
    if not {"measure", "value"} <= fields.keys():
        for number, head in enumerate(bare, start=1):
            code = words.measures.get(head)
            if code and number not in fields.values():
                measures[number] = code
        if measures:
            fields = {name: number for name, number in fields.items() if name in OF_OCCASION}
    return Layout(fields, measures, unit=unit, head_row=head_row, heads=tuple(heads))


def faults_of(layout: Layout, words: Words) -> dict[str, str]:
    """Why a layout can't be used, by what is wrong: {field: sentence}; empty where it can."""
    reasons: dict[str, str] = {}
    width = len(layout.heads)
    used: dict[int, str] = {}
    for name, column in layout.fields.items():
        if name not in FIELDS:
            reasons[f"fields.{name[:32]}"] = (
                f"There is no field {name[:32]!r}; there are {', '.join(FIELDS)}."
            )
        elif not 1 <= column <= width:
            reasons[f"fields.{name}"] = f"The file has no column {column}; its columns are 1 to {width}."
        elif column in used:
            reasons[f"fields.{name}"] = f"Column {column} holds {FIELD_WORDS[used[column]].lower()} already."
        else:
            used[column] = name
    for column, code in layout.measures.items():
        if not 1 <= column <= width or column in used:
            reasons[f"measures.{column}"] = f"Column {column} is not there, or holds something else already."
        elif code not in words.names:
            reasons[f"measures.{column}"] = f"There is no measure {code[:64]!r} in this studio."
    reasons |= _missing(layout)
    if layout.unit not in UNITS:
        reasons["unit"] = f"Lengths are in one of {', '.join(UNITS)} (got {layout.unit[:8]!r})."
    if layout.date_order and layout.date_order not in DATE_ORDERS:
        reasons["date_order"] = f"The order of a date is one of {', '.join(DATE_ORDERS)}, or not said."
    if layout.decimal_mark and layout.decimal_mark not in DECIMAL_MARKS:
        reasons["decimal_mark"] = "Decimals come after a point or a comma, or it is not said."
    return reasons


def _missing(layout: Layout) -> dict[str, str]:
    reasons: dict[str, str] = {}
    fields = layout.fields
    if "client_id" not in fields and not ("client" in fields and {"born", "telephone"} & fields.keys()):
        reasons["fields.client"] = (
            "Say which columns hold the client's name and, beside it, the birthday or the telephone: two people "
            "can bear one name. The id that this studio gave does as well."
        )
    if "date" not in fields:
        reasons["fields.date"] = "Say which column holds the date of the measuring."
    if layout.wide:
        for name in OF_READING:
            if name in fields:
                reasons[f"fields.{name}"] = (
                    f"{FIELD_WORDS[name]} belongs to files with one reading a row; here columns are measures."
                )
    else:
        for name in ("measure", "value"):
            if name not in fields:
                reasons[f"fields.{name}"] = (
                    f"Say which column holds the {name}, or which columns hold which measures."
                )
        if "supersedes" in fields and "reading" not in fields:
            reasons["fields.reading"] = (
                "Say which column holds the numbers that the column of corrections names."
            )
    return reasons
