"""Finished girth from a flat pattern."""

import math

import pytest

from fitting.calc.flat import Panel, finished_girth


def test_a_half_pattern_on_the_fold_counts_twice():
    # Industry text on flat patterns: 2 x (half-panel widths less seam allowances, darts, tucks and pleats).
    # Front 260 less one 15 mm side seam and a 20 mm dart; back 255 less 15 and a 30 mm dart:
    # 2 x (225 + 210) = 870 mm, added by hand.
    front = Panel(width=260, count=2, allowances=[15], intakes=[20])
    back = Panel(width=255, count=2, allowances=[15], intakes=[30])
    assert finished_girth([front, back]) == pytest.approx(870)


def test_a_pleat_swallows_twice_its_depth_and_an_extension_is_an_intake():
    # Common practice, no source: two overlapping fronts, 25 mm beyond centre front and a pleat 30 mm deep
    # each.
    fronts = Panel(300, 2, [15], [25, 2 * 30])
    back = Panel(420, 1, [15, 15], [])
    assert finished_girth([fronts, back]) == pytest.approx(2 * 200 + 390)


def test_no_allowances_and_no_intakes():
    assert finished_girth((Panel(250, 4),)) == 1000


@pytest.mark.parametrize(
    ("panels", "words"),
    [
        ([], "at least one panel"),
        ([Panel(math.nan)], "Panel 1: width"),
        ([Panel(math.inf)], "Panel 1: width"),
        ([Panel(200), Panel(-1)], "Panel 2: width"),
        ([Panel(200, 0)], "Panel 1: count"),
        ([Panel(200, 1.5)], "Panel 1: count"),  # type: ignore[arg-type]
        ([Panel(200, 2, [-5])], "seam allowance"),
        ([Panel(200, 2, [], [math.nan])], "intake"),
        ([Panel(200, 2, [100], [100])], "leave nothing"),
    ],
    ids=["none", "nan", "infinite", "negative", "no-count", "part-count", "allowance", "intake", "swallowed"],
)
def test_bad_paper_is_refused(panels, words):
    with pytest.raises(ValueError, match=words):
        finished_girth(panels)
