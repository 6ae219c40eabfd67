"""Lays as services and queries keep them: frozen, checked, chosen; grain at the table; remnants."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone
from shapely import Polygon

from fitting.calc.lay_check import check_lay
from fitting.calc.lay_rules import laid
from fitting.models import GrainCheck, LayDrawing, LayPlan, PatternPiece, PieceOutline, Remnant
from fitting.queries.lays import cloth_of, lay_list, lay_view, pieces_of, placements_of
from fitting.queries.outlines import drawn, outline_file_get, outline_grid, walks_of
from fitting.services import outlines as keeping
from fitting.services.lay_search import finish_lay, prepare_lay, work_lay
from fitting.services.lay_table import check_grain, drop_remnant, keep_remnant
from fitting.services.lays import (
    LineGiven,
    ask_lay,
    change_grain,
    choose_drawing,
    lay_by_hand,
    search_again,
)
from seamlab.services.bolts import record_bolt
from seamlab.services.cloth_tests import test_wash as record_wash
from studio.platform.errors import Conflict, JobFailed, NotAllowed, NotHere, Refused
from studio.platform.models import Job
from tests.fitting.lay.conftest import make_cloth
from tests.fitting.lay.test_exchange import SKIRT, dxf


def quiet(percent: int, words: str) -> None:
    """Nobody listens."""


def search(lay: LayPlan) -> dict:
    """The job done here, as the worker does it; the first lay that comes is good enough."""
    LayPlan.objects.filter(pk=lay.pk).update(seconds=0)
    arguments = {"lay": str(lay.pk)}
    prepared = prepare_lay(arguments)
    result = finish_lay(arguments, prepared, work_lay(prepared, quiet))
    Job.objects.filter(pk=lay.job_id).update(state=Job.State.DONE)
    return result


def size(pattern, name: str):
    return next(one for one in pattern.sizes.all() if one.name == name)


def lines(pattern, *names: str) -> list[LineGiven]:
    return [LineGiven(pattern.pk, size(pattern, name).pk) for name in names or ("10",)]


def test_drafts_give_every_size_its_outlines_and_their_seams_walk(in_house, skirt, django_assert_num_queries):
    with django_assert_num_queries(4):
        grid = outline_grid(in_house.clerk, skirt.pk)
    assert [piece.name for piece, _ in grid.rows] == ["Front", "Back", "Waistband"]
    assert all(all(rows) for _, rows in grid.rows)
    outlines = drawn(grid.of_size(size(skirt, "12").pk))
    assert [one.walk.verdict for one in walks_of("skirt", outlines, "cm")] == ["equal"]
    again = keeping.draft_outlines(in_house.instructor, skirt.pk, length_mm=Decimal(700))
    assert again == 6
    assert PieceOutline.objects.count() == 6
    with pytest.raises(NotAllowed):
        keeping.draft_outlines(in_house.clerk, skirt.pk)


def test_a_lay_is_frozen_searched_checked_and_bought(in_house, skirt, satin, django_assert_num_queries):
    instructor = in_house.instructor
    record_wash(
        instructor, satin.pk, way="lengthwise", before_mm=Decimal(500), after_mm=Decimal(485), tested_at=timezone.now()
    )  # fmt: skip
    record_bolt(instructor, cloth_id=satin.pk, label="S1", length_mm=Decimal(5000))
    lay = ask_lay(
        instructor,
        cloth_id=satin.pk,
        lines=lines(skirt, "10", "12"),
        washed_first=True,
        end_allowance_mm=Decimal(50),
        seconds=1,
    )
    first = lay_view(instructor, lay.pk)
    assert first.chosen is not None  # a lay to look at while a better one is searched for
    search(lay)
    with django_assert_num_queries(6):
        view = lay_view(in_house.clerk, lay.pk)
    assert view.chosen is not None
    assert view.chosen.way == "one_way"
    assert {row["turn"] for row in view.chosen.placements} == {0.0}
    assert check_lay(view.pieces, view.cloth, placements_of(view.chosen)) == ()
    assert len(view.chosen.placements) == 8
    assert view.price_mm is not None
    assert view.price_mm >= 0
    assert "only seen when it is worn" in view.why
    assert view.buy is not None
    # 3 % shrinkage from the wash test: divided, not added.
    assert view.buy.steps[1].length == pytest.approx(float(view.chosen.length_mm) / 0.97)
    assert view.buy.length % 100 == pytest.approx(0, abs=1e-6)
    assert view.reach[0].left == pytest.approx(5000 - view.buy.length)
    # What the cloth says later changes nothing here.
    PatternPiece.objects.filter(name="Front").update(cut=3)
    assert pieces_of(LayPlan.objects.get(pk=lay.pk))[0] == view.pieces


def test_two_way_on_satin_is_shown_for_its_price_and_cant_be_cut(in_house, skirt, satin):
    lay = ask_lay(in_house.instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
    search(lay)
    two_way = LayDrawing.objects.filter(lay=lay, way="two_way").latest("number")
    with pytest.raises(Refused, match="against the direction of the cloth"):
        choose_drawing(in_house.instructor, lay.pk, number=two_way.number)


def test_a_lay_by_hand_is_checked_here(in_house, skirt, poplin):
    instructor = in_house.instructor
    lay = ask_lay(instructor, cloth_id=poplin.pk, lines=lines(skirt), seconds=1)
    search(lay)
    lay.refresh_from_db()
    found = LayDrawing.objects.get(lay=lay, number=lay.chosen)
    assert found.way == "two_way"
    moved = [dict(row) for row in found.placements]
    moved[-1]["x"] += 5000
    drawing = lay_by_hand(instructor, lay.pk, placements=moved, expected_version=lay.version)
    assert drawing.way == "by_hand"
    assert drawing.length_mm > found.length_mm + 3000
    pieces = {piece.key: piece for piece in pieces_of(lay)[0]}
    front, back = (Polygon(laid(pieces[one.key], one)).centroid for one in placements_of(found)[:2])
    moved[1] |= {"x": moved[1]["x"] + front.x - back.x, "y": moved[1]["y"] + front.y - back.y}
    before = LayDrawing.objects.count()
    with pytest.raises(Refused, match="overlap"):
        lay_by_hand(instructor, lay.pk, placements=moved)
    with pytest.raises(Refused, match="needs key"):
        lay_by_hand(instructor, lay.pk, placements=[{"key": 1}])
    turned = [dict(row) for row in found.placements]
    turned[0]["turn"] = 90.0
    with pytest.raises(Refused, match="turned by 90 degrees; only 0 or 180"):
        lay_by_hand(instructor, lay.pk, placements=turned)
    assert LayDrawing.objects.count() == before
    choose_drawing(instructor, lay.pk, number=found.number)
    assert LayPlan.objects.get(pk=lay.pk).chosen == found.number


def test_nothing_impossible_is_asked_for(in_house, skirt, satin):
    instructor = in_house.instructor
    with pytest.raises(Refused, match="at least one pattern"):
        ask_lay(instructor, cloth_id=satin.pk, lines=[])
    narrow = make_cloth(instructor, "Ribbon", width=200, direction="two_way")
    with pytest.raises(Refused, match=r"Front is \d+ mm across its grain and the cloth is only 200 mm wide"):
        ask_lay(instructor, cloth_id=narrow.pk, lines=lines(skirt))
    with pytest.raises(Refused, match="lengthwise repeat"):
        ask_lay(instructor, cloth_id=satin.pk, lines=lines(skirt), matched=2)
    with pytest.raises(NotHere):
        ask_lay(instructor, cloth_id=uuid4(), lines=lines(skirt))
    with pytest.raises(NotAllowed):
        ask_lay(in_house.clerk, cloth_id=satin.pk, lines=lines(skirt))
    PieceOutline.objects.filter(piece__name="Back", size__name="10").delete()
    with pytest.raises(Refused, match="lacks the outline of Back in size 10"):
        ask_lay(instructor, cloth_id=satin.pk, lines=lines(skirt))
    assert LayPlan.objects.count() == 0
    assert Job.objects.count() == 0


def test_a_remnant_that_is_too_short_fails_in_a_sentence(in_house, skirt, satin):
    instructor = in_house.instructor
    small = keep_remnant(
        instructor, cloth_id=satin.pk, length_mm=Decimal(400), width_mm=Decimal(1300), place="Shelf 2"
    )
    lay = ask_lay(instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1, remnant_id=small.pk)
    assert (lay.width_mm, lay.most_length_mm) == (Decimal(1300), Decimal(400))
    with pytest.raises(JobFailed, match=r"remnant is 0\.40 m long"):
        search(lay)
    assert LayDrawing.objects.count() == 0
    assert LayPlan.objects.get(pk=lay.pk).chosen is None
    with pytest.raises(Refused, match="used already"):
        ask_lay(instructor, cloth_id=satin.pk, lines=lines(skirt), remnant_id=small.pk)
    with pytest.raises(Refused, match="used already"):
        drop_remnant(instructor, small.pk)
    with pytest.raises(Refused, match="is only 140"):
        keep_remnant(instructor, cloth_id=satin.pk, length_mm=Decimal(400), width_mm=Decimal(1500))
    other = keep_remnant(instructor, cloth_id=satin.pk, length_mm=Decimal(300), width_mm=Decimal(300))
    assert drop_remnant(instructor, other.pk).is_gone
    assert Remnant.objects.filter(used_in=None, is_gone=False).count() == 0


def test_the_grain_is_checked_at_the_table_and_changed_only_with_a_reason(in_house, skirt, satin):
    instructor = in_house.instructor
    lay = ask_lay(instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
    key = lay.pieces[0]["key"]
    # asin(6 / 300) is 1.15 degrees, by hand.
    off = check_grain(
        instructor, lay.pk, key=key, distance_a_mm=Decimal(306), distance_b_mm=Decimal(300), line_mm=Decimal(300)
    )  # fmt: skip
    assert (off.degrees, off.within) == (Decimal("1.15"), False)
    on = check_grain(
        instructor, lay.pk, key=key, distance_a_mm=Decimal(301), distance_b_mm=Decimal(300), line_mm=Decimal(300)
    )  # fmt: skip
    assert on.within
    assert GrainCheck.objects.count() == 2
    with pytest.raises(Refused, match="differ by more than"):
        check_grain(
            instructor, lay.pk, key=key, distance_a_mm=Decimal(900), distance_b_mm=Decimal(0), line_mm=Decimal(300)
        )  # fmt: skip
    with pytest.raises(Conflict, match="being searched for"):
        change_grain(instructor, lay.pk, key=key, degrees=Decimal(45), reason="Fuller drape")
    search(lay)
    with pytest.raises(Refused, match="Say why"):
        change_grain(instructor, lay.pk, key=key, degrees=Decimal(45), reason=" ")
    change = change_grain(instructor, lay.pk, key=key, degrees=Decimal(45), reason="Fuller drape")
    assert change.by_id == instructor.member_id
    lay.refresh_from_db()
    first = LayDrawing.objects.get(lay=lay, number=lay.chosen)
    assert {row["turn"] for row in first.placements if row["key"] == key} == {45.0}
    with pytest.raises(Refused, match="changed grain"):
        choose_drawing(instructor, lay.pk, number=1)
    search(lay)
    view = lay_view(instructor, lay.pk)
    assert view.chosen is not None
    assert {row["turn"] for row in view.chosen.placements if row["key"] == key} == {45.0}


def test_searching_again_waits_for_the_first_and_keeps_what_is_shorter(in_house, skirt, satin):
    lay = ask_lay(in_house.instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
    with pytest.raises(Conflict, match="already"):
        search_again(in_house.instructor, lay.pk)
    search(lay)
    lay.refresh_from_db()
    assert cloth_of(lay).usable_width == 1370
    first = LayDrawing.objects.get(lay=lay, number=lay.chosen)
    again = search_again(in_house.instructor, lay.pk, seconds=2)
    search(again)
    lay.refresh_from_db()
    chosen = LayDrawing.objects.get(lay=lay, number=lay.chosen)
    assert chosen.length_mm <= first.length_mm
    assert LayDrawing.objects.filter(lay=lay).count() == 6


def test_lists_ask_the_database_as_often_for_many_as_for_one(
    in_house, skirt, satin, django_assert_num_queries
):
    for _ in range(3):
        ask_lay(in_house.instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
    with django_assert_num_queries(3):
        rows = list(lay_list(in_house.clerk))
        assert [len(row.lines.all()) for row in rows] == [1, 1, 1]
    assert timezone.now() - rows[0].created_at < timedelta(minutes=5)


def test_a_drawing_gives_outlines_once_its_questions_are_answered(in_house, skirt):
    instructor = in_house.instructor
    row = keeping.take_drawing(instructor, skirt.pk, name="yoke.dxf", data=dxf(unit="", heads=False))
    still = outline_file_get(instructor, row.pk).still
    assert [doubt.code for doubt in still] == ["unit", "arrow:0"]
    ten = size(skirt, "10")
    with pytest.raises(Refused, match="not answered yet"):
        keeping.use_drawing(instructor, row.pk, size_id=ten.pk)
    with pytest.raises(Refused, match="Choose one of the answers"):
        keeping.answer_drawing(instructor, row.pk, answers={"unit": "furlong"})
    keeping.answer_drawing(instructor, row.pk, answers={"unit": "mm", "arrow:0": "both"})
    (kept,) = keeping.use_drawing(instructor, row.pk, size_id=ten.pk)
    assert (kept.piece.name, kept.size.name, kept.source) == ("Back yoke", "12", "dxf")  # as the file says
    with pytest.raises(Conflict):
        keeping.use_drawing(instructor, row.pk, size_id=ten.pk)
    with pytest.raises(Refused, match="not a DXF file"):
        keeping.take_drawing(instructor, skirt.pk, name="x.dxf", data=b"%PDF")
    with pytest.raises(Refused, match="Give an SVG drawing"):
        keeping.take_drawing(instructor, skirt.pk, name="x.pdf", data=b"%PDF")
    clash = keeping.take_drawing(
        instructor, skirt.pk, name="front.svg", data=SKIRT.replace("Skirt front", "Back").encode()
    )
    keeping.answer_drawing(instructor, clash.pk, answers={"cut:0": "1"})
    with pytest.raises(Refused, match="cuts Back 2 times, not on the fold; the drawing says otherwise"):
        keeping.use_drawing(instructor, clash.pk, size_id=ten.pk)
