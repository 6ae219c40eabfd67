"""The catalogue as the code reads it; what it says is tested in tests/studio/calc/test_measures_catalogue.py."""

import json

import pytest
from django.template import Context, Template

from studio.queries.catalogue import FILE, catalogue, measure, read_catalogue


def _data():
    return json.loads(FILE.read_text(encoding="utf-8"))


def test_all_measures_and_sets_are_read_in_the_walk_round_the_body():
    found = catalogue()
    assert len(found.measures) == 74
    assert len(found.sets) == 7
    assert [each.order for each in found.measures.values()] == sorted(
        each.order for each in found.measures.values()
    )
    assert len(found.sets["basic_twelve"].measures) == 12
    assert found.sets["basic_twelve"].repeat == {"chest_girth", "bust_girth", "waist_girth", "hip_girth"}
    assert catalogue() is found


def test_a_measure_answers_in_its_own_unit():
    waist, weight = measure("waist_girth"), measure("weight")
    assert (waist.technical_error, waist.technical_error_mm, waist.unit) == (8.0, 8.0, "mm")
    assert (weight.technical_error, weight.technical_error_mm, weight.unit) == (0.3, None, "kg")
    assert (waist.typed_in("in"), weight.typed_in("in"), weight.typed_in("cm")) == ("in", "lb", "kg")
    assert waist.range_for(minor=True) == waist.child != waist.range_for(minor=False)
    assert weight.range_adult_mm is None
    with pytest.raises(TypeError):
        waist.figure["view"] = "side"


def test_an_unknown_measure_is_refused():
    with pytest.raises(ValueError, match="no measure 'tail_length' in the catalogue"):
        measure("tail_length")


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda data: data["measures"][0].update(unit="ell"), "Measure height: unit is 'ell'"),
        (lambda data: data["measures"][0].update(kind="depth"), "Measure height: kind is 'depth'"),
        (
            lambda data: data["measures"][0].update(technical_error_mm=0),
            "technical_error_mm must be a number above 0",
        ),
        (
            lambda data: data["measures"][0].update(technical_error_mm=float("nan")),
            "technical_error_mm must be",
        ),
        (lambda data: data["measures"][0].update(range_adult_mm=[5, 5]), "range_adult_mm must go from a low"),
        (
            lambda data: data["measures"][0].update(range_child_mm=None),
            "range_child_mm must be a lowest and a highest",
        ),
        (lambda data: data["measures"].append(data["measures"][0]), "height stands in the catalogue twice"),
        (lambda data: data["sets"][0]["measures"].append("tail"), "there is no measure 'tail'"),
        (lambda data: data["sets"][0].update(repeat=["weight"]), "only those can be repeated"),
    ],
)
def test_a_slip_in_the_file_is_named(spoil, sentence):
    data = _data()
    spoil(data)
    with pytest.raises(ValueError, match=sentence):
        read_catalogue(data)


@pytest.mark.parametrize(
    ("template", "words"),
    [
        ("{{ mm|length:'cm' }}", "97.2 cm"),
        ("{{ mm|length:'in' }}", "38 1/4 in"),  # 971.55 mm = 38.25 x 25.4
        ("{{ kg|weight:'kg' }}", "60.5 kg"),
        ("{{ kg|weight:'in' }}", "133.4 lb"),  # 60.5 / 0.45359237
        ("{{ change|difference:'cm' }}", "\u22121.5 cm"),
        ("{% amount 'waist_girth' mm 'cm' %}", "97.2 cm"),
        ("{% amount 'weight' kg 'cm' %}", "60.5 kg"),
        ("{% amount_change 'weight' heavy kg 'cm' %}", "+0.4 kg"),
        ("{% amount_change 'weight' kg heavy 'cm' %}", "\u22120.4 kg"),
        ("{% amount_change 'weight' kg kg 'in' %}", "0.0 lb"),
        ("{% amount_change 'waist_girth' mm small 'in' %}", "\u22125/8 in"),
        ("{% amount_change 'of_our_own' mm small 'cm' %}", "\u22121.5 cm"),
        ("{{ many|length }}", "3"),
        ("{{ nothing|length:'cm' }}{% amount 'weight' nothing 'cm' %}", ""),
    ],
)
def test_pages_write_figures_with_their_unit(template, words):
    from decimal import Decimal

    context = Context(
        {
            "mm": Decimal("971.55"),
            "kg": Decimal("60.5"),
            "heavy": Decimal("60.14"),  # shown as 60.1, and 0.4 less than 60.5
            "small": Decimal("956.55"),
            "change": Decimal("-15"),
            "nothing": None,
            "many": [1, 2, 3],
        }
    )
    assert Template("{% load measures %}" + template).render(context) == words
