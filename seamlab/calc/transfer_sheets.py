"""A file of this wing's tables: a CSV file holds one, a workbook one on each sheet; found by their heads."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from typing import Any, BinaryIO

from seamlab.calc.transfer_cells import Place, Table, match_heads
from studio.calc.transfer_files import LOOKED_AT, Cell, FileKind, Trouble, cell_text, rows_of, sheet_rows
from studio.calc.transfer_words import fold

Rows = Iterator[tuple[int, list[Cell] | Trouble]]


@dataclass(frozen=True)
class Found:
    """A table in a file: what kind it is, where its columns lie, its rows below the heads, heads not understood."""

    title: str
    table: Table
    places: Mapping[int, Place]
    rows: Rows
    unknown: tuple[str, ...]


def tables_in(
    file: BinaryIO, kind: FileKind, tables: Sequence[Table], units: Mapping[str, str], only: str = ""
) -> Iterator[Found]:
    """Every table of the file, one after another; read each one's rows before the next.

    ``only`` names the table that a CSV file or a workbook of one sheet holds, where its heads leave it open. A sheet
    that holds no table of ours (notes, a cover) is passed over, unless it is the only one. Raises ValueError in a
    sentence.
    """
    count = 0
    passed = []
    for title, rows in _sheets(file, kind):
        found = _table_of(title, rows, tables, units, only)
        if isinstance(found, str):
            passed.append(found)
            continue
        count += 1
        yield found
    if not count:
        raise ValueError(passed[0] if passed else "The file holds no table.")


def _sheets(file: BinaryIO, kind: FileKind) -> Iterator[tuple[str, Rows]]:
    if kind.kind == "csv":
        yield "", rows_of(file, kind)
        return
    from studio.calc.transfer_book import shown_sheets

    file.seek(0)
    for sheet in shown_sheets(file):
        yield str(sheet.title), sheet_rows(sheet)


def _table_of(
    title: str, rows: Rows, tables: Sequence[Table], units: Mapping[str, str], only: str
) -> Found | str:
    """The table, or why there is none. The row that matches most heads is the row of heads."""
    start: list[tuple[int, list[Cell] | Trouble]] = list(islice(rows, LOOKED_AT))
    wanted = [table for table in tables if table.code == only] if only else list(tables)
    best: tuple[int, bool, int, Table, dict[int, Place]] | None = None
    for index, (_, cells) in enumerate(start):
        if isinstance(cells, Trouble):
            continue
        for table in wanted:
            places = match_heads(cells, table, units)
            keys = {place.column.key for place in places.values()}
            if not places or any(column.needed and column.key not in keys for column in table.columns):
                continue
            entry = (len(places), fold(title) == fold(table.title), -index, table, places)
            if best is None or entry[:3] > best[:3]:
                best = entry
    if best is None:
        return _why_not(start, wanted, only)
    _, _, at, table, places = best
    heads = start[-at][1]
    assert not isinstance(heads, Trouble)
    unknown = tuple(
        text for i, cell in enumerate(heads) if i not in places and (text := cell_text(cell)[:60])
    )
    return Found(title, table, places, chain(start[-at + 1 :], rows), unknown)


def _why_not(start: Sequence[tuple[int, Any]], tables: Sequence[Table], only: str) -> str:
    if not start:
        return "The file holds no table: no row with text was found."
    if only:
        needed = ", ".join(column.head for column in tables[0].columns if column.needed)
        return f"No row holds the heads of a table of {tables[0].title.lower()}: it needs {needed}."
    kinds = "; ".join(
        f"{table.title} ({', '.join(column.head for column in table.columns if column.needed)})"
        for table in tables
    )
    return f"No row was recognised as the heads of a table. These are known, with the columns that each needs: {kinds}."
