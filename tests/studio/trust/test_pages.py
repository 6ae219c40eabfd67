"""Pages about trust and keeping: who gets which, what they say, what they keep when something is refused."""

from datetime import date

import pytest
from django.urls import reverse

from studio.models import Reading, StandardisationDay, StandardisationReading
from studio.platform.models import AuditEntry, Studio
from studio.services.clients import record_consent
from studio.services.measuring import correct_reading
from studio.services.trust import open_day
from tests.studio.helpers import BASIC, a_client, measured
from tests.studio.trust.helpers import a_measurer, days_ago, repeats

ROLES = ("owner", "instructor", "clerk")
MEASURERS = {
    "repeatability", "standard-days", "new-standard-day", "standard-day", "standard-day-grid", "histories",
    "history", "standard-figure",
}  # fmt: skip
OWNERS = {"repeatability-of", "retention", "keep-client"}
OF_A_STUDIO = {
    "repeatability-of", "standard-day", "standard-day-grid", "histories", "history", "standard-figure", "keep-client"
}  # fmt: skip


@pytest.fixture
def things(house):
    """A client measured twice and a day, and the addresses of all pages about them."""
    with house.scope():
        client = a_client(house.clerk)
        measured(house.instructor, client, measured_at=days_ago(200))
        row = measured(house.instructor, client, {**BASIC, "waist_girth": ("79", "79.6")})
        old = Reading.objects.get(measuring=row, measure="hip_girth")
        correct_reading(house.instructor, old.pk, typed="103.5", reason="read the wrong end")
        day = open_day(
            house.owner,
            name="Autumn",
            held_on=date(2026, 10, 3),
            measures=["height", "waist_girth"],
            people=["A", "B"],
            reference_member_id=house.owner.member_id,
        )
    return {
        "repeatability": reverse("studio:repeatability"),
        "repeatability-of": reverse("studio:repeatability-of", args=[house.instructor.member_id]),
        "standard-days": reverse("studio:standard-days"),
        "new-standard-day": reverse("studio:new-standard-day"),
        "standard-day": reverse("studio:standard-day", args=[day.pk]),
        "standard-day-grid": reverse("studio:standard-day-grid", args=[day.pk, "height"]),
        "histories": reverse("studio:histories", args=[client.pk]),
        "history": reverse("studio:history", args=[client.pk, "waist_girth"]),
        "standard-figure": reverse("studio:standard-figure", args=[client.pk]),
        "retention": reverse("studio:retention"),
        "keep-client": reverse("studio:keep-client", args=[client.pk]),
        "client": reverse("studio:client", args=[client.pk]),
    }


def text(answer):
    return answer.content.decode()


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("name", sorted(MEASURERS | OWNERS))
def test_each_page_opens_for_whom_it_is(house, things, page, role, name):
    allowed = role == "owner" or (name in MEASURERS and role == "instructor")
    if name == "repeatability-of" and role == "instructor":
        allowed = True  # it is her own
    assert page(getattr(house, role)).get(things[name]).status_code == (200 if allowed else 403)


@pytest.mark.parametrize("name", sorted(OF_A_STUDIO))
def test_another_studio_finds_nothing_there(other_house, things, page, name):
    assert page(other_house.owner).get(things[name]).status_code == 404


def test_nobody_signed_in_is_led_to_the_sign_in(client, things):
    for address in things.values():
        assert client.get(address).status_code == 302


def test_repeatability_is_in_the_menu_of_those_who_measure(house, page):
    home = reverse("platform:home")
    assert reverse("studio:repeatability") in text(page(house.instructor).get(home))
    assert reverse("studio:repeatability") not in text(page(house.clerk).get(home))


def test_an_instructor_sees_her_own_and_no_one_elses(house, page):
    with house.scope():
        who = a_client(house.clerk, "Runa Holt")
        repeats(house.instructor, who, "waist_girth", [(760, 776)] * 5)
        repeats(house.owner, who, "waist_girth", [(760, 762)] * 4, start=300)
    mine = text(page(house.instructor).get(reverse("studio:repeatability")))
    assert "1.13 cm" in mine  # 16 mm / sqrt(2)
    assert "Worth practising" in mine
    assert "Tie a cord round the middle" in mine  # how the waist is taped
    assert "<svg" in mine
    assert "Everybody who measures" not in mine
    assert (
        page(house.instructor)
        .get(reverse("studio:repeatability-of", args=[house.owner.member_id]))
        .status_code
        == 403
    )
    hers = text(page(house.owner).get(reverse("studio:repeatability")))
    assert "Everybody who measures" in hers
    assert house.instructor.name in hers


def test_an_empty_studio_is_told_what_to_do(house, page):
    browser = page(house.owner)
    assert "No measure was taken twice yet" in text(browser.get(reverse("studio:repeatability")))
    assert "No day was held yet" in text(browser.get(reverse("studio:standard-days")))
    assert "No limit is set" in text(browser.get(reverse("studio:retention")))


def test_a_day_is_opened_typed_and_told(house, page):
    more = a_measurer(house, "Greta Moss")
    browser = page(house.instructor)
    answer = browser.post(
        reverse("studio:new-standard-day"),
        {
            "name": "Winter",
            "held_on": "2026-11-20",
            "people": "A, B\nC",
            "reference_member_id": str(house.owner.member_id),
            "measures": ["height"],
        },
    )
    with house.scope():
        day = StandardisationDay.objects.get()
        assert day.people == ["A", "B", "C"]
    assert answer.url == reverse("studio:standard-day", args=[day.pk])
    grid = reverse("studio:standard-day-grid", args=[day.pk, "height"])
    shown = text(browser.get(grid))
    for member in (house.owner, house.instructor, more):
        assert member.name in shown
    assert house.clerk.name not in shown
    assert shown.count('name="cell_') == 3 * 3 * 2
    # The owner's column comes first; then by name.
    typed = {"unit": "cm", "cell_1_0": "160", "cell_1_1": "160.4", "cell_2_0": "170", "cell_2_1": "107"}
    answer = browser.post(grid, typed)
    assert answer.status_code == 400
    assert "Look at it again" in text(answer)
    assert 'value="170"' in text(answer)
    with house.scope():
        assert not StandardisationReading.objects.exists()
    assert browser.post(grid, {**typed, "cell_2_1": "170.2"}).status_code == 302
    with house.scope():
        assert StandardisationReading.objects.filter(member_id=house.owner.member_id).count() == 4
    shown = text(browser.get(grid))
    assert shown.count('name="cell_') == 3 * 3 * 2 - 4
    assert "160.4 cm" in shown
    # (0.4^2 + 0.2^2) / 4 = 0.05: 0.22 cm, worked by hand
    assert "0.22 cm" in text(browser.get(reverse("studio:standard-day", args=[day.pk])))
    empty = browser.post(grid, {"unit": "cm"})
    assert empty.status_code == 400
    assert "Nothing was typed yet" in text(empty)


def test_a_day_that_is_refused_keeps_what_was_typed(house, page):
    answer = page(house.instructor).post(
        reverse("studio:new-standard-day"),
        {"name": "Winter", "held_on": "2026-11-20", "people": "A", "reference_member_id": "", "measures": []},
    )
    assert answer.status_code == 400
    assert 'value="Winter"' in text(answer)


def test_the_history_says_what_the_tape_can_tell(house, things, page):
    shown = text(page(house.instructor).get(things["history"]))
    assert "changed by +3.3 cm" in shown
    assert "within the tape" in shown or "beyond the tape" in shown
    assert "<svg" in shown
    with house.scope():
        hip = things["history"].replace("waist_girth", "hip_girth")
    shown = text(page(house.instructor).get(hip))
    assert 'class="superseded"' in shown
    assert "read the wrong end" in shown
    shown = text(page(house.instructor).get(things["histories"]))
    assert shown.count('class="spark-line"') == len(BASIC)


def test_growth_is_told_by_age(house, page):
    with house.scope():
        child = a_client(
            house.clerk, "Ida Holt", born=days_ago(2600).date(), guardian_name="Runa Holt",
            consent_by="Runa Holt", consent_by_guardian=True,
        )  # fmt: skip
        for days, height in ((366, "118"), (1, "124")):
            measured(
                house.instructor,
                child,
                {"height": height},
                measured_at=days_ago(days),
                guardian_present="Runa Holt",
            )
    shown = text(page(house.instructor).get(reverse("studio:history", args=[child.pk, "height"])))
    assert "A year" in shown
    assert "6 y" in shown
    assert "+6.00 cm" in shown or "+6.0" in shown
    assert "say nothing about how other children grow" in shown


def test_the_standard_figure_speaks_of_the_paper(house, things, page):
    browser = page(house.instructor)
    shown = text(browser.get(things["standard-figure"], {"size": "6"}))
    assert "The paper&#x27;s waistline goes down 1.6 cm." in shown
    assert "common practice, no source" in shown
    assert browser.get(things["standard-figure"], {"size": "7"}).status_code == 400
    assert browser.get(things["standard-figure"], {"chart": "nothing"}).status_code == 400
    assert "The chart does not tell" in text(browser.get(things["standard-figure"], {"chart": "womens_1968"}))


def test_estimates_are_marked_on_the_clients_page(house, things, page):
    shown = text(page(house.instructor).get(things["client"]))
    assert "Estimates of what was not taken" in shown
    assert '<span class="chip unsure">estimate</span>' in shown
    assert "Estimates" not in text(page(house.clerk).get(things["client"]))


def test_withdrawal_is_shown_and_the_owner_is_asked(house, things, page):
    with house.scope():
        who = a_client(house.clerk, "Rosa Lind")
        record_consent(house.clerk, who.pk, kind="measure", given=False, given_by="Rosa Lind")
    address = reverse("studio:client", args=[who.pk])
    keep = reverse("studio:keep-client", args=[who.pk])
    assert "Consent was withdrawn" in text(page(house.clerk).get(address))
    assert keep not in text(page(house.clerk).get(address))
    browser = page(house.owner)
    assert keep in text(browser.get(address))
    listed = text(browser.get(reverse("studio:retention")))
    assert "Rosa Lind" in listed
    assert "1 client withdrew consent" in text(browser.get(reverse("platform:home")))
    answer = browser.post(keep, {"reason": ""})
    assert answer.status_code == 400
    assert browser.post(keep, {"reason": "tax records are running"}).url == reverse("studio:retention")
    assert "Rosa Lind" not in text(browser.get(reverse("studio:retention")))
    with house.scope():
        assert AuditEntry.objects.filter(act="keep_client", client_id=who.pk).count() == 1


def test_the_months_are_set_on_the_page(house, page):
    browser = page(house.owner)
    address = reverse("studio:retention")
    assert browser.post(address, {"months": "24"}).status_code == 302
    with house.scope():
        assert Studio.objects.get().keep_months == 24
    for wrong in ("0", "241", "two"):
        answer = browser.post(address, {"months": wrong})
        assert answer.status_code == 400
    assert "Nobody is due" in text(browser.get(address))
    assert browser.post(address, {"months": ""}).status_code == 302
    with house.scope():
        assert Studio.objects.get().keep_months is None
