"""Opening a file of readings: what it truly is, and its rows one after another in little memory.

The content decides, never the name. A workbook is looked at before it is unpacked, so that a small file can't become
a huge one; its formulas are not worked out and nothing that it points at is fetched.
"""

import csv
import io
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, BinaryIO, Final
from xml.etree.ElementTree import ParseError

from studio.calc.transfer_words import unescape_cell

MOST_BYTES: Final = 20 * 1024 * 1024
MOST_ROWS: Final = 1_000_000
MOST_COLUMNS: Final = 200
LONGEST_CELL: Final = 4000
MOST_UNPACKED: Final = 600 * 1024 * 1024
MOST_HELD: Final = 64 * 1024 * 1024
MOST_CONTENTS: Final = 1024 * 1024
MOST_PARTS: Final = 2000
DELIMITERS: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
LOOKED_AT: Final = 25  # rows from which delimiter and heads are guessed

CONTENTS: Final = "[Content_Types].xml"
_NOT_A_BOOK: Final = (
    "This workbook can't be read: it is damaged. Open it, save it anew as .xlsx or CSV, and try again."
)


class _Formula:
    """A cell that holds a formula: what it shows is not in the file."""

    def __repr__(self) -> str:
        return "a formula"


FORMULA: Final = _Formula()
# Text; a number, or a moment that a workbook holds as such; a formula.
Cell = str | Decimal | datetime | time | _Formula


@dataclass(frozen=True)
class FileKind:
    """How the file is to be read. ``encoding`` and ``delimiter`` for CSV, ``sheet`` for XLSX."""

    kind: str  # "csv" or "xlsx"
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""


@dataclass(frozen=True)
class Trouble:
    """A row that can't be read; after the last one (``ends``) nothing more can."""

    reason: str
    ends: bool = False


def look_into(file: BinaryIO) -> FileKind:
    """Find out what the file is; raises ValueError in a sentence where it is nothing that can be imported."""
    size = file.seek(0, io.SEEK_END)
    if size == 0:
        raise ValueError("The file is empty.")
    if size > MOST_BYTES:
        raise ValueError(
            f"The file has {size / 1024 / 1024:.1f} MB; {MOST_BYTES // 1024 // 1024} MB are allowed. Split it."
        )
    file.seek(0)
    start = file.read(8)
    if start.startswith(b"PK"):
        return FileKind("xlsx", sheet=_check_archive(file))
    if start.startswith(b"\xd0\xcf\x11\xe0"):
        raise ValueError(
            "This is an older workbook, or one with a password. Save it as .xlsx without a password, or as CSV."
        )
    encoding = _encoding(file)
    return FileKind("csv", encoding, _delimiter(file, encoding))


def rows_of(file: BinaryIO, kind: FileKind) -> Iterator[tuple[int, list[Cell] | Trouble]]:
    """Every row that is not empty with its number as a spreadsheet counts it, from 1; at most MOST_ROWS + 1 of them."""
    file.seek(0)
    return _book_rows(file) if kind.kind == "xlsx" else _text_rows(file, kind)


# --- CSV --------------------------------------------------------------------------------------------------------


def _encoding(file: BinaryIO) -> str:
    """utf-8-sig, utf-8 or cp1252, tried on the whole file."""
    file.seek(0)
    start = file.read(4)
    if start[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise ValueError("The file is text in UTF-16. Save it as CSV in UTF-8.")
    file.seek(0)
    while part := file.read(1 << 20):
        if b"\0" in part:
            raise ValueError(
                "This is neither a CSV file nor an .xlsx workbook: it holds signs that no text has."
            )
    for encoding in ("utf-8-sig" if start.startswith(b"\xef\xbb\xbf") else "utf-8", "cp1252"):
        file.seek(0)
        text = io.TextIOWrapper(file, encoding=encoding, newline="")
        try:
            while text.read(1 << 20):
                pass
        except UnicodeDecodeError:
            continue
        finally:
            text.detach()
        return encoding
    raise ValueError("The file's letters can't be read. Save it as CSV in UTF-8.")


def _delimiter(file: BinaryIO, encoding: str) -> str:
    """The sign by which the first rows fall into the most equal columns."""
    file.seek(0)
    text = io.TextIOWrapper(file, encoding=encoding, newline="")
    try:
        start = text.read(64 * 1024)
    finally:
        text.detach()
    best, chosen = 0.0, ","
    for delimiter in DELIMITERS:
        widths = []
        reader = csv.reader(io.StringIO(start, newline=""), delimiter=delimiter)
        try:
            for row in reader:
                if any(cell.strip() for cell in row):
                    widths.append(len(row))
                if len(widths) >= LOOKED_AT:
                    break
        except csv.Error:
            continue
        common = max(widths, key=widths.count, default=1)
        if common > 1:
            score = widths.count(common) / len(widths) + common / 1000
            if score > best:
                best, chosen = score, delimiter
    return chosen


def _text_rows(file: BinaryIO, kind: FileKind) -> Iterator[tuple[int, list[Cell] | Trouble]]:
    text = io.TextIOWrapper(file, encoding=kind.encoding, newline="")
    number = taken = 0
    try:
        reader = csv.reader(text, delimiter=kind.delimiter, strict=True)
        while taken <= MOST_ROWS:
            number += 1
            try:
                row = next(reader)
            except StopIteration:
                return
            except csv.Error as exc:
                # A quotation mark that is never closed swallows the rest of the file.
                swallowed = "unexpected end" in str(exc) or "larger than field limit" in str(exc)
                yield number, Trouble(_quotes(swallowed=swallowed), ends=swallowed)
                if swallowed:
                    return
                continue
            except UnicodeDecodeError:
                yield number, Trouble("The letters of this row can't be read.", ends=True)
                return
            if any(row):
                taken += 1
                yield number, [unescape_cell(cell) if cell[:1] == "'" else cell for cell in row]
    finally:
        text.detach()


def _quotes(*, swallowed: bool) -> str:
    if swallowed:
        return "A quotation mark is opened in this row and never closed: nothing after it can be read."
    return "The quotation marks of this row are not in pairs."


# --- XLSX -------------------------------------------------------------------------------------------------------


def _check_archive(file: BinaryIO) -> str:
    """Look at the parts of a workbook without unpacking them; returns the name of the first sheet that is shown."""
    try:
        with zipfile.ZipFile(file) as archive:
            parts = archive.infolist()
            names = {part.filename for part in parts}
            sheets = _sheets_of(archive) if CONTENTS in names else frozenset()
    except (zipfile.BadZipFile, zlib.error, ValueError, OSError, NotImplementedError, RuntimeError) as exc:
        raise ValueError(_NOT_A_BOOK) from exc
    if not {CONTENTS, "xl/workbook.xml"} <= names:
        raise ValueError("This is an archive, but not an .xlsx workbook. Save the table as .xlsx or CSV.")
    if len(parts) > MOST_PARTS or len(names) != len(parts):
        raise ValueError(_NOT_A_BOOK)
    if any(part.flag_bits & 1 for part in parts):
        raise ValueError("This workbook has a password. Save it without one.")
    # Nobody unpacks more than is declared: the reader stops there and finds the check sum wrong. Sheets are read row
    # by row; all else, the table of texts before all, may have to be held in memory, whatever it is called.
    held = sum(part.file_size for part in parts if part.filename not in sheets)
    if sum(part.file_size for part in parts) > MOST_UNPACKED or held > MOST_HELD:
        raise ValueError(
            "This workbook is too large when it is unpacked. Split it, or save the table as CSV."
        )
    sheet = _open_book(file)
    sheet.parent.close()
    return str(sheet.title)


def _sheets_of(archive: zipfile.ZipFile) -> frozenset[str]:
    """The parts that the book's contents declare to be sheets; raises ValueError where the contents can't be read."""
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    if archive.getinfo(CONTENTS).file_size > MOST_CONTENTS or archive.getinfo(CONTENTS).flag_bits & 1:
        raise ValueError(_NOT_A_BOOK)
    try:
        root = fromstring(archive.read(CONTENTS))
    except (ParseError, DefusedXmlException, EOFError, zlib.error, LookupError) as exc:
        raise ValueError(_NOT_A_BOOK) from exc
    return frozenset(
        part.get("PartName", "").lstrip("/")
        for part in root
        if part.get("ContentType", "").endswith("worksheet+xml")
    )


def _open_book(file: BinaryIO) -> Any:
    """The first sheet that is shown, to be read row by row; raises ValueError in a sentence."""
    import openpyxl

    from studio.calc.transfer_book import first_sheet

    if not openpyxl.DEFUSEDXML:
        raise RuntimeError("The reader of workbooks would follow entities: defusedxml is missing.")
    try:
        sheet = first_sheet(file)
    except Exception as exc:  # whatever a damaged or hostile book makes of the reader, the answer is the same
        raise ValueError(_NOT_A_BOOK) from exc
    if sheet is None:
        raise ValueError("This workbook has no sheet that is shown.")
    return sheet


def _book_rows(file: BinaryIO) -> Iterator[tuple[int, list[Cell] | Trouble]]:
    sheet = _open_book(file)
    try:
        yield from sheet_rows(sheet)
    finally:
        sheet.parent.close()


def sheet_rows(sheet: Any) -> Iterator[tuple[int, list[Cell] | Trouble]]:
    """The rows of one sheet of a workbook that ``look_into`` let pass, as ``rows_of`` gives them."""
    number = taken = 0
    try:
        rows = sheet.iter_rows(max_row=2 * MOST_ROWS, max_col=MOST_COLUMNS + 1, values_only=True)
        while taken <= MOST_ROWS:
            number += 1
            try:
                row = next(rows)
            except StopIteration:
                return
            cells = [_book_cell(value) for value in row]
            while cells and cells[-1] == "":
                cells.pop()
            if cells:
                taken += 1
                yield number, cells
    except (ValueError, KeyError, TypeError, IndexError, AttributeError, OSError, EOFError, OverflowError,
            zipfile.BadZipFile, zlib.error, ParseError) as exc:  # fmt: skip
        reason = "From this row on the workbook is damaged and can't be read."
        if "ntit" in type(exc).__name__ or "External" in type(exc).__name__:
            reason = "The workbook holds definitions that do not belong in one; nothing after them is read."
        yield max(number, 1), Trouble(reason, ends=True)


def _book_cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, str):
        return FORMULA if value.startswith("=") and len(value) > 1 else unescape_cell(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        # Twelve figures: what people type, without the dust of binary fractions.
        return Decimal(format(value, ".12g"))
    if isinstance(value, datetime | time):
        return value
    if isinstance(value, date):
        return datetime(value.year, value.month, value.day)  # noqa: DTZ001 - a day of the calendar
    return FORMULA


def cell_text(cell: Cell) -> str:
    """A cell as a person would read it; a formula has no text."""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, Decimal):
        return format(cell, "f")
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time.min else cell.isoformat(" ", "seconds")
    if isinstance(cell, time):
        return cell.isoformat("minutes")
    return ""
