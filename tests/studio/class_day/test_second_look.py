"""The class grid: what does not go together is shown again before it is saved, and a third take is asked for."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from studio.models import Reading
from studio.queries.courses import class_grid
from studio.services.clients import change_client
from tests.studio.class_day.invented import a_course, fill, students
from tests.studio.class_day.test_class_pages import browser_of
from tests.studio.helpers import a_client
from tests.studio.trust.helpers import repeats


@pytest.fixture
def course(house):
    with house.scope():
        found = a_course(house, measure_set="basic_twelve")
        found.ids = [client.pk for client in students(found)]
    return found


def line(course, place=0):
    return reverse("studio:class-line", args=[course.pk, course.ids[place]])


def test_a_slip_in_a_line_is_shown_again_and_kept_only_with_a_word_why(house, course):
    browser = browser_of(house.instructor)
    typed = {
        "cell_height": "166",
        "cell_chest_girth": "90",
        "cell_hip_girth": "100",
        "cell_waist_girth": "61",
    }
    shown = browser.post(line(course), typed, headers={"HX-Request": "true"}).content.decode()
    assert "Not saved yet" in shown
    assert "Please tape again. Beside the other readings" in shown
    assert 'name="cell_waist_girth" value="61"' in shown
    assert 'name="cell_hip_girth" value="100"' in shown
    with house.scope():
        assert Reading.objects.count() == 0
    # The suggestion is one press away, and is not saved by it.
    meant = re.search(r'name="meant" value="([^"]+)"', shown)[1]
    pressed = browser.post(
        line(course), {**typed, "meant": meant}, headers={"HX-Request": "true"}
    ).content.decode()
    assert f'name="cell_waist_girth" value="{meant.partition("=")[2]}"' in pressed
    assert "Please tape again" not in pressed
    with house.scope():
        assert Reading.objects.count() == 0
    # Without scripts the whole page comes, with the same line.
    assert "Please tape again" in browser.post(line(course), typed).content.decode()
    kept = {**typed, "kept_waist_girth": "taped twice", "kept_hip_girth": "not asked"}
    assert "4 saved" in browser.post(line(course), kept, headers={"HX-Request": "true"}).content.decode()
    with house.scope():
        assert dict(Reading.objects.values_list("measure", "kept_because")) == {
            "height": "", "chest_girth": "", "hip_girth": "", "waist_girth": "taped twice",
        }  # fmt: skip


def test_the_readings_of_the_day_speak_and_whoever_is_left_out_is_not_asked(house, course):
    with house.scope():
        client = students(course)[0]
        fill(house.owner, course, client, {"height": "166", "chest_girth": "90", "hip_girth": "100"})
        change_client(house.clerk, course.ids[1], expected_version=None, body_model="none")
        fill(
            house.owner,
            course,
            students(course)[1],
            {"height": "166", "chest_girth": "90", "hip_girth": "100"},
        )
    browser = browser_of(house.instructor)
    slip = {"cell_waist_girth": "61", "seen_waist_girth": "0"}
    assert "Please tape again" in browser.post(line(course), slip).content.decode()
    assert browser.post(line(course, 1), slip).status_code == 302


def test_looking_twice_costs_two_queries_and_no_more_for_a_long_line(house, course):
    browser = browser_of(house.instructor)

    def statements(typed):
        with CaptureQueriesContext(connection) as captured:
            browser.post(line(course), typed, headers={"HX-Request": "true"})
        return len(captured)

    slip = {"cell_waist_girth": "61"}
    few = statements({"cell_height": "166", "cell_chest_girth": "90", "cell_hip_girth": "100", **slip})
    many = statements(
        {"cell_height": "166", "cell_chest_girth": "90", "cell_hip_girth": "100", "cell_wrist_girth": "16",
         "cell_upper_arm_girth": "28.5", "cell_inside_leg": "76", **slip}
    )  # fmt: skip
    assert few == many


def test_the_grid_asks_for_a_third_by_the_studios_own_error(house, course):
    with house.scope():
        fill(house.instructor, course, students(course)[0], {"waist_girth": "76"})
        fill(house.instructor, course, students(course)[0], {"waist_girth": "76.6"})

        def wants():
            row = class_grid(house.instructor, course.pk).row_of(course.ids[0])
            return next(cell.wants for cell in row.cells if cell.measure.code == "waist_girth")

        assert wants() == ""
        repeats(house.instructor, a_client(house.clerk, "Mo Lind"), "waist_girth", [(800, 802)] * 24)
        assert wants() == "third"
