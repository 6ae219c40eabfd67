"""Charts and patterns as the rows of a file, in the form that an import understands by itself."""

import csv
import io
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Prefetch

from fitting.calc.paper_table import CHART_HEADS, PATTERN_HEADS
from fitting.models import BodyChart, FlatMeasure, Pattern, PatternPiece
from fitting.queries.charts import chart_list
from fitting.queries.patterns import pattern_list
from studio.calc.transfer_words import escape_cell
from studio.platform.rights import Actor

MEDIA_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
MM = {"cm": Fraction(10), "in": Fraction(127, 5)}


def paper_file(actor: Actor, what: str, form: str) -> bytes:
    """All charts or patterns of the studio as CSV or XLSX. A constant number of queries."""
    heads = CHART_HEADS if what == "charts" else PATTERN_HEADS
    rows = _chart_rows(actor) if what == "charts" else _pattern_rows(actor)
    lines = ([row.get(name, "") for name in heads] for row in rows)
    return _csv(list(heads.values()), lines) if form == "csv" else _book(what, list(heads.values()), lines)


def _chart_rows(actor: Actor) -> Iterator[dict[str, Any]]:
    for chart in chart_list(actor):
        unit = _unit_of(chart)
        facts = {
            "name": chart.name,
            "source": chart.source,
            "unit": unit,
            "base_height": _figure(chart.base_height_mm, unit),
            "base_cup": _figure(chart.base_cup_mm, unit),
            "notes": chart.notes,
        }
        for size in chart.sizes.all():
            for row in size.measures.all():
                yield {**facts, "size": size.name, "measure": row.measure, "value": _figure(row.value, unit)}
                facts = {"name": chart.name, "unit": unit}


def _unit_of(chart: BodyChart) -> str:
    """The chart's unit, or centimetres where a figure has no end in inches."""
    values = [row.value for size in chart.sizes.all() for row in size.measures.all()]
    values += [mm for mm in (chart.base_height_mm, chart.base_cup_mm) if mm is not None]
    return chart.unit if all(_ends(value, chart.unit) for value in values) else "cm"


def _pattern_rows(actor: Actor) -> Iterator[dict[str, Any]]:
    rows = (
        pattern_list(actor)
        .select_related("chart")
        .prefetch_related(
            Prefetch("pieces", PatternPiece.objects.order_by("place")),
            Prefetch(
                "pieces__flats", FlatMeasure.objects.select_related("size").order_by("size__place", "id")
            ),
        )
        .order_by("name")
    )
    for pattern in rows:
        facts = _facts(pattern)
        short = {"name": pattern.name, "unit": "cm"}
        # A piece may be measured at a size before any stated measure: sizes come in their own order all the same.
        for size in pattern.sizes.all():
            for row in size.measures.all():
                if row.from_pieces:
                    continue
                yield {**facts, "size": size.name, "measure": row.measure, "value": _figure(row.value, "cm")}
                facts = short
            for piece in pattern.pieces.all():
                for flat in piece.flats.all():
                    if flat.size_id == size.pk:
                        yield {**facts, **_flat(piece, flat), "size": size.name}
                        facts = short


def _facts(pattern: Pattern) -> dict[str, Any]:
    return {
        "name": pattern.name,
        "kind": pattern.kind,
        "closeness": pattern.closeness,
        "structure": pattern.structure,
        "stretch": "" if pattern.stretch_wanted_percent is None else _bare(pattern.stretch_wanted_percent),
        "basis": pattern.basis,
        "chart": pattern.chart.name if pattern.chart else "",
        "unit": "cm",
        "seam_allowance": _figure(pattern.seam_allowance_mm, "cm"),
        "base_height": _figure(pattern.base_height_mm, "cm"),
        "base_cup": _figure(pattern.base_cup_mm, "cm"),
        "notes": pattern.notes,
    }


def _flat(piece: PatternPiece, flat: FlatMeasure) -> dict[str, Any]:
    return {
        "measure": flat.measure,
        "value": _figure(flat.width_mm, "cm"),
        "piece": piece.name,
        "cut": piece.cut,
        "on_fold": "yes" if piece.on_fold else "",
        "times": flat.times,
        "allowances": " + ".join(_figure(Decimal(mm), "cm") for mm in flat.allowances),
        "intakes": " + ".join(f"{one['what']} {_figure(Decimal(one['mm']), 'cm')}" for one in flat.intakes),
    }


def _ends(mm: Decimal, unit: str) -> bool:
    """Whether the length has an end within five decimals in this unit."""
    return (Fraction(mm) / MM[unit] * 10**5).denominator == 1


def _figure(mm: Decimal | None, unit: str) -> str:
    if mm is None:
        return ""
    value = Fraction(mm) / MM[unit]
    return _bare(Decimal(value.numerator) / Decimal(value.denominator))


def _bare(value: Decimal) -> str:
    return format(value.normalize(), "f")


def _csv(heads: list[str], lines: Iterator[list[Any]]) -> bytes:
    text = io.StringIO(newline="")
    text.write("\ufeff")  # tells spreadsheets that the letters are UTF-8
    writer = csv.writer(text)
    writer.writerow(heads)
    writer.writerows([escape_cell(str(cell)) for cell in line] for line in lines)
    return text.getvalue().encode()


def _book(what: str, heads: list[str], lines: Iterator[list[Any]]) -> bytes:
    import openpyxl
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet(what.capitalize())
    sheet.append(heads)
    for line in lines:
        sheet.append([escape_cell(ILLEGAL_CHARACTERS_RE.sub(" ", str(cell))) for cell in line])
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()
