"""The tables of ease and cautions: complete, sourced, and true to the figures that their sources state."""

import json
import re
from pathlib import Path

import pytest

from fitting.calc.ease import EaseRule

DATA = Path(__file__).parents[3] / "fitting" / "data"
EASE = json.loads((DATA / "ease_rules.json").read_text())
CAUTIONS = json.loads((DATA / "cautions.json").read_text())
MM = ("low_mm", "target_mm", "high_mm")
PLACES = ("set", "garment", "zone", "closeness", "cloth", "stretch")


def rows(**wanted):
    return [row for row in EASE["rules"] if all(row[key] == value for key, value in wanted.items())]


def test_every_row_is_a_rule_with_a_source_and_says_what_is_stated():
    sets = {one["code"]: one["source"] for one in EASE["sets"]}
    for row in EASE["rules"]:
        EaseRule(row["low_mm"], row["target_mm"], row["high_mm"], row["source"]["author"])
        assert row["source"] == sets[row["set"]]
        assert set(row["source"]) == {"author", "year", "status"}
        assert sorted(row["stated"] + row["filled"]) == sorted(MM)
        assert row["garment"] in {"skirt", "trousers", "bodice", "dress", "shirt", "jacket", "tshirt"}
        assert row["closeness"] in {"close", "fitted", "semi_fitted", "loose"}
        assert row["cloth"] in {"woven", "knit"}
        assert row["stretch"] is None or row["cloth"] == "knit"
        if row["set"] == "common_practice" or not row["stated"]:
            assert row["note"]
    keys = [tuple(row[key] for key in PLACES) for row in EASE["rules"]]
    assert len(set(keys)) == len(keys)


def test_knit_rules_are_marked_common_practice():
    assert rows(cloth="knit")
    for row in rows(cloth="knit"):
        assert row["source"]["author"] == "Common practice, no source"
        assert row["stated"] == []


@pytest.mark.parametrize(
    ("garment", "zone", "low", "high"),
    [
        # Central Washington University, costume-shop text, chapter 16; inches.
        ("bodice", "bust", 1.5, 2),
        ("dress", "waist", 0.75, 1),
        ("skirt", "waist", 0.5, 0.75),
        ("trousers", "waist", 0.5, 0.75),
        ("skirt", "hip", 2, 2.75),
        ("dress", "hip", 2, 2.75),
        ("trousers", "seat", 1.5, 2),
        ("shirt", "chest", 1.5, 2.5),
    ],
)
def test_costume_text_in_exact_inches(garment, zone, low, high):
    (row,) = rows(set="costume_text", garment=garment, zone=zone, closeness="fitted")
    assert row["low_mm"] == pytest.approx(low * 25.4, abs=1e-9)
    assert row["high_mm"] == pytest.approx(high * 25.4, abs=1e-9)
    assert row["stated"] == ["low_mm", "high_mm"]


@pytest.mark.parametrize(
    ("garment", "zone", "low", "high"),
    [
        # A second author's metric page; centimetres.
        ("bodice", "bust", 4, 6),
        ("bodice", "waist", 2, 4),
        ("shirt", "waist", 4, 8),
        ("jacket", "bust", 8, 12),
        ("jacket", "waist", 6, 10),
        ("trousers", "hip", 4, 6),
        ("trousers", "rise", 2, 3),
    ],
)
def test_metric_page(garment, zone, low, high):
    row = next(
        row for row in rows(set="metric_page", garment=garment, zone=zone) if row["closeness"] != "loose"
    )
    assert (row["low_mm"], row["high_mm"]) == (low * 10, high * 10)


def test_shirt_page_states_one_figure_for_each_closeness():
    # A blog page on men's shirts; centimetres, from the closest to the loosest.
    stated = [row["target_mm"] for row in rows(set="shirt_page", zone="chest")]
    assert stated == [90, 120, 160, 200]
    assert all(row["stated"] == ["target_mm"] for row in rows(set="shirt_page"))


def test_cautions_cover_each_step_and_person_with_a_source():
    whens = [row["when"] for row in CAUTIONS["cautions"]]
    assert {when["step"] for when in whens if "step" in when} == {
        "cutting",
        "basting",
        "machine_sewing",
        "pressing",
    }
    assert {"subject": "minor"} in whens
    for feature in ("cord", "small_part", "nightwear"):
        assert {"garment": "child", "feature": feature} in whens
    codes = [row["code"] for row in CAUTIONS["cautions"]]
    assert len(set(codes)) == len(codes)
    for row in CAUTIONS["cautions"]:
        assert set(row) == {"code", "when", "title", "text", "refer", "source"}
        assert row["source"]["author"]


def test_cautions_show_no_figures_and_defer_to_the_rule_in_force():
    for row in CAUTIONS["cautions"]:
        # Numbers may stand only in the names of rules.
        assert not re.search(r"\d", row["title"] + row["text"]), row["code"]
        if row["when"].get("feature") in {"cord", "small_part", "nightwear"}:
            assert "check the rule that is in force" in row["text"]
            assert "the current local rule" in row["refer"]
