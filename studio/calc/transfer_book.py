"""Opening a workbook to read one sheet once: nothing else in it is looked at.

The reader that the library offers parses every sheet through to its end where a sheet does not tell its size; this one
takes the first sheet that is shown, believes no size, and leaves charts, links, properties and names alone.
"""

from collections.abc import Iterator
from typing import Any, BinaryIO

from openpyxl.reader.excel import ExcelReader
from openpyxl.styles.stylesheet import apply_stylesheet
from openpyxl.worksheet._read_only import ReadOnlyWorksheet


class _Sheet(ReadOnlyWorksheet):
    def _get_size(self) -> None:
        """A size in the file may be wrong and hide rows; finding it out costs a reading of the whole sheet."""


def first_sheet(file: BinaryIO) -> Any:
    """The first sheet that is shown, or None; raises whatever the library raises on a damaged book.

    Close it by ``sheet.parent.close()``.
    """
    return next(shown_sheets(file), None)


def shown_sheets(file: BinaryIO) -> Iterator[Any]:
    """Every sheet that is shown, in the book's order; raises and is closed as ``first_sheet``."""
    reader = ExcelReader(file, read_only=True, keep_vba=False, data_only=False, keep_links=False)
    reader.read_manifest()
    reader.read_strings()
    reader.read_workbook()
    apply_stylesheet(reader.archive, reader.wb)  # by its number formats days are known from numbers
    for sheet, part in reader.parser.find_sheets():
        if "chartsheet" not in part.Type and sheet.state == "visible" and part.target in reader.valid_files:
            yield _Sheet(reader.wb, sheet.name, part.target, reader.shared_strings)
