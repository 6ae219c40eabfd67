"""A skirt with outlines and two cloths of our own invention."""

from decimal import Decimal
from typing import Any

import pytest

from fitting.services.lay_sheets import finish_lay_sheet, prepare_lay_sheet, work_lay_sheet
from fitting.services.outlines import draft_outlines
from fitting.services.patterns import record_pattern
from fitting.services.size_runs import SizeGiven
from seamlab.services.cloth import record_cloth


def sizes_of_a_skirt() -> dict[str, Any]:
    """A straight skirt in sizes 10 and 12, as it is recorded."""
    return {
        "name": "Panel skirt",
        "kind": "skirt",
        "closeness": "semi_fitted",
        "structure": "woven",
        "basis": "finished",
        "sizes": [
            SizeGiven("10", {"waist": Decimal(700), "hip": Decimal(960)}),
            SizeGiven("12", {"waist": Decimal(740), "hip": Decimal(1000)}),
        ],
    }


def make_skirt(actor: Any) -> Any:
    """The same, with drafted outlines."""
    pattern = record_pattern(actor, **sizes_of_a_skirt())
    draft_outlines(actor, pattern.pk)
    return pattern


def make_cloth(actor: Any, name: str, *, width: int, direction: str) -> Any:
    return record_cloth(
        actor,
        name=name,
        structure="woven",
        weight_gsm=Decimal(160),
        thickness_mm=None,
        width_mm=Decimal(width + 30),
        usable_width_mm=Decimal(width),
        direction=direction,
        fibres=[],
    )


@pytest.fixture
def skirt(in_house):
    return make_skirt(in_house.instructor)


@pytest.fixture
def satin(in_house):
    return make_cloth(in_house.instructor, "Duchess satin", width=1370, direction="sheen")


@pytest.fixture
def poplin(in_house):
    return make_cloth(in_house.instructor, "Sail poplin", width=1120, direction="two_way")


def draw(sheet_id):
    """Do the work of a sheet's job."""
    arguments = {"sheet": str(sheet_id)}
    snapshot = prepare_lay_sheet(arguments)
    finish_lay_sheet(arguments, snapshot, work_lay_sheet(snapshot, lambda percent, words: None))
