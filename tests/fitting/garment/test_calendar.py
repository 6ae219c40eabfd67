"""Agreed fittings, the week, and the feed that a calendar program reads (RFC 5545, by the icalendar library)."""

from datetime import datetime, timedelta
from threading import Thread
from typing import Any
from uuid import UUID

import pytest
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from icalendar import Calendar

from fitting.models import Appointment
from fitting.queries.appointments import feeds_of, week
from fitting.services.appointments import (
    agree_fitting,
    call_off_fitting,
    make_feed,
    move_fitting,
    revoke_feed,
)
from studio.platform.errors import Conflict, NotHere, Refused, Stale
from studio.platform.models.base import new_id
from tests.conftest import House, found_house, real_transactions
from tests.fitting.garment.conftest import Shop, fill


def soon(days: float = 2) -> datetime:
    return (timezone.now() + timedelta(days=days)).replace(minute=0, second=0, microsecond=0)


@pytest.mark.django_db
def test_a_fitting_is_agreed_moved_and_called_off(shop: Shop) -> None:
    garment = shop.garment()
    row = agree_fitting(shop.house.clerk, garment.pk, kind="baste", starts_at=soon())
    assert [found.pk for day in week(shop.house.clerk, soon().date()).days for found in day.fittings] == [
        row.pk
    ]
    move_fitting(shop.house.clerk, row.pk, starts_at=soon(3), minutes=30, fitter_id=None, expected_version=1)
    with pytest.raises(Stale):
        move_fitting(
            shop.house.clerk, row.pk, starts_at=soon(4), minutes=30, fitter_id=None, expected_version=1
        )
    assert call_off_fitting(shop.house.clerk, row.pk).state == "called_off"
    with pytest.raises(Conflict, match="was called off"):
        call_off_fitting(shop.house.clerk, row.pk)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"kind": "nap"}, "kind", "not a kind of fitting"),
        ({"starts_at": soon(-2)}, "starts_at", "This time is over"),
        ({"starts_at": soon(900)}, "starts_at", "check the year"),
        ({"starts_at": soon().replace(tzinfo=None)}, "starts_at", "needs its time zone"),
        ({"minutes": 1}, "minutes", "5 to 480 minutes"),
        ({"fitter_id": new_id()}, "fitter", "instructor or owner"),
    ],
)
def test_bad_input_is_refused(shop: Shop, given: dict[str, Any], field: str, sentence: str) -> None:
    garment = shop.garment()
    with pytest.raises(Refused) as caught:
        agree_fitting(shop.house.clerk, garment.pk, **({"kind": "baste", "starts_at": soon()} | given))
    assert sentence in caught.value.reasons[field]
    assert not Appointment.objects.exists()


@pytest.mark.django_db
def test_a_fitter_is_not_at_two_fittings_at_once(shop: Shop) -> None:
    garment = shop.garment()
    fitter = shop.instructor.member_id
    first = agree_fitting(shop.house.clerk, garment.pk, kind="baste", starts_at=soon(), fitter_id=fitter)
    with pytest.raises(Refused, match="choose another"):
        agree_fitting(
            shop.house.clerk,
            garment.pk,
            kind="final",
            starts_at=soon() + timedelta(minutes=44),
            fitter_id=fitter,
        )
    agree_fitting(
        shop.house.clerk, garment.pk, kind="final", starts_at=soon() + timedelta(minutes=45), fitter_id=fitter
    )
    agree_fitting(shop.house.clerk, garment.pk, kind="final", starts_at=soon())  # whoever is free
    move_fitting(shop.house.clerk, first.pk, starts_at=soon(), minutes=40, fitter_id=fitter)  # its own time


@real_transactions
def test_two_clerks_at_once_do_not_give_one_hour_twice() -> None:
    house = found_house("Selvedge Yard")
    with house.scope():
        shop = fill(house)
        garments = [shop.garment().pk, shop.garment(words="linen trousers").pk]
    results: list[str] = []

    def agree(garment_id: UUID) -> None:
        try:
            with house.scope():
                agree_fitting(
                    house.clerk,
                    garment_id,
                    kind="baste",
                    starts_at=soon(),
                    fitter_id=house.instructor.member_id,
                )
            results.append("agreed")
        except Refused:
            results.append("refused")
        finally:
            connections.close_all()

    both = [Thread(target=agree, args=[pk]) for pk in garments]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert sorted(results) == ["agreed", "refused"]


@pytest.mark.django_db
def test_the_feed_is_a_calendar_that_a_program_reads(house: House, client: Any) -> None:
    with house.scope():
        shop = fill(house)
        garment = shop.garment()
        mine = agree_fitting(
            house.clerk, garment.pk, kind="baste", starts_at=soon(), fitter_id=house.instructor.member_id
        )
        off = agree_fitting(house.clerk, garment.pk, kind="final", starts_at=soon(5))
        call_off_fitting(house.clerk, off.pk)
        feed = make_feed(house.instructor)
        narrow = make_feed(house.instructor, mine_only=True)
        addresses = {row.pk: "/" + address.split("/", 3)[3] for row, address in feeds_of(house.instructor)}
    answer = client.get(addresses[feed.pk])
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    calendar = Calendar.from_ical(answer.content)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    events = {str(event["uid"]): event for event in calendar.walk("VEVENT")}
    assert len(events) == 2
    event = events[f"{mine.pk}@studio-record"]
    assert event["dtstart"].dt == soon()
    assert event["duration"].dt == timedelta(minutes=45)
    assert str(event["summary"]) == "Basted fitting: teal trousers (O.C.)"
    assert str(event["status"]) == "CONFIRMED"
    assert event["dtstamp"].dt.tzinfo is not None
    assert str(events[f"{off.pk}@studio-record"]["status"]) == "CANCELLED"
    assert "Olia" not in answer.content.decode(), "a calendar program keeps copies elsewhere"
    assert len(Calendar.from_ical(client.get(addresses[narrow.pk]).content).walk("VEVENT")) == 1
    assert client.get(addresses[feed.pk][:-20] + "x/fittings.ics").status_code == 404
    with house.scope():
        revoke_feed(house.instructor, feed.pk)
        with pytest.raises(NotHere):
            revoke_feed(house.clerk, narrow.pk)
        from studio.platform.models import Member

        Member.objects.filter(pk=house.instructor.member_id).update(active=False)
    assert client.get(addresses[feed.pk]).status_code == 404
    assert client.get(addresses[narrow.pk]).status_code == 404, "somebody who has left reads nothing"


@pytest.mark.django_db
def test_pages_and_api(closed_shop: Shop, page: Any, api: Any) -> None:
    house = closed_shop.house
    with house.scope():
        garment = closed_shop.garment()
    browser = page(house.clerk)
    when = (timezone.localtime(soon())).strftime("%Y-%m-%dT%H:%M")
    wrong = browser.post(f"/garments/{garment.pk}/agree/", {"kind": "baste", "starts_at": when, "minutes": 1})
    assert wrong.status_code == 400
    browser.post(f"/garments/{garment.pk}/agree/", {"kind": "baste", "starts_at": when, "minutes": 45})
    assert "agreed</span>" in browser.get(f"/garments/{garment.pk}/").content.decode()
    calendar = browser.get(f"/calendar/?week={soon().date()}").content.decode()
    assert "Teal trousers" in calendar
    assert browser.get("/calendar/?week=soon").status_code == 200
    talk = api(house.clerk)
    [row] = talk.get("/api/v1/appointments/", {"garment": garment.pk}).json()["results"]
    moved = talk.patch(
        f"/api/v1/appointments/{row['id']}/",
        {"starts_at": soon(4).isoformat(), "minutes": 60, "fitter": None},
        format="json",
        HTTP_IF_MATCH='"1"',
    )
    assert moved.status_code == 200, moved.json()
    assert moved.json()["minutes"] == 60
    assert talk.delete(f"/api/v1/appointments/{row['id']}/").json()["state"] == "called_off"
    with house.scope():
        for _ in range(3):
            agree_fitting(house.clerk, garment.pk, kind="baste", starts_at=soon())
    counts = []
    for days in (0, 60):
        with CaptureQueriesContext(connection) as asked:
            browser.get(f"/calendar/?week={(soon() + timedelta(days=days)).date()}")
        counts.append(len(asked))
    assert counts[0] == counts[1]
