"""Drawings of a cloth: to scale, inside their pictures, telling the same in words."""

import math
import re
import xml.etree.ElementTree as ET

import pytest

from seamlab.figures.bias import Give, bias_figure
from seamlab.figures.cloth import DIRECTIONS, Stretch, direction_figure, stretch_figure

SVG = "{http://www.w3.org/2000/svg}"
STRIPS = [
    Give(0, 0.5),
    Give(15, 1.2),
    Give(30, 2.6),
    Give(45, 3.3),
    Give(60, 2.6),
    Give(75, 1.3),
    Give(90, 0.6),
]


def parts(svg, tag):
    return list(ET.fromstring(svg).iter(SVG + tag))


def numbers(text):
    return [float(value) for value in re.findall(r"-?\d+(?:\.\d+)?", text)]


def test_the_rose_lies_as_far_out_as_the_cloth_gives():
    svg = bias_figure(STRIPS)
    curve = next(path for path in parts(svg, "path") if path.get("stroke-width") == "3")
    spots = list(zip(*[iter(numbers(curve.get("d")))] * 2, strict=True))
    corner = next(path for path in parts(svg, "path") if path.get("fill"))
    origin = numbers(corner.get("d"))[:2]
    out = [math.dist(origin, spot) for spot in spots]
    for strip, distance in zip(STRIPS, out, strict=True):
        assert distance / out[3] == pytest.approx(strip.mm / 3.3, abs=0.01)
    turn = math.degrees(math.atan2(spots[2][0] - origin[0], origin[1] - spots[2][1]))
    assert turn == pytest.approx(30, abs=0.3)
    assert "3.3 mm at 45 degrees" in parts(svg, "desc")[0].text


@pytest.mark.parametrize(
    ("strips", "words"),
    [
        (STRIPS[1:], "0 degrees are missing"),
        (STRIPS[::-1], "must rise"),
        ([Give(0, 0.5), Give(45, 0), Give(90, 1)], "greater than 0"),
    ],
)
def test_a_rose_of_nonsense_is_refused(strips, words):
    with pytest.raises(ValueError, match=words):
        bias_figure(strips)


def test_stretch_is_drawn_to_scale_and_told():
    svg = stretch_figure(Stretch(30), Stretch(50, 4))
    pulled, relaxed = parts(svg, "rect")
    assert float(pulled.get("width")) / float(relaxed.get("width")) == pytest.approx(1.5, abs=0.01)
    assert float(pulled.get("height")) / float(relaxed.get("height")) == pytest.approx(1.3, abs=0.01)
    assert "Lengthwise: 30 %. Crosswise: 50 %." in parts(svg, "desc")[0].text
    assert "Lengthwise: not tested" in parts(stretch_figure(None, Stretch(50)), "desc")[0].text
    with pytest.raises(ValueError, match="crosswise"):
        stretch_figure(None, Stretch(-1))


@pytest.mark.parametrize("percents", [(0, 0), (200, 20), (20, 400), (500, 500)])
def test_no_stretch_leaves_the_picture(percents):
    root = ET.fromstring(stretch_figure(Stretch(percents[0]), Stretch(percents[1])))
    width, height = numbers(root.get("viewBox"))[2:]
    for rect in root.iter(SVG + "rect"):
        x, y, w, h = (float(rect.get(name)) for name in ("x", "y", "width", "height"))
        assert x >= 0
        assert y >= 0
        assert x + w <= width
        assert y + h <= height


def test_pieces_turn_only_where_the_cloth_is_two_way():
    for direction in DIRECTIONS:
        told = parts(direction_figure(direction), "desc")[0].text
        assert ("opposite ways" in told) == (direction == "two_way")
    with pytest.raises(ValueError, match="must be one of"):
        direction_figure("sideways")
