"""The wing's drawings for pages."""

from decimal import Decimal

from django.utils.safestring import SafeString, mark_safe

from seamlab.figures.stitch import DRAWN, stitch_figure


def stitch_drawing(stitch_type: str, length_mm: Decimal, width_mm: Decimal) -> SafeString:
    """The stitch as SVG, or nothing for a type that is not drawn. The figure's texts are our own."""
    if stitch_type not in DRAWN:
        return SafeString("")
    return mark_safe(stitch_figure(stitch_type, stitch_length_mm=float(length_mm), width_mm=float(width_mm)))  # noqa: S308
