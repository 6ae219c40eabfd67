"""Importing: the dry run changes nothing and tells all; the take-over is all or nothing; a file twice adds nothing."""

from datetime import date
from decimal import Decimal

import pytest

from studio.models import Measuring, Reading
from tests.studio.helpers import a_client
from tests.studio.transfer.invented import LONG, as_csv, whole_way

OLIA = ("Olia Duarte", "1990-02-03")


@pytest.fixture
def olia(house):
    with house.scope():
        return a_client(house.owner, born=date(1990, 2, 3))


def test_a_long_file_is_taken_over_as_it_was_typed(house, olia):
    content = as_csv(LONG, [
        (*OLIA, "2026-05-04 10:30", "Waist girth", "76,4", "cm", 1),
        (*OLIA, "2026-05-04 10:30", "waist_girth", "30 1/8", "in", 2),
        (*OLIA, "2026-05-04 10:30", "Weight", "60.5", "kg", ""),
    ])  # fmt: skip
    row = whole_way(house, content)
    assert row.counts["new_readings"] == 3
    with house.scope():
        found = {(r.measure, r.take): (r.value, r.typed) for r in Reading.objects.all()}
        assert Measuring.objects.get().measured_at.isoformat() == "2026-05-04T09:30:00+00:00"
    assert found == {
        ("waist_girth", 1): (Decimal("764.0000"), "76,4"),
        ("waist_girth", 2): (Decimal("765.1750"), "30 1/8"),
        ("weight", 1): (Decimal("60.5000"), "60.5"),
    }
