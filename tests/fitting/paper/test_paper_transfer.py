"""Charts and patterns taken over from files and handed out again: dry run, all or nothing, round trip."""

import csv
import io
from decimal import Decimal as D

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitting.calc.paper_table import CHART_HEADS, PATTERN_HEADS, columns_of, read_table
from fitting.models import BodyChart, FlatMeasure, Pattern
from fitting.queries.charts import chart_list, measures_of_chart
from fitting.queries.paper_transfer import paper_file
from fitting.queries.patterns import pattern_get, pattern_list
from fitting.services.charts import take_chart
from fitting.services.paper_transfer import read_paper_file, take_over_paper, try_paper
from studio.calc.units import parse_length
from studio.platform.errors import NotAllowed, Refused
from tests.fitting.paper.invented import skirt
from tests.fitting.paper.test_charts_and_pieces import flat_skirt


def table(*lines):
    text = io.StringIO()
    csv.writer(text).writerows(lines)
    return io.BytesIO(text.getvalue().encode())


CHART_LINES = (
    ["Chart", "Source", "Unit", "Size", "Measure", "Value"],
    ["Our block", "taped in our classes", "cm", "12", "waist_girth", "69,5"],
    ["", "", "", "12", "hip_girth", "96"],
    ["", "", "", "14", "waist_girth", "73.5"],
    ["", "", "", "14", "hip_girth", "100"],
)
PATTERN_LINES = (
    ["Pattern", "Garment", "Fit", "Cloth", "Unit", "Size", "Measure", "Value", "Piece", "Times",
     "Seam allowances crossed", "Darts, tucks, pleats"],
    ["Gored skirt", "skirt", "Semi-fitted", "woven", "in", "12", "hip", "41", "", "", "", ""],
    ["", "", "", "", "", "12", "waist", "10 1/2", "Gore", "4", "5/8 + 5/8", "dart 1"],
    ["", "", "", "", "", "14", "hip", "42 1/2", "", "", "", ""],
    ["", "", "", "", "", "14", "waist", "11", "Gore", "4", "5/8 + 5/8", "dart 1"],
)  # fmt: skip


def problems(actor, *lines):
    return [
        (one.row, one.column, one.reason) for one in try_paper(actor, read_paper_file(table(*lines))).problems
    ]


def test_a_chart_is_taken_over_after_a_dry_run_that_keeps_nothing(in_house):
    read = read_paper_file(table(*CHART_LINES))
    found = try_paper(in_house.instructor, read)
    assert (found.what, found.names, found.problems) == ("charts", ("Our block",), ())
    assert not BodyChart.objects.exists()
    take_over_paper(in_house.instructor, read)
    (chart,) = chart_list(in_house.clerk)
    assert measures_of_chart(chart) == {
        "12": {"waist_girth": 695, "hip_girth": 960},
        "14": {"waist_girth": 735, "hip_girth": 1000},
    }


def test_a_pattern_with_pieces_in_inches_is_taken_over(in_house):
    take_over_paper(in_house.instructor, read_paper_file(table(*PATTERN_LINES)))
    row = pattern_get(in_house.clerk, Pattern.objects.get().pk)
    assert (row.kind, row.closeness) == ("skirt", "semi_fitted")
    values = {(size.name, one.measure): one.value for size in row.sizes.all() for one in size.measures.all()}
    # 4 * (10 1/2 - 5/8 - 5/8 - 1) = 33 in.
    assert values[("12", "waist")] == 33 * D("25.4")
    assert values[("14", "hip")] == D("42.5") * D("25.4")


def test_every_problem_is_listed_by_row_and_nothing_is_kept(in_house):
    lines = [list(line) for line in CHART_LINES]
    lines[2][5] = "96 in"  # another unit than the rest
    lines[3][5] = ""
    lines[4][4] = "tail_length"
    assert problems(in_house.instructor, *lines) == [
        (
            3,
            "Value",
            "96 in is in another unit than the rest of Our block, which is in cm: one unit for all of it.",
        ),
        (4, "Value", "Value is empty."),
    ]
    lines[2][5], lines[3][5] = "96", "73.5"
    lines[4][2] = "in"
    (one,) = problems(in_house.instructor, *lines)
    assert one == (5, "Unit", "Our block is stated in cm in row 2 and in in here: one unit for all.")
    lines[4][2] = ""
    assert (5, "Value", "There is no measure 'tail_length' here.") in problems(in_house.instructor, *lines)
    with pytest.raises(Refused, match="nothing was taken over"):
        take_over_paper(in_house.instructor, read_paper_file(table(*lines)))
    assert not BodyChart.objects.exists()


@pytest.mark.parametrize(
    ("change", "row", "words"),
    [
        ((1, 1, "cape"), 2, "'cape' is not known"),
        ((4, 7, "2"), 5, "larger than the piece"),
        ((3, 7, "30"), 4, "Sizes out of order"),
        ((2, 11, "ruffle 1"), 3, "'ruffle' is no intake"),
        ((2, 9, "four"), 3, "no whole number"),
        ((2, 7, "ten"), 3, "ten"),
        ((1, 4, "ells"), 2, "'ells' is no unit"),
    ],
    ids=["garment", "intake", "order", "kind", "times", "figure", "unit"],
)
def test_problems_of_a_pattern_stand_by_their_row(in_house, change, row, words):
    lines = [list(line) for line in PATTERN_LINES]
    at, column, text = change
    lines[at][column] = text
    found = problems(in_house.instructor, *lines)
    assert any(number == row and words in reason for number, _, reason in found), found
    assert not Pattern.objects.exists()


def test_one_bad_pattern_keeps_the_good_ones_out(in_house):
    more = [["Second", "skirt", "fitted", "woven", "cm", "12", "hip", "-4", "", "", "", ""]]
    with pytest.raises(Refused):
        take_over_paper(in_house.instructor, read_paper_file(table(*PATTERN_LINES, *more)))
    assert not Pattern.objects.exists()


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_what_is_handed_out_is_taken_over_as_it_was(house, other_house, form):
    wholes = ("charts", "patterns")
    with house.scope():
        chart = take_chart(house.instructor, code="misses_1968")
        notes = '=HYPERLINK("x") and, "quotes"\nand a second line'
        flat_skirt(house.instructor, chart_id=chart.pk, notes=notes)
        skirt(house.instructor, name="Plain")
        files = {what: paper_file(house.clerk, what, form) for what in wholes}
        before = {what: _content(house.clerk, what) for what in wholes}
        plain = {what: paper_file(house.clerk, what, "csv") for what in wholes}
    with other_house.scope():
        for what in wholes:
            found = take_over_paper(other_house.instructor, read_paper_file(io.BytesIO(files[what])))
            assert found.what == what
            assert _content(other_house.clerk, what) == before[what]
            assert paper_file(other_house.clerk, what, "csv") == plain[what]


def _content(actor, what):
    if what == "charts":
        return [
            (row.name, row.source, row.unit, row.base_cup_mm, row.notes, measures_of_chart(row))
            for row in chart_list(actor)
        ]
    found = []
    for row in pattern_list(actor).order_by("name"):
        whole = pattern_get(actor, row.pk)
        flats = FlatMeasure.objects.filter(piece__pattern=whole).order_by(
            "piece__place", "size__place", "measure"
        )
        found.append(
            (
                whole.name,
                whole.kind,
                whole.closeness,
                whole.structure,
                whole.basis,
                whole.notes,
                whole.chart.name if whole.chart else "",
                whole.seam_allowance_mm,
                whole.base_cup_mm,
                [(piece.name, piece.cut, piece.on_fold) for piece in whole.pieces.all()],
                [
                    (
                        one.piece.name,
                        one.size.name,
                        one.measure,
                        one.width_mm,
                        one.times,
                        [D(mm) for mm in one.allowances],
                        [(i["what"], D(i["mm"])) for i in one.intakes],
                    )
                    for one in flats
                ],
                {
                    size.name: {one.measure: (one.value, one.from_pieces) for one in size.measures.all()}
                    for size in whole.sizes.all()
                },
            )
        )
    return found


def test_a_file_that_is_none_says_so(in_house):
    book = openpyxl.Workbook()
    book.active.append(["Chart", "Size", "Measure", "Value"])
    book.active.append(["Block", "12", "hip_girth", "=A1"])
    formula = io.BytesIO()
    book.save(formula)
    for file, words in (
        (io.BytesIO(b""), "empty"),
        (table(["Name", "Hip"], ["x", "1"]), "Chart, Size, Measure, Value are missing"),
        (table(["Chart", "Size", "Measure", "Value"]), "nothing below"),
        (table(["Chart", "Sourse", "Size", "Measure", "Value"], ["x"] * 5), "'Sourse' is not known here"),
        (io.BytesIO(b"\xd0\xcf\x11\xe0" + b"0" * 64), "older workbook"),
        (formula, "holds a formula"),
    ):
        with pytest.raises(Refused, match=words):
            read_paper_file(file)
    with pytest.raises(NotAllowed):
        try_paper(in_house.clerk, read_paper_file(table(*CHART_LINES)))


def test_handing_out_takes_a_constant_number_of_queries(in_house, count_queries):
    flat_skirt(in_house.instructor)
    few = count_queries(lambda: paper_file(in_house.clerk, "patterns", "csv"))
    skirt(in_house.instructor, name="Second")
    assert count_queries(lambda: paper_file(in_house.clerk, "patterns", "csv")) == few


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.lists(st.text(max_size=12), max_size=21), max_size=8),
    st.sampled_from([CHART_HEADS, PATTERN_HEADS]),
)
def test_any_table_is_read_or_told_row_by_row(rows, heads):
    what, columns = columns_of(list(heads.values()))
    wholes, found = read_table(what, columns, list(enumerate(rows, start=2)), parse_length)
    told = {one.row for one in found}
    figures = {one.row for whole in wholes for one in whole.figures}
    assert told | figures == set(range(2, len(rows) + 2))
