"""The fit per zone: bars stand where the ease says, verdicts have shape and word, bad rows are refused."""

import math
from dataclasses import replace

import pytest

from fitting.calc.ease import Verdict
from fitting.figures.zones import VERDICTS, ZoneRow, zone_figure
from studio.figures import palette
from tests.studio.figures.checks import NASTY, SVG, read, words

WAIST = ZoneRow(
    zone="waist",
    low=20,
    target=30,
    high=50,
    before=-10,
    after=28,
    verdict="within",
    body_text="78.4 cm",
    range_text="2 to 5 cm, aim 3 cm",
    before_text="77.4 cm, ease −1.0 cm",
    after_text="81.2 cm, ease 2.8 cm",
    error=8,
)
HIP = replace(WAIST, zone="hip", before=15, after=None, verdict="too tight", body_text="103.0 cm", error=0)


def rects(svg: str, fill: str) -> list[tuple[float, float]]:
    """Left and right of every bar of one colour, the keys below left out."""
    root = read(svg)
    return [
        (float(r.attrib["x"]), float(r.attrib["x"]) + float(r.attrib["width"]))
        for r in root.findall(f"{SVG}rect")
        if r.get("fill") == fill and not r.get("rx")
    ]


def test_the_verdicts_are_those_of_the_calculation() -> None:
    assert {str(v) for v in Verdict} == set(VERDICTS)


def test_bars_stand_where_the_ease_says_on_one_scale_for_all_zones() -> None:
    svg = zone_figure([WAIST, HIP], "cm", scale=10)
    (low, high), *_ = rects(svg, palette.GOOD_PALE)
    after, as_it_is = rects(svg, palette.INK)
    (before,) = rects(svg, palette.SHEET)
    per_mm = (high - low) / (WAIST.high - WAIST.low)
    zero = after[0]
    assert zero == as_it_is[0] == before[1]  # the body's line
    assert low - zero == pytest.approx(20 * per_mm, abs=0.2)
    assert after[1] - zero == pytest.approx(28 * per_mm, abs=0.2)
    assert zero - before[0] == pytest.approx(10 * per_mm, abs=0.2)
    assert as_it_is[1] - zero == pytest.approx(15 * per_mm, abs=0.2)


def test_every_verdict_has_its_word_and_a_shape_of_its_own() -> None:
    shapes: set[str] = set()
    for verdict, word in zip(VERDICTS, ("in range", "too tight", "too loose", "cannot tell"), strict=True):
        root = read(zone_figure([replace(HIP, verdict=verdict)], "cm", scale=10))
        assert word in words(root)
        assert word in (root[1].text or "")
        children = list(root)
        chip = next(i for i, c in enumerate(children) if c.get("rx") == "14")
        shape = children[chip + 1]
        x = float(children[chip].attrib["x"])
        shapes.add(shape.get("d", shape.tag))
        assert x < float(children[chip + 2].attrib["x"])  # the shape stands before its word
    assert len(shapes) == len(VERDICTS)


def test_units_and_texts_are_printed_and_explained() -> None:
    said = words(read(zone_figure([WAIST, HIP], "cm", scale=10))).replace("\u00a0", " ")
    for word in (
        "body = 0 cm ease",
        "body 78.4 cm",
        "paper before",
        "paper after",
        "how far the tape can be trusted",
    ):
        assert word in said
    alone = words(read(zone_figure([HIP], "cm", scale=10)))
    assert "paper before" not in alone
    assert "trusted" not in alone


def test_knits_with_negative_ease_and_long_names_stay_in_the_picture() -> None:
    name = "upper arm at its fullest, with the muscle relaxed and the sleeve pushed up " * 2
    row = replace(HIP, zone=name, low=-80, target=-60, high=-20, before=-120, verdict="too tight")
    root = read(zone_figure([row], "in", scale=25.4, tick_text=lambda v: f"{v:g} in"))
    left, top, width, height = (float(v) for v in root.attrib["viewBox"].split())
    for rect in root.iter(f"{SVG}rect"):
        assert float(rect.attrib["x"]) >= left
    for rect in root.findall(f"{SVG}rect"):
        assert float(rect.attrib["x"]) + float(rect.attrib["width"]) <= left + width
    for t in root.findall(f"{SVG}text"):
        assert top < float(t.attrib["y"]) < top + height
    assert words(root).count("muscle") == 2


def test_text_is_escaped_and_the_bytes_are_the_same_each_time() -> None:
    row = replace(HIP, zone=NASTY, body_text=NASTY, before_text=NASTY, range_text=NASTY)
    assert "<b>" in words(read(zone_figure([row], "<u>", scale=10, title=NASTY)))
    assert zone_figure([WAIST, HIP], "cm", scale=10) == zone_figure([WAIST, HIP], "cm", scale=10)


@pytest.mark.parametrize("name", ["low", "target", "high", "before", "after", "error"])
@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_is_refused(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=f"zone waist: {name} is .*; it must be a finite number"):
        zone_figure([replace(WAIST, **{name: value})], "cm")


def test_bad_rows_are_refused_in_a_sentence() -> None:
    with pytest.raises(ValueError, match="at least one zone"):
        zone_figure([], "cm")
    with pytest.raises(ValueError, match="zone waist: the ease wanted is 60 to 50 with target 30"):
        zone_figure([replace(WAIST, low=60)], "cm")
    with pytest.raises(ValueError, match="zone waist: error is -1"):
        zone_figure([replace(WAIST, error=-1)], "cm")
    with pytest.raises(ValueError, match="zone waist: verdict is 'fine', not one of within, too tight"):
        zone_figure([replace(WAIST, verdict="fine")], "cm")
    with pytest.raises(ValueError, match="scale is 0"):
        zone_figure([WAIST], "cm", scale=0)
