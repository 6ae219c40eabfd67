"""Body charts, and patterns known by a chart or by what was measured flat on the pieces."""

from decimal import Decimal as D

import pytest

from fitting.models import BodyChart, Pattern
from fitting.queries.charts import chart_get, chart_table, drawn_ease, measures_of_chart, sourced_charts
from fitting.queries.flat_sums import flat_sums
from fitting.queries.patterns import measures_of, pattern_get
from fitting.queries.plans import plan_get
from fitting.services.charts import change_chart, record_chart, take_chart
from fitting.services.patterns import FlatGiven, IntakeGiven, PieceGiven, SizeGiven, record_pattern
from fitting.services.plans import make_plan
from studio.platform.errors import NotAllowed, NotHere, Refused, Stale
from tests.fitting.paper.invented import client, measure, sizes, skirt

FRONT = PieceGiven(
    "Front",
    cut=1,
    on_fold=True,
    flats=(
        # Half a front on the fold counts twice: 2 * (21.5 - 1.5 - 2.0 dart) = 36.0 and 2 * (26.5 - 1.5) = 50.0 cm.
        FlatGiven("12", "waist", D(215), 2, (D(15),), (IntakeGiven("dart", D(20)),)),
        FlatGiven("12", "hip", D(265), 2, (D(15),)),
        FlatGiven("14", "waist", D(225), 2, (D(15),), (IntakeGiven("dart", D(20)),)),
        FlatGiven("14", "hip", D(275), 2, (D(15),)),
    ),
)
BACK = PieceGiven(
    "Back",
    cut=2,
    flats=(
        # Two backs with a seam at each edge: 2 * (24.0 - 1.5 - 1.5 - 3.25 dart) = 35.5 and 2 * (29.0 - 3.0) = 52.0 cm.
        FlatGiven("12", "waist", D(240), 2, (D(15), D(15)), (IntakeGiven("dart", D("32.5")),)),
        FlatGiven("12", "hip", D(290), 2, (D(15), D(15))),
        FlatGiven("14", "waist", D(250), 2, (D(15), D(15)), (IntakeGiven("dart", D("32.5")),)),
        FlatGiven("14", "hip", D(300), 2, (D(15), D(15))),
    ),
)


def one_piece(flat):
    return PieceGiven("Front", flats=(flat,))


def flat_skirt(actor, pieces=(FRONT, BACK), **changes):
    run = [SizeGiven("12", {}), SizeGiven("14", {})]
    return skirt(actor, name="Two-dart skirt", sizes=run, pieces=pieces, **changes)


def test_pieces_add_up_to_finished_measures(in_house):
    # Sum of times * (width - seam allowances - intakes): industry text, both left out of the garment's total measure.
    row = pattern_get(in_house.instructor, flat_skirt(in_house.instructor).pk)
    assert measures_of(row) == {"12": {"waist": 715, "hip": 1020}, "14": {"waist": 755, "hip": 1060}}
    waist, hip = flat_sums(row, "12", "cm")
    assert [(term.piece, term.words, term.gives) for term in waist.terms] == [
        ("Front", "2 × (21.5 − 1.5 seam allowance − 2.0 dart)", "36.0 cm"),
        ("Back", "2 × (24.0 − 1.5 − 1.5 seam allowance − 3.3 dart)", "35.5 cm"),
    ]
    assert (waist.total, hip.total) == ("71.5 cm", "102.0 cm")


def test_a_plan_from_pieces_says_what_a_plan_from_the_same_measures_says(in_house, olia):
    flat = make_plan(in_house.instructor, client_id=olia.pk, pattern_id=flat_skirt(in_house.instructor).pk)
    stated = skirt(
        in_house.instructor,
        sizes=sizes({"12": {"waist": 71.5, "hip": 102}, "14": {"waist": 75.5, "hip": 106}}),
    )
    plain = make_plan(in_house.instructor, client_id=olia.pk, pattern_id=stated.pk)
    for part in ("sizes", "outcomes", "alterations"):
        assert flat.result[part] == plain.result[part]
    # The dart that was measured is known to the plan: the widest at the level, by size.
    assert flat.inputs["darts"] == {"waist": {"12": 32.5, "14": 32.5}}


@pytest.mark.parametrize(
    ("pieces", "field", "words"),
    [
        (
            (one_piece(FlatGiven("12", "waist", D(50), 2, (D(15), D(15)), (IntakeGiven("dart", D(20)),))),),
            "pieces.0.flats.0.intakes",
            "larger than the piece",
        ),
        ((one_piece(FlatGiven("99", "waist", D(500))),), "pieces.0.flats.0.size", "no size 99"),
        ((one_piece(FlatGiven("12", "elbow", D(500))),), "pieces.0.flats.0.measure", "'elbow'"),
        ((PieceGiven("Front"), PieceGiven("front")), "pieces.1.name", "named twice"),
        (
            (one_piece(FlatGiven("12", "waist", D(500), 2, (), (IntakeGiven("fold", D(5)),))),),
            "pieces.0.flats.0.intakes",
            "'fold' is no intake",
        ),
    ],
    ids=["intake", "size", "measure", "twice", "kind"],
)  # fmt: skip
def test_pieces_that_can_not_be_are_refused(in_house, pieces, field, words):
    with pytest.raises(Refused) as found:
        flat_skirt(in_house.instructor, pieces=pieces)
    assert words in found.value.reasons[field]
    assert not Pattern.objects.exists()


def test_a_measure_is_stated_or_measured_flat_not_both(in_house):
    run = sizes({"12": {"waist": 71.5}, "14": {"waist": 75.5}})
    with pytest.raises(Refused, match="stated and measured flat"):
        skirt(in_house.instructor, sizes=run, pieces=(FRONT, BACK))


def test_a_sourced_chart_is_taken_over_figure_by_figure(in_house):
    chart = chart_get(in_house.instructor, take_chart(in_house.instructor, code="misses_1968").pk)
    # Misses sizing since 1968 (sewing-history page): a 14 is 36, 28, 38 and 16.5 in.
    inch = D("25.4")
    assert measures_of_chart(chart)["14"] == {
        "bust_girth": 36 * inch,
        "waist_girth": 28 * inch,
        "hip_girth": 38 * inch,
        "back_waist_length": D("16.5") * inch,
    }
    assert (chart.unit, chart.base_cup_mm) == ("in", 2 * inch)
    assert chart_table(in_house.instructor, chart, "in").lines[0].values[4] == "36 in"
    with pytest.raises(Refused, match="already a chart"):
        take_chart(in_house.instructor, code="misses_1968")
    with pytest.raises(NotHere):
        take_chart(in_house.instructor, code="nobody")
    assert all(one.source for one in sourced_charts().values())


def test_a_pattern_known_by_its_chart_alone_takes_the_charts_run(in_house, olia):
    chart = take_chart(in_house.instructor, code="misses_1968")
    paper = record_pattern(
        in_house.instructor, name="Chart dress", kind="dress", closeness="fitted", structure="woven", basis="chart",
        chart_id=chart.pk,
    )  # fmt: skip
    assert paper.base_cup_mm == D("50.8")
    row = pattern_get(in_house.instructor, paper.pk)
    assert measures_of(row)["14"] == pytest.approx(
        {"back_waist": 16.5 * 25.4, "bust": 36 * 25.4, "waist": 28 * 25.4, "hip": 38 * 25.4}
    )
    plan = plan_get(
        in_house.instructor, make_plan(in_house.instructor, client_id=olia.pk, pattern_id=paper.pk).pk
    )
    assert any(one.code == "chart" and "body chart" in one.words for one in plan.notices)


def test_the_ease_drawn_into_the_paper_is_read_off_its_chart(in_house):
    chart = record_chart(
        in_house.instructor, name="Our block", source="our own", unit="cm",
        sizes=[
            SizeGiven("12", {"waist_girth": D(695), "hip_girth": D(960)}),
            SizeGiven("14", {"waist_girth": D(735), "hip_girth": D(1000)}),
        ],
    )  # fmt: skip
    paper = pattern_get(in_house.instructor, flat_skirt(in_house.instructor, chart_id=chart.pk).pk)
    assert drawn_ease(paper, "cm") == {"waist": ("2.0 cm", "2.0 cm"), "hip": ("6.0 cm", "6.0 cm")}


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"source": " "}, "source", "where the chart is from"),
        ({"unit": "ell"}, "unit", "'ell'"),
        ({"sizes": []}, "sizes", "at least one size"),
        (
            {"sizes": [SizeGiven("12", {"hip_girth": D(980)}), SizeGiven("14", {"hip_girth": D(960)})]},
            "sizes.1.measures.hip_girth",
            "Sizes out of order",
        ),
        ({"sizes": [SizeGiven("12", {"weight": D(60)})]}, "sizes.0.measures.weight", "no measure 'weight'"),
        ({"base_cup_mm": D(900)}, "base_cup_mm", "between"),
    ],
)
def test_charts_that_can_not_be_are_refused(in_house, changes, field, words):
    given = {
        "name": "Block",
        "source": "ours",
        "unit": "cm",
        "sizes": [SizeGiven("12", {"hip_girth": D(960)})],
    }
    with pytest.raises(Refused) as found:
        record_chart(in_house.instructor, **(given | changes))
    assert words in found.value.reasons[field]
    assert not BodyChart.objects.exists()


def test_a_charts_figures_stay_its_name_does_not(in_house):
    chart = take_chart(in_house.instructor, code="misses_1968")
    change_chart(in_house.instructor, chart.pk, expected_version=1, name="  Old   misses ")
    assert chart_get(in_house.clerk, chart.pk).name == "Old misses"
    with pytest.raises(Stale):
        change_chart(in_house.instructor, chart.pk, expected_version=1, name="Other")
    with pytest.raises(NotAllowed):
        take_chart(in_house.clerk, code="womens_38_50")


def test_charts_take_a_constant_number_of_queries(in_house, count_queries):
    from fitting.queries.charts import chart_list

    take_chart(in_house.instructor, code="womens_38_50")
    few = count_queries(lambda: list(chart_list(in_house.clerk)))
    take_chart(in_house.instructor, code="misses_1968")
    assert count_queries(lambda: list(chart_list(in_house.clerk))) == few == 3


def test_a_pattern_lacking_a_needed_measure_is_named(in_house):
    who = client(in_house.instructor, "Runa Holt")
    measure(in_house.instructor, who, {"waist_girth": "74", "hip_girth": "100"})
    paper = skirt(in_house.instructor, sizes=sizes({"12": {"waist": 71.5}}))
    with pytest.raises(Refused, match="lacks the hip measure that a skirt needs"):
        make_plan(in_house.instructor, client_id=who.pk, pattern_id=paper.pk)
