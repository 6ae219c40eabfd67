"""Fixtures of the sewing room."""

from typing import Any

import pytest

from tests.seamlab import sewing_room


@pytest.fixture
def shelf(in_house: Any) -> sewing_room.Room:
    """A sewing room of the house's instructor, with the scope open."""
    return sewing_room.room(in_house.instructor)
