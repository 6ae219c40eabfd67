"""Histories on pages: a measure's chart, small lines of all measures, one measure's figure."""

from django.utils.safestring import SafeString, mark_safe

from studio.calc.units import KG_PER_UNIT, MM_PER_UNIT
from studio.figures.body import body_figure
from studio.figures.chart import HistoryPoint, history_chart, spark_line
from studio.figures.tape import tape_line
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.history import MeasureHistory, Occasion


def chart_of(history: MeasureHistory, unit: str, *, by_age: bool) -> SafeString:
    """One measure over dates, or over the child's age, with how far each figure can be trusted."""
    shown = history.measure.typed_in(unit)
    scale = _scale(history.measure, shown)
    points = [
        HistoryPoint(
            when=occasion.on,
            value=float(occasion.figure.value) / scale,
            value_text=history.measure.in_words(occasion.figure.value, unit),
            when_text=_when(occasion, by_age=by_age),
            error=occasion.half_width / scale,
            beyond=None if occasion.change is None else occasion.change.beyond,
        )
        for occasion in history.occasions
    ]
    title = f"{history.measure.name}, by {'age' if by_age else 'date'}, in {shown}"
    return mark_safe(history_chart(points, shown, title=title))  # noqa: S308 - our own drawing, escaped there


def spark_of(history: MeasureHistory, unit: str) -> SafeString:
    """The figures of one measure as a small line."""
    first, last = history.occasions[0], history.last
    said = history.measure.in_words
    return mark_safe(  # noqa: S308 - our own drawing, escaped there
        spark_line(
            [float(occasion.figure.value) for occasion in history.occasions],
            title=f"{history.measure.name}, {len(history.occasions)} times",
            description=f"from {said(first.figure.value, unit)} on {first.on:%-d %B %Y} "
            f"to {said(last.figure.value, unit)} on {last.on:%-d %B %Y}",
        )
    )


def figure_of(measure: CatalogueMeasure) -> SafeString | None:
    """Where the tape of one measure runs; None where nothing is drawn."""
    if not measure.figure:
        return None
    line = tape_line(1, measure.figure, body_side=measure.side, label=measure.name)
    return mark_safe(body_figure(measure.figure["view"], [line], labels=False))  # noqa: S308 - our own drawing


def _when(occasion: Occasion, *, by_age: bool) -> str:
    return occasion.age if by_age and occasion.age else f"{occasion.on:%-d %b %Y}"


def _scale(measure: CatalogueMeasure, shown: str) -> float:
    return float(KG_PER_UNIT[shown] if measure.unit == "kg" else MM_PER_UNIT[shown])
