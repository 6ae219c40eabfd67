"""Measures and sets of a studio's own, and what it hides."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from studio.models import StudioMeasure, StudioSet
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from studio.queries.catalogue import catalogue
from studio.queries.choices import (
    known_measures,
    measure_choice,
    measure_choices,
    measures_for,
    set_choices,
    set_for,
)
from studio.queries.measuring import body_of, changes_of, measuring_get
from studio.services.choices import (
    add_measure,
    add_set,
    change_set,
    hide_measure,
    hide_set,
    show_measure,
    show_set,
)
from studio.services.measuring import add_take, correct_reading
from tests.studio.class_day.invented import OWN_MEASURE
from tests.studio.helpers import a_client, measured


def test_a_measure_of_ones_own_stands_in_the_walk_where_it_was_put(in_house):
    row = add_measure(in_house.instructor, **OWN_MEASURE)
    assert row.code == "own_cuff_depth"
    codes = list(measures_for(in_house.clerk).measures)
    assert codes[codes.index("arm_length") + 1] == "own_cuff_depth"
    assert len(codes) == 75
    found = measures_for(in_house.clerk).measures["own_cuff_depth"]
    assert (found.name, found.unit, found.technical_error, found.between_error) == (
        "Cuff depth",
        "mm",
        3.0,
        3.0,
    )
    assert (found.adult, found.child) == ((20.0, 200.0), (10.0, 150.0))
    assert "no source" in found.technical_error_source
    assert "own_cuff_depth" not in catalogue().measures
    assert AuditEntry.objects.filter(act="add_measure", object_id=row.pk).exists()


def test_without_a_place_it_comes_last_and_a_code_can_be_given(in_house):
    add_measure(in_house.owner, **OWN_MEASURE | {"after": "", "code": "cuff"})
    assert list(measures_for(in_house.owner).measures)[-1] == "own_cuff"


def test_it_is_measured_corrected_and_compared_like_any_other(in_house):
    add_measure(in_house.instructor, **OWN_MEASURE)
    client = a_client(in_house.clerk)
    ago = timezone.now() - timedelta(days=9)
    measured(in_house.instructor, client, {"own_cuff_depth": "6", "waist_girth": "76"}, measured_at=ago)
    row = measured(in_house.instructor, client, {"own_cuff_depth": ("9", "9.1")})
    third = add_take(in_house.instructor, row.pk, measure_code="own_cuff_depth", typed="3 1/2 in")
    assert third.value == Decimal("88.9000")  # 3.5 x 25.4
    correct_reading(in_house.instructor, third.pk, typed="9", reason="in cm")
    body = body_of(in_house.owner, client.pk)
    assert body["own_cuff_depth"].value == Decimal(90)
    assert list(body) == ["waist_girth", "own_cuff_depth"]
    (change,) = changes_of(in_house.owner, client.pk)
    assert (change.code, change.difference, change.beyond) == ("own_cuff_depth", Decimal(30), True)
    assert measuring_get(in_house.owner, row.pk).measures[0].measure.name == "Cuff depth"
    with pytest.raises(Refused, match=r"Cuff depth of 50\.0 cm is outside what a tape can read"):
        measured(in_house.instructor, client, {"own_cuff_depth": "50"})


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        (
            {"technical_error": 0.0},
            "technical_error",
            "Measure own_cuff_depth: technical_error_mm must be a number",
        ),
        ({"technical_error": float("nan")}, "technical_error", "must be a number above 0"),
        ({"between_error": -1.0}, "between_error", "between_measurers_error_mm must be a number above 0"),
        (
            {"range_adult": (200.0, 20.0)},
            "range_adult",
            "range_adult_mm must go from a low to a higher number",
        ),
        ({"range_child": (1.0,)}, "range_child", "must be a lowest and a highest number"),
        ({"side": "top"}, "side", "side is 'top'; it must be one of left, right, centre"),
        ({"kind": "weight"}, "kind", "one of girth, length, width, height"),
        ({"name": " "}, "name", "Give the measure a name"),
        ({"name": "Üß"}, "code", ""),
        ({"instruction": ""}, "instruction", "where the tape begins"),
        ({"garments": ["armour"]}, "garments", "There is no garment 'armour'"),
        ({"after": "tail"}, "after", "There is no measure 'tail'"),
        (
            {"figure": {"view": "front", "kind": "girth", "from": "nape", "to": "nape"}},
            "figure",
            "can't be drawn",
        ),
        ({"figure": {"view": "front"}}, "figure", "'kind' is missing"),
        (
            {"figure": {"view": "top", "kind": "line", "from": "nape", "to": "waist"}},
            "figure",
            "view is 'top'",
        ),
    ],
)
def test_what_cannot_be_used_is_named(in_house, facts, field, sentence):
    if field == "code":  # letters that have no Latin form make no code, but a given code does
        assert (
            add_measure(in_house.owner, **OWN_MEASURE | {"name": "袖", "code": "sleeve"}).code == "own_sleeve"
        )
        return
    with pytest.raises(Refused) as refused:
        add_measure(in_house.instructor, **OWN_MEASURE | facts)
    assert set(refused.value.reasons) == {field}
    assert sentence in refused.value.reasons[field]
    assert not StudioMeasure.objects.exists()


def test_a_name_without_a_latin_letter_asks_for_a_code(in_house):
    with pytest.raises(Refused, match="at least one Latin letter, or a code"):
        add_measure(in_house.instructor, **OWN_MEASURE | {"name": "袖"})


def test_a_code_is_given_once(in_house):
    add_measure(in_house.instructor, **OWN_MEASURE)
    with pytest.raises(Refused, match=r"own_cuff_depth \(Cuff depth\) already"):
        add_measure(in_house.owner, **OWN_MEASURE)


def test_a_hidden_measure_is_not_offered_and_keeps_its_history(in_house):
    client = a_client(in_house.clerk)
    row = measured(in_house.instructor, client, {"waist_girth": "76", "hip_girth": "102"})
    hide_measure(in_house.instructor, "waist_girth")
    offered = measures_for(in_house.owner)
    assert "waist_girth" not in offered.measures
    assert all("waist_girth" not in found.measures for found in offered.sets.values())
    assert "waist_girth" not in offered.sets["skirt"].repeat
    assert "waist_girth" in known_measures(in_house.owner)
    assert body_of(in_house.owner, client.pk)["waist_girth"].value == Decimal(760)
    assert len(measuring_get(in_house.owner, row.pk).measures) == 2
    choice = measure_choice(in_house.owner, "waist_girth")
    assert (choice.hidden, choice.own) == (True, False)
    show_measure(in_house.owner, "waist_girth")
    assert measures_for(in_house.owner) == measures_for(in_house.clerk)
    assert "waist_girth" in measures_for(in_house.owner).sets["skirt"].measures
    assert [each.act for each in AuditEntry.objects.filter(noun="studiomeasure").order_by("id")] == [
        "hide_measure",
        "show_measure",
    ]


def test_hiding_twice_is_one_act(in_house):
    hide_measure(in_house.owner, "weight")
    hide_measure(in_house.owner, "weight")
    assert AuditEntry.objects.filter(act="hide_measure").count() == 1


def test_a_set_of_ones_own(in_house):
    add_measure(in_house.instructor, **OWN_MEASURE)
    row = add_set(
        in_house.instructor,
        name="Cuffs",
        measures=["arm_length", "own_cuff_depth", "wrist_girth"],
        repeat=["wrist_girth"],
    )
    assert row.code == "own_cuffs"
    chosen, known = set_for(in_house.owner, "own_cuffs")
    assert [known[code].name for code in chosen.measures] == [
        "Arm length, right",
        "Cuff depth",
        "Wrist girth",
    ]
    changed = change_set(in_house.owner, "own_cuffs", expected_version=1, measures=["wrist_girth"])
    assert (changed.version, changed.measures) == (2, ["wrist_girth"])
    with pytest.raises(Stale):
        change_set(in_house.owner, "own_cuffs", expected_version=1, name="x")
    with pytest.raises(Refused, match="only those can be repeated"):
        change_set(in_house.owner, "own_cuffs", measures=["arm_length"])
    with pytest.raises(Refused, match="already"):
        add_set(in_house.owner, name="cuffs", measures=["arm_length"])


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"measures": ["tail"]}, "measures", "there is no measure 'tail'"),
        ({"measures": []}, "measures", "it needs measures"),
        ({"measures": ["arm_length", "arm_length"]}, "measures", "stands in the set twice"),
        ({"repeat": ["hip_girth"]}, "repeat", "only those can be repeated"),
        ({"name": " "}, "name", "Give the set a name"),
    ],
)
def test_a_wrong_set_is_refused(in_house, facts, field, sentence):
    with pytest.raises(Refused) as refused:
        add_set(in_house.owner, **{"name": "Cuffs", "measures": ["arm_length"], **facts})
    assert sentence in refused.value.reasons[field]
    assert not StudioSet.objects.exists()


def test_a_hidden_set_is_not_offered_but_goes_on_where_it_is_used(in_house):
    hide_set(in_house.owner, "skirt")
    assert "skirt" not in measures_for(in_house.owner).sets
    assert set_for(in_house.owner, "skirt")[0].name == "Skirt"
    assert [each.set.code for each in set_choices(in_house.owner) if each.hidden] == ["skirt"]
    show_set(in_house.owner, "skirt")
    assert "skirt" in measures_for(in_house.owner).sets
    with pytest.raises(Conflict, match="catalogue's"):
        change_set(in_house.owner, "skirt", name="Mine")


def test_a_set_of_which_all_is_hidden_is_gone(in_house):
    add_set(in_house.owner, name="Just one", measures=["weight"])
    hide_measure(in_house.owner, "weight")
    assert "own_just_one" not in measures_for(in_house.owner).sets
    with pytest.raises(Conflict, match="Every measure of the set Just one is hidden"):
        set_for(in_house.owner, "own_just_one")


def test_what_is_not_there_is_not_here(in_house):
    for act in (
        lambda: hide_measure(in_house.owner, "tail"),
        lambda: hide_set(in_house.owner, "tail"),
        lambda: change_set(in_house.owner, "own_tail", name="x"),
        lambda: set_for(in_house.owner, "tail"),
        lambda: measure_choice(in_house.owner, "tail"),
    ):
        with pytest.raises(NotHere):
            act()


def test_a_clerk_chooses_nothing(in_house):
    for act in (
        lambda: add_measure(in_house.clerk, **OWN_MEASURE),
        lambda: hide_measure(in_house.clerk, "weight"),
        lambda: show_measure(in_house.clerk, "weight"),
        lambda: add_set(in_house.clerk, name="x", measures=["weight"]),
        lambda: change_set(in_house.clerk, "own_x", name="y"),
        lambda: hide_set(in_house.clerk, "skirt"),
    ):
        with pytest.raises(NotAllowed):
            act()


def test_another_studio_chooses_for_itself(house, other_house):
    with other_house.scope():
        add_measure(other_house.owner, **OWN_MEASURE)
        hide_measure(other_house.owner, "weight")
        hide_set(other_house.owner, "skirt")
    with house.scope():
        found = measures_for(house.owner)
        assert "own_cuff_depth" not in found.measures
        assert "weight" in found.measures
        assert "skirt" in found.sets


def test_two_queries_however_much_is_chosen(in_house, django_assert_num_queries):
    for number in range(6):
        add_measure(in_house.owner, **OWN_MEASURE | {"name": f"Cuff {number}"})
        add_set(in_house.owner, name=f"Set {number}", measures=[f"own_cuff_{number}"])
    for ask in (measures_for, measure_choices, set_choices):
        with django_assert_num_queries(2):
            ask(in_house.owner)
    with django_assert_num_queries(1):
        known_measures(in_house.owner)
    assert measure_choice(in_house.owner, "own_cuff_3").in_sets == ("Set 3",)
