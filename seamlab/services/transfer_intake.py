"""Taking a file in: read without a database, then tried row by row as the acts would do it, and kept or undone.

A dry run does exactly what the take-over does, inside a savepoint that is rolled back: so it finds every problem that
the take-over would meet.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, BinaryIO

from django.db import transaction

from seamlab.calc.transfer_cells import Column, Reading, Table, read_row
from seamlab.calc.transfer_sheets import tables_in
from seamlab.queries.transfer_rows import Values, rows_of
from seamlab.queries.transfer_tables import TABLES
from seamlab.services.transfer_kinds import KINDS, Kind, Shelf, differing, keyed
from seamlab.services.transfer_trials import store_trials, trials_from
from studio.calc.transfer_files import MOST_ROWS, FileKind, Trouble, cell_text
from studio.platform.errors import Refused
from studio.platform.rights import Actor

KEPT_PROBLEMS = 1000
TELL_EVERY = 1000

Problem = dict[str, Any]  # {"table", "row", "column", "reason"}


@dataclass
class Problems:
    """Collects problems in the order of tables and rows; the first thousand are kept."""

    kept: list[Problem] = field(default_factory=list)
    count: int = 0

    def in_order(self) -> list[Problem]:
        """By table, then by row: cells are read before rows are tried."""
        places = {table.code: place for place, table in enumerate(TABLES)}
        return sorted(self.kept, key=lambda each: (places[each["table"]], each["row"]))

    def tell(self, table: Table, row: int, column: str, reason: str) -> None:
        self.count += 1
        if len(self.kept) < KEPT_PROBLEMS:
            self.kept.append({"table": table.code, "row": row, "column": column, "reason": reason})


@dataclass
class Read:
    """What a file holds: typed rows by table with their numbers, problems with cells, heads that say nothing to us."""

    rows: dict[str, list[tuple[int, Values]]] = field(default_factory=lambda: defaultdict(list))
    problems: Problems = field(default_factory=Problems)
    unknown: dict[str, list[str]] = field(default_factory=dict)
    count: int = 0
    counts: dict[str, int] = field(
        default_factory=lambda: defaultdict(int)
    )  # rows read by table, good or not


@dataclass(frozen=True)
class Outcome:
    """``tables``: [{"table", "rows", "new", "there"}] in order; problems as they were told."""

    tables: list[dict[str, Any]]
    problems: Problems

    @property
    def new(self) -> int:
        return sum(each["new"] for each in self.tables)


def read_file(
    content: BinaryIO,
    kind: FileKind,
    how: Reading,
    only: str = "",
    progress: Callable[[int], None] | None = None,
) -> Read:
    """Every row of every table, typed; no database. Raises ValueError where no table is found."""
    read = Read()
    for found in tables_in(content, kind, TABLES, how.units, only):
        table = found.table
        read.rows[table.code] += []
        if found.unknown:
            read.unknown[table.code] = [*read.unknown.get(table.code, []), *found.unknown]
        heads = {place.column.key: place.column.head for place in found.places.values()}
        for number, cells in found.rows:
            if isinstance(cells, Trouble):
                read.problems.tell(table, number, "", cells.reason)
                continue
            if not any(cell_text(cell) for cell in cells):
                continue
            read.count += 1
            read.counts[table.code] += 1
            if read.count > MOST_ROWS:
                raise ValueError(f"The file has more than {MOST_ROWS:,} rows: split it.")
            if progress and read.count % TELL_EVERY == 0:
                progress(read.count)
            _take_row(read, table, number, cells, found.places, how, heads)
    return read


def _take_row(
    read: Read, table: Table, number: int, cells: Any, places: Any, how: Reading, heads: dict[str, str]
) -> None:
    before = read.problems.count

    def tell(column: Column, reason: str) -> None:
        read.problems.tell(table, number, column.head, reason)

    values = read_row(cells, places, how, tell)
    if read.problems.count > before:
        return
    for column in table.columns:
        if column.needed and column.key not in values:
            tell(column, f"{heads.get(column.key, column.head)} is needed in every row.")
    if read.problems.count == before:
        read.rows[table.code].append((number, values))


def take_in(
    actor: Actor, read: Read, *, keep: bool, progress: Callable[[str], None] | None = None
) -> Outcome:
    """Do everything that the file says; undo it all unless ``keep`` holds and there is no problem.

    In scope. With ``keep`` and a problem nothing is kept and the problems are in the outcome.
    """
    problems = read.problems
    counted = []
    with transaction.atomic():
        shelf = Shelf.stocked()
        for table in TABLES:
            if table.code not in read.rows:
                continue
            rows = read.rows[table.code]
            if progress:
                progress(table.title)
            if table.code == "trials":
                new, there = _take_trials(actor, rows, table, problems, keep=keep)
            else:
                new, there = _take_table(actor, rows, table, shelf, problems)
            counted.append({"table": table.code, "rows": read.counts[table.code], "new": new, "there": there})
        if problems.count or not keep:
            transaction.set_rollback(True)
    return Outcome(counted, problems)


def _take_table(
    actor: Actor, rows: Sequence[tuple[int, Values]], table: Table, shelf: Shelf, problems: Problems
) -> tuple[int, int]:
    kind = KINDS[table.code]
    existing = keyed(kind, shelf, rows_of(table.code))
    new = there = 0
    for number, values in rows:
        try:
            key = kind.key(shelf, values)
            known = existing.get(key)
            if known is not None:
                _need_same(kind, table, values, known)
                there += 1
                continue
            with transaction.atomic():  # a row that is refused half way leaves nothing for the next
                kind.record(actor, shelf, values)
        except Refused as exc:
            for name, words in exc.reasons.items():
                problems.tell(table, number, _head(table, name), words)
            continue
        existing.update(keyed(kind, shelf, [values]))
        new += 1
    return new, there


def _need_same(kind: Kind, table: Table, given: Values, there: Values) -> None:
    found = differing(given, there, kind.same)
    if found:
        raise Refused(
            {
                key: f"This {table.noun} is here already with {_shown(there[key])}, not {_shown(given[key])}. "
                "Change it on its page, or name this one otherwise."
                for key in found
            }
        )


def _shown(value: Any) -> str:
    from seamlab.services.transfer_export import cell_of

    return f"“{str(cell_of(value))[:60]}”" if cell_of(value) != "" else "none"


def _take_trials(
    actor: Actor, rows: Sequence[tuple[int, Values]], table: Table, problems: Problems, *, keep: bool
) -> tuple[int, int]:
    before = problems.count
    trials, there = trials_from(
        actor, rows, lambda number, key, words: problems.tell(table, number, _head(table, key), words)
    )
    if keep and problems.count == before == 0:
        store_trials(trials)
    return len(trials), there


def _head(table: Table, name: str) -> str:
    column = table.by_key.get(name) or table.by_key.get(name.removesuffix("_id"))
    return column.head if column else ""
