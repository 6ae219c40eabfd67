"""Recording patterns: what is kept, and what is refused, with nothing half-saved."""

from decimal import Decimal

import pytest

from fitting.models import Pattern, PatternMeasure, PatternSize
from fitting.queries.patterns import not_ready, pattern_get, pattern_list, size_table
from fitting.services.patterns import SizeGiven, change_pattern, record_pattern
from studio.platform.errors import NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from tests.fitting.paper.invented import SKIRT, sizes, skirt


def refused(actor, **changes):
    with pytest.raises(Refused) as found:
        skirt(actor, **changes)
    assert not Pattern.objects.exists()
    assert not PatternSize.objects.exists()
    assert not AuditEntry.objects.filter(act="record_pattern").exists()
    return found.value.reasons


def test_a_pattern_is_kept_with_its_sizes_in_order(in_house):
    made = skirt(in_house.instructor, "  Panelled   skirt ", notes="Two darts at the back.")
    pattern = pattern_get(in_house.clerk, made.pk)
    assert (pattern.name, pattern.version) == ("Panelled skirt", 1)
    assert [size.name for size in pattern.sizes.all()] == ["10", "12", "14", "16"]
    assert [row.value for row in pattern.sizes.all()[2].measures.all()] == [Decimal(755), Decimal(1060)]
    table = size_table(pattern, "in")
    assert table.sizes == ("10", "12", "14", "16")
    assert [line.name for line in table.lines] == ["Waist", "Hip"]
    assert table.lines[1].values[0] == "38 5/8 in"  # 98 cm = 38.58 in, to the eighth
    act = AuditEntry.objects.get(act="record_pattern")
    assert (act.object_id, act.member_id) == (pattern.pk, in_house.instructor.member_id)


def test_a_sixteenth_of_an_inch_stays_exact(in_house):
    # 1 in = 25.4 mm exactly (international yard agreement 1959), so 1/16 in = 1.5875 mm.
    given = [SizeGiven("8", {"waist": Decimal("701.6750"), "hip": Decimal("981.0750")})]
    pattern = skirt(in_house.owner, sizes=given)
    assert PatternMeasure.objects.get(size__pattern=pattern, measure="waist").value == Decimal("701.6750")


def test_sizes_out_of_order_name_size_and_measure(in_house):
    rows = {name: dict(row) for name, row in SKIRT.items()}
    rows["14"]["hip"] = 101
    reasons = refused(in_house.instructor, sizes=sizes(rows))
    assert reasons == {
        "sizes.2.measures.hip": (
            "Sizes out of order: the hip of size 14, 101.0 cm, is less than that of size 12, 102.0 cm. "
            "Give sizes from small to large."
        )
    }


@pytest.mark.parametrize(
    ("rows", "field", "words"),
    [
        ({}, "sizes", "at least one size"),
        ({"10": {}}, "sizes", "at least one measure"),
        ({"10": {"waist": 67}, "12": {"hip": 98}}, "sizes.1.measures.waist", "Size 12 lacks the waist"),
        ({"10": {"girth": 67}}, "sizes.0.measures.girth", "no measure 'girth'"),
        ({"10": {"hip": 9.8}}, "sizes.0.measures.hip", "Size 10: the hip must lie between 30.0 cm"),
        ({"10": {"hip": "NaN"}}, "sizes.0.measures.hip", "Size 10: the hip must lie between"),
        ({"10": {"hip": -98}}, "sizes.0.measures.hip", "Size 10: the hip must lie between"),
        ({"": {"hip": 98}}, "sizes.0.name", "needs a name"),
        ({"10": {"hip": 98}, "12": {"hip": 98}}, "sizes.1.name", "alike in every measure"),
    ],
)
def test_impossible_sizes_are_refused_by_cell(in_house, rows, field, words):
    reasons = refused(in_house.instructor, sizes=sizes(rows))
    assert words in reasons[field]


def test_a_size_is_named_once(in_house):
    twice = [*sizes({"10": {"hip": 98}}), *sizes({"10": {"hip": 102}})]
    assert "named twice" in refused(in_house.instructor, sizes=twice)["sizes.1.name"]


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"name": " "}, "name", "Give the pattern a name"),
        ({"kind": "cape"}, "kind", "'cape' is not known; choose one of skirt"),
        ({"closeness": "tight"}, "closeness", "choose one of close, fitted"),
        ({"basis": "guess"}, "basis", "choose one of finished, chart"),
        ({"seam_allowance_mm": Decimal(150)}, "seam_allowance_mm", "between 0.0 cm and 10.0 cm"),
        ({"base_cup_mm": Decimal("NaN")}, "base_cup_mm", "between 0.0 cm and 30.0 cm"),
        ({"stretch_wanted_percent": Decimal(50)}, "stretch_wanted_percent", "Only a pattern for a knit"),
        ({"structure": "knit", "closeness": "close"}, "stretch_wanted_percent", "how much stretch"),
    ],
)
def test_impossible_facts_are_refused_by_field(in_house, changes, field, words):
    assert words in refused(in_house.instructor, **changes)[field]


def test_a_name_is_given_once_in_a_studio_whatever_its_capitals(in_house):
    skirt(in_house.instructor)
    with pytest.raises(Refused, match="already a pattern named panelled SKIRT"):
        skirt(in_house.instructor, "panelled SKIRT")


def test_another_studio_may_use_the_name_and_sees_nothing(house, other_house):
    with house.scope():
        mine = skirt(house.instructor)
    with other_house.scope():
        skirt(other_house.instructor)
        assert pattern_list(other_house.owner).count() == 1
        with pytest.raises(NotHere):
            pattern_get(other_house.owner, mine.pk)
        with pytest.raises(NotHere):
            change_pattern(other_house.owner, mine.pk, expected_version=1, name="Mine now")


def test_a_clerk_reads_paper_and_may_not_record_it(in_house):
    made = skirt(in_house.instructor)
    assert pattern_get(in_house.clerk, made.pk) == made
    with pytest.raises(NotAllowed, match="A clerk may not record patterns"):
        skirt(in_house.clerk, "Another")
    with pytest.raises(NotAllowed):
        change_pattern(in_house.clerk, made.pk, expected_version=1, notes="x")


def test_name_and_notes_change_with_the_version_that_was_read(in_house):
    made = skirt(in_house.instructor)
    skirt(in_house.instructor, "Bias skirt")
    changed = change_pattern(in_house.owner, made.pk, expected_version=1, notes="Back seam.")
    assert (changed.version, changed.notes) == (2, "Back seam.")
    with pytest.raises(Stale):
        change_pattern(in_house.owner, made.pk, expected_version=1, name="Six panels")
    with pytest.raises(Refused, match="already a pattern named Bias skirt"):
        change_pattern(in_house.owner, made.pk, expected_version=2, name="Bias skirt")
    assert AuditEntry.objects.get(act="change_pattern").detail == {"changed": ["notes"]}


def test_what_a_pattern_lacks_for_a_plan_is_told(in_house):
    no_hip = skirt(in_house.owner, sizes=sizes({"10": {"waist": 67}, "12": {"waist": 71}}))
    assert not_ready(no_hip) == ["The pattern lacks the hip measure that a skirt needs."]
    assert not_ready(skirt(in_house.owner, "Whole")) == []
    wide = record_pattern(
        in_house.owner,
        name="Pleated trousers",
        kind="trousers",
        closeness="semi_fitted",
        structure="woven",
        basis="finished",
        sizes=sizes({"10": {"waist": 70, "hip": 104, "rise": 28}}),
    )
    assert not_ready(wide) == [
        "No ease set has a rule for the waist of semi-fitted trousers in woven cloth.",
        "No ease set has a rule for the hip of semi-fitted trousers in woven cloth.",
    ]


def test_reading_and_recording_take_a_constant_number_of_queries(in_house, count_queries):
    few = count_queries(lambda: skirt(in_house.owner, "Two", sizes=sizes(dict(list(SKIRT.items())[:2]))))
    run = {str(size): {"waist": 60 + size, "hip": 90 + size, "waist_to_hip": 20} for size in range(20)}
    assert count_queries(lambda: skirt(in_house.owner, "Twenty", sizes=sizes(run))) == few
    skirt(in_house.owner, "Four")

    def read() -> None:
        for pattern in pattern_list(in_house.owner):
            size_table(pattern, "cm")
            not_ready(pattern)

    assert count_queries(read) == 3
