"""Drawings of stitches: well formed, fit for a strict content policy, and true to what they are told.

How each stitch is built: ISO 4915 (from memory) and common practice.
"""

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlab.figures.stitch import DRAWN, stitch_figure

SVG = "{http://www.w3.org/2000/svg}"
WIDE = {"304": 3.0, "504": 5.0}


def drawing(code, **options):
    options.setdefault("width_mm", WIDE.get(code, 0.0))
    return ET.fromstring(stitch_figure(code, **options))


def paths(root, group, name):
    part = next(g for g in root.iter(f"{SVG}g") if g.get("class") == group)
    return [path.get("d") for path in part.iter(f"{SVG}path") if path.get("class") == name]


def test_the_stitches_a_studio_meets_first_are_drawn():
    assert set(DRAWN) >= {"209", "301", "304", "401", "504"}


@pytest.mark.parametrize("code", DRAWN)
def test_every_drawing_is_named_and_scales(code):
    root = drawing(code)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("viewBox") == "0 0 400 330"
    assert root[0].tag == f"{SVG}title"
    assert root[0].text.startswith(f"{code} ")
    assert root[1].tag == f"{SVG}desc"


@pytest.mark.parametrize("code", DRAWN)
def test_no_drawing_needs_an_inline_style_a_script_or_an_id(code):
    for element in drawing(code).iter():
        assert element.tag.removeprefix(SVG) in {
            "svg",
            "title",
            "desc",
            "g",
            "rect",
            "circle",
            "path",
            "text",
        }
        assert not {"style", "id"} & set(element.attrib)
        assert not any(name.startswith("on") for name in element.attrib)


@pytest.mark.parametrize("code", DRAWN)
def test_all_of_it_lies_inside_the_picture(code):
    root = drawing(code)
    for path in root.iter(f"{SVG}path"):
        figures = [float(figure) for figure in re.findall(r"-?[\d.]+", path.get("d"))]
        assert all(0 <= x <= 400 for x in figures[::2])
        assert all(0 <= y <= 330 for y in figures[1::2])


@pytest.mark.parametrize(
    ("code", "under"), [("209", False), ("301", True), ("304", True), ("401", True), ("504", True)]
)
def test_threads_differ_in_weight_of_line_not_only_in_colour(code, under):
    root = drawing(code)
    weights = {
        name: {path.get("stroke-width") for path in root.iter(f"{SVG}path") if path.get("class") == name}
        for name in ("stitch-needle-thread", "stitch-under-thread")
    }
    assert weights["stitch-needle-thread"]
    assert bool(weights["stitch-under-thread"]) == under  # a running stitch has one thread only
    assert not weights["stitch-needle-thread"] & weights["stitch-under-thread"]


def test_lockstitch_threads_cross_inside_the_cloth_and_chain_threads_below_it():
    # Cloth lies from y 222 to 262. Heights of the needle thread's curve handles show how deep it goes.
    def deepest(code):
        (path,) = paths(drawing(code), "stitch-cut", "stitch-needle-thread")
        return max(float(y) for y in re.findall(r"[\d.]+ ([\d.]+)", path))

    assert 242 < deepest("301") < 262
    assert deepest("401") > 262


@given(length=st.floats(0.5, 6), width=st.floats(0.5, 6))
def test_zigzag_is_drawn_in_proportion_as_far_as_there_is_room(length, width):
    found = [
        (float(c.get("cx")), float(c.get("cy")))
        for c in drawing("304", stitch_length_mm=length, width_mm=width).iter(f"{SVG}circle")
    ]
    (ax, ay), (bx, by) = found[:2]
    if 10 < (bx - ax) * width / length < 92:
        assert abs(by - ay) / (bx - ax) == pytest.approx(width / length, abs=0.01)
    else:
        assert 10 - 0.2 <= abs(by - ay) <= 92 + 0.2


def test_sizes_are_said_in_words():
    assert "2.5 mm long, 3 mm wide" in stitch_figure("304", width_mm=3)
    assert "wide" not in stitch_figure("301", width_mm=3)


def test_a_title_given_is_escaped():
    assert drawing("301", title='side seam <b> & "hem"')[0].text == 'side seam <b> & "hem"'


@pytest.mark.parametrize(
    ("arguments", "options", "words"),
    [
        (("999",), {}, "stitch_type must be one of 209, 301, 304, 401, 504"),
        (("304",), {}, "width_mm must be greater than 0"),
        (("301",), {"stitch_length_mm": 0}, "stitch_length_mm must be greater than 0"),
        (("504",), {"width_mm": float("nan")}, "width_mm must be a finite number"),
    ],
)
def test_bad_input_is_refused(arguments, options, words):
    with pytest.raises(ValueError, match=words):
        stitch_figure(*arguments, **options)
