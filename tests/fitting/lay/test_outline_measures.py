"""Finished measures from outlines: exact figures of rectangles and trapezoids, the drafts against a reckoning of their
own, and a plan that rests on what was taken over.

The trapezoid's widths are reckoned by hand from similar triangles, the drafts' curved edges by the arc length of a
cubic Bézier curve (its integral by SciPy's quadrature).
"""

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from scipy.integrate import quad

from fitting.calc.drafts import draft
from fitting.calc.gauges import gauged, stretches
from fitting.calc.outline import Dart, Gauge, Outline, outline_data, outline_from
from fitting.models import FlatMeasure, PatternMeasure, PatternPiece, PieceOutline
from fitting.queries.outline_measures import outline_measures, part_words, piece_to_name
from fitting.queries.outlines import drawn, outline_grid, walks_of
from fitting.queries.patterns import measures_of, pattern_get
from fitting.services.outline_measures import LevelGiven, remove_piece, say_gauges, take_measures
from fitting.services.patterns import record_pattern
from fitting.services.plans import make_plan
from fitting.services.size_runs import SizeGiven
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry
from tests.fitting.paper.conftest import olia  # noqa: F401 - a fixture

# Half a panel, 600 mm long: 200 mm wide at the top and 260 mm at its foot, the grain down its straight edge.
TRAPEZOID = Outline(
    cut=((0, 0), (260, 0), (200, 600), (0, 600)),
    grain=((50, 550), (50, 50)),
    arrow="one",
)


def at(zone: str, kind: str, *points: tuple[float, float], **more) -> Outline:
    return replace(TRAPEZOID, gauges=(Gauge(zone, "there", kind, points, **more),))


def test_a_trapezoid_measures_what_its_similar_triangles_say():
    # 150 mm below the top the side has gone a quarter of its way out: 200 + 60 / 4.
    (found,) = gauged(at("hip", "across", (0, 450)), "hip", "Panel")
    assert found.width == pytest.approx(215)
    (side,) = gauged(at("waist_to_hip", "along", (260, 0), (200, 600)), "waist_to_hip", "Panel")
    assert side.gives == pytest.approx(math.hypot(60, 600))
    (down,) = gauged(at("rise", "down", (260, 0), (200, 600)), "rise", "Panel")
    assert down.gives == pytest.approx(600)
    (front,) = gauged(at("hip", "across", (0, 300), less=(("extension", 15.0),)), "hip", "Panel")
    assert front.gives == pytest.approx(230 - 15)
    darted = replace(
        at("waist", "along", (0, 600), (200, 600)), darts=(Dart((90, 600), (110, 600), (100, 480)),)
    )
    (waist,) = gauged(darted, "waist", "Panel")
    assert (waist.width, waist.taken) == (pytest.approx(200), (("dart", pytest.approx(20)),))
    # A quarter of the way down the dart is three quarters as wide.
    (lower,) = gauged(replace(darted, gauges=at("hip", "across", (0, 570)).gauges), "hip", "Panel")
    assert lower.taken == (("dart", pytest.approx(15)),)
    assert gauged(TRAPEZOID, "hip", "Panel") == ()
    assert outline_from(outline_data(darted)).gauges == darted.gauges


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"grain": None}, "Panel has no grainline"),
        ({"cut": ((0, 0), (260, 600), (260, 0), (0, 600))}, "crosses"),
        ({"gauges": (Gauge("hip", "hip level", "across", ((0, 900),)),)}, "does not reach"),
        (
            {"gauges": (Gauge("hip", "hip level", "across", ((0, 300),), (("extension", 240.0),)),)},
            "leave nothing",
        ),
    ],
)
def test_an_outline_in_doubt_gives_no_measure(wrong, words):
    with pytest.raises(ValueError, match=words):
        gauged(replace(at("hip", "across", (0, 450)), **wrong), "hip", "Panel")


def test_a_seam_line_is_split_at_its_corners():
    found = stretches(TRAPEZOID.cut)
    assert found == (((0, 0), (260, 0)), ((260, 0), (200, 600)), ((200, 600), (0, 600)), ((0, 600), (0, 0)))
    assert stretches(TRAPEZOID.cut[::-1]) == found  # whichever way it was drawn
    circle = tuple((100 * math.cos(t / 30 * math.pi), 100 * math.sin(t / 30 * math.pi)) for t in range(60))
    assert len(stretches(circle)) == 1


def bezier(a, b, c, d) -> float:
    def speed(t):
        dx, dy = (
            3 * (1 - t) ** 2 * (b[i] - a[i]) + 6 * (1 - t) * t * (c[i] - b[i]) + 3 * t * t * (d[i] - c[i])
            for i in (0, 1)
        )
        return math.hypot(dx, dy)

    return quad(speed, 0, 1)[0]


def finished(kind: str, measures: dict[str, float], zone: str, times: dict[str, int]) -> float:
    pieces = {one.name: one.outline for one in draft(kind, measures)}
    return sum(n * sum(one.gives for one in gauged(pieces[name], zone, name)) for name, n in times.items())


def test_a_skirts_draft_measures_what_its_curves_are_long():
    given = {"waist": 668.0, "hip": 940.0, "waist_to_hip": 200.0}
    both = {"Front": 2, "Back": 2}
    assert finished("skirt", given, "hip", both) == pytest.approx(940, abs=0.01)
    # A quarter of the waist and a dart of half the drop, the waistline sunk by 10 mm at the centre.
    dart = (940 / 4 - 668 / 4) / 2
    end = 668 / 4 + dart
    edge = bezier((0, -10), (end / 3, -10), (2 * end / 3, -5), (end, 0))
    assert finished("skirt", given, "waist", both) == pytest.approx(4 * (edge - dart), abs=0.1)
    side = bezier((end, 0), (end + (235 - end) * 0.6, -70), (235, -140), (235, -200))
    assert finished("skirt", given, "waist_to_hip", {"Front": 1}) == pytest.approx(side, abs=0.1)


def test_the_other_drafts_hold_their_size_tables():
    trousers = {"waist": 670.0, "hip": 935.0, "waist_to_hip": 200.0, "rise": 264.0, "leg": 780.0}
    assert finished("trousers", trousers, "hip", {"Front": 2, "Back": 2}) == pytest.approx(935, abs=0.01)
    assert finished("trousers", trousers, "rise", {"Front": 1}) == pytest.approx(264, abs=0.01)
    # The back's centre is lifted by 20 mm, so its waist edge slopes: sqrt(w^2 + 20^2) at most on each side.
    back = 670 / 4 + 5 + 30
    slope = math.hypot(back, 20) - back
    assert 670 <= finished("trousers", trousers, "waist", {"Front": 2, "Back": 2}) <= 670 + 2 * slope + 0.5
    shirt = {"bust": 920.0, "waist": 880.0, "hip": 960.0, "back_waist": 410.0, "sleeve": 600.0}
    for zone in ("bust", "waist", "hip"):  # the fronts overlap by twice 15 mm, which is no girth
        assert finished("shirt", shirt, zone, {"Front": 2, "Back": 2}) == pytest.approx(shirt[zone], abs=0.01)
    assert finished("shirt", shirt, "sleeve", {"Sleeve": 1, "Cuff": 1}) == pytest.approx(600, abs=0.01)
    assert finished("shirt", shirt, "back_waist", {"Back": 1}) == pytest.approx(410, abs=0.01)


def cells(found, zone: str):
    return next(row for row in found.rows if row[0].zone == zone)


def test_chosen_measures_are_taken_over_and_say_so(in_house, skirt, django_assert_num_queries):
    instructor = in_house.instructor
    with django_assert_num_queries(5):
        found = outline_measures(in_house.clerk, skirt.pk)
    assert [row[0].zone for row in found.rows] == ["waist", "hip", "waist_to_hip"]
    ten, twelve = cells(found, "waist")
    assert ten.total == pytest.approx(701.2, abs=0.3)
    assert not ten.differs  # 1 mm over 70 cm is the tape's
    assert part_words(ten.parts[0], "cm") == "2 × (20.8 − 3.2 dart)"
    taken = take_measures(instructor, skirt.pk, chosen=[("waist", ten.size.pk), ("waist", twelve.size.pk)])
    assert taken == 2
    again = outline_measures(instructor, skirt.pk)
    assert all(one.is_taken for one in cells(again, "waist"))
    assert not cells(again, "hip")[0].is_taken
    row = PatternMeasure.objects.get(size=ten.size, measure="waist")
    assert (row.from_outline, row.from_pieces) == (True, True)
    assert float(row.value) == pytest.approx(ten.total, abs=1e-3)
    assert FlatMeasure.objects.filter(from_outline=True).count() == 4
    entry = AuditEntry.objects.get(act="take_outline_measures")
    assert entry.detail["changed"]["waist 10"][0] == "700.0000"
    # Taking over once more leaves one row of each.
    take_measures(instructor, skirt.pk, chosen=[("waist", ten.size.pk)])
    assert FlatMeasure.objects.filter(from_outline=True).count() == 4


def test_nothing_doubtful_is_taken_over(in_house, skirt):
    instructor = in_house.instructor
    found = outline_measures(instructor, skirt.pk)
    ten, twelve = (one.size for one in cells(found, "waist"))
    with pytest.raises(NotAllowed):
        take_measures(in_house.clerk, skirt.pk, chosen=[("waist", ten.pk)])
    with pytest.raises(Refused, match="Choose at least one"):
        take_measures(instructor, skirt.pk, chosen=[])
    with pytest.raises(Refused, match="in every size"):
        take_measures(instructor, skirt.pk, chosen=[("waist_to_hip", ten.pk)])
    with pytest.raises(Refused, match="no measure 'knee'"):
        take_measures(instructor, skirt.pk, chosen=[("knee", ten.pk)])
    row = PieceOutline.objects.get(piece__name="Back", size=ten)
    whole = row.drawing
    row.drawing = whole | {"grain": None}
    row.save()
    with pytest.raises(Refused, match="Back has no grainline"):
        take_measures(instructor, skirt.pk, chosen=[("hip", ten.pk), ("hip", twelve.pk)])
    row.drawing = whole | {"gauges": []}
    row.save()
    with pytest.raises(Refused, match="Back gives it in another size"):
        take_measures(instructor, skirt.pk, chosen=[("hip", ten.pk)])
    assert not PatternMeasure.objects.filter(from_outline=True).exists()
    chart = record_pattern(
        instructor, name="Chart skirt", kind="skirt", closeness="fitted", structure="woven", basis="chart",
        sizes=[SizeGiven("10", {"waist": Decimal(660), "hip": Decimal(900)})],
    )  # fmt: skip
    with pytest.raises(Conflict, match="no outlines yet"):
        take_measures(instructor, chart.pk, chosen=[("hip", ten.pk)])
    with pytest.raises(NotHere):
        outline_measures(instructor, ten.pk)


def panel_skirt(actor):
    """Two trapezoids on paper and their outlines, as if read from a drawing: nothing is named yet."""
    pattern = record_pattern(
        actor, name="Two panels", kind="skirt", closeness="fitted", structure="woven", basis="finished",
        sizes=[SizeGiven("36", {"waist": Decimal(800), "hip": Decimal(870)})],
    )  # fmt: skip
    size = pattern.sizes.get()
    rows = []
    for place, name in enumerate(("Front", "Back"), 1):
        piece = PatternPiece.objects.create(pattern=pattern, name=name, place=place, cut=2)
        rows.append(
            PieceOutline.objects.create(
                piece=piece,
                size=size,
                drawing=outline_data(TRAPEZOID),
                source="dxf",
                recorded_by_id=actor.member_id,
            )
        )
    return pattern, size, rows


def test_a_read_in_piece_is_asked_what_it_measures_where(in_house):
    instructor = in_house.instructor
    pattern, size, (front, back) = panel_skirt(instructor)
    assert [one.total for row in outline_measures(instructor, pattern.pk).rows for one in row] == [None, None]
    with pytest.raises(Refused, match="no outline says where"):
        take_measures(instructor, pattern.pk, chosen=[("hip", size.pk)])
    asked = piece_to_name(instructor, pattern.pk, "36", front.piece_id)
    assert [round(one.long) for one in asked.stretches] == [260, 603, 200, 600]
    assert asked.names == ("side", "waist", "hem", "neck", "centre")
    with pytest.raises(Refused, match="is called side"):
        say_gauges(instructor, front.pk, names={2: "ruffle"}, feeds={})
    with pytest.raises(Refused, match="edges 1 to 4"):
        say_gauges(instructor, front.pk, names={9: "side"}, feeds={})
    with pytest.raises(Refused, match="does not reach"):
        say_gauges(instructor, front.pk, names={}, feeds={}, levels=[LevelGiven("hip", Decimal(700))])
    with pytest.raises(Refused, match="not compared there"):
        say_gauges(instructor, front.pk, names={}, feeds={3: "sleeve"})
    for row in (front, back):
        say_gauges(
            instructor, row.pk, names={2: "side", 3: "waist"}, feeds={3: "waist"},
            levels=[LevelGiven("hip", Decimal(150))],
        )  # fmt: skip
    waist, hip = (row[0] for row in outline_measures(instructor, pattern.pk).rows)
    assert (waist.total, hip.total) == (pytest.approx(800), pytest.approx(860))
    assert hip.differs
    assert hip.difference == pytest.approx(-10)
    take_measures(instructor, pattern.pk, chosen=[("hip", size.pk)])
    assert measures_of(pattern_get(instructor, pattern.pk)) == {"36": {"waist": 800.0, "hip": 860.0}}
    seams = walks_of("skirt", drawn(outline_grid(instructor, pattern.pk).of_size(size.pk)), "cm")
    assert [(one.name, one.walk.verdict) for one in seams] == [("Side seam", "equal")]
    PieceOutline.objects.filter(pk=front.pk).update(source="drafted")
    with pytest.raises(Conflict, match="knows its own"):
        say_gauges(instructor, front.pk, names={}, feeds={})


def test_a_plan_rests_on_what_was_taken_over_and_says_which_seams_do_not_walk(in_house, olia):  # noqa: F811
    instructor = in_house.instructor
    pattern, size, (front, back) = panel_skirt(instructor)
    longer = replace(TRAPEZOID, cut=((0, 0), (260, 0), (200, 612), (0, 612)))
    back.drawing = outline_data(longer)
    back.save()
    for row in (front, back):
        say_gauges(
            instructor, row.pk, names={2: "side", 3: "waist"}, feeds={3: "waist"},
            levels=[LevelGiven("hip", Decimal(150), from_foot=row == back)],
        )  # fmt: skip
    take_measures(instructor, pattern.pk, chosen=[("waist", size.pk), ("hip", size.pk)])
    plan = make_plan(instructor, client_id=olia.pk, pattern_id=pattern.pk)
    (paper,) = plan.inputs["paper"]
    # 2 × 215 and, 150 mm above the foot of a side that is 612 mm high, 2 × (260 - 60 × 150 / 612).
    assert paper["measures"]["hip"] == pytest.approx(430 + 2 * (260 - 60 * 150 / 612), abs=0.01)
    from fitting.queries.plan_view import view_of
    from fitting.queries.plans import plan_row

    notices = [one.words for one in view_of(plan_row(instructor, plan.pk)).notices if one.code == "seam_walk"]
    assert len(notices) == 1
    assert "Side seam" in notices[0]
    assert "1.2 cm shorter" in notices[0]


def test_a_piece_on_which_nothing_rests_is_taken_out(in_house, skirt, satin):
    from fitting.models import LayPlan
    from fitting.queries.lays import lay_view
    from fitting.services.lays import LineGiven, ask_lay

    instructor = in_house.instructor
    size = next(one for one in skirt.sizes.all() if one.name == "10")
    lay = ask_lay(instructor, cloth_id=satin.pk, lines=[LineGiven(skirt.pk, size.pk)], seconds=1)
    band, front = (PatternPiece.objects.get(name=name) for name in ("Waistband", "Front"))
    with pytest.raises(NotAllowed):
        remove_piece(in_house.clerk, skirt.pk, band.pk)
    assert remove_piece(instructor, skirt.pk, band.pk) == "Waistband"
    assert not PieceOutline.objects.filter(piece_id=band.pk).exists()
    # The lay holds it as it was.
    assert [piece.name for piece in lay_view(instructor, lay.pk).pieces] == ["Front", "Back", "Waistband"]
    assert len(LayPlan.objects.get(pk=lay.pk).pieces) == 3
    found = outline_measures(instructor, skirt.pk)
    take_measures(instructor, skirt.pk, chosen=[(one.zone, one.size.pk) for one in cells(found, "hip")])
    with pytest.raises(Conflict, match="the hip of Panel skirt is measured on it"):
        remove_piece(instructor, skirt.pk, front.pk)
    with pytest.raises(NotHere):
        remove_piece(instructor, skirt.pk, band.pk)
