"""Drawings of a cloth for pages. The figures' texts are our own."""

from django.utils.safestring import SafeString, mark_safe

from seamlab.figures.bias import Give, bias_figure
from seamlab.figures.cloth import Stretch, direction_figure, stretch_figure
from seamlab.queries.cloth import NewestTests
from seamlab.queries.laboratory import LabReading


def stretch_drawing(newest: NewestTests) -> SafeString:
    """How far the cloth goes both ways, or nothing where no stretch was tested."""
    if newest.stretch_lengthwise is None and newest.stretch_crosswise is None:
        return SafeString("")
    return mark_safe(  # noqa: S308
        stretch_figure(_stretch(newest.stretch_lengthwise), _stretch(newest.stretch_crosswise))
    )


def _stretch(test: object) -> Stretch | None:
    if test is None:
        return None
    percent = float(test.percent)  # type: ignore[attr-defined]
    recovery = test.recovery_percent  # type: ignore[attr-defined]
    left = None if recovery is None else max(0.0, percent * (100 - float(recovery)) / 100)
    return Stretch(max(0.0, percent), left)


def direction_drawing(direction: str) -> SafeString:
    """Which way the pieces lie."""
    return mark_safe(direction_figure(direction))  # noqa: S308


def bias_drawing(reading: LabReading) -> SafeString:
    """How the cloth gives between warp and weft, or nothing where figures are missing."""
    if not reading.around:
        return SafeString("")
    return mark_safe(  # noqa: S308 - 10 cm give as many mm as the percents say
        bias_figure([Give(row.angle_deg, row.give_percent) for row in reading.around])
    )
