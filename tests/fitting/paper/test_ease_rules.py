"""Finding the ease rule for each zone. The figures are held against their sources in tests/fitting/calc."""

import pytest

from fitting.queries.ease_rules import chosen_set, ease_sets, known_set, rules_for, stretch_class
from fitting.queries.paper_zones import lacking, needs_of, paper_zones
from studio.platform.models import Studio
from studio.queries.catalogue import catalogue

INCH = 25.4


def test_the_default_set_is_the_named_text():
    rules = rules_for("skirt", "fitted", "woven")
    # Central Washington University, costume-shop text, ch. 16: skirt waist 1/2 to 3/4, hip 2 to 2 3/4 in.
    assert (rules["waist"].rule.low, rules["waist"].rule.high) == pytest.approx((0.5 * INCH, 0.75 * INCH))
    assert (rules["hip"].rule.low, rules["hip"].rule.high) == pytest.approx((2 * INCH, 2.75 * INCH))
    assert rules["hip"].rule.source.startswith("Central Washington University")
    assert not rules["hip"].borrowed
    assert rules["waist_to_hip"].rule.source == "Common practice, no source"
    assert rules["waist_to_hip"].borrowed


def test_the_chosen_set_comes_first_and_others_fill_its_gaps():
    rules = rules_for("trousers", "fitted", "woven", "metric_page")
    # A teacher's metric page: trousers hip 4 to 6 cm; it is silent on the thigh, the costume text is not.
    assert (rules["hip"].rule.low, rules["hip"].rule.high, rules["hip"].borrowed) == (40, 60, False)
    assert (rules["thigh"].ease_set, rules["thigh"].borrowed) == ("costume_text", True)


def test_a_rule_taken_over_from_another_garment_says_so():
    rule = rules_for("dress", "fitted", "woven")["bust"].rule
    assert "stated for a bodice" in rule.source


def test_lengths_serve_every_closeness_and_girths_do_not():
    rules = rules_for("trousers", "semi_fitted", "woven")
    assert set(rules) == {"waist_to_hip", "rise", "leg"}
    assert all(found.any_closeness for found in rules.values())


@pytest.mark.parametrize(
    ("percent", "name"),
    [
        (None, None),
        (0, "stable"),
        (24.9, "stable"),
        (25, "moderate"),
        (50, "stretchy"),
        (120, "very_stretchy"),
    ],
)
def test_stretch_classes(percent, name):
    assert stretch_class(percent) == name


def test_a_close_knit_follows_its_stretch():
    stable = rules_for("tshirt", "close", "knit", stretch_percent=18)["bust"].rule
    stretchy = rules_for("tshirt", "close", "knit", stretch_percent=60)["bust"].rule
    assert stretchy.target < stable.target <= 0
    assert "bust" not in rules_for("tshirt", "close", "knit")  # no stretch stated: no rule


def test_sets_carry_their_sources_and_the_studio_chooses(in_house):
    assert chosen_set(in_house.clerk) == "costume_text"
    Studio.objects.filter(pk=in_house.studio_id).update(ease_set="metric_page")
    sets = ease_sets(chosen_set(in_house.clerk))
    assert [one.code for one in sets if one.chosen] == ["metric_page"]
    assert sum(one.rules for one in sets) == 142
    assert all(one.author and one.status for one in sets)


def test_an_unknown_set_is_named():
    with pytest.raises(ValueError, match="no ease set 'mine'; choose one of costume_text"):
        known_set("mine")


def test_every_zone_serves_a_measure_of_the_catalogue_and_every_garment_knows_its_zones():
    for zone in paper_zones().values():
        assert all(code in catalogue().measures for code in zone.body)
        assert 0 < zone.least_mm < zone.most_mm
    for kind in ("skirt", "trousers", "bodice", "dress", "shirt", "jacket", "tshirt"):
        needs = needs_of(kind)
        codes = {code for group in needs.groups for code in group}
        assert codes <= set(paper_zones())
        assert all(set(group) <= codes for group in needs.needed)


def test_what_is_lacking_is_said_in_words():
    assert lacking("shirt", frozenset({"waist"})) == ["bust or chest"]
    assert lacking("skirt", frozenset({"waist", "hip"})) == []
    with pytest.raises(ValueError, match="no garment kind 'cape'"):
        lacking("cape", frozenset())
