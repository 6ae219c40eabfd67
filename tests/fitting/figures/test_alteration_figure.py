"""Paper alterations: every place of every garment can be marked, markers keep apart, bad rows are refused."""

import math
from itertools import combinations, pairwise

import pytest

from fitting.figures.alterations import (
    CHANGES,
    GARMENTS,
    AlterationRow,
    alteration_figure,
    changes_at,
    kinds,
    marker_layout,
    places,
)
from tests.studio.figures.checks import NASTY, SVG, crossing, read, words

LONG = (
    "Lengthen at the line between waist and hip on every piece that crosses it, and true the seams after it"
)


def all_rows(kind: str, turn: int = 0) -> list[AlterationRow]:
    rows = []
    for number, place in enumerate(places(kind), start=1):
        allowed = changes_at(kind, place)
        rows.append(
            AlterationRow(number, place, allowed[(number + turn) % len(allowed)], LONG, "6 mm at each edge")
        )
    return rows


def test_the_garments_of_the_house_are_there() -> None:
    assert kinds() == ("skirt", "trousers", "bodice", "shirt", "tshirt", "dress", "jacket")


@pytest.mark.parametrize("turn", [0, 1, 2])
@pytest.mark.parametrize("kind", kinds())
def test_every_place_is_marked_on_every_piece_that_has_it_and_markers_keep_apart(
    kind: str, turn: int
) -> None:
    rows = all_rows(kind, turn)
    discs = marker_layout(kind, rows)
    assert len(discs) == sum(len(piece.marks) for piece in GARMENTS[kind])
    for a, b in combinations(discs, 2):
        assert math.dist(a.centre, b.centre) >= 24 or a is b
        assert not crossing(a.anchor, a.centre, b.anchor, b.centre), (a.number, b.number)
    root = read(alteration_figure(kind, rows))
    width, height = (float(v) for v in root.attrib["viewBox"].split()[2:])
    for disc in discs:
        assert 12 <= disc.centre[0] <= width - 12
        assert 12 <= disc.centre[1] <= height - 12
    assert words(root).count("every") == len(rows)


@pytest.mark.parametrize("kind", kinds())
def test_marks_lie_on_their_piece(kind: str) -> None:
    for piece in GARMENTS[kind]:
        for place, mark in piece.marks.items():
            for x, y in mark.points:
                assert -30 <= x <= piece.width + 1, (piece.name, place)
                assert -1 <= y <= piece.height + 1, (piece.name, place)


@pytest.mark.parametrize("kind", kinds())
def test_pieces_do_not_lie_on_each_other(kind: str) -> None:
    root = read(alteration_figure(kind, []))
    starts = [float(g.attrib["transform"][10:].split()[0]) for g in root.findall(f"{SVG}g")]
    assert len(starts) == len(GARMENTS[kind])
    for (piece, left), (_, following) in pairwise(zip(GARMENTS[kind], starts, strict=True)):
        assert left + piece.width < following


def test_lengthening_and_shortening_let_out_and_take_in_look_different() -> None:
    for place, pair in (("skirt_length", ("lengthen", "shorten")), ("hip", ("let out", "take in"))):
        first, second = (alteration_figure("skirt", [AlterationRow(1, place, c, "x")]) for c in pair)
        assert first != second


def test_let_out_moves_the_seam_outwards_and_take_in_inwards() -> None:
    def moved(change: str) -> float:
        svg = alteration_figure("skirt", [AlterationRow(1, "hip", change, "x")])
        dashed = next(p for p in read(svg).iter(f"{SVG}path") if p.get("stroke-dasharray") == "5 4")
        return max(float(n) for n in dashed.attrib["d"].replace("M", " ").replace("C", " ").split()[2::2])

    seam = max(x for x, _ in GARMENTS["skirt"][0].marks["hip"].points)
    assert moved("let out") > seam
    assert moved("take in") <= seam


def test_text_is_escaped_and_the_bytes_are_the_same_each_time() -> None:
    rows = [AlterationRow(1, "hem", "lengthen", NASTY, NASTY)]
    assert "<b>" in words(read(alteration_figure("skirt", rows, title=NASTY)))
    assert alteration_figure("skirt", rows) == alteration_figure("skirt", rows)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (AlterationRow(0, "hem", "lengthen", "x"), "number must be 1 or more"),
        (AlterationRow(1, "hood", "lengthen", "x"), "a skirt has no place 'hood'; it has"),
        (AlterationRow(1, "hem", "widen", "x"), f"change is 'widen'; allowed are {', '.join(CHANGES)}"),
        (AlterationRow(1, "hip", "lengthen", "x"), "at 'hip' one can let out or take in, not 'lengthen'"),
        (AlterationRow(1, "skirt_length", "let out", "x"), "at 'skirt_length' one can lengthen or shorten"),
    ],
)
def test_bad_rows_are_refused_in_a_sentence(row: AlterationRow, sentence: str) -> None:
    with pytest.raises(ValueError, match=r"^alteration \d+: .*\.$") as refused:
        alteration_figure("skirt", [row])
    assert sentence in str(refused.value)


def test_unknown_garments_and_numbers_used_twice_are_refused() -> None:
    with pytest.raises(ValueError, match="garment kind is 'cape'; drawings exist for skirt, trousers"):
        alteration_figure("cape", [])
    row = AlterationRow(1, "hem", "lengthen", "x")
    with pytest.raises(ValueError, match="alteration 1: the number is used twice"):
        alteration_figure("skirt", [row, row])
    with pytest.raises(ValueError, match="has no place 'hood'"):
        changes_at("skirt", "hood")
