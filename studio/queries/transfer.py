"""Reading imports and exports of readings, and the words by which a file is understood."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, BinaryIO, cast
from uuid import UUID

from django.core.files.storage import default_storage
from django.db.models import QuerySet

from studio.calc.transfer import Layout
from studio.calc.transfer_files import FileKind, Trouble, cell_text, rows_of
from studio.calc.transfer_words import Words, fold, meanings
from studio.models import ReadingImport
from studio.platform.errors import NotHere
from studio.platform.models import Job, StoredFile
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures

WORDS_FILE = Path(__file__).resolve().parents[1] / "data" / "import_words.json"
EXPORT_JOB = "export_readings"
EXAMPLES = 4


@dataclass(frozen=True)
class ProblemPage:
    """Some of an import's problems: those from ``start`` on (from 0), and how many there are and are kept.

    ``remarks`` are readings that do not go together with the others: advice, in the shape of the problems.
    """

    problems: list[dict[str, Any]]
    start: int
    kept: int
    count: int
    remarks: list[dict[str, Any]]


@lru_cache(maxsize=1)
def import_words() -> Mapping[str, Any]:
    """The words of studio/data/import_words.json; raises ValueError where a word stands for two things."""
    raw = json.loads(WORDS_FILE.read_text(encoding="utf-8"))
    return {
        "fields": meanings(raw["fields"]),
        "measures": meanings(raw["measures"]),
        "over": meanings(raw["over"]),
        "units": {word.casefold(): unit for unit, words in raw["units"].items() for word in words},
        "months": {word: int(number) for word, number in meanings(raw["months"]).items()},
        "yes": frozenset(raw["yes"]),
        "no": frozenset(raw["no"]),
    }


def words_for(measures: Mapping[str, CatalogueMeasure]) -> Words:
    """What a file may say, with these measures: their codes and names count first, then names of ISO 8559 that
    only one bears, then the listed words.
    """
    listed = import_words()
    known: dict[str, str] = {}
    for code, found in measures.items():
        known.setdefault(fold(code), code)
        known.setdefault(fold(found.name), code)
    standard: dict[str, list[str]] = {}
    for code, found in measures.items():
        if found.iso_8559:
            standard.setdefault(fold(found.iso_8559), []).append(code)
    for name, codes in standard.items():
        if len(codes) == 1:
            known.setdefault(name, codes[0])
    for word, code in listed["measures"].items():
        if code in measures:
            known.setdefault(word, code)
    return Words(
        fields=listed["fields"],
        measures=known,
        names={code: found.name for code, found in measures.items()},
        weights=frozenset(code for code, found in measures.items() if found.unit == "kg"),
        over=listed["over"],
        yes=listed["yes"],
        no=listed["no"],
        units=listed["units"],
        months=listed["months"],
    )


def import_list(actor: Actor) -> "QuerySet[ReadingImport]":
    """Imports, newest first, without their problems."""
    actor.need(Right.EXPORT_AND_ERASE)
    rows = ReadingImport.objects.select_related("file", "uploaded_by", "job").defer("problems", "remarks")
    return rows.order_by("-id")


def import_get(actor: Actor, import_id: UUID) -> ReadingImport:
    """One import; raises NotHere."""
    row = import_list(actor).filter(pk=import_id).first()
    if row is None:
        raise NotHere("import")
    return row


def layout_of(row: ReadingImport) -> Layout:
    """Which column of the file holds what, as it was guessed or chosen."""
    chosen = row.mapping
    return Layout(
        fields=dict(chosen.get("fields", {})),
        measures={int(column): code for column, code in chosen.get("measures", {}).items()},
        unit=row.unit,
        date_order=chosen.get("date_order", ""),
        decimal_mark=chosen.get("decimal_mark", ""),
        head_row=chosen.get("head_row", 0),
        heads=tuple(row.columns),
    )


def kind_of(row: ReadingImport) -> FileKind:
    return FileKind(**row.mapping["file"])


def examples_of(actor: Actor, row: ReadingImport) -> list[list[str]]:
    """For each column the first few cells that are not empty, for people to see what they map."""
    actor.need(Right.EXPORT_AND_ERASE)
    found: list[list[str]] = [[] for _ in row.columns]
    if not bytes_there(row):
        return found
    head = row.mapping.get("head_row", 0)
    with default_storage.open(row.file.key, "rb") as stored:
        for taken, (number, cells) in enumerate(rows_of(cast(BinaryIO, stored), kind_of(row))):
            if taken > 3 * EXAMPLES:
                break
            if number <= head or isinstance(cells, Trouble):
                continue
            for column, cell in enumerate(cells[: len(found)]):
                text = cell_text(cell)[:40]
                if text and len(found[column]) < EXAMPLES and text not in found[column]:
                    found[column].append(text)
    return found


def bytes_there(row: ReadingImport) -> bool:
    """Is the uploaded file still kept? After the take-over it is not."""
    return row.state != ReadingImport.State.TAKEN_OVER and default_storage.exists(row.file.key)


def problems_of(actor: Actor, import_id: UUID, start: int = 0, count: int = 100) -> ProblemPage:
    """The problems of the last dry run in the order of rows; raises NotHere."""
    actor.need(Right.EXPORT_AND_ERASE)
    row = ReadingImport.objects.only("problems", "problem_count", "remarks").filter(pk=import_id).first()
    if row is None:
        raise NotHere("import")
    start = max(start, 0)
    return ProblemPage(
        row.problems[start : start + count], start, len(row.problems), row.problem_count, row.remarks
    )


def measures_of(actor: Actor) -> Mapping[str, CatalogueMeasure]:
    """Every measure that a reading of this studio may be of."""
    return known_measures(actor)


def export_list(actor: Actor) -> "QuerySet[Job]":
    """Exports of readings, newest first: each is the job that makes it."""
    actor.need(Right.EXPORT_AND_ERASE)
    return Job.objects.filter(kind=EXPORT_JOB).select_related("asked_by").order_by("-id")


def export_get(actor: Actor, export_id: UUID) -> Job:
    """One export; raises NotHere."""
    job: Job | None = export_list(actor).filter(pk=export_id).first()
    if job is None:
        raise NotHere("export")
    return job


def export_file(actor: Actor, export_id: UUID) -> StoredFile:
    """The file of a finished export; raises NotHere where it is not made yet, or was deleted after its days."""
    job = export_get(actor, export_id)
    file_id = job.result.get("file")
    row: StoredFile | None = StoredFile.objects.filter(pk=file_id).first() if file_id else None
    if row is None or not default_storage.exists(row.key):
        raise NotHere("file of this export")
    return row


def export_keys() -> set[str]:
    """Where the bytes of exports lie that hold several people: whoever is erased leaves them with all others."""
    ids = [
        job.result["file"]
        for job in Job.objects.filter(kind=EXPORT_JOB, state=Job.State.DONE).only("result")
        if "file" in job.result
    ]
    return set(StoredFile.objects.filter(pk__in=ids, client_id=None).values_list("key", flat=True))
