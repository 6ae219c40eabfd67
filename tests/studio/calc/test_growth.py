"""Ages and yearly rates: arithmetic by hand; no growth standard is used or tested."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.calc.growth import Seen, age_in_words, age_of, months_before, yearly_rates


def test_a_year_gives_the_difference_and_the_tapes_share_of_it():
    (rate,) = yearly_rates([Seen(date(2024, 3, 1), 1200, 5), Seen(date(2025, 3, 1), 1262, 5)])
    assert rate.per_year == pytest.approx(62 * 365.25 / 365)
    assert rate.half_width == pytest.approx(1.96 * 50**0.5 * 365.25 / 365)
    assert rate.beyond


def test_less_than_half_a_year_goes_back_further():
    seen = [
        Seen(date(2024, 1, 1), 1200, 5),
        Seen(date(2024, 9, 1), 1240, 5),
        Seen(date(2024, 11, 1), 1245, 5),
    ]
    rates = yearly_rates(list(reversed(seen)))
    assert [rate.since for rate in rates] == [date(2024, 1, 1), date(2024, 1, 1)]
    assert rates[1].per_year == pytest.approx(45 / (305 / 365.25))
    assert yearly_rates(seen[1:]) == []


def test_what_the_tape_alone_explains_is_not_beyond():
    (rate,) = yearly_rates([Seen(date(2024, 1, 1), 700, 8), Seen(date(2025, 1, 1), 705, 8)])
    assert not rate.beyond


def test_an_impossible_value_is_refused():
    with pytest.raises(ValueError, match="2024-01-01"):
        yearly_rates([Seen(date(2024, 1, 1), float("nan"), 5)])
    with pytest.raises(ValueError, match="0 or more"):
        yearly_rates([Seen(date(2024, 1, 1), 700, -1)])


@pytest.mark.parametrize(
    ("born", "on", "words"),
    [
        (date(2018, 5, 20), date(2025, 8, 19), "7 y 2 m"),
        (date(2018, 5, 20), date(2025, 8, 20), "7 y 3 m"),
        (date(2018, 5, 20), date(2026, 5, 20), "8 y"),
        (date(2025, 1, 31), date(2025, 6, 30), "4 m"),
    ],
)
def test_ages(born, on, words):
    assert age_in_words(born, on) == words


def test_nobody_has_an_age_before_birth():
    with pytest.raises(ValueError, match="before the birthday"):
        age_of(date(2020, 1, 2), date(2020, 1, 1))


def test_months_before_keep_to_the_calendar():
    assert months_before(date(2026, 3, 31), 1) == date(2026, 2, 28)
    assert months_before(date(2024, 3, 31), 1) == date(2024, 2, 29)
    assert months_before(date(2026, 1, 15), 1) == date(2025, 12, 15)
    assert months_before(date(2026, 12, 31), 12) == date(2025, 12, 31)
    with pytest.raises(ValueError, match="0 or more"):
        months_before(date(2026, 1, 1), -1)


@given(st.dates(date(1950, 1, 1), date(2100, 12, 31)), st.integers(0, 240))
def test_months_before_go_back_so_many_months(day, months):
    before = months_before(day, months)
    assert (day.year - before.year) * 12 + day.month - before.month == months
    assert before.day <= day.day
