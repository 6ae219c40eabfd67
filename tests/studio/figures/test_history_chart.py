"""Charts over time: everything is said in words too, values do not overprint, bad figures are refused."""

import datetime as dt
import math
from dataclasses import replace
from itertools import combinations

import pytest

from studio.figures.chart import HistoryPoint, history_chart, spark_line
from studio.figures.svg import text_width
from tests.studio.figures.checks import NASTY, SVG, overlap, read, words


def point(day: int, value: float, beyond: bool | None = False, error: float = 0.8) -> HistoryPoint:
    when = dt.date(2025, 1, 1) + dt.timedelta(days=day)
    return HistoryPoint(when, value, f"{value:.1f} cm", f"{when.day} {when:%b} {when.year}", error, beyond)


HISTORY = [point(0, 78.4, None), point(196, 78.9), point(336, 81.2, True), point(345, 81.6), point(800, 80.9)]


def test_axis_encloses_every_value_with_its_error_and_carries_the_unit() -> None:
    root = read(history_chart(HISTORY, "cm"))
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert texts[0] == "cm"
    ticks = [float(t) for t in texts[1:] if t and t.replace(".", "").isdigit()]
    assert ticks[0] <= 78.4 - 0.8
    assert ticks[-1] >= 81.6 + 0.8
    assert 3 <= len(ticks) <= 7


def test_a_higher_value_stands_higher_and_a_later_one_further_right() -> None:
    circles = list(read(history_chart(HISTORY[1:], "cm")).iter(f"{SVG}circle"))[: len(HISTORY) - 1]
    xs, ys = [float(c.attrib["cx"]) for c in circles], [float(c.attrib["cy"]) for c in circles]
    assert xs == sorted(xs)
    values = [p.value for p in HISTORY[1:]]
    assert sorted(range(4), key=lambda i: -ys[i]) == sorted(range(4), key=lambda i: values[i])
    # Equal distances on the axis of time stand for equal times: 140 days and 9 days.
    assert (xs[1] - xs[0]) / (xs[2] - xs[1]) == pytest.approx(140 / 9, rel=0.05)


def test_beyond_and_within_the_tape_differ_by_shape_and_word() -> None:
    root = read(history_chart(HISTORY, "cm"))
    said = words(root)
    for word in (
        "change beyond the tape",
        "within the tape",
        "not compared",
        "how far the tape can be trusted",
    ):
        assert word in said
    assert "81.2 cm, beyond the tape" in (root[1].text or "")
    only = words(read(history_chart([replace(HISTORY[1], error=0.0)], "cm")))
    assert "beyond" not in only
    assert "trusted" not in only


@pytest.mark.parametrize("count", [1, 2, 7, 16, 60])
def test_value_labels_never_overprint_and_the_last_value_is_shown(count: int) -> None:
    points = [point(day * 3, 80 + math.sin(day) * (1 + day % 4)) for day in range(count)]
    root = read(history_chart(points, "cm"))
    boxes = []
    for t in root.iter(f"{SVG}text"):
        if t.get("font-weight") == "700":
            wide = text_width(t.text or "", 15, bold=True)
            x, y = float(t.attrib["x"]), float(t.attrib["y"])
            left = x if t.get("text-anchor") is None else x - wide / 2
            boxes.append((left, y - 12, left + wide, y + 3))
    assert boxes
    assert max(box[2] for box in boxes) <= 720
    for a, b in combinations(boxes, 2):
        assert not overlap(a, b)
    assert points[-1].value_text in words(root)
    assert points[-1].when_text in words(root)


def test_axis_texts_are_the_callers() -> None:
    root = read(history_chart(HISTORY, "in", tick_text=lambda v: f"<{v:g}>"))
    assert "<78>" in words(root)


def test_the_same_points_give_the_same_bytes_in_any_order() -> None:
    assert history_chart(HISTORY, "cm") == history_chart(HISTORY[::-1], "cm")


def test_text_is_escaped() -> None:
    root = read(history_chart([replace(HISTORY[0], value_text=NASTY, when_text=NASTY)], "<i>", title=NASTY))
    assert "<i>" in words(root)


@pytest.mark.parametrize("value", [78.4, 0.0, -3.0, 1e6])
def test_one_value_alone_and_values_all_alike_are_drawn(value: float) -> None:
    read(history_chart([point(0, value, None, 0.0)], "cm"))
    read(history_chart([point(0, value, None, 0.0), point(9, value, False, 0.0)], "cm"))


def test_bad_points_are_refused_in_a_sentence() -> None:
    with pytest.raises(ValueError, match="points is empty"):
        history_chart([], "cm")
    with pytest.raises(ValueError, match="the value of 1 Jan 2025 is nan; it must be a finite number"):
        history_chart([replace(HISTORY[0], value=math.nan)], "cm")
    for error in (-1.0, math.inf, math.nan):
        with pytest.raises(ValueError, match="the error of 1 Jan 2025 is"):
            history_chart([replace(HISTORY[0], error=error)], "cm")
    with pytest.raises(ValueError, match="it needs at least 320 by 200"):
        history_chart(HISTORY, "cm", width=100)


def test_spark_line_rises_with_its_values_and_marks_the_last() -> None:
    root = read(spark_line([1, 2, 3], title="Waist <over> time"))
    dot = next(root.iter(f"{SVG}circle"))
    assert float(dot.attrib["cx"]) == 114
    assert float(dot.attrib["cy"]) == 6
    assert root[0].text == "Waist <over> time"
    assert not list(read(spark_line([5], title="one")).iter(f"{SVG}path"))
    read(spark_line([5, 5], title="alike"))


def test_spark_line_refuses_nothing_and_what_is_no_number() -> None:
    with pytest.raises(ValueError, match="values is empty"):
        spark_line([], title="x")
    with pytest.raises(ValueError, match="value 2 is inf; it must be a finite number"):
        spark_line([1, math.inf], title="x")
