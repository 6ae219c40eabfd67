"""Outlines measured, drafted and walked. Circles and rectangles are measured against their formulas."""

import json
import math
from itertools import pairwise

import pytest
from shapely import LineString, Polygon

from fitting.calc.drafts import DRAFTED_KINDS, SEAMS, draft, seam_edges
from fitting.calc.lay_rules import opened_out
from fitting.calc.outline import (
    Dart,
    Edge,
    Outline,
    along_grain,
    checked,
    edge_length,
    girth_at,
    lay_piece,
    opened,
    outline_data,
    outline_from,
    width_at,
)
from fitting.calc.walk import walk

MEASURES = {
    "skirt": {"waist": 720, "hip": 980, "waist_to_hip": 200},
    "trousers": {"waist": 740, "hip": 1000, "rise": 270, "leg": 760, "waist_to_hip": 200},
    "bodice": {"bust": 960, "waist": 760, "back_waist": 410, "upper_arm": 340, "sleeve": 590},
    "shirt": {"chest": 1120, "hip": 1120, "back_waist": 440, "sleeve": 640, "upper_arm": 420},
    "tshirt": {"bust": 980, "waist": 940, "hip": 1000, "back_waist": 410, "sleeve": 220},
}
RECTANGLE = Outline(cut=((0, 0), (400, 0), (400, 600), (0, 600)), grain=((100, 550), (100, 50)), arrow="both")


def pieces_of(kind: str, grow: float = 1.0, **changed: float) -> dict[str, Outline]:
    measures = {code: value * grow for code, value in MEASURES[kind].items()} | changed
    return {piece.name: piece.outline for piece in draft(kind, measures)}


def test_a_curve_is_as_long_as_its_circle():
    arc = tuple((200 * math.cos(t / 400 * math.pi), 200 * math.sin(t / 400 * math.pi)) for t in range(401))
    assert edge_length(Edge("arc", arc)) == pytest.approx(200 * math.pi, rel=1e-5)


@pytest.mark.parametrize("grow", [0.85, 1.0, 1.25])
@pytest.mark.parametrize("kind", DRAFTED_KINDS)
def test_every_draft_can_be_cut_laid_kept_and_sewn(kind, grow):
    pieces = pieces_of(kind, grow)
    for name, piece in pieces.items():
        assert checked(piece, name) is piece
        assert Polygon(piece.cut).buffer(0.1).covers(Polygon(piece.seam))
        assert outline_from(json.loads(json.dumps(outline_data(piece)))).cut == tuple(
            (round(x, 3), round(y, 3)) for x, y in piece.cut
        )
        laid = lay_piece(piece, key=name, name=name, cut=2)
        assert laid.mirrored == (1 if piece.mirrored and not piece.fold else 0)
        assert Polygon(laid.shape).area == pytest.approx(Polygon(piece.cut).area, rel=1e-6)
        # The allowance has its width along every straight seam.
        for edge in piece.edges:
            middle = LineString(edge.points).interpolate(0.5, normalized=True)
            gap = LineString([*piece.cut, piece.cut[0]]).distance(middle)
            assert gap == pytest.approx(15, abs=0.3), (name, edge.name)
    for seam in SEAMS[kind]:
        found = walk(
            seam_edges(pieces, seam.first),
            seam_edges(pieces, seam.second),
            ease_least=seam.ease_least,
            ease_most=seam.ease_most,
        )
        assert found.is_good, found.words


def test_girths_measured_on_the_pieces_are_those_of_the_size_table():
    skirt = pieces_of("skirt")
    parts = [(skirt["Front"], 1), (skirt["Back"], 2)]
    top = dict.fromkeys(skirt, (0.0, 0.0))
    hip = girth_at([(piece, cut, 200, top["Front"]) for piece, cut in parts])
    assert hip == pytest.approx(980, abs=1)
    # Darts end above the hip; below it nothing is taken, between waist and tip a part.
    high = width_at(skirt["Back"], 60, (0.0, 0.0))
    assert len(high.intakes) == 1
    assert 0 < high.intakes[0] < skirt["Back"].darts[0].intake
    top_pieces = pieces_of("tshirt")
    bust = girth_at(
        [
            (
                top_pieces[name],
                1,
                -min(y for _, y in seam_edges(top_pieces, ((name, "armhole", False),))[0].points),
                (0.0, 0.0),
            )
            for name in ("Front", "Back")
        ]
    )
    assert bust == pytest.approx(980, abs=1)


def test_a_fold_is_opened_out_exactly():
    front = pieces_of("skirt")["Front"]
    whole = opened(front)
    assert Polygon(whole.cut).area == pytest.approx(2 * Polygon(front.cut).area, rel=1e-9)
    assert len(whole.darts) == 2 * len(front.darts)
    assert front.fold is not None
    assert opened_out(front.cut, front.fold, "Front") == whole.cut
    left, _, right, _ = Polygon(whole.cut).bounds
    assert left == pytest.approx(-right)


def test_a_piece_is_turned_onto_its_grain():
    turned = along_grain(RECTANGLE)
    assert turned.grain is not None
    (ax, ay), (bx, by) = turned.grain
    assert by == pytest.approx(ay)
    assert bx - ax == pytest.approx(500)
    assert Polygon(turned.cut).bounds == pytest.approx((0, 0, 600, 400))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"grain": None}, "Yoke has no grainline"),
        ({"grain": ((0, 0), (3, 4))}, "grainline is 5 mm long"),
        ({"cut": ((0, 0), (10, 10), (10, 0), (0, 10))}, "Yoke has an outline that crosses"),
        ({"fold": ((0, 0), (400, 600))}, "not a straight edge"),
        ({"edges": (Edge("side", ((0, 0), (0, 90)), (99,)),)}, "a notch of the edge side lies beyond"),
        ({"arrow": "up"}, "arrow must be one of"),
    ],
)
def test_what_is_wrong_with_a_piece_is_said(changed, words):
    from dataclasses import replace

    with pytest.raises(ValueError, match=words):
        checked(replace(RECTANGLE, **changed), "Yoke")


def test_walking_seams():
    long, short = Edge("Back side", ((0, 0), (0, 406))), Edge("Front side", ((0, 0), (0, 400)))
    assert walk([long], [short]).words == "Back side and Front side: the first is 6 mm longer."
    eased = walk([long], [short], ease_least=4, ease_most=10)
    assert (eased.verdict, eased.eased) == ("eased", 6)
    assert walk([short], [long], ease_least=4, ease_most=9).verdict == "too short"
    assert walk([Edge("a", ((0, 0), (0, 401)))], [short]).verdict == "equal"
    # A seam across a dart: two edges that follow one another.
    assert walk([Edge("a", ((0, 0), (0, 150))), Edge("b", ((0, 0), (250, 0)))], [short]).verdict == "equal"
    notched = [Edge("a", ((0, 0), (0, 400)), (100, 200)), Edge("b", ((0, 0), (0, 400)), (100, 204))]
    off = walk([notched[0]], [notched[1]])
    assert off.verdict == "notches"
    assert "stretch 2 is off by 4 mm" in off.words
    assert walk([notched[0]], [short]).verdict == "notches"
    with pytest.raises(ValueError, match="two sides"):
        walk([], [short])


def test_drafts_say_what_they_lack():
    with pytest.raises(ValueError, match="no waist; the draft needs it"):
        draft("skirt", {"hip": 900})
    with pytest.raises(ValueError, match="no draft for 'jacket'"):
        draft("jacket", {})
    with pytest.raises(ValueError, match="sleeve does not go with the armhole"):
        draft("bodice", MEASURES["bodice"] | {"upper_arm": 900})


def test_an_intake_is_as_wide_as_its_triangle():
    dart = Dart((190, 600), (210, 600), (200, 500))
    from dataclasses import replace

    found = width_at(replace(RECTANGLE, darts=(dart,)), 50, (0, 600))
    assert found.width == pytest.approx(400)
    assert found.intakes == pytest.approx((10,))
    assert all(a != b for a, b in pairwise(RECTANGLE.cut))
