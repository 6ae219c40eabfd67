"""Drawings of stitches: well formed, fit for a strict content policy, and true to what they are told.

How each stitch is built: ISO 4915 (from memory), a published stitch guide (101, 103, 301, 304, 401), common practice.
"""

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import seamlab
from seamlab.calc.thread import thread_diameter
from seamlab.figures.stitch import DRAWN, stitch_figure
from seamlab.figures.stitch_sample import SAMPLED, sample_figure

SVG = "{http://www.w3.org/2000/svg}"
TYPES = json.loads((Path(seamlab.__file__).parent / "data/stitches.json").read_text(encoding="utf-8"))
NEEDLE, UNDER, THIRD = "stitch-needle-thread", "stitch-under-thread", "stitch-third-thread"


def drawing(code, **options):
    options.setdefault("width_mm", 4.0)
    return ET.fromstring(stitch_figure(code, **options))


def sample(code, **options):
    return ET.fromstring(sample_figure(code, **({"stitch_length_mm": 2.5, "width_mm": 4.0} | options)))


def view(root, name):
    return next(g for g in root.iter(f"{SVG}g") if g.get("class") == name)


def paths(root, name):
    return [path for path in root.iter(f"{SVG}path") if path.get("class") == name]


def test_every_stitch_of_the_table_is_drawn():
    codes = {row["code"] for row in TYPES["stitch_types"]}
    assert set(DRAWN) == codes == set(SAMPLED)
    assert len(DRAWN) >= 20


@pytest.mark.parametrize("code", DRAWN)
def test_a_drawing_is_named_needs_no_style_and_stays_inside_its_picture(code):
    for root in (drawing(code), sample(code)):
        assert root.tag == f"{SVG}svg"
        assert root.get("role") == "img"
        _, _, width, height = map(float, root.get("viewBox").split())
        assert root[0].tag == f"{SVG}title"
        assert root[1].tag == f"{SVG}desc"
        for element in root.iter():
            tag = element.tag.removeprefix(SVG)
            assert tag in {"svg", "title", "desc", "g", "rect", "circle", "path", "text"}
            assert not {"style", "id"} & set(element.attrib)
            assert not any(name.startswith("on") for name in element.attrib)
        for path in root.iter(f"{SVG}path"):
            if not set(path.get("d")) & set("HV"):
                figures = [float(figure) for figure in re.findall(r"-?[\d.]+", path.get("d"))]
                assert all(0 <= x <= width for x in figures[::2])
                assert all(0 <= y <= height for y in figures[1::2])
    assert drawing(code)[0].text.startswith(f"{code} ")


@pytest.mark.parametrize("row", TYPES["stitch_types"], ids=lambda row: row["code"])
def test_threads_are_told_apart_without_colour_and_are_as_many_as_the_stitch_has(row):
    root = drawing(row["code"])
    looks = {name for name in (NEEDLE, UNDER, THIRD) if paths(root, name)}
    assert NEEDLE in looks
    assert (row["threads"] > 1) == (UNDER in looks)
    weights = {name: {path.get("stroke-width") for path in paths(root, name)} for name in looks}
    assert len({weight for found in weights.values() for weight in found}) == len(looks)
    # The words beside the drawing say which look is which thread.
    words = root[1].text
    for name, word in ((NEEDLE, "solid"), (UNDER, "hollow"), (THIRD, "striped")):
        assert (name in looks) == (word in words)


def lowest(root):
    (path,) = [p for p in paths(view(root, "stitch-cut"), NEEDLE) if p.get("d").startswith("M20 ")]
    return max(float(y) for y in re.findall(r"[\d.]+ ([\d.]+)", path.get("d")))


def test_lockstitch_threads_cross_inside_the_cloth_and_chain_threads_below_it():
    # The two layers lie from y 26 to 66; a cubic reaches three quarters of the way to its handles.
    assert 46 < lowest(drawing("301")) < 66
    assert lowest(drawing("401")) > 66


@pytest.mark.parametrize(
    ("code", "rows"), [("301", 1), ("406", 2), ("407", 3), ("602", 2), ("605", 3), ("607", 4)]
)
def test_a_cover_stitch_shows_as_many_rows_as_it_has_needles(code, rows):
    heights = {hole.get("cy") for hole in view(drawing(code), "stitch-above").iter(f"{SVG}circle")}
    assert len(heights) == rows


@pytest.mark.parametrize(("code", "period"), [("304", 2), ("308", 4), ("315", 6)])
def test_a_zigzag_takes_its_stitches_to_each_side(code, period):
    heights = [float(hole.get("cy")) for hole in view(drawing(code), "stitch-above").iter(f"{SVG}circle")]
    turn = period // 2
    assert heights[0] == min(heights)
    assert heights[turn] == max(heights)
    assert heights[:turn] == sorted(heights[:turn])


@given(length=st.floats(0.5, 6), width=st.floats(0.5, 6))
def test_zigzag_is_drawn_in_proportion_as_far_as_there_is_room(length, width):
    root = drawing("304", stitch_length_mm=length, width_mm=width)
    found = [
        (float(c.get("cx")), float(c.get("cy"))) for c in view(root, "stitch-above").iter(f"{SVG}circle")
    ]
    (ax, ay), (bx, by) = found[:2]
    wanted = min(66.0, max(16.0, (bx - ax) * width / length))
    assert abs(by - ay) == pytest.approx(wanted, abs=0.2)


@pytest.mark.parametrize(("length", "stitches"), [(2.0, 17), (2.5, 14), (4.0, 8)])
def test_a_sample_holds_as_many_stitches_as_go_into_it(length, stitches):
    # 36 mm of cloth with 0.4 mm free at each end: 35.2 / length stitches.
    assert len(paths(sample("301", stitch_length_mm=length, width_mm=0), NEEDLE)) == stitches


def test_a_sample_shows_thread_as_thick_as_it_is_and_every_strand():
    # Tex 27 is 0.204 mm by the diameter model (polyester of density 1.38, packing 0.6): 2.04 units at 10 to the mm.
    one = paths(sample("301", width_mm=0, thread_mm=thread_diameter(27)), NEEDLE)
    assert {path.get("stroke-width") for path in one} == {"2"}
    triple = paths(sample("301", width_mm=0, passes=3), NEEDLE)
    assert len(triple) == 3 * len(one)
    assert len(paths(sample("301", width_mm=0, passes=3, ends=2), NEEDLE)) == 6 * len(one)


def test_a_sample_too_wide_for_the_picture_says_so():
    assert "Drawn narrower than it is" in sample("304", width_mm=20)[1].text
    assert "narrower" not in sample("304", width_mm=9)[1].text


def test_sizes_are_said_in_words_and_a_title_given_is_escaped():
    assert "2.5 mm long, 3 mm wide" in stitch_figure("304", width_mm=3)
    assert "wide" not in stitch_figure("301", width_mm=3)
    assert drawing("301", title='side seam <b> & "hem"')[0].text == 'side seam <b> & "hem"'


@pytest.mark.parametrize(
    ("arguments", "options", "words"),
    [
        (("999",), {}, "stitch_type must be one of 101, 103"),
        (("304",), {}, "width_mm must be greater than 0"),
        (("301",), {"stitch_length_mm": 0}, "stitch_length_mm must be greater than 0"),
        (("504",), {"width_mm": float("nan")}, "width_mm must be a finite number"),
    ],
)
def test_bad_input_is_refused(arguments, options, words):
    with pytest.raises(ValueError, match=words):
        stitch_figure(*arguments, **options)


def test_a_sample_of_nothing_is_refused():
    with pytest.raises(ValueError, match="stitch_type must be one of"):
        sample_figure("999", stitch_length_mm=2)
    with pytest.raises(ValueError, match="passes must be a whole number"):
        sample_figure("301", stitch_length_mm=2, passes=0)
