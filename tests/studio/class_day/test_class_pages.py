"""Pages of measures, sets, courses and the class day: by role, and with two instructors at one grid."""

import re
from datetime import date

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from studio.models import Course, Reading, StudioMeasure, StudioSet
from studio.platform.actors import STUDIO_IN_SESSION
from studio.platform.models import User
from studio.services import choices, courses
from studio.services.sheets import ask_sheet
from tests.studio.class_day.invented import OWN_MEASURE, a_course, fill, students
from tests.studio.helpers import a_client

ROLES = ("owner", "instructor", "clerk")
EVERYBODY = {"courses", "new-course", "course", "edit-course"}


@pytest.fixture
def course(house):
    with house.scope():
        found = a_course(house)
        found.ids = [client.pk for client in students(found)]
        choices.add_measure(house.owner, **OWN_MEASURE)
        choices.add_set(house.owner, name="Cuffs", measures=["own_cuff_depth"])
        found.job = ask_sheet(house.owner, found.pk)
    return found


@pytest.fixture
def addresses(course):
    return {
        **{name: reverse(f"studio:{name}") for name in ("measures", "new-measure", "sets", "new-set")},
        **{name: reverse(f"studio:{name}") for name in ("courses", "new-course")},
        **{
            name: reverse(f"studio:{name}", args=[course.pk])
            for name in ("course", "edit-course", "class-day", "class-changes")
        },
        "edit-set": reverse("studio:edit-set", args=["own_cuffs"]),
        "measure-figure": reverse("studio:measure-figure", args=["own_cuff_depth"]),
        "sheet": reverse("studio:sheet", args=[course.pk, course.job.pk]),
    }


def browser_of(actor):
    """A browser of her own, so that two can be at work at once."""
    browser = Browser()
    browser.force_login(User.objects.get(pk=actor.user_id), backend=settings.AUTHENTICATION_BACKENDS[0])
    session = browser.session
    session[STUDIO_IN_SESSION] = str(actor.studio_id)
    session.save()
    return browser


@pytest.mark.parametrize("role", ROLES)
def test_each_page_opens_for_whom_it_is(house, addresses, role):
    browser = browser_of(getattr(house, role))
    for name, address in addresses.items():
        allowed = name in EVERYBODY | {"measure-figure"} or role != "clerk"
        assert browser.get(address).status_code == (200 if allowed else 403), name


def test_another_studio_finds_nothing_there(other_house, addresses):
    browser = browser_of(other_house.owner)
    for name in (
        "course",
        "edit-course",
        "class-day",
        "class-changes",
        "edit-set",
        "sheet",
        "measure-figure",
    ):
        assert browser.get(addresses[name]).status_code == 404, name


def test_a_clerk_sees_no_figure_and_is_offered_nothing_that_is_refused(house, course, addresses):
    with house.scope():
        fill(house.instructor, course, students(course)[0], {"waist_girth": "76"})
    shown = browser_of(house.clerk).get(addresses["course"]).content.decode()
    assert "Ana Prado" in shown
    assert "Enrol" in shown
    for words in ("Class day", "Still lacks", "Make the sheet"):
        assert words not in shown
    listed = browser_of(house.clerk).get(addresses["courses"]).content.decode()
    assert reverse("studio:measures") not in listed


def test_a_measure_is_added_hidden_and_offered_again(house, addresses):
    browser = browser_of(house.instructor)
    typed = {
        "name": "Collar stand",
        "kind": "girth",
        "side": "centre",
        "instruction": "Round the neck where the stand ends.",
        "technical_error": "0,3",
        "adult_low": "20 cm",
        "adult_high": "60",
        "child_low": "15",
        "child_high": "50",
        "garments": ["shirt"],
        "view": "front",
        "line": "girth",
        "begin": "neck",
    }
    wrong = browser.post(addresses["new-measure"], typed | {"adult_high": "10", "begin": "nape"})
    assert wrong.status_code == 400
    assert "range_adult_mm must go from a low to a higher number" in wrong.content.decode()
    assert browser.post(addresses["new-measure"], typed | {"begin": "nape"}).status_code == 400
    made = browser.post(addresses["new-measure"], typed)
    assert made["Location"] == addresses["measures"] + "?kind=girth"
    with house.scope():
        row = StudioMeasure.objects.get(code="own_collar_stand")
    assert row.facts["range_adult_mm"] == [200.0, 600.0]
    assert row.facts["figure"] == {"view": "front", "kind": "girth", "from": "neck", "to": "neck"}
    shown = browser.get(made["Location"]).content.decode()
    assert "Collar stand" in shown
    assert "our own" in shown
    hide = reverse("studio:hide-measure", args=["own_collar_stand"])
    browser.post(hide)
    assert "Offer again" in browser.get(made["Location"]).content.decode()
    browser.post(hide, {"show": "1"})
    assert "Offer again" not in browser.get(made["Location"]).content.decode()
    picture = browser.get(reverse("studio:measure-figure", args=["own_collar_stand"]))
    assert picture["Content-Type"] == "image/svg+xml"


def test_a_set_is_made_changed_and_offered_to_measure(house, addresses):
    browser = browser_of(house.instructor)
    assert browser.post(addresses["new-set"], {"name": "Arms"}).status_code == 400
    browser.post(addresses["new-set"], {"name": "Arms", "measures": ["arm_length", "wrist_girth"]})
    with house.scope():
        row = StudioSet.objects.get(code="own_arms")
        client = a_client(house.clerk, "Dora Lim")
    change = reverse("studio:edit-set", args=["own_arms"])
    form = {"version": row.version, "name": "Arms", "measures": ["arm_length"], "repeat": ["arm_length"]}
    assert browser.post(change, form).status_code == 302
    assert "in the meantime" in browser.post(change, form).content.decode()
    grid = browser.get(reverse("studio:new-measuring", args=[client.pk]), {"set": "own_cuffs"})
    assert "Cuff depth" in grid.content.decode()


def test_a_course_is_opened_and_its_students_found(house):
    browser = browser_of(house.clerk)
    made = browser.post(reverse("studio:new-course"), {"name": "Trousers", "measure_set": "trousers"})
    with house.scope():
        course = Course.objects.get()
        client = a_client(house.clerk, "Olia Duarte")
    assert made["Location"] == reverse("studio:course", args=[course.pk])
    found = browser.get(made["Location"], {"words": "olai"}, headers={"HX-Request": "true"}).content.decode()
    assert "Olia Duarte" in found
    assert "<html" not in found
    enrol = reverse("studio:enrol", args=[course.pk, client.pk])
    assert browser.post(enrol).status_code == 302
    assert browser.post(enrol).status_code == 409
    assert "Olia Duarte" in browser.get(made["Location"]).content.decode()
    assert browser.post(reverse("studio:leave", args=[course.pk, client.pk])).status_code == 302
    assert "Nobody is in this course yet" in browser.get(made["Location"]).content.decode()


def marks(html):
    return re.findall(r'name="have" value="([0-9a-f]+)"', html)


def test_two_instructors_at_one_grid_see_each_other_and_overwrite_nothing(house, course, addresses):
    """Both open the grid; one saves; the other, whose page is old, saves the same cell and another."""
    ada, olga = browser_of(house.instructor), browser_of(house.owner)
    ana, bea = course.ids
    line = reverse("studio:class-line", args=[course.pk, ana])
    htmx = {"HX-Request": "true"}
    old = marks(olga.get(addresses["class-day"]).content.decode())
    assert len(old) == 3  # two students and the roster
    ada.get(addresses["class-day"])
    assert olga.get(addresses["class-changes"], {"have": old}).status_code == 204
    saved = ada.post(line, {"cell_waist_girth": "76", "seen_waist_girth": "0"}, headers=htmx).content.decode()
    assert "1 saved" in saved
    assert "76.0 cm" in saved
    assert saved.count("<tr") == 1
    news = olga.get(addresses["class-changes"], {"have": old}).content.decode()
    assert f'id="taken-{ana}-waist_girth"' in news
    assert "76.0 cm" in news
    assert house.instructor.name in news
    assert str(bea) not in news  # only the line that changed
    assert "<input" not in news.replace('<input type="hidden"', "")  # never what is being typed
    both = {
        "cell_waist_girth": "76.4",
        "seen_waist_girth": "0",
        "cell_hip_girth": "102",
        "seen_hip_girth": "0",
    }
    said = olga.post(line, both, headers=htmx).content.decode()
    assert "1 saved, 1 beside an earlier take" in said
    assert house.instructor.name in said
    assert house.owner.name in said
    assert "saved before" in olga.post(line, both, headers=htmx).content.decode().lower()
    with house.scope():
        found = list(
            Reading.objects.filter(measure="waist_girth").order_by("take").values_list("typed", "recorded_by")
        )
        assert found == [("76", house.instructor.member_id), ("76.4", house.owner.member_id)]
        assert Reading.objects.count() == 3


def test_a_refusal_stands_beside_its_cell_and_what_was_typed_stays(house, course, addresses):
    browser = browser_of(house.instructor)
    line = reverse("studio:class-line", args=[course.pk, course.ids[0]])
    typed = {"cell_waist_girth": "760", "cell_hip_girth": "102"}
    shown = browser.post(line, typed, headers={"HX-Request": "true"}).content.decode()
    assert f'id="error-{course.ids[0]}-waist_girth"' in shown
    assert "outside what a tape can read" in shown
    assert 'value="760"' in shown
    assert 'value="102"' in shown
    assert "Not saved yet." in shown
    whole = browser.post(line, typed)
    assert whole.status_code == 400
    assert "Bea Lund" in whole.content.decode()
    assert "No reading was given" in browser.post(line, {}, headers={"HX-Request": "true"}).content.decode()
    with house.scope():
        assert not Reading.objects.exists()
    assert browser.post(line, {"cell_hip_girth": "102", "unit": "cm"}).status_code == 302


def test_a_minors_line_asks_for_the_guardian_once(house, course, addresses):
    with house.scope():
        tomas = a_client(
            house.clerk,
            "Tomas Prado",
            born=date(2018, 2, 3),
            guardian_name="Ana Prado",
            consent_by="Ana Prado",
            consent_by_guardian=True,
        )
        courses.enrol(house.clerk, course.pk, client_id=tomas.pk)
    browser = browser_of(house.instructor)
    line = reverse("studio:class-line", args=[course.pk, tomas.pk])
    refused = browser.post(line, {"cell_waist_girth": "55"}, headers={"HX-Request": "true"}).content.decode()
    assert "say which guardian is present" in refused
    saved = browser.post(
        line, {"cell_waist_girth": "55", "guardian_present": "Ana Prado"}, headers={"HX-Request": "true"}
    ).content.decode()
    assert "with Ana Prado" in saved
    assert (
        "1 saved"
        in browser.post(line, {"cell_hip_girth": "62"}, headers={"HX-Request": "true"}).content.decode()
    )


def test_who_has_not_consented_has_nothing_to_type_into(house, course, addresses):
    with house.scope():
        client = a_client(house.clerk, "Femke Bos", consent_by="")
        courses.enrol(house.clerk, course.pk, client_id=client.pk)
    shown = browser_of(house.instructor).get(addresses["class-day"]).content.decode()
    assert "no consent yet" in shown
    assert f'form="form-{client.pk}"' not in shown
    assert f'form="form-{course.ids[0]}"' in shown


def test_a_changed_roster_is_told(house, course, addresses):
    browser = browser_of(house.instructor)
    old = marks(browser.get(addresses["class-day"]).content.decode())
    with house.scope():
        courses.leave(house.clerk, course.pk, client_id=course.ids[1])
    assert (
        "The roster or the set has changed"
        in browser.get(addresses["class-changes"], {"have": old}).content.decode()
    )


def test_a_clerk_fills_nothing(house, course):
    line = reverse("studio:class-line", args=[course.pk, course.ids[0]])
    assert browser_of(house.clerk).post(line, {"cell_waist_girth": "76"}).status_code == 403


def test_the_grid_asks_the_same_for_two_students_and_for_twenty(house, course, django_assert_num_queries):
    with house.scope():
        large = a_course(house, tuple(f"Student {number}" for number in range(20)), name="A large one")
        for who in students(large):
            fill(house.instructor, large, who, {"waist_girth": "76", "hip_girth": "102"})
    browser = browser_of(house.instructor)
    for name in ("class-day", "course", "class-changes"):
        small = reverse(f"studio:{name}", args=[course.pk])
        browser.get(small)
        with CaptureQueriesContext(connection) as counted:
            assert browser.get(small).status_code == 200
        with django_assert_num_queries(len(counted)):
            assert browser.get(reverse(f"studio:{name}", args=[large.pk])).status_code == 200
