"""Pages of this wing: who gets which, what they keep when something is refused, how much they ask the
database.
"""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from studio.models import Client, Consent, Measuring, Reading
from studio.platform.registries import HOME_PANELS, Panel
from studio.platform.rights import Right
from tests.studio.helpers import BASIC, a_client, measured, readings

ROLES = ("owner", "instructor", "clerk")
EVERYBODY = {"clients", "new-client", "client", "edit-client", "consent"}
MEASURERS = {"new-measuring", "measuring", "correct-reading"}
OWNERS = {"erase-client"}


@pytest.fixture(autouse=True)
def this_wing_alone(monkeypatch):
    """The panels that wings above bring have tests of their own."""
    mine = [panel for panel in HOME_PANELS if panel.template.startswith("studio/")]
    monkeypatch.setattr("studio.platform.web.views.HOME_PANELS", mine)
    monkeypatch.setattr("studio.web.views.CLIENT_PANELS", [])


@pytest.fixture
def things(house):
    """A client with a measuring, and the addresses of all pages about them."""
    with house.scope():
        client = a_client(house.clerk, telephone="0555 014 277")
        row = measured(house.instructor, client)
        reading = Reading.objects.filter(measuring=row).first()
    return {
        "clients": reverse("studio:clients"),
        "new-client": reverse("studio:new-client"),
        **{
            name: reverse(f"studio:{name}", args=[client.pk]) for name in ("client", "edit-client", "consent")
        },
        "new-measuring": reverse("studio:new-measuring", args=[client.pk]),
        "erase-client": reverse("studio:erase-client", args=[client.pk]),
        "measuring": reverse("studio:measuring", args=[row.pk]),
        "correct-reading": reverse("studio:correct-reading", args=[reading.pk]),
    }


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("name", sorted(EVERYBODY | MEASURERS | OWNERS))
def test_each_page_opens_for_whom_it_is(house, things, page, role, name):
    allowed = (
        name in EVERYBODY or (name in MEASURERS and role != "clerk") or (name in OWNERS and role == "owner")
    )
    assert page(getattr(house, role)).get(things[name]).status_code == (200 if allowed else 403)


@pytest.mark.parametrize("name", sorted(EVERYBODY - {"clients", "new-client"} | MEASURERS | OWNERS))
def test_another_studio_finds_nothing_there(other_house, things, page, name):
    assert page(other_house.owner).get(things[name]).status_code == 404


def test_nobody_signed_in_is_led_to_the_sign_in(client, things):
    for address in things.values():
        assert client.get(address).status_code == 302


def test_a_clerk_sees_no_body_figure(house, things, page):
    shown = page(house.clerk).get(things["client"]).content.decode()
    assert "Olia Duarte" in shown
    assert "76.0 cm" not in shown
    assert "Measure</a>" not in shown
    assert "Erase" not in shown
    assert "76.0 cm" in page(house.instructor).get(things["client"]).content.decode()


def test_the_list_finds_as_one_types(house, things, page):
    browser = page(house.clerk)
    whole = browser.get(things["clients"], {"words": "olai"}).content.decode()
    rows = browser.get(things["clients"], {"words": "olai"}, headers={"HX-Request": "true"}).content.decode()
    assert "<html" in whole
    assert "<html" not in rows
    for shown in (whole, rows):
        assert reverse("studio:clients") in shown or "Olia Duarte" in shown
        assert "Olia Duarte" in shown
    nobody = browser.get(things["clients"], {"words": "xyzq"}).content.decode()
    assert "Nobody is found" in nobody
    assert "?name=xyzq" in nobody


def test_an_empty_studio_says_what_to_do_next(house, page):
    browser = page(house.owner)
    assert "Record the first client" in browser.get(reverse("studio:clients")).content.decode()
    assert "Nobody has been measured yet" in browser.get(reverse("platform:home")).content.decode()


def test_home_shows_who_was_measured_to_those_who_may_know(house, things, page):
    assert "Recently measured" in page(house.instructor).get(reverse("platform:home")).content.decode()
    assert "Recently measured" not in page(house.clerk).get(reverse("platform:home")).content.decode()


def test_a_client_is_recorded_with_her_consent(house, page):
    answer = page(house.clerk).post(
        reverse("studio:new-client"),
        {"name": "Rosa Lind", "unit": "in", "consent_by": "Rosa Lind", "figures_in_report": "on"},
    )
    with house.scope():
        client = Client.objects.get(name="Rosa Lind")
        assert answer.url == reverse("studio:client", args=[client.pk])
        assert client.unit == "in"
        assert Consent.objects.filter(client=client, given=True).exists()


def test_a_minor_without_a_guardian_is_told_beside_the_field(house, page):
    answer = page(house.clerk).post(
        reverse("studio:new-client"),
        {
            "name": "Tomas",
            "unit": "cm",
            "born": f"{timezone.localdate().year - 9}-03-04",
            "consent_by": "Tomas",
        },
    )
    shown = answer.content.decode()
    assert answer.status_code == 400
    assert "Tomas is under 18: give the guardian&#x27;s name." in shown
    assert 'value="Tomas"' in shown
    with house.scope():
        assert not Client.objects.exists()


def test_two_edits_at_once_lose_nothing(house, things, page):
    browser = page(house.clerk)
    form = browser.get(things["edit-client"]).context["form"]
    facts = {name: form.initial[name] or "" for name in form.fields}
    assert browser.post(things["edit-client"], {**facts, "name": "Olia Duarte-Holm"}).status_code == 302
    late = browser.post(things["edit-client"], {**facts, "telephone": "0555 999"})
    assert late.status_code == 400
    assert "changed by somebody else" in late.content.decode()
    assert "0555 999" in late.content.decode()
    with house.scope():
        assert Client.objects.get().name == "Olia Duarte-Holm"


def test_consent_is_withdrawn_and_then_nobody_measures(house, things, page):
    browser = page(house.instructor)
    browser.post(
        things["consent"],
        {"kind": "measure", "given": "no", "given_by": "Olia Duarte", "note": "by telephone"},
    )
    assert "withdrawn" in browser.get(things["client"]).content.decode()
    shown = browser.get(things["new-measuring"]).content.decode()
    assert "has withdrawn the consent to be measured" in shown
    assert '<form class="form"' not in shown
    refused = browser.post(things["new-measuring"], _typed({"first_waist_girth": "76"}))
    assert "has withdrawn the consent" in refused.content.decode()
    with house.scope():
        assert Measuring.objects.count() == 1


def _typed(fields):
    return {
        "measured_at": "2026-01-05T10:30",
        "unit": "cm",
        "over": "close_clothing",
        "posture": "standing, relaxed",
        **fields,
    }


def test_the_grid_records_both_takes(house, things, page):
    answer = page(house.instructor).post(
        things["new-measuring"],
        _typed({"first_waist_girth": "76", "second_waist_girth": "76,4", "second_hip_girth": "40 1/8 in"}),
    )
    with house.scope():
        row = Measuring.objects.order_by("-id").first()
        assert answer.url == reverse("studio:measuring", args=[row.pk])
        found = [
            (each.measure, each.take, str(each.value), each.typed) for each in row.readings.order_by("id")
        ]
    assert found == [
        ("waist_girth", 1, "760.0000", "76"),
        ("waist_girth", 2, "764.0000", "76,4"),
        ("hip_girth", 1, "1019.1750", "40 1/8 in"),
    ]


def test_the_grid_keeps_what_was_typed_and_says_what_is_wrong_where(house, things, page):
    answer = page(house.instructor).post(
        things["new-measuring"],
        _typed({"first_waist_girth": "790", "first_hip_girth": "abc", "first_height": "168"}),
    )
    shown = answer.content.decode()
    assert answer.status_code == 400
    errors = answer.context["form"].errors
    assert set(errors) == {"first_waist_girth", "first_hip_girth"}
    assert (
        "Waist girth of 790.0 cm is outside what a tape can read on a person"
        in errors["first_waist_girth"][0]
    )
    for text in ("790", "abc", "168"):
        assert f'value="{text}"' in shown
    with house.scope():
        assert Measuring.objects.count() == 1


def test_the_unit_switch_keeps_what_was_typed_and_saves_nothing(house, things, page):
    shown = page(house.instructor).post(
        things["new-measuring"] + "?set=skirt&show=1", _typed({"unit": "in", "first_waist_girth": "30 1/8"})
    )
    text = shown.content.decode()
    assert shown.status_code == 200
    assert "<html" not in text
    assert 'value="30 1/8"' in text
    assert '<span class="unit">in</span>' in text
    with house.scope():
        assert Measuring.objects.count() == 1


def test_an_empty_grid_is_refused_in_a_sentence(house, things, page):
    answer = page(house.instructor).post(things["new-measuring"], _typed({}))
    assert "take at least one measure" in answer.content.decode()


def test_a_set_that_is_none_is_not_here(house, things, page):
    assert page(house.instructor).get(things["new-measuring"] + "?set=cloak").status_code == 404


def test_two_takes_far_apart_ask_for_a_third_and_get_it(house, page):
    with house.scope():
        client = a_client(house.clerk)
        row = measured(house.instructor, client, {"waist_girth": ("76", "79")})
    address = reverse("studio:measuring", args=[row.pk])
    browser = page(house.instructor)
    assert "Tape waist girth a third time" in browser.get(address).content.decode()
    wrong = browser.post(address, {"measure": "waist_girth", "typed": "7"})
    assert wrong.status_code == 400
    assert "Waist girth of 7.0 cm" in wrong.content.decode()
    assert browser.post(address, {"measure": "waist_girth", "typed": "76.2"}).status_code == 302
    after = browser.get(address).content.decode()
    assert "a third time" not in after
    assert "76.2 cm" in after


def test_a_corrected_reading_stays_in_sight(house, things, page):
    browser = page(house.instructor)
    again = browser.post(things["correct-reading"], {"typed": "167", "reason": ""})
    assert again.status_code == 400
    with house.scope():
        old = Reading.objects.get(measure="height")
    address = reverse("studio:correct-reading", args=[old.pk])
    assert browser.post(address, {"typed": "167", "reason": "wrong end of the board"}).status_code == 302
    shown = browser.get(things["measuring"]).content.decode()
    assert 'class="superseded"' in shown
    assert "168.5" in shown
    assert "wrong end of the board" in shown
    twice = browser.post(address, {"typed": "166", "reason": "again"})
    assert "corrected already" in twice.content.decode()


def test_the_owner_asks_for_a_copy_of_everything(house, things, page):
    kept = page(house.owner).get(things["client"] + "kept/")
    assert "Make a copy" in kept.content.decode()
    answer = page(house.owner).post(things["client"] + "copies/")
    assert (answer.status_code, answer["Location"].split("/")[1]) == (302, "jobs")
    assert page(house.instructor).post(things["client"] + "copies/").status_code == 403


def test_the_owner_erases_after_saying_why(house, things, page):
    browser = page(house.owner)
    named = browser.post(things["erase-client"], {"reason": "Olia asked", "sure": "on"})
    assert "Leave the name out" in named.content.decode()
    assert (
        browser.post(things["erase-client"], {"reason": "asked by letter", "sure": "on"}).status_code == 302
    )
    shown = browser.get(things["client"]).content.decode()
    assert "erased on" in shown
    assert "Olia" not in shown
    assert (
        page(house.instructor).post(things["erase-client"], {"reason": "x", "sure": "on"}).status_code == 403
    )


def test_times_are_the_studios_own(house, things, page):
    from studio.platform.models import Studio

    with house.scope():
        Studio.objects.update(time_zone="Asia/Kathmandu")
    page(house.instructor).post(things["new-measuring"], _typed({"first_waist_girth": "76"}))
    with house.scope():
        row = Measuring.objects.order_by("-id").first()
    assert row.measured_at.isoformat() == "2026-01-05T04:45:00+00:00"
    assert "10:30" in page(house.owner).get(reverse("studio:measuring", args=[row.pk])).content.decode()


def test_the_clients_page_asks_the_same_whatever_its_history(house, page, django_assert_num_queries):
    with house.scope():
        few, many = a_client(house.clerk, "Few Visits"), a_client(house.clerk, "Many Visits")
        for day in range(1, 3):
            measured(house.instructor, few, measured_at=timezone.now() - timedelta(days=day))
        for day in range(1, 12):
            measured(house.instructor, many, measured_at=timezone.now() - timedelta(days=day))
    browser = page(house.instructor)
    address = reverse("studio:client", args=[few.pk])
    browser.get(address)
    with house.scope():
        pass
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as counted:
        browser.get(address)
    with django_assert_num_queries(len(counted)):
        assert browser.get(reverse("studio:client", args=[many.pk])).status_code == 200


def test_a_measuring_asks_the_same_for_two_readings_and_for_forty(house, page, django_assert_num_queries):
    with house.scope():
        client = a_client(house.clerk)
        measured(house.instructor, client, measured_at=timezone.now() - timedelta(days=3))
        small = measured(house.instructor, client, {"waist_girth": "76"})
        large = measured(
            house.instructor,
            client,
            {code: (text, text) for code, text in BASIC.items()},
            measured_at=timezone.now(),
        )
        assert len(readings(BASIC)) == 12
    browser = page(house.instructor)
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as counted:
        browser.get(reverse("studio:measuring", args=[small.pk]))
    with django_assert_num_queries(len(counted)):
        browser.get(reverse("studio:measuring", args=[large.pk]))


def test_a_panel_of_another_wing_shows_to_whom_it_may(house, things, page, monkeypatch):
    panel = Panel(
        10, Right.READ_READINGS, "studio/_recently_measured.html", lambda actor, client_id: {"who": client_id}
    )
    monkeypatch.setattr("studio.web.views.CLIENT_PANELS", [panel])
    assert "Recently measured" in page(house.instructor).get(things["client"]).content.decode()
    assert "Recently measured" not in page(house.clerk).get(things["client"]).content.decode()


def test_the_clients_page_tells_what_changed_beyond_the_tape(house, page):
    with house.scope():
        client = a_client(house.clerk)
        measured(house.instructor, client, {"waist_girth": "76", "hip_girth": "102", "weight": "60"})
        measured(
            house.instructor,
            client,
            {"waist_girth": "80", "hip_girth": "102.2", "weight": "60.1"},
            measured_at=timezone.now(),
        )
    shown = page(house.instructor).get(reverse("studio:client", args=[client.pk])).content.decode()
    assert "Of 3 measures compared, 1 changed beyond the tape" in shown
    assert "+4.0 cm" in shown
    assert "+0.2 cm" not in shown
