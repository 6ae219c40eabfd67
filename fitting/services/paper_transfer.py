"""Taking charts and patterns over from a file: a dry run that lists every problem by row, then all or nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, BinaryIO

from django.db import transaction

from fitting.calc.paper_table import Problem, Whole, columns_of, heads_of, read_table
from fitting.models import BodyChart
from fitting.services.charts import record_chart
from fitting.services.patterns import FlatGiven, IntakeGiven, PieceGiven, SizeGiven, record_pattern
from studio.calc.transfer_files import FORMULA, Trouble, cell_text, look_into, rows_of
from studio.calc.units import parse_length
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right

MOST_BYTES = 2 * 1024 * 1024
MOST_ROWS = 20_000
MOST_WHOLES = 200
SHOWN_PROBLEMS = 200


@dataclass(frozen=True)
class PaperFile:
    """A file as read: ``what`` is charts or patterns, rows are texts with their number, the heads first."""

    what: str
    heads: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


@dataclass(frozen=True)
class PaperFound:
    """What a file holds: the names in its order, and every problem, by row. With a problem nothing is kept."""

    what: str
    names: tuple[str, ...]
    problems: tuple[Problem, ...]


def read_paper_file(file: BinaryIO) -> PaperFile:
    """Open a CSV file or an XLSX workbook. Raises Refused (file) where it is nothing that can be read."""
    size = file.seek(0, 2)
    if size > MOST_BYTES:
        raise Refused({"file": f"The file has {size / 1024 / 1024:.1f} MB; 2 MB are allowed. Split it."})
    try:
        kind = look_into(file)
        heads: tuple[str, ...] = ()
        rows: list[tuple[int, tuple[str, ...]]] = []
        for number, cells in rows_of(file, kind):
            if isinstance(cells, Trouble):
                raise ValueError(f"Row {number}: {cells.reason}")
            if any(cell is FORMULA for cell in cells):
                raise ValueError(f"Row {number} holds a formula: save the figures that it shows.")
            texts = tuple(cell_text(cell) for cell in cells)
            if not heads:
                heads = texts
            else:
                rows.append((number, texts))
            if len(rows) > MOST_ROWS:
                raise ValueError(f"The file has more than {MOST_ROWS} rows. Split it.")
        what, _ = columns_of(heads)
    except ValueError as exc:
        raise Refused({"file": str(exc)}) from exc
    if not rows:
        raise Refused({"file": "The file has column heads and nothing below them."})
    return PaperFile(what, heads, tuple(rows))


def try_paper(actor: Actor, given: PaperFile) -> PaperFound:
    """The dry run: everything is recorded by the same services as always, and taken back."""
    actor.need(Right.KEEP_PAPER)
    with transaction.atomic():
        found = _record(actor, given)
        transaction.set_rollback(True)
    return found


def take_over_paper(actor: Actor, given: PaperFile) -> PaperFound:
    """Record everything that the file holds. Raises Refused (file) where anything is wrong; then nothing is kept."""
    actor.need(Right.KEEP_PAPER)
    with transaction.atomic():
        found = _record(actor, given)
        if found.problems:
            first = found.problems[0]
            where = f"Row {first.row}: " if first.row else ""
            raise Refused(
                {"file": f"{len(found.problems)} problems; nothing was taken over. {where}{first.reason}"}
            )
    return found


def _record(actor: Actor, given: PaperFile) -> PaperFound:
    _, columns = columns_of(given.heads)
    wholes, problems = read_table(given.what, columns, given.rows, parse_length)
    names = tuple(whole.name for whole in wholes)
    if len(wholes) > MOST_WHOLES:
        problems.append(
            Problem(0, "", f"The file names {len(wholes)} {given.what}; {MOST_WHOLES} are allowed. Split it.")
        )
    charts = {row.name.lower(): row.pk for row in BodyChart.objects.only("pk", "name")}
    for whole in wholes[:MOST_WHOLES]:
        if whole.broken:
            continue  # its rows are among the problems already
        try:
            with transaction.atomic():
                if given.what == "charts":
                    _chart(actor, whole)
                else:
                    _pattern(actor, whole, charts)
        except Refused as exc:
            heads = heads_of(given.what)
            problems += [_place(whole, field, reason, heads) for field, reason in exc.reasons.items()]
    problems.sort(key=lambda problem: problem.row)
    return PaperFound(given.what, names, tuple(problems))


def _sizes(whole: Whole) -> list[str]:
    return list(dict.fromkeys(figure.size for figure in whole.figures))


def _stated(whole: Whole) -> list[SizeGiven]:
    found: dict[str, dict[str, Decimal]] = {size: {} for size in _sizes(whole)}
    for figure in whole.figures:
        if not figure.piece:
            if figure.measure in found[figure.size]:
                raise Refused(
                    {f"row.{figure.row}.measure": f"Size {figure.size} has {figure.measure} twice."}
                )
            found[figure.size][figure.measure] = figure.value
    return [SizeGiven(size, measures) for size, measures in found.items()]


def _length(whole: Whole, name: str) -> Decimal | None:
    text = whole.fact(name)
    if not text:
        return None
    try:
        return parse_length(text, whole.fact("unit") or "cm")
    except ValueError as exc:
        raise Refused({name: str(exc)}) from exc


def _chart(actor: Actor, whole: Whole) -> None:
    unit = whole.fact("unit") or "cm"
    record_chart(
        actor,
        name=whole.name,
        source=whole.fact("source"),
        unit="cm" if unit == "mm" else unit,
        sizes=_stated(whole),
        base_height_mm=_length(whole, "base_height"),
        base_cup_mm=_length(whole, "base_cup"),
        notes=whole.fact("notes"),
    )


def _pattern(actor: Actor, whole: Whole, charts: Mapping[str, Any]) -> None:
    chart = whole.fact("chart")
    if chart and chart.lower() not in charts:
        raise Refused({"chart": f"There is no body chart {chart} here: take it over first."})
    stretch = whole.fact("stretch").removesuffix("%").strip()
    try:
        percent = Decimal(stretch) if stretch else None
    except InvalidOperation as exc:
        raise Refused({"stretch": f"{stretch!r} is no percentage."}) from exc
    allowance = _length(whole, "seam_allowance")
    record_pattern(
        actor,
        name=whole.name,
        kind=_word(whole.fact("kind")),
        closeness=_word(whole.fact("closeness")) or "fitted",
        structure=_word(whole.fact("structure")) or "woven",
        basis=_word(whole.fact("basis")) or "finished",
        sizes=_stated(whole),
        pieces=_pieces(whole),
        chart_id=charts[chart.lower()] if chart else None,
        seam_allowance_mm=Decimal(15) if allowance is None else allowance,
        base_height_mm=_length(whole, "base_height"),
        base_cup_mm=_length(whole, "base_cup"),
        stretch_wanted_percent=percent,
        notes=whole.fact("notes"),
    )


def _word(text: str) -> str:
    return text.lower().replace("-", "_" if "semi" in text.lower() else "").replace(" ", "_")


def _pieces(whole: Whole) -> list[PieceGiven]:
    names = list(dict.fromkeys(figure.piece for figure in whole.figures if figure.piece))
    found = []
    for name in names:
        mine = [figure for figure in whole.figures if figure.piece == name]
        found.append(
            PieceGiven(
                name,
                cut=max(figure.cut for figure in mine) or max(figure.times for figure in mine),
                on_fold=any(figure.on_fold for figure in mine),
                flats=tuple(
                    FlatGiven(
                        figure.size,
                        figure.measure,
                        figure.value,
                        figure.times,
                        figure.allowances,
                        tuple(IntakeGiven(kind, mm) for kind, mm in figure.intakes),
                    )
                    for figure in mine
                ),
            )
        )
    return found


def _place(whole: Whole, field: str, reason: str, heads: Mapping[str, str]) -> Problem:
    """A reason of a service as a problem of the row that it speaks of."""
    parts = field.split(".")
    sizes = _sizes(whole)
    if parts[0] == "row":
        return Problem(int(parts[1]), heads["measure"], reason)
    if parts[0] == "sizes" and len(parts) > 1:
        rows = [figure for figure in whole.figures if figure.size == sizes[int(parts[1])]]
        exact = [figure for figure in rows if len(parts) > 3 and figure.measure == parts[3]]
        column = heads["value"] if exact else heads["size"]
        return Problem((exact or rows)[0].row, column, reason)
    if parts[0] == "pieces" and len(parts) > 1:
        names = list(dict.fromkeys(figure.piece for figure in whole.figures if figure.piece))
        mine = [figure for figure in whole.figures if figure.piece == names[int(parts[1])]]
        place = int(parts[3]) if len(parts) > 3 else 0
        last = parts[-1] if parts[-1] in heads else "value" if len(parts) > 3 else "piece"
        return Problem(mine[place].row, heads[last], reason)
    name = {"stretch_wanted_percent": "stretch"}.get(field, field.removesuffix("_mm").removesuffix("_id"))
    return Problem(whole.facts.get(name, ("", whole.row))[1], heads.get(name, ""), reason)


def rows_again(what: str, heads: Sequence[str], rows: Sequence[Any]) -> PaperFile:
    """A file that was read before, from plain lists."""
    return PaperFile(what, tuple(heads), tuple((int(number), tuple(cells)) for number, cells in rows))
