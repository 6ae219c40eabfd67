"""Row after row of a file of readings, turned into occasions, readings and problems."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from studio.calc.transfer import FIELD_WORDS, OF_OCCASION, TEXTS, Intake, Layout, Occasion, Reading
from studio.calc.transfer_files import FORMULA, LONGEST_CELL, MOST_ROWS, Cell, Trouble, cell_text
from studio.calc.transfer_values import ValueReader
from studio.calc.transfer_words import (
    Words,
    fold,
    nearest_measure,
    parse_clock,
    parse_day,
    parse_moment,
    unit_in_head,
)

MOST_TAKES: Final = 5
OLDEST_YEARS: Final = 130
CLOCKS_APART: Final = timedelta(minutes=2)
KEPT_NAMES: Final = 10_000  # ways to write a measure that are remembered
SHOWN_NAMES: Final = 300
BODY_MODELS: Final = ("both", "female", "male", "none")
SHORTEST: Final = 32  # no text is allowed less
VERBATIM: Final = frozenset({"notes", "typed", "value"})
_CONTROLS: Final = frozenset(map(chr, (*range(9), 11, 12, *range(14, 32), 127)))


@dataclass
class Totals:
    """What a file holds. ``measures``: as the file writes them -> (code, how often), for people to look at."""

    rows: int = 0
    readings: int = 0
    measures: dict[str, tuple[str, int]] = field(default_factory=dict)


def read_rows(
    rows: Iterable[tuple[int, list[Cell] | Trouble]],
    layout: Layout,
    words: Words,
    zone: ZoneInfo,
    now: datetime,
    intake: Intake,
    each: Callable[[int], None] = lambda _: None,
) -> Totals:
    """Hand all that the rows hold to ``intake``, problems included; memory does not grow with the rows.

    ``zone`` is the studio's, for times without an offset; ``each`` is called with the number of every row.
    """
    reader = _RowReader(layout, words, zone, now, intake)
    totals = reader.totals
    for number, row in rows:
        each(number)
        if isinstance(row, Trouble):
            intake.problem(number, "", 0, row.reason)
        elif number > layout.head_row and any(not isinstance(cell, str) or cell.strip() for cell in row):
            if max(totals.rows, totals.readings) >= MOST_ROWS:
                intake.problem(number, "", 0, f"More than {MOST_ROWS:,} rows or readings: split the file.")
                break
            reader.take(number, row)
    return totals


class _Wrong(Exception):
    """A cell that can't be used."""

    def __init__(self, name: str, reason: str, column: int = 0) -> None:
        super().__init__(reason)
        self.name, self.reason, self.column = name, reason, column


class _RowReader:
    def __init__(self, layout: Layout, words: Words, zone: ZoneInfo, now: datetime, intake: Intake) -> None:
        self.layout, self.words, self.zone, self.intake = layout, words, zone, intake
        self.latest = now + CLOCKS_APART
        self.today = now.astimezone(zone).date()
        self.totals = Totals()
        self.width = len(layout.heads)
        self.of_occasion = [(name, column) for name, column in layout.fields.items() if name in OF_OCCASION]
        self.of_reading = [
            (name, column) for name, column in layout.fields.items() if name not in OF_OCCASION
        ]
        self.values = ValueReader(words.units, layout.unit, layout.decimal_mark)
        self.head_units = {n: unit_in_head(head, words.units) for n, head in enumerate(layout.heads, start=1)}
        takes: dict[str, int] = {}
        self.wide: list[tuple[int, str, int]] = []
        for column in sorted(layout.measures):
            code = layout.measures[column]
            takes[code] = takes.get(code, 0) + 1
            self.wide.append((column, code, takes[code]))
        self.last_cells: list[Cell] | None = None
        self.wrong: list[_Wrong] = []
        self.codes: dict[str, str] = {}
        self.unknown: dict[str, str] = {}

    def take(self, number: int, row: list[Cell]) -> None:
        self.totals.rows += 1
        if len(row) > self.width and any(cell != "" for cell in row[self.width :]):
            self.intake.problem(
                number,
                "",
                0,
                "This row has more cells than there are columns: a text may lack its quotation marks.",
            )
            return
        cells = [row[column - 1] if column <= len(row) else "" for _, column in self.of_occasion]
        if cells != self.last_cells:
            self.last_cells = cells
            found = self._occasion(dict(zip((name for name, _ in self.of_occasion), cells, strict=True)))
            if not self.wrong:
                self.intake.occasion(number, found)
        for wrong in self.wrong:
            self._tell(number, wrong)
        if self.layout.wide:
            self._wide(number, row)
        else:
            self._long(number, row)

    def _tell(self, number: int, wrong: _Wrong) -> None:
        column = wrong.column or self.layout.column_of(wrong.name)
        self.intake.problem(number, wrong.name, column, wrong.reason)

    # --- the occasion -------------------------------------------------------------------------------------------

    def _occasion(self, cells: dict[str, Cell]) -> Occasion:
        """What the row says about whom and when; what is wrong with it stands in ``wrong`` afterwards."""
        self.wrong = []
        said: dict[str, str] = {}
        for name in OF_OCCASION:
            make = self._makers.get(name)
            try:
                text = self._text(name, cells.get(name, ""))
                said[name] = make(self, text) if make and text else text
            except _Wrong as wrong:
                said[name] = ""
                self.wrong.append(wrong)
        at = self.latest
        try:
            at = self._at(cells)
        except _Wrong as wrong:
            self.wrong.append(wrong)
        told = {wrong.name for wrong in self.wrong}
        if not (said["client_id"] or said["client"]) and told.isdisjoint({"client_id", "client"}):
            self.wrong.append(_Wrong("client", "Whose reading is it? The name is missing."))
        return Occasion(
            said["client_id"], said["client"], said["born"], said["telephone"], said["guardian"],
            said["body_model"], said["occasion"], at, said["measured_by"], said["over"], said["shoes"], said["posture"],
            said["tape"], said["guardian_present"], said["notes"],
        )  # fmt: skip

    def _text(self, name: str, cell: Cell) -> str:
        if isinstance(cell, str):
            plain = cell.strip()
            if len(plain) <= SHORTEST and plain.isprintable() and ("  " not in plain or name in VERBATIM):
                return plain
        if cell is FORMULA:
            raise _Wrong(
                name, "The cell holds a formula. Paste it as a value: what it shows is not in the file."
            )
        text = cell_text(cell)
        most = TEXTS.get(name, LONGEST_CELL if name == "date" else 200)
        if len(text) > most:
            raise _Wrong(name, f"{FIELD_WORDS[name]}: {len(text):,} signs; {most} are allowed.")
        if not text.isprintable() and any(sign in _CONTROLS or "\ud800" <= sign <= "\udfff" for sign in text):
            raise _Wrong(name, f"{FIELD_WORDS[name]} holds a sign that is no letter and can't be kept.")
        return text if name in VERBATIM else " ".join(text.split())

    def _id(self, text: str) -> str:
        try:
            return str(UUID(text))
        except ValueError:
            raise _Wrong("client_id", "This is not an id that this studio gave to a client.") from None

    def _born(self, text: str) -> str:
        try:
            born = parse_day(text.removesuffix(" 00:00:00"), self.layout.date_order, self.words.months)
        except ValueError as exc:
            raise _Wrong("born", str(exc)) from None
        if born > self.today:
            raise _Wrong("born", "The birthday lies in the future.")
        if self.today.year - born.year > OLDEST_YEARS:
            raise _Wrong("born", f"The birthday is more than {OLDEST_YEARS} years ago.")
        return born.isoformat()

    def _body_model(self, text: str) -> str:
        plain = fold(text)
        if plain not in BODY_MODELS:
            raise _Wrong("body_model", f"The body model is one of {', '.join(BODY_MODELS)}.")
        return plain

    def _over(self, text: str) -> str:
        found = self.words.over.get(fold(text))
        if found is None:
            raise _Wrong("over", "Over what it was measured is one of underwear, close clothing, clothing.")
        return found

    def _shoes(self, text: str) -> str:
        plain = fold(text)
        if plain in self.words.yes:
            return "yes"
        if plain in self.words.no:
            return "no"
        raise _Wrong("shoes", "In shoes: yes or no.")

    _makers: Mapping[str, Callable[["_RowReader", str], str]] = {
        "client_id": _id,
        "born": _born,
        "body_model": _body_model,
        "over": _over,
        "shoes": _shoes,
    }

    def _at(self, cells: dict[str, Cell]) -> datetime:
        day, clock = cells.get("date", ""), cells.get("time", "")
        if day == "":
            raise _Wrong("date", "The date of the measuring is missing.")
        if isinstance(day, datetime):
            at = day.replace(tzinfo=day.tzinfo or self.zone)
        else:
            try:
                at = parse_moment(
                    self._text("date", day), self.layout.date_order, self.words.months, self.zone
                )
            except ValueError as exc:
                raise _Wrong("date", str(exc)) from None
        if clock != "":
            at = self._with_clock(at, clock)
        if at > self.latest:
            raise _Wrong("date", "The date of the measuring lies in the future.")
        return at

    def _with_clock(self, at: datetime, cell: Cell) -> datetime:
        if isinstance(cell, time):
            clock = cell.replace(tzinfo=None)
        elif isinstance(cell, datetime):
            clock = cell.time()
        else:
            try:
                clock = parse_clock(self._text("time", cell))
            except ValueError as exc:
                raise _Wrong("time", str(exc)) from None
        if at.timetz().replace(tzinfo=None) not in (time.min, clock):
            raise _Wrong("time", "The date has a time of its own already, and another one.")
        return at.replace(hour=clock.hour, minute=clock.minute, second=clock.second)

    # --- the readings -------------------------------------------------------------------------------------------

    def _wide(self, number: int, row: list[Cell]) -> None:
        blank = True
        for column, code, take in self.wide:
            cell = row[column - 1] if column <= len(row) else ""
            if cell == "" or (isinstance(cell, str) and not cell.strip()):
                continue
            blank = False
            self._count(self.layout.heads[column - 1], code)
            if take > MOST_TAKES:
                self._tell(number, _Wrong("take", f"More than {MOST_TAKES} takes of one measure.", column))
                continue
            value, typed, unit = self._value(number, cell, "", code, column, "")
            self._hand(Reading(number, column, code, take, value, typed, unit, "", "", "", ""))
        if blank:
            self._tell(number, _Wrong("", "No reading stands in this row."))

    def _long(self, number: int, row: list[Cell]) -> None:
        texts: dict[str, str] = {}
        value_cell: Cell = ""
        for name, column in self.of_reading:
            cell = row[column - 1] if column <= len(row) else ""
            if name == "value":
                value_cell = cell
                continue
            try:
                texts[name] = self._text(name, cell) if cell != "" else ""
            except _Wrong as wrong:
                self._tell(number, wrong)
                texts[name] = ""
                if name in {"measure", "take"}:
                    return
        try:
            code = self._code(texts["measure"])
            take = self._take(texts.get("take", ""))
        except _Wrong as wrong:
            self._tell(number, wrong)
            return
        column = self.layout.column_of("value")
        value, typed, unit = self._value(
            number, value_cell, texts.get("unit", ""), code, column, texts.get("typed", "")
        )
        supersedes, reason = texts.get("supersedes", ""), texts.get("reason", "")
        if supersedes and not reason:
            self._tell(number, _Wrong("reason", "A reading that supersedes another needs a word why."))
        if reason and not supersedes:
            self._tell(
                number, _Wrong("supersedes", "A reason is given, but not which reading is superseded.")
            )
        self._hand(
            Reading(
                number,
                column,
                code,
                take,
                value,
                typed,
                unit,
                texts.get("reading", ""),
                supersedes,
                reason,
                texts.get("kept_because", ""),
            )
        )

    def _hand(self, reading: Reading) -> None:
        self.totals.readings += 1
        if not self.wrong:
            self.intake.reading(reading)

    def _count(self, written: str, code: str) -> None:
        seen = self.totals.measures.get(written)
        if seen is not None:
            self.totals.measures[written] = (code, seen[1] + 1)
        elif len(self.totals.measures) < SHOWN_NAMES:
            self.totals.measures[written] = (code, 1)

    def _code(self, text: str) -> str:
        if not text:
            raise _Wrong("measure", "Which measure is it? The cell is empty.")
        code = self.codes.get(text)
        if code is None:
            code = self.words.measures.get(fold(text))
            if code is None:
                raise _Wrong("measure", self._unknown(text))
            if len(self.codes) < KEPT_NAMES:
                self.codes[text] = code
        self._count(text, code)
        return code

    def _unknown(self, text: str) -> str:
        if text not in self.unknown:
            if len(self.unknown) >= KEPT_NAMES:
                self.unknown.clear()
            shown = text if len(text) <= 40 else text[:39] + "…"
            near = nearest_measure(text, self.words) if len(self.unknown) < SHOWN_NAMES else ""
            hint = f" The nearest is {near}." if near else ""
            self.unknown[text] = f"There is no measure “{shown}” in this studio.{hint}"
        return self.unknown[text]

    def _take(self, text: str) -> int:
        if not text:
            return 1
        if not (text.isascii() and text.isdigit() and len(text) == 1 and 1 <= int(text) <= MOST_TAKES):
            raise _Wrong("take", f"Takes are counted from 1 to {MOST_TAKES}.")
        return int(text)

    def _value(
        self, number: int, cell: Cell, unit: str, code: str, column: int, typed: str
    ) -> tuple[Decimal | None, str, str]:
        try:
            text = self._text("value", cell)
            weight = code in self.words.weights
            read = self.values.read(
                text,
                unit or self.head_units.get(column, ""),
                weight=weight,
                is_number=not isinstance(cell, str),
            )
            if typed and typed != text and not self.values.agrees(typed, read.value, weight=weight):
                raise _Wrong("typed", "What was typed says another value than the column of values.")
        except _Wrong as wrong:
            self._tell(
                number,
                _Wrong(
                    wrong.name,
                    f"{self.words.names[code]}: {wrong.reason}",
                    0 if wrong.name == "typed" else column,
                ),
            )
            return None, "", ""
        except ValueError as exc:
            self._tell(number, _Wrong("value", f"{self.words.names[code]}: {exc}", column))
            return None, "", ""
        return read.value, typed or read.typed, read.unit
