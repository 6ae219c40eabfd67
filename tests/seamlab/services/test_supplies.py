"""Recording threads, needles and machines."""

from decimal import Decimal

import pytest

from seamlab.models import Machine, Needle, Thread
from seamlab.services import supplies
from studio.platform.errors import NotAllowed, Refused


def refused(act, actor, **given):
    with pytest.raises(Refused) as caught:
        act(actor, **given)
    return caught.value.reasons


@pytest.mark.parametrize(
    ("size", "system", "tex"),
    [
        (Decimal(120), "metric ticket", Decimal("25.00")),  # 3000 / ticket, several teaching pages
        (Decimal("21.87"), "Nec", Decimal("27.00")),  # 590.54 / Nec, the same pages' table
        (Decimal(243), "denier", Decimal("27.00")),
        (Decimal(27), "tex", Decimal("27.00")),
    ],
)
def test_a_thread_is_kept_in_tex_whatever_its_reel_says(in_house, size, system, tex):
    made = supplies.record_thread(
        in_house.instructor, name="Reel", fibre="polyester", size=size, system=system
    )
    assert made.tex == tex


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"system": "gauge"}, "system", "must be one of tex, dtex, denier"),
        ({"size": Decimal(0)}, "size", "must be greater than 0"),
        ({"size": Decimal(120), "system": "dtex", "name": "Fine"}, None, ""),
        ({"size": Decimal(12), "system": "dtex"}, "size", "12 dtex is tex 1.2, which no sewing thread has"),
        ({"fibre": "plastic"}, "fibre", "no generic name of a fibre"),
        ({"extension_percent": Decimal(-2)}, "extension_percent", "greater than 0 %"),
    ],
)
def test_bad_threads_are_refused_by_field(in_house, given, field, sentence):
    facts = {"name": "Reel", "fibre": "polyester", "size": Decimal(27)} | given
    if field is None:
        assert supplies.record_thread(in_house.instructor, **facts).tex == Decimal(12)
        return
    assert sentence in refused(supplies.record_thread, in_house.instructor, **facts)[field]
    assert not Thread.objects.exists()


def test_a_needle_has_two_numbers_and_is_listed_once(in_house):
    """90 is 14: two trade pages agree."""
    made = supplies.record_needle(in_house.instructor, size=14, numbering="number", point="sharp")
    assert made.metric == 90
    reasons = refused(supplies.record_needle, in_house.instructor, size=90, point="sharp")
    assert "already in the list" in reasons["size"]
    assert supplies.record_needle(in_house.instructor, size=90, point="round").pk != made.pk


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"size": 14}, "size", "8 to 19 are numbers of the other system"),
        ({"size": 7, "numbering": "number"}, "size", "no needle number 7"),
        ({"point": "blunt"}, "point", "must be one of round"),
        ({"numbering": "gauge"}, "numbering", "metric, number"),
    ],
)
def test_bad_needles_are_refused_by_field(in_house, given, field, sentence):
    facts = {"size": 80, "point": "round"} | given
    assert sentence in refused(supplies.record_needle, in_house.instructor, **facts)[field]
    assert not Needle.objects.exists()


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"stitch_types": []}, "stitch_types", "Say which stitch types"),
        ({"stitch_types": ["301", "999"]}, "stitch_types", "'999' is not a stitch type"),
        ({"stitch_types": ["209"]}, "stitch_types", "sewn by hand"),
        ({"stitch_types": ["304"]}, "largest_width_mm", "Give the widest stitch in mm"),
        ({"largest_width_mm": Decimal("NaN")}, "largest_width_mm", "from 0 to 60 mm"),
        ({"stitches_per_minute": 0}, "stitches_per_minute", "from 1 to 15000"),
    ],
)
def test_bad_machines_are_refused_by_field(in_house, given, field, sentence):
    facts = {"name": "Table one", "stitch_types": ["301"]} | given
    assert sentence in refused(supplies.record_machine, in_house.instructor, **facts)[field]
    assert not Machine.objects.exists()


def test_a_clerk_keeps_no_supplies(in_house):
    with pytest.raises(NotAllowed):
        supplies.record_machine(in_house.clerk, name="Table one", stitch_types=["301"])
