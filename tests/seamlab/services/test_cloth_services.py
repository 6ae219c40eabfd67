"""Recording, changing and testing cloth."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import ProgrammingError, transaction
from django.utils import timezone

from seamlab.models import Cloth, ClothTest
from seamlab.services import cloth as services
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from tests.seamlab import sewing_room


def refused(act, *args, **given):
    with pytest.raises(Refused) as caught:
        act(*args, **given)
    return caught.value.reasons


def test_a_cloth_is_kept_with_its_generic_fibres_and_an_audit_entry(in_house):
    found = sewing_room.cloth(
        in_house.instructor,
        fibres=[{"fibre": "Linen", "percent": "55.5"}, {"fibre": "cotton", "percent": 44.5}],
    )
    found.refresh_from_db()
    assert found.fibres == [{"fibre": "flax", "percent": 55.5}, {"fibre": "cotton", "percent": 44.5}]
    assert found.is_one_way  # until somebody has looked
    entry = AuditEntry.objects.get(object_id=found.pk)
    assert (entry.act, entry.member_id) == ("record_cloth", in_house.instructor.member_id)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        (
            "fibres",
            [{"fibre": "wool", "percent": 81}, {"fibre": "polyamide", "percent": 20}],
            "Fibres add to 101 %: they must add to 100.",
        ),
        ("fibres", [{"fibre": "wool", "percent": 99.9}], "Fibres add to 99.9 %"),
        ("fibres", [{"fibre": "moonhair", "percent": 100}], "'moonhair' is no generic name"),
        ("fibres", [{"fibre": "flax", "percent": 50}, {"fibre": "linen", "percent": 50}], "named twice"),
        ("fibres", [{"fibre": "wool", "percent": "NaN"}], "above 0, up to 100"),
        ("usable_width_mm", Decimal(1501), "The usable width, 1501 mm, is more than the width, 1500 mm."),
        ("weight_gsm", Decimal(0), "The weight must be greater than 0 g/m²."),
        ("weight_gsm", Decimal("NaN"), "The weight must be a number."),
        ("thickness_mm", Decimal(-1), "The thickness must be greater than 0 mm."),
        ("width_mm", Decimal(150_000), "check the unit"),
        ("direction", "upwards", "must be one of nap, one_way_print"),
        ("structure", "felt", "must be one of woven, knit"),
        ("name", "  ", "Give the cloth a name"),
    ],
)
def test_bad_facts_are_refused_by_field_and_nothing_is_saved(in_house, field, value, sentence):
    assert sentence in refused(sewing_room.cloth, in_house.instructor, **{field: value})[field]
    assert not Cloth.objects.exists()


def test_a_name_is_used_once_in_a_studio_and_free_in_another(house, other_house):
    for each in (house, other_house):
        with each.scope():
            sewing_room.cloth(each.instructor)
            assert (
                "already a cloth called 'Teal twill'" in refused(sewing_room.cloth, each.instructor)["name"]
            )
            assert Cloth.objects.count() == 1


def test_a_clerk_reads_cloth_and_records_none(in_house):
    with pytest.raises(NotAllowed, match="A clerk may not record cloth"):
        sewing_room.cloth(in_house.clerk)


def test_a_change_counts_the_version_and_refuses_a_stale_one(in_house):
    found = sewing_room.cloth(in_house.instructor)
    changed = services.change_cloth(
        in_house.instructor, found.pk, changes={"direction": "two_way"}, expected_version=1
    )
    assert (changed.version, changed.is_one_way) == (2, False)
    with pytest.raises(Stale):
        services.change_cloth(
            in_house.instructor, found.pk, changes={"care": "cool iron"}, expected_version=1
        )
    detail = AuditEntry.objects.get(act="change_cloth").detail
    assert detail == {"changes": {"direction": ["not_known", "two_way"]}}


def test_a_change_is_checked_against_what_stays(in_house):
    found = sewing_room.cloth(in_house.instructor)
    reasons = refused(
        services.change_cloth, in_house.instructor, found.pk, changes={"width_mm": Decimal(1400)}
    )
    assert "usable width, 1460 mm, is more than the width, 1400 mm" in reasons["usable_width_mm"]
    reasons = refused(services.change_cloth, in_house.instructor, found.pk, changes={"version": 9})
    assert set(reasons) == {"version"}


def test_the_structure_of_a_cloth_with_trials_stays(shelf):
    twill = sewing_room.cloth(shelf.actor)
    shelf.trial(shelf.recipe(), twill)
    with pytest.raises(Conflict, match="record it as a new cloth"):
        services.change_cloth(shelf.actor, twill.pk, changes={"structure": "knit"})


def test_another_studios_cloth_is_not_here(house, other_house):
    with other_house.scope():
        theirs = sewing_room.cloth(other_house.instructor)
    with house.scope():
        with pytest.raises(NotHere):
            services.change_cloth(house.instructor, theirs.pk, changes={"care": "none"})
        with pytest.raises(NotHere):
            services.test_wash(
                house.instructor, theirs.pk, way="lengthwise", before_mm=Decimal(500), after_mm=Decimal(490)
            )
        with pytest.raises(NotHere):
            services.test_wash(
                house.instructor, uuid4(), way="lengthwise", before_mm=Decimal(500), after_mm=Decimal(490)
            )
    with other_house.scope():
        assert not ClothTest.objects.exists()


# --- tests: readings as taken, percent as computed ---


def test_stretch_is_computed_from_two_tape_readings(in_house):
    """Teaching pages: 4 in pulled to 7 in is 75 %; given back to 5 in, two of three inches recover."""
    found = sewing_room.cloth(in_house.instructor, structure="knit")
    test = services.test_stretch(
        in_house.instructor,
        found.pk,
        way="crosswise",
        relaxed_mm=Decimal("101.6"),
        stretched_mm=Decimal("177.8"),
        released_mm=Decimal(127),
    )
    assert test.percent == Decimal("75.00")
    assert test.recovery_percent == Decimal("66.67")


def test_a_wash_that_shrinks_is_negative(in_house):
    """AATCC TM135-2018, section 9: smaller after than before is a negative change; 500 to 485 mm is -3 %."""
    found = sewing_room.cloth(in_house.instructor)
    test = services.test_wash(
        in_house.instructor, found.pk, way="lengthwise", before_mm=Decimal(500), after_mm=Decimal(485)
    )
    assert test.percent == Decimal("-3.00")


def test_a_rigid_cloth_has_no_recovery_to_tell(in_house):
    found = sewing_room.cloth(in_house.instructor)
    test = services.test_stretch(
        in_house.instructor,
        found.pk,
        way="lengthwise",
        relaxed_mm=Decimal(100),
        stretched_mm=Decimal(100),
        released_mm=Decimal(100),
    )
    assert (test.percent, test.recovery_percent) == (Decimal(0), None)


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"stretched_mm": Decimal(90)}, "stretched_mm", "Stretched, 90 mm, is shorter than relaxed, 100 mm"),
        ({"released_mm": Decimal(141)}, "released_mm", "Released, 141 mm, is longer than stretched, 140 mm"),
        ({"relaxed_mm": Decimal(4)}, "relaxed_mm", "4 mm is too short: mark 20 mm or more"),
        ({"stretched_mm": Decimal(1400)}, "stretched_mm", "1300 % of stretch"),
        ({"stretched_mm": Decimal("Infinity")}, "stretched_mm", "must be a number"),
        ({"way": "sideways"}, "way", "lengthwise, crosswise"),
        ({"tested_at": timezone.now() + timedelta(days=1)}, "tested_at", "lies in the future"),
    ],
)
def test_impossible_stretch_readings_are_refused(in_house, given, field, sentence):
    found = sewing_room.cloth(in_house.instructor)
    facts = {"way": "lengthwise", "relaxed_mm": Decimal(100), "stretched_mm": Decimal(140)} | given
    assert sentence in refused(services.test_stretch, in_house.instructor, found.pk, **facts)[field]
    assert not ClothTest.objects.exists()


def test_a_wash_beyond_belief_is_refused(in_house):
    found = sewing_room.cloth(in_house.instructor)
    reasons = refused(
        services.test_wash,
        in_house.instructor,
        found.pk,
        way="lengthwise",
        before_mm=Decimal(500),
        after_mm=Decimal(49),
    )
    assert "-90 %" in reasons["after_mm"]


def test_a_test_is_never_rewritten(in_house):
    found = sewing_room.jersey(in_house.instructor)
    with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
        ClothTest.objects.filter(cloth=found).update(percent=1)
    assert set(ClothTest.objects.values_list("percent", flat=True)) == {Decimal(30), Decimal(50)}


def test_an_unknown_fibre_is_answered_with_the_names_that_are_known(in_house):
    def reason(word):
        return refused(sewing_room.cloth, in_house.instructor, fibres=[{"fibre": word, "percent": 100}])[
            "fibres"
        ]

    assert "Did you mean polyester" in reason("polyster")
    assert "The names are " in reason("stretchy stuff")
    assert "polyamide, " in reason("stretchy stuff")


def test_a_kind_of_cloth_must_suit_its_structure(in_house):
    found = sewing_room.cloth(in_house.instructor, kind="suiting")
    assert found.kind == "suiting"
    reasons = refused(services.change_cloth, in_house.instructor, found.pk, changes={"kind": "rib"})
    assert reasons["kind"] == "Rib is a knit cloth, and this one is recorded as woven."
    reasons = refused(services.change_cloth, in_house.instructor, found.pk, changes={"kind": "cloud"})
    assert "must be one of" in reasons["kind"]
