"""A skirt with outlines and three cloths of our own invention."""

from decimal import Decimal

import pytest

from fitting.services.outlines import draft_outlines
from fitting.services.patterns import record_pattern
from fitting.services.size_runs import SizeGiven
from seamlab.services.cloth import record_cloth


@pytest.fixture
def skirt(in_house):
    """A straight skirt in sizes 10 and 12 with drafted outlines."""
    pattern = record_pattern(
        in_house.instructor,
        name="Panel skirt",
        kind="skirt",
        closeness="semi_fitted",
        structure="woven",
        basis="finished",
        sizes=[
            SizeGiven("10", {"waist": Decimal(700), "hip": Decimal(960)}),
            SizeGiven("12", {"waist": Decimal(740), "hip": Decimal(1000)}),
        ],
    )
    draft_outlines(in_house.instructor, pattern.pk)
    return pattern


@pytest.fixture
def satin(in_house):
    return record_cloth(
        in_house.instructor, name="Duchess satin", structure="woven", weight_gsm=Decimal(180), thickness_mm=None,
        width_mm=Decimal(1400),
        usable_width_mm=Decimal(1370), direction="sheen", fibres=[{"fibre": "silk", "percent": 100}],
    )  # fmt: skip


@pytest.fixture
def poplin(in_house):
    return record_cloth(
        in_house.instructor, name="Sail poplin", structure="woven", weight_gsm=Decimal(120), thickness_mm=None,
        width_mm=Decimal(1150),
        usable_width_mm=Decimal(1120), direction="two_way", fibres=[{"fibre": "cotton", "percent": 100}],
    )  # fmt: skip
