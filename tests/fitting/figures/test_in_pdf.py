"""The same drawings in a PDF: the renderer of the reports draws every figure without a complaint."""

import datetime as dt
import logging

import pytest

from fitting.figures.alterations import AlterationRow, alteration_figure
from fitting.figures.zones import ZoneRow, zone_figure
from studio.figures.body import TapeLine, body_figure
from studio.figures.chart import HistoryPoint, history_chart, spark_line

DRAWINGS = {
    "body": body_figure("front", [TapeLine(1, "girth", "waist", label="Waist girth", value="78.4 cm")]),
    "history": history_chart([HistoryPoint(dt.date(2026, 3, 3), 78.4, "78.4 cm", "3 Mar 2026", 0.8)], "cm"),
    "spark": spark_line([1.0, 2.0], title="Waist over time"),
    "zones": zone_figure(
        [ZoneRow("hip", 40, 50, 80, 20, "too tight", "103.0 cm", "4 to 8 cm", "105.0 cm", 45, "107.5 cm", 6)],
        "cm",
        scale=10,
    ),
    "alterations": alteration_figure(
        "bodice", [AlterationRow(1, "bust_adjustment", "let out", "Bust", "8 mm")]
    ),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_renderer_draws_it_without_a_complaint(name: str, caplog: pytest.LogCaptureFixture) -> None:
    import weasyprint

    # The renderer's own logger prints to the terminal and passes nothing on.
    logger = logging.getLogger("weasyprint")
    logger.addHandler(caplog.handler)
    try:
        pages = weasyprint.HTML(string=f"<html lang=en><title>x</title>{DRAWINGS[name]}").render().pages
        blank = weasyprint.HTML(string="<html lang=en><title>x</title>").write_pdf()
        drawn = weasyprint.HTML(string=f"<html lang=en><title>x</title>{DRAWINGS[name]}").write_pdf()
    finally:
        logger.removeHandler(caplog.handler)
    assert len(pages) == 1
    assert not [r for r in caplog.records if r.levelno >= logging.WARNING], caplog.text
    assert len(drawn or b"") > len(blank or b"") + 150  # something is drawn
