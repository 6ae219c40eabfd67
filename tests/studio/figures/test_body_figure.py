"""The body figure: every level and every measure of the catalogue is drawn, labels and leaders keep apart."""

import json
import random
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any, cast

import pytest

import studio
from studio.figures.body import TapeLine, body_figure, label_layout, tape_line
from studio.figures.landmarks import landmark, tape_path
from studio.figures.outline import BUILDS, HEIGHT, LEVELS, VIEWS, across, outline
from studio.figures.tape import ONE_LEVEL_GIRTHS, TWO_LEVEL_GIRTHS
from tests.studio.figures.checks import NASTY, crossing, overlap, read, words

CATALOGUE = json.loads(Path(studio.__path__[0], "data", "measures.json").read_text(encoding="utf-8"))
DRAWN = [m for m in CATALOGUE["measures"] if m["figure"]]
LONG = "Length from the neck point over the fullest part of the bust to the waist tape, taken standing"


def catalogue_lines(view: str, label: str = "") -> list[TapeLine]:
    return [
        tape_line(i, m["figure"], body_side=m["side"], label=label or m["name"], value="103 3/8 in")
        for i, m in enumerate((m for m in DRAWN if m["figure"]["view"] == view), start=1)
    ]


def random_lines(seed: int, count: int) -> list[TapeLine]:
    draw = random.Random(seed)
    lines = []
    levels = [level for level in LEVELS if level != "centre"]
    for number in range(1, count + 1):
        kind = draw.choice(["girth", "line", "height"])
        side = draw.choice(["left", "right", "centre"])
        start, end = draw.sample(levels, 2)
        if kind == "girth":
            start, end = draw.choice(ONE_LEVEL_GIRTHS), ""
        label = " ".join(
            draw.choices(
                ["girth", "of", "the", "neck", "length", "crosswise", "W" * 30], k=draw.randint(0, 9)
            )
        )
        lines.append(TapeLine(number, cast(Any, kind), start, end, label, "97 3/8 in", cast(Any, side)))
    return lines


def assert_apart(lines: list[TapeLine], view: str, build: str, labels: bool = True) -> None:
    layout = label_layout(view, lines, build=build, labels=labels)
    assert sorted(p.number for p in layout) == sorted(line.number for line in lines)
    for a, b in combinations(layout, 2):
        assert not overlap(a.box, b.box), (a.number, b.number)
        for p in pairwise(a.leader):
            for q in pairwise(b.leader):
                assert not crossing(*p, *q), (a.number, b.number)
    root = read(body_figure(view, lines, build=build, labels=labels))
    left, top, width, height = (float(v) for v in root.attrib["viewBox"].split())
    for place in layout:
        assert place.box[0] >= left
        assert place.box[2] <= left + width
        assert place.box[1] >= top
        assert place.box[3] <= top + height


@pytest.mark.parametrize("labels", [True, False])
@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("view", VIEWS)
def test_every_measure_of_the_catalogue_is_drawn_and_labels_keep_apart(
    view: str, build: str, labels: bool
) -> None:
    assert_apart(catalogue_lines(view), view, build, labels)


@pytest.mark.parametrize("view", VIEWS)
def test_sixteen_lines_with_long_labels_keep_apart_and_lose_no_word(view: str) -> None:
    lines = catalogue_lines(view, LONG)[:16]
    assert_apart(lines, view, "adult")
    said = words(read(body_figure(view, lines)))
    assert said.count("fullest") == len(lines)
    assert said.count("103 3/8 in".replace(" ", "\u00a0")) == len(
        lines
    )  # a number keeps its fraction and unit


@pytest.mark.parametrize("seed", range(40))
def test_any_mixture_of_lines_keeps_apart(seed: int) -> None:
    view = VIEWS[seed % 3]
    assert_apart(random_lines(seed, 4 + seed % 17), view, BUILDS[seed % 2])


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("build", BUILDS)
def test_every_level_is_known_and_lies_between_crown_and_floor(view: str, build: str) -> None:
    body = outline(view, build)
    for level in LEVELS:
        if level == "centre":
            continue
        assert 0 <= body.levels[level] <= HEIGHT
        for side in (-1, 0, 1):
            x, y = landmark(body, view, level, side)
            assert abs(x) <= 190
            assert -1 <= y <= HEIGHT + 1


def test_the_order_of_the_levels_is_that_of_a_body() -> None:
    down = [
        *(
            "head_top",
            "brow",
            "ear",
            "chin",
            "neck",
            "neck_base",
            "shoulder",
            "shoulder_point",
            "armpit",
            "chest",
        ),
        *("bust", "underbust", "waist", "abdomen", "high_hip", "hip", "crotch", "thigh", "mid_thigh", "knee"),
        *("below_knee", "calf", "ankle", "floor"),
    ]
    for build in BUILDS:
        levels = outline("front", build).levels
        assert [levels[name] for name in down] == sorted(levels[name] for name in down)
    # A child's head is a larger share of its height (common practice of figure drawing, no source).
    assert outline("front", "child").levels["chin"] > outline("front", "adult").levels["chin"]


@pytest.mark.parametrize("build", BUILDS)
def test_front_and_back_are_symmetrical_so_that_neither_side_is_the_better_one(build: str) -> None:
    body = outline("front", build)
    for y in range(5, 795, 10):
        hits = across(body.flat_edge, (0.0, y + 0.5), (1.0, 0.0))
        assert len(hits) % 2 == 0
        assert hits == pytest.approx([-h for h in reversed(hits)], abs=0.6)


@pytest.mark.parametrize("start", [level for level in LEVELS if level != "centre"])
@pytest.mark.parametrize("view", VIEWS)
def test_a_line_runs_from_its_start_to_its_end(view: str, start: str) -> None:
    body = outline(view, "adult")
    for end in ("waist", "wrist", "knee", "neck_point", "crotch", "head_top"):
        for side in (-1, 0, 1):
            path = tape_path(body, view, start, end, side)
            assert len(path) >= 2
            if start != end and "head_top" not in (start, end) and {start, end} != {"brow", "nape"}:
                ys = sorted([path[0][1], path[-1][1]])
                wanted = sorted([body.levels[start], body.levels[end]])
                assert ys == pytest.approx(wanted, abs=8)


def test_sides_of_the_body_become_sides_of_the_picture() -> None:
    figure = {"view": "front", "kind": "girth", "from": "thigh", "to": "thigh"}
    assert tape_line(1, figure, body_side="right").side == "left"
    assert tape_line(1, {**figure, "view": "back"}, body_side="right").side == "right"
    assert tape_line(1, {**figure, "view": "side"}, body_side="right").side == "centre"
    left = label_layout("front", [tape_line(1, figure, body_side="right")])[0]
    assert left.leader[0][0] < 0  # the wearer's right thigh, seen from the front


def test_text_is_escaped_and_characters_that_xml_forbids_do_no_harm() -> None:
    lines = [TapeLine(1, "girth", "waist", label=NASTY, value=NASTY)]
    svg = body_figure("front", lines, title=NASTY, description=NASTY)
    assert "<b>" not in svg
    root = read(svg)
    assert "<b>" in words(root)
    assert "<b>" in (root[0].text or "")


def test_the_description_tells_what_the_picture_shows() -> None:
    root = read(body_figure("back", [TapeLine(3, "girth", "hip", label="Hip girth", value="103.0 cm")]))
    assert root[0].text == "Body, back view, with 1 measure"
    assert root[1].text == "3: Hip girth 103.0 cm"
    assert read(body_figure("side", []))[1].text


def test_the_same_lines_give_the_same_bytes() -> None:
    assert body_figure("front", catalogue_lines("front")) == body_figure("front", catalogue_lines("front"))


def test_without_labels_only_the_numbers_are_printed() -> None:
    root = read(
        body_figure("front", [TapeLine(7, "girth", "hip", label="Hip girth", value="103.0 cm")], labels=False)
    )
    assert words(root) == "7"


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (TapeLine(0, "girth", "waist"), "number must be 1 or more"),
        (TapeLine(1, cast(Any, "area"), "waist"), "kind is 'area'; allowed are girth, line, height"),
        (TapeLine(1, "girth", "tail"), "start is 'tail'; allowed levels are"),
        (TapeLine(1, "line", "waist", "tail"), "end is 'tail'; allowed levels are"),
        (TapeLine(1, "girth", "floor"), "no girth is taken at 'floor'"),
        (TapeLine(1, "girth", "waist", "hip"), "no girth runs through 'waist' and 'hip'"),
        (TapeLine(1, "height", "waist", "waist"), "a height needs two different levels"),
        (TapeLine(1, "height", "centre", "waist"), "a height needs two different levels"),
        (TapeLine(1, "line", "centre", "centre"), "one of them must be a level"),
        (
            TapeLine(1, "girth", "waist", side=cast(Any, "above")),
            "side is 'above'; allowed are left, right, centre",
        ),
    ],
)
def test_bad_lines_are_refused_in_a_sentence(line: TapeLine, sentence: str) -> None:
    with pytest.raises(ValueError, match=r"^tape line \d+: .*\.$") as refused:
        body_figure("front", [line])
    assert sentence in str(refused.value)


def test_bad_pictures_are_refused_in_a_sentence() -> None:
    with pytest.raises(ValueError, match="view is 'top'; allowed are front, back, side"):
        body_figure("top", [])
    with pytest.raises(ValueError, match="build is 'giant'; allowed are adult, child"):
        body_figure("front", [], build="giant")
    with pytest.raises(ValueError, match="tape line 2: the number is used twice"):
        body_figure("front", [TapeLine(2, "girth", "hip"), TapeLine(2, "girth", "waist")])
    with pytest.raises(ValueError, match="'to' is missing"):
        tape_line(1, {"view": "front", "kind": "girth", "from": "hip"})
    with pytest.raises(ValueError, match="side is 'up'"):
        tape_line(1, {"view": "front", "kind": "girth", "from": "hip", "to": "hip"}, body_side="up")


@pytest.mark.parametrize("pair", TWO_LEVEL_GIRTHS)
@pytest.mark.parametrize("view", VIEWS)
def test_loops_through_two_levels_are_drawn(view: str, pair: tuple[str, str]) -> None:
    for side in ("left", "right"):
        assert_apart([TapeLine(1, "girth", pair[0], pair[1], side=cast(Any, side))], view, "child")
