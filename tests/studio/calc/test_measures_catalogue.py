"""The catalogue of measures, studio/data/measures.json, that people edit by hand.

Names of ISO 8559:1989 and limits of ISO 20685 are held against tests/reference/anthropometry.json, which
names the sources. Ranges and sets: common practice, no source.
"""

import json
import re
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[3]
CATALOGUE: dict[str, Any] = json.loads(
    (ROOT / "studio" / "data" / "measures.json").read_text(encoding="utf-8")
)
PUBLISHED: dict[str, Any] = json.loads(
    (ROOT / "tests" / "reference" / "anthropometry.json").read_text(encoding="utf-8")
)
MEASURES: list[dict[str, Any]] = CATALOGUE["measures"]
BY_CODE = {measure["code"]: measure for measure in MEASURES}
SETS: list[dict[str, Any]] = CATALOGUE["sets"]

each_measure = pytest.mark.parametrize("measure", MEASURES, ids=[measure["code"] for measure in MEASURES])
each_set = pytest.mark.parametrize("chosen", SETS, ids=[chosen["code"] for chosen in SETS])

# Girths of 507 measured adults (Heinz et al. 2003, Journal of Statistics Education 11(2)), means of women and
# men in mm: an ordinary body must be in range.
ORDINARY_ADULTS = {
    "waist_girth": (698.0, 845.3),
    "hip_girth": (956.5, 977.6),
    "chest_girth": (860.6, 1009.9),
    "thigh_girth": (572.0, 565.0),
    "upper_arm_girth": (281.0, 344.0),
    "wrist_girth": (150.6, 171.9),
    "height": (1648.7, 1777.5),
}


def test_there_are_enough_measures_for_all_garments() -> None:
    assert len(MEASURES) >= 60
    assert len(BY_CODE) == len(MEASURES)
    assert len({measure["name"] for measure in MEASURES}) == len(MEASURES)
    for garment in CATALOGUE["garments"]:
        assert any(garment in measure["garments"] for measure in MEASURES), garment


def test_the_measures_that_the_calculations_name_are_there() -> None:
    modelled = (
        "height weight shoulder_girth chest_girth waist_girth abdomen_girth hip_girth thigh_girth "
        "upper_arm_girth forearm_girth knee_girth calf_girth ankle_girth wrist_girth"
    )
    for code in (*modelled.split(), "bust_girth", "underbust_girth"):
        assert code in BY_CODE


def test_the_walk_round_the_body_is_the_order_of_the_file() -> None:
    order = [measure["order"] for measure in MEASURES]
    assert order == sorted(set(order))


@each_measure
def test_a_measure_says_what_it_is_and_how_it_is_taken(measure: dict[str, Any]) -> None:
    assert re.fullmatch(r"[a-z]+(_[a-z]+)*", measure["code"])
    assert measure["kind"] in ("girth", "length", "width", "height", "weight")
    assert measure["side"] in ("left", "right", "centre")
    assert measure["unit"] == ("kg" if measure["kind"] == "weight" else "mm")
    assert measure["name"] == measure["name"].strip()
    assert measure["instruction"].endswith(".")
    assert len(measure["instruction"].split()) >= 10
    assert measure["garments"]
    assert set(measure["garments"]) <= set(CATALOGUE["garments"])
    assert set(measure) <= set(CATALOGUE["keys"])


@each_measure
def test_a_measure_has_an_error_and_says_where_it_comes_from(measure: dict[str, Any]) -> None:
    unit = measure["unit"]
    for key in ("technical_error", "between_measurers_error"):
        assert measure[f"{key}_{unit}"] > 0
    assert measure["technical_error_mm"] is None or 2 <= measure["technical_error_mm"] <= 15
    assert "no source" in measure["technical_error_source"]


@each_measure
def test_ranges_are_ordered_and_hold_the_smaller_child(measure: dict[str, Any]) -> None:
    adult, child = (measure[f"range_{who}_{measure['unit']}"] for who in ("adult", "child"))
    assert 0 < child[0] < adult[0] < child[1] <= adult[1]
    assert measure["range_source"] == "common practice, no source"


@pytest.mark.parametrize(("code", "means"), ORDINARY_ADULTS.items(), ids=list(ORDINARY_ADULTS))
def test_an_ordinary_body_is_in_range_in_mm_and_not_in_cm_or_inches(
    code: str, means: tuple[float, float]
) -> None:
    low, high = BY_CODE[code]["range_adult_mm"]
    for mean in means:
        assert low < mean < high
        assert not low <= mean / 10 <= high
        assert not low <= mean * 10 <= high
    # Inches typed into a field of centimetres.
    assert not all(low <= mean / 2.54 <= high for mean in means)


@each_measure
def test_the_iso_8559_name_is_in_the_published_list(measure: dict[str, Any]) -> None:
    published = PUBLISHED["iso_8559_1989_names"]
    names = {*published["vertical"], *published["width_and_length"], *published["girth"]}
    assert measure["iso_8559"] is None or measure["iso_8559"] in names


def test_an_iso_8559_name_is_used_once_for_each_side() -> None:
    named = [(measure["iso_8559"], measure["side"]) for measure in MEASURES if measure["iso_8559"]]
    assert len(named) == len(set(named))


@each_measure
def test_the_iso_20685_limit_is_that_of_its_class(measure: dict[str, Any]) -> None:
    limits = PUBLISHED["agreement"]["limits_mm"]
    assert measure["iso_20685_limit_mm"] == limits.get(measure["iso_20685_class"])
    assert (measure["iso_20685_class"] is None) == (measure["iso_20685_limit_mm"] is None)


@each_measure
def test_the_figure_speaks_the_vocabulary(measure: dict[str, Any]) -> None:
    words = CATALOGUE["figure_vocabulary"]
    figure = measure["figure"]
    if measure["kind"] == "weight":
        assert figure is None
        return
    assert set(figure) == {"view", "kind", "from", "to"}
    assert figure["view"] in words["view"]
    assert figure["kind"] in words["kind"]
    assert {figure["from"], figure["to"]} <= {*words["levels"], *words["points"]}
    assert (figure["kind"] == "girth") == (measure["kind"] == "girth")
    assert (figure["kind"] == "height") == (measure["kind"] == "height")


def test_levels_and_points_share_no_name() -> None:
    words = CATALOGUE["figure_vocabulary"]
    assert not set(words["levels"]) & set(words["points"])


def test_the_sets_of_the_house_are_there() -> None:
    codes = [chosen["code"] for chosen in SETS]
    assert len(codes) == len(set(codes))
    expected = {"trousers", "skirt", "fitted_bodice", "shirt", "knit_top", "child_coat", "basic_twelve"}
    assert expected <= set(codes)
    assert len(next(chosen for chosen in SETS if chosen["code"] == "basic_twelve")["measures"]) == 12


@each_set
def test_a_set_walks_round_the_body_with_known_measures(chosen: dict[str, Any]) -> None:
    assert set(chosen["measures"]) <= set(BY_CODE)
    order = [BY_CODE[code]["order"] for code in chosen["measures"]]
    assert order == sorted(set(order))
    assert chosen["repeat"]
    assert set(chosen["repeat"]) <= set(chosen["measures"])
    assert "weight" not in chosen["measures"]  # never asked for by default


def test_every_figure_s_source_is_listed() -> None:
    assert CATALOGUE["version"] == 1
    assert {source["code"] for source in CATALOGUE["sources"]} >= {"iso_8559", "iso_20685", "common_practice"}
    assert all(source["title"] and source["used_for"] for source in CATALOGUE["sources"])
