"""Times that no calendar of the studio can show are refused in a sentence."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from studio.calc.days import check_not_too_early


@pytest.mark.parametrize(
    ("at", "year"),
    [
        (datetime.min.replace(tzinfo=UTC), "0001"),
        (datetime.min.replace(tzinfo=timezone(timedelta(hours=14))), "0001"),  # before year 1 in UTC
        (datetime(202, 5, 4, 10, 30, tzinfo=UTC), "0202"),
        (datetime(1899, 12, 31, 23, 59, tzinfo=UTC), "1899"),
    ],
)
def test_a_year_before_1900_is_a_slip(at, year):
    with pytest.raises(ValueError, match=f"The year {year} lies before 1900: check the year"):
        check_not_too_early(at)


def test_from_1900_on_all_is_well():
    check_not_too_early(datetime(1900, 1, 1, tzinfo=UTC))
    check_not_too_early(datetime(9999, 12, 31, tzinfo=timezone(timedelta(hours=-12))))


def test_a_time_has_its_zone():
    with pytest.raises(ValueError, match="needs its time zone"):
        check_not_too_early(datetime(2026, 5, 4, 10, 30))  # noqa: DTZ001 - what is refused
