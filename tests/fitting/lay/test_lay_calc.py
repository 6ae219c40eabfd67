"""Lays on cloth: every rule kept, by a geometry that did not find them. Pieces are of our own invention."""

import os
import random
import subprocess
from collections import Counter
from itertools import pairwise

import pytest
from shapely import Polygon, affinity
from shapely.geometry import MultiPoint

from fitting.calc import lay_solver
from fitting.calc.lay import Lay, LayCloth, LayPiece, NoLay, Placement, lay, lay_both_ways, measured
from fitting.calc.lay_buy import length_to_buy, usable_after_wash, whats_left
from fitting.calc.lay_check import check_lay, to_spare
from fitting.calc.lay_rules import laid, turns_allowed, why_turns

HALF_FRONT = LayPiece(
    "front",
    "Front",
    ((0, 0), (700, 0), (700, 260), (200, 240), (80, 120), (0, 90)),
    fold=((0, 0), (700, 0)),
)
SLEEVE = LayPiece("sleeve", "Sleeve", ((0, 0), (500, 60), (500, 300), (0, 420), (-90, 210)), 1, 1)
CUFF = LayPiece("cuff", "Cuff", ((0, 0), (240, 0), (240, 100), (0, 100)), 2, 2)
TOP = [HALF_FRONT, SLEEVE, CUFF]
# Random lays are quick ones of 20 ms; set LAYS=5000 for an afternoon's proof.
LAYS = int(os.environ.get("LAYS", "60"))


def random_pieces(chance: random.Random) -> list[LayPiece]:
    """Hulls, notched boxes and halves on a fold, of 40 to 400 mm, single, doubled and as mirrored pairs."""
    pieces = []
    for number in range(chance.randint(2, 7)):
        length, width = chance.uniform(40, 400), chance.uniform(40, 280)
        form = chance.choice(("hull", "box", "fold"))
        fold = None
        if form == "hull":
            dots = MultiPoint([(chance.uniform(0, length), chance.uniform(0, width)) for _ in range(9)])
            ring = tuple(dots.convex_hull.exterior.coords[:-1])
        elif form == "box":
            x, y = length * chance.uniform(0.3, 0.7), width * chance.uniform(0.3, 0.7)
            ring = ((0, 0), (length, 0), (length, y), (x, y), (x, width), (0, width))
        else:
            ring = ((0, 0), (length, 0), (length, width / 3), (length / 2, width / 2), (0, width / 4))
            fold = ((0, 0), (length, 0))
        mirrored = 0 if fold else chance.randint(0, 1)
        pieces.append(
            LayPiece(
                str(number),
                f"Piece {number}",
                ring,
                1,
                mirrored,
                arrow=chance.choice(("one", "both")),
                bias=not fold and chance.random() < 0.15,
                grain_change=chance.choice((0.0,) * 8 + (3.0,)) if not fold else 0.0,
                fold=fold,
            )
        )
    return pieces


def overlap_of(pieces: list[LayPiece], cloth: LayCloth, found: Lay) -> float:
    """The largest area that two pieces share, mm2, reckoned here from the placements alone."""
    by_key = {piece.key: piece for piece in pieces}
    shapes = []
    for one in found.placements:
        piece = by_key[one.key]
        shape = Polygon(piece.shape if cloth.folded else piece.whole)
        if one.mirrored:
            shape = affinity.scale(shape, 1, -1, origin=(0, 0))
        shapes.append(affinity.translate(affinity.rotate(shape, one.turn, origin=(0, 0)), one.x, one.y))
        left, low, right, high = shapes[-1].bounds
        assert min(left, low) >= -0.05
        assert high <= cloth.strip + 0.05
        assert right <= found.length + 0.05
    return max((a.intersection(b).area for i, a in enumerate(shapes) for b in shapes[i + 1 :]), default=0.0)


def test_random_lays_never_overlap_and_never_turn_against_a_rule():
    chance = random.Random(os.environ.get("LAYS_SEED", "laid by chance"))
    folded = 0
    for _ in range(LAYS):
        pieces = random_pieces(chance)
        direction = chance.choice(("nap", "not_known", "two_way"))
        cloth = LayCloth(chance.uniform(900, 1500), direction, folded=chance.random() < 0.3)
        found = lay(pieces, cloth, seconds=0, workers=1)
        folded += cloth.folded
        assert overlap_of(pieces, cloth, found) < 1.0  # mm2: rounding along a metre of edge
        for one in found.placements:
            piece = next(piece for piece in pieces if piece.key == one.key)
            ways = {0.0} if direction != "two_way" or piece.arrow == "one" else {0.0, 180.0}
            if piece.bias:
                ways = {way + tilt for way in ways for tilt in (45, 315)}
            assert any(one.turn == (way + piece.grain_change) % 360 for way in ways)
        if not cloth.folded:
            wanted = sum(piece.count + piece.mirrored for piece in pieces)
            assert len(found.placements) == wanted
            mirrored = sum(one.mirrored for one in found.placements)
            assert mirrored == sum(piece.mirrored for piece in pieces)
    assert LAYS < 60 or folded


def test_two_ways_are_never_longer_than_one_and_the_price_is_told():
    both = lay_both_ways(TOP, LayCloth(1100, "sheen"), seconds=2)
    assert both.two_way.length <= both.one_way.length
    assert both.price_of_one_way == both.one_way.length - both.two_way.length
    assert {one.turn for one in both.one_way.placements} == {0.0}
    area = sum(piece.area * (piece.count + piece.mirrored) for piece in TOP)
    assert both.one_way.density == pytest.approx(100 * area / (both.one_way.length * 1100))
    assert check_lay(TOP, LayCloth(1100, "sheen"), both.one_way.placements) == ()
    assert check_lay(TOP, LayCloth(1100, "two_way"), both.two_way.placements) == ()


def test_on_folded_cloth_pairs_are_cut_at_once_and_folds_lie_on_the_fold():
    found = lay(TOP, LayCloth(1100, "nap", folded=True), seconds=1)
    assert sorted(one.key for one in found.placements) == ["cuff", "cuff", "front", "sleeve"]
    front = next(one for one in found.placements if one.key == "front")
    assert min(y for _, y in laid(HALF_FRONT, front, folded=True)) == pytest.approx(0, abs=0.01)
    # What is cut once, or twice alike, is laid all the same: the other layer has one to spare.
    once = LayPiece("once", "Pocket", SLEEVE.shape, 1, 0)
    alike = LayPiece("alike", "Facing", SLEEVE.shape, 2, 0)
    band = LayPiece("band", "Band", CUFF.shape, 3, 0)
    cloth = LayCloth(1100, folded=True)
    found = lay([once, alike, band], cloth, seconds=0)
    assert Counter(one.key for one in found.placements) == {"once": 1, "alike": 2, "band": 2}
    assert [to_spare(piece, True) for piece in (once, alike, band, SLEEVE, HALF_FRONT)] == [1, 2, 1, 0, 0]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: LayCloth(0), "no usable width"),
        (
            lambda: LayPiece("a", "Bow", ((0, 0), (10, 10), (10, 0), (0, 10))),
            "Bow has an outline that crosses",
        ),
        (lambda: LayPiece("a", "Line", ((0, 0), (10, 0))), "Line needs an outline of at least three points"),
        (lambda: LayPiece("a", "Ring", CUFF.shape, holes=[((1, 1), (2, 1), (2, 2))]), "Ring has a hole"),
        (lambda: LayPiece("a", "None", CUFF.shape, 0, 0), "None is to be cut no times"),
        (lambda: LayPiece("a", "Half", CUFF.shape, fold=((0, 0), (240, 100))), "not a straight edge"),
        (lambda: lay([CUFF], LayCloth(90)), "Cuff is 100 mm across its grain and the cloth is only 90 mm"),
        (lambda: lay([], LayCloth(900)), "at least one piece"),
        (lambda: lay([CUFF, CUFF], LayCloth(900)), "Two pieces have the key"),
        (lambda: LayCloth(900, "sideways"), "direction must be one of"),
    ],
)
def test_what_cant_be_laid_is_named(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_turns_and_their_reasons():
    bias = LayPiece("b", "Binding", CUFF.shape, bias=True)
    changed = LayPiece("c", "Yoke", CUFF.shape, grain_change=90)
    arrow = LayPiece("d", "Back", CUFF.shape, arrow="one")
    assert turns_allowed(CUFF, "nap") == (0.0,)
    assert turns_allowed(CUFF, "two_way") == (0.0, 180.0)
    assert turns_allowed(bias, "nap") == (45.0, 315.0)
    assert turns_allowed(bias, "two_way") == (45.0, 135.0, 225.0, 315.0)
    assert turns_allowed(changed, "two_way") == (90.0, 270.0)
    assert turns_allowed(arrow, "two_way") == (0.0,)
    assert "only seen when worn" in why_turns(CUFF, "not_known")
    assert "one head" in why_turns(arrow, "two_way")


def test_every_broken_rule_is_found():
    cloth = LayCloth(500, "nap")
    pieces = [LayPiece("cuff", "Cuff", CUFF.shape, 1, 1), SLEEVE]
    good = [
        Placement("cuff", False, 0, 0, 0),
        Placement("cuff", True, 250, 100, 0),
        Placement("sleeve", False, 600, 0, 0),
        Placement("sleeve", True, 1200, 430, 0),
    ]
    assert check_lay(pieces, cloth, good) == ()

    def wrong(place: int, **changed: object) -> set[str]:
        from dataclasses import replace

        rows = [replace(one, **changed) if i == place else one for i, one in enumerate(good)]  # type: ignore[arg-type]
        return {problem.kind for problem in check_lay(pieces, cloth, rows)}

    assert wrong(1, x=239.0) == {"overlap"}
    assert wrong(1, x=239.96) == set()  # less than a chalk line
    assert wrong(0, y=-1) == {"edge"}
    assert wrong(3, turn=180.0, y=0, x=2000) == {"turn"}
    assert wrong(3, mirrored=False, y=0) == {"mirror"}
    assert wrong(3, key="cuff") == {"missing"}
    assert {p.kind for p in check_lay(pieces, cloth, good[:3])} == {"missing"}
    assert {p.kind for p in check_lay(pieces, cloth, good, length=1500)} == {"edge"}
    assert measured(pieces, cloth, good)[0] == 1700


def test_a_solver_that_dies_is_one_sentence(monkeypatch, tmp_path):
    broken = tmp_path / "child.py"
    broken.write_text("import os\nos.abort()\n")
    monkeypatch.setattr(lay_solver, "CHILD", broken)
    with pytest.raises(NoLay, match="stopped without an answer"):
        lay([CUFF], LayCloth(900), seconds=1)


def test_stopping_a_lay_ends_its_process(monkeypatch):
    class Stopped(Exception):
        pass

    started = []
    whole = subprocess.Popen

    def seen(*args, **kwargs):
        started.append(whole(*args, **kwargs))
        return started[-1]

    monkeypatch.setattr(lay_solver.subprocess, "Popen", seen)

    def tell(gone: float, length: float | None) -> None:
        if length is not None:
            raise Stopped

    with pytest.raises(Stopped):
        lay_both_ways(TOP, LayCloth(1100), seconds=60, tell=tell)
    assert len(started) == 2
    assert all(process.poll() is not None for process in started)


def test_how_much_to_buy():
    inch = 25.4
    # 96 in with a repeat of 27 in is 4 repeats, 108 in: a home-furnishing how-to.
    bought = length_to_buy(96 * inch, repeat=27 * inch, cutting_unit=1)
    assert bought.steps[1].length == pytest.approx(108 * inch)
    # Pieces stacked one above the other, 4.25 in x 2 = 8.5 in more: a fabric shop's note.
    matched = length_to_buy(102 * inch, repeat=4.25 * inch, matched=2, cutting_unit=1)
    assert matched.steps[1].added == pytest.approx(8.5 * inch)
    # Own sum: 1940 mm from a cloth that loses 3 % is 2000 mm, and 50 mm for the ends, in steps of 100 mm.
    whole = length_to_buy(1940, change_percent=-3, washed_first=True, end_allowance=50)
    assert [round(step.length) for step in whole.steps] == [1940, 2000, 2050, 2100]
    assert whole.length == 2100
    assert all(b.length >= a.length for a, b in pairwise(whole.steps))
    unwashed = length_to_buy(1940, change_percent=-3)
    assert unwashed.length == 2000
    assert "shorter" in unwashed.notes[0]
    assert usable_after_wash(1400, -5, True) == pytest.approx(1330)
    assert usable_after_wash(1400, -5, False) == 1400
    assert whats_left(1900, 2100) == -200
    with pytest.raises(ValueError, match="needs the lengthwise repeat"):
        length_to_buy(900, matched=1)
