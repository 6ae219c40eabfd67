"""A body beside the figure of a size chart.

Table: US commercial pattern industry "Misses" sizing since 1968, as reproduced on a sewing-history page; the rows
checked here are typed from it anew. Base cup 2 in: four sewing-teaching pages. A torso 2 cm longer means that the
waistline goes down 2 cm: common practice, no source.
"""

import pytest

from studio.calc.standard_figure import compare_figure, nearest_size
from studio.calc.units import format_length
from studio.queries.standard_figures import read_figures, standard_figures

MISSES = {  # size: bust, waist, hip, back waist; inches, from the published table
    "6": (30.5, 23, 32.5, 15.5), "8": (31.5, 24, 33.5, 15.75), "10": (32.5, 25, 34.5, 16),
    "12": (34, 26.5, 36, 16.25), "14": (36, 28, 38, 16.5), "16": (38, 30, 40, 16.75),
    "18": (40, 32, 42, 17), "20": (42, 34, 44, 17.25),
}  # fmt: skip
WOMENS = {"38": (42, 35, 44), "44": (48, 41.5, 50), "50": (54, 49, 56)}


def say(mm):
    return format_length(mm, "cm")


def chart(code="misses_1968"):
    return standard_figures().charts[code]


def test_the_shipped_table_is_the_published_one():
    found = {
        size.name: tuple(
            round(value / 25.4, 6) for value in (size.bust, size.waist, size.hip, size.back_waist)
        )
        for size in chart().sizes
    }
    assert found == MISSES
    assert chart().height == pytest.approx((65 * 25.4, 66 * 25.4))  # 5 ft 5 to 5 ft 6
    assert chart().cup == pytest.approx(50.8)


def test_the_petite_and_womens_rows_are_the_published_ones():
    petite = chart("miss_petite_1968").sizes
    assert [size.name for size in petite] == ["6", "8", "10", "12", "14", "16"]
    for size in petite:  # same bust and hip, waist half an inch more
        bust, waist, hip, _ = MISSES[size.name]
        assert (size.bust, size.waist, size.hip) == pytest.approx(
            (bust * 25.4, (waist + 0.5) * 25.4, hip * 25.4)
        )
    assert [size.back_waist / 25.4 for size in petite] == pytest.approx([14.5, 14.75, 15, 15.25, 15.5, 15.75])
    womens = {size.name: size for size in chart("womens_1968").sizes}
    for name, row in WOMENS.items():
        size = womens[name]
        assert (size.bust, size.waist, size.hip) == pytest.approx(tuple(inches * 25.4 for inches in row))
        assert size.back_waist is None


def test_a_longer_torso_lowers_the_waistline_by_as_much():
    size = chart().size("12")
    torso = compare_figure(chart(), size, {"back_waist_length": size.back_waist + 20}, say=say)[1]
    assert torso.difference == pytest.approx(20)
    assert torso.words == "The paper's waistline goes down 2.0 cm."
    shorter = compare_figure(chart(), size, {"back_waist_length": size.back_waist - 15}, say=say)[1]
    assert shorter.words == "The paper's waistline goes up 1.5 cm."


def test_a_height_inside_the_charts_span_is_as_drawn():
    height = compare_figure(chart(), chart().size("12"), {"height": 65.5 * 25.4}, say=say)[0]
    assert (height.difference, height.verdict) == (0, "as drawn")
    tall = compare_figure(chart(), chart().size("12"), {"height": 1720}, say=say)[0]
    assert tall.difference == pytest.approx(1720 - 66 * 25.4)
    assert "4.4 cm lower" in tall.words
    short = compare_figure(chart(), chart().size("12"), {"height": 1600}, say=say)[0]
    assert short.difference == pytest.approx(1600 - 65 * 25.4)
    assert "shorter" in short.words


def test_what_lies_within_the_tape_is_as_drawn():
    size = chart().size("12")
    body = {"back_waist_length": size.back_waist + 10}
    assert compare_figure(chart(), size, body, say=say)[1].verdict == "differs"
    assert (
        compare_figure(chart(), size, body, say=say, errors={"back_waist_length": 6})[1].verdict == "as drawn"
    )


def test_the_cup_changes_each_half_front_by_half_the_difference():
    cup = compare_figure(
        chart(), chart().size("12"), {"bust_girth": 960, "chest_girth": 960 - 101.6}, say=say
    )[3]
    assert cup.difference == pytest.approx(50.8)  # 4 in against the base of 2 in
    assert "a pattern cup D" in cup.words  # 4 in is a D by the teaching pages
    assert "each half front becomes 2.5 cm wider" in cup.words
    flat = compare_figure(chart(), chart().size("12"), {"bust_girth": 880, "chest_girth": 890}, say=say)[3]
    assert flat.difference == pytest.approx(-60.8)
    assert "narrower" in flat.words


def test_what_is_not_known_is_said():
    parts = compare_figure(chart("womens_1968"), chart("womens_1968").size("38"), {}, say=say)
    assert [part.verdict for part in parts] == ["not told", "not told", "not told", "not taken"]
    parts = compare_figure(chart(), chart().size("6"), {}, say=say)
    assert {part.verdict for part in parts} == {"not taken"}


def test_each_size_is_nearest_to_its_own_row():
    for size in chart().sizes:
        body = {"bust_girth": size.bust, "waist_girth": size.waist, "hip_girth": size.hip}
        assert nearest_size(chart(), body) == size
    # Between 12 and 14 the larger is taken: 35 in lies as near to 34 as to 36.
    assert nearest_size(chart(), {"bust_girth": 35 * 25.4}).name == "14"
    with pytest.raises(ValueError, match="Bust, waist and hip"):
        nearest_size(chart(), {"height": 1700})


def test_bad_input_is_told():
    with pytest.raises(ValueError, match="no size '7'"):
        chart().size("7")
    with pytest.raises(ValueError, match="height must be a length above 0"):
        compare_figure(chart(), chart().size("6"), {"height": 0}, say=say)
    for key, value in (("bust_in", 0), ("waist_in", "x")):
        row = {"name": "1", "bust_in": 30, "waist_in": 23, "hip_in": 32, "back_waist_in": None, key: value}
        data = {
            "sources": {},
            "note": "",
            "charts": [
                {
                    "code": "c",
                    "name": "C",
                    "height_in": None,
                    "waist_to_hip_in": None,
                    "cup_in": None,
                    "sizes": [row],
                }
            ],
        }
        with pytest.raises(ValueError, match=f"Chart c: {key}"):
            read_figures(data)
