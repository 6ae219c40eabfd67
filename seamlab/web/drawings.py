"""The wing's drawings for pages."""

from decimal import Decimal
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from seamlab.calc.thread import thread_diameter
from seamlab.figures.stitch import DRAWN, stitch_figure
from seamlab.figures.stitch_sample import SAMPLED, sample_figure


def stitch_drawing(stitch_type: str, length_mm: Decimal, width_mm: Decimal) -> SafeString:
    """The stitch as SVG, or nothing for a type that is not drawn. The figure's texts are our own."""
    if stitch_type not in DRAWN:
        return SafeString("")
    return mark_safe(stitch_figure(stitch_type, stitch_length_mm=float(length_mm), width_mm=float(width_mm)))  # noqa: S308


def sample_drawing(version: Any) -> SafeString:
    """A version's seam at true scale, its thread as thick as it is by estimate; nothing if not drawn."""
    if version.stitch_type not in SAMPLED:
        return SafeString("")
    return mark_safe(  # noqa: S308 - the figure's texts are our own
        sample_figure(
            version.stitch_type,
            stitch_length_mm=float(version.stitch_length_mm),
            width_mm=float(version.stitch_width_mm),
            thread_mm=thread_diameter(float(version.needle_thread.tex)),
            passes=version.passes,
            ends=version.needle_thread_ends,
        )
    )
