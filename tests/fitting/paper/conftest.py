"""Fixtures of the tests of patterns and fit plans."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.fitting.paper.invented import OLIA, client, measure, skirt


@pytest.fixture
def olia(in_house: Any) -> Any:
    who = client(in_house.instructor)
    measure(in_house.instructor, who, OLIA, takes=2)
    return who


@pytest.fixture
def a_skirt(in_house: Any) -> Any:
    return skirt(in_house.instructor)


@pytest.fixture
def count_queries() -> Callable[[Callable[[], Any]], int]:
    def count(act: Callable[[], Any]) -> int:
        with CaptureQueriesContext(connection) as caught:
            act()
        return len(caught)

    return count
