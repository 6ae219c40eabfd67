"""Days that can't be, and days as the studio's own clock tells them."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from fitting.models import FittingSession, Garment
from fitting.queries.past_fits import past_fits, years_of
from fitting.queries.patterns import pattern_list
from fitting.services.fittings import hold_session, note_fit, sign_off
from seamlab.models import ClothTest
from seamlab.queries.cloth import cloth_list
from studio.models import Measuring
from studio.platform.errors import Refused
from studio.platform.models import Studio
from studio.queries.clients import client_list, find_clients
from studio.services.measuring import TypedReading, record_measuring
from tests.conftest import House
from tests.fitting.garment.conftest import Shop

YEAR_ONE, HALF_TYPED, LAST_YEAR = "0001-01-01T00:00:00Z", "0202-05-04T10:30:00Z", "9999-12-31T23:59:59Z"


@pytest.fixture
def westward(house: House) -> None:
    """A studio west of Greenwich: there the first instant of the calendar can't be told."""
    with house.scope():
        Studio.objects.update(time_zone="America/New_York")


@pytest.mark.parametrize(
    ("when", "words"), [(YEAR_ONE, "measured_at"), (HALF_TYPED, "before 1900"), (LAST_YEAR, "future")]
)
def test_a_measuring_in_a_half_typed_year_is_refused_and_breaks_no_page(
    westward: None, closed_shop: Shop, api: Any, page: Any, when: str, words: str
) -> None:
    house = closed_shop.house
    made = api(house.instructor).post(
        "/api/v1/measurings/",
        {
            "client": str(closed_shop.client.pk),
            "measured_at": when,
            "readings": [{"measure": "waist_girth", "typed": "76"}],
        },
        format="json",
    )
    assert made.status_code in {400, 422}
    assert words in made.content.decode()
    with house.scope():
        assert Measuring.objects.count() == 1  # the one of the day before
    browser = page(house.instructor)
    assert (
        browser.get("/").status_code == browser.get(f"/clients/{closed_shop.client.pk}/").status_code == 200
    )


def test_the_service_refuses_the_first_instant_itself(shop: Shop) -> None:
    with timezone.override("America/New_York"), pytest.raises(Refused) as refused:
        record_measuring(
            shop.instructor,
            client_id=shop.client.pk,
            measured_at=datetime.min.replace(tzinfo=UTC),
            readings=[TypedReading("waist_girth", "76")],
        )
    assert "The year 0001 lies before 1900" in refused.value.reasons["measured_at"]


def test_a_fitting_in_a_half_typed_year_is_refused(shop: Shop) -> None:
    garment = shop.full_garment()
    for year in (1, 202, 1899):
        with pytest.raises(Refused) as refused:
            hold_session(shop.instructor, garment.pk, kind="baste", held_at=datetime(year, 1, 1, tzinfo=UTC))
        assert f"The year {year:04d} lies before 1900" in refused.value.reasons["held_at"]
    assert not FittingSession.objects.exists()


def test_nobody_is_fitted_before_birth(shop: Shop) -> None:
    garment = shop.full_garment()
    shop.client.born = timezone.localdate() - timedelta(days=30 * 366)
    shop.client.save()
    with pytest.raises(Refused, match="was not born yet"):
        shop.baste(garment, days_ago=31 * 366)
    assert not FittingSession.objects.exists()


def test_a_test_or_a_sample_in_a_half_typed_year_is_refused(shop: Shop) -> None:
    from seamlab.services.checks import moment
    from seamlab.services.cloth import test_stretch as record_stretch

    with pytest.raises(Refused) as refused:
        record_stretch(
            shop.instructor,
            shop.cloth.pk,
            way="lengthwise",
            relaxed_mm=Decimal(100),
            stretched_mm=Decimal(140),
            tested_at=datetime(2, 5, 4, tzinfo=UTC),
        )
    assert "The year 0002 lies before 1900" in refused.value.reasons["tested_at"]
    assert not ClothTest.objects.filter(kind="stretch").exists()
    with pytest.raises(Refused, match="before 1900"):
        moment(datetime(202, 5, 4, tzinfo=UTC), "sewn_at")  # what record_trial asks of sewn_at


def test_an_evening_fitting_is_of_the_studios_day(house: House) -> None:
    from dataclasses import replace

    from tests.fitting.garment.conftest import fill

    with house.scope():
        shop = fill(house)
        garment = shop.full_garment()
        evening = datetime(2026, 3, 2, 1, 30, tzinfo=UTC)  # 1 March, 20:30 in New York
        session = hold_session(shop.instructor, garment.pk, kind="baste", held_at=evening)
        note_fit(
            shop.instructor, session.pk, place="waist", seen="gapes", decision="take_in", amount_mm=Decimal(8)
        )
        sign_off(shop.instructor, session.pk, client_agreed=True)
        Garment.objects.filter(pk=garment.pk).update(created_at=datetime(2026, 1, 1, 3, tzinfo=UTC))
        there = replace(house.clerk, time_zone="America/New_York")
        [fit] = past_fits(there, "olia")
        assert fit.garments[0].changes[0].on == date(2026, 3, 1)
        assert fit.garments[0].year == 2026  # of the last fitting, not of the opening
        assert years_of(there) == [2026, 2025]
        assert [len(found.garments) for found in past_fits(there, "olia", year=2026)] == [1]
        assert past_fits(there, "olia", year=2025) == []


def test_a_garment_that_was_never_fitted_is_of_the_year_of_its_opening(house: House) -> None:
    from dataclasses import replace

    from tests.fitting.garment.conftest import fill

    with house.scope():
        shop = fill(house)
        garment = shop.full_garment()
        Garment.objects.filter(pk=garment.pk).update(created_at=datetime(2026, 1, 1, 3, tzinfo=UTC))
        there = replace(house.clerk, time_zone="America/New_York")
        assert years_of(there) == [2025]
        [fit] = past_fits(there, "olia", year=2025)
        assert fit.garments[0].year == 2025
        assert past_fits(there, "olia", year=2026) == []
        assert years_of(replace(there, time_zone="UTC")) == [2026]


def test_a_studio_without_garments_has_no_years(house: House) -> None:
    with house.scope():
        assert years_of(house.clerk) == []


def test_what_no_text_can_hold_finds_what_stands_beside_it(shop: Shop) -> None:
    me = shop.instructor
    assert [found.client_id for found in find_clients(me, "\0ol\0 ")] == [shop.client.pk]
    assert find_clients(me, "\0") == []
    assert list(client_list(me, words="\0")) == list(client_list(me, words="olia\0")) == [shop.client]
    assert list(pattern_list(me, words="\0straight\0")) == [shop.pattern]
    assert list(cloth_list(me, "teal\0wool")) == [shop.cloth]
    shop.garment()
    assert [found.client_id for found in past_fits(me, "olia\0", kind="\0")] == [shop.client.pk]
    assert past_fits(me, "\0") == []
