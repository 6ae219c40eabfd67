"""Courses, their students, and the class grid with several instructors at it."""

from datetime import date, timedelta
from decimal import Decimal
from threading import Barrier, Thread

import pytest
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.models import Course, Enrolment, Measuring, Reading
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from studio.queries.courses import class_grid, course_get, course_list, student_list
from studio.services import clients, courses
from studio.services.choices import hide_measure
from studio.services.class_day import TypedCell, fill_cells
from tests.conftest import real_transactions
from tests.studio.class_day.invented import a_course, fill, students
from tests.studio.helpers import a_client, measured


def cell(house, course, client, code, **when):
    row = class_grid(house.owner, course.pk, **when).row_of(client.pk)
    return next(found for found in row.cells if found.measure.code == code)


def test_a_course_is_opened_changed_and_counted(in_house):
    course = a_course(in_house, starts=date(2026, 3, 2), ends=date(2026, 6, 1), notes=" By hand. ")
    assert (course.name, course.notes, course.version) == ("Skirts in spring", "By hand.", 1)
    assert course_get(in_house.clerk, course.pk).students == 2
    changed = courses.change_course(in_house.clerk, course.pk, expected_version=1, name="Skirts  again")
    assert (changed.name, changed.version) == ("Skirts again", 2)
    with pytest.raises(Stale):
        courses.change_course(in_house.clerk, course.pk, expected_version=1, notes="x")
    entry = AuditEntry.objects.get(act="change_course")
    assert entry.detail == {"changed": {"name": ["Skirts in spring", "Skirts again"]}}


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"name": " "}, "name", "blank"),
        ({"name": "Skirts in spring"}, "name", "already"),
        ({"measure_set": "armour"}, "measure_set", "There is no set of measures 'armour'"),
        ({"starts": date(2026, 3, 2), "ends": date(2026, 3, 1)}, "ends", "end before it starts"),
    ],
)
def test_a_course_that_cannot_be_is_refused(in_house, facts, field, sentence):
    course = a_course(in_house, ())
    wanted = {"name": "Trousers", "measure_set": "trousers", **facts}
    with pytest.raises(Refused) as refused:
        courses.open_course(in_house.clerk, **wanted)
    assert sentence in refused.value.reasons[field]
    other = courses.open_course(in_house.clerk, name="Coats", measure_set="child_coat")
    with pytest.raises(Refused) as refused:
        courses.change_course(in_house.clerk, other.pk, **wanted)
    assert sentence in refused.value.reasons[field]
    assert Course.objects.count() == 2
    assert course.name == "Skirts in spring"


def test_a_student_comes_leaves_and_comes_back(in_house):
    course = a_course(in_house, ("Ana Prado",))
    (ana,) = students(course)
    with pytest.raises(Conflict, match="Ana Prado is in this course already"):
        courses.enrol(in_house.clerk, course.pk, client_id=ana.pk)
    courses.leave(in_house.clerk, course.pk, client_id=ana.pk)
    assert list(student_list(in_house.clerk, course.pk)) == []
    with pytest.raises(NotHere):
        courses.leave(in_house.clerk, course.pk, client_id=ana.pk)
    with pytest.raises(NotHere, match="no such student"):
        fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    courses.enrol(in_house.clerk, course.pk, client_id=ana.pk)
    assert Enrolment.objects.count() == 1
    assert [act.act for act in AuditEntry.objects.filter(noun="enrolment").order_by("id")] == [
        "enrol",
        "leave",
        "enrol",
    ]


def test_the_forgotten_have_no_place(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    clients.erase_client(in_house.owner, ana.pk, reason="asked by letter")
    assert [row.client.name for row in class_grid(in_house.owner, course.pk).rows] == ["Bea Lund"]
    with pytest.raises(Conflict, match="erased"):
        courses.enrol(in_house.clerk, course.pk, client_id=ana.pk)


def test_the_grid_tells_who_lacks_what(in_house):
    course = a_course(in_house)
    ana, bea = students(course)
    filled = fill(in_house.instructor, course, ana, {"waist_girth": "76", "waist_height": "104"})
    assert (filled.first, filled.further) == (("waist_girth", "waist_height"), ())
    grid = class_grid(in_house.owner, course.pk)
    assert [row.client.name for row in grid.rows] == ["Ana Prado", "Bea Lund"]
    assert len(grid.row_of(bea.pk).lacks) == len(grid.measures) == 11
    mine = grid.row_of(ana.pk)
    assert len(mine.lacks) == 9
    assert [found.code for found in mine.asks_again] == ["waist_girth"]  # the set takes it twice
    waist = cell(in_house, course, ana, "waist_girth")
    assert (waist.value, waist.takes[0].by, waist.wants, waist.seen) == (
        Decimal(760),
        in_house.instructor.name,
        "second",
        1,
    )
    assert cell(in_house, course, ana, "waist_height").wants == ""


def test_later_lines_of_one_instructor_go_into_her_measuring_of_the_day(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    first = fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    again = fill(in_house.instructor, course, ana, {"hip_girth": "102"})
    assert first.measuring == again.measuring
    fill(in_house.instructor, course, ana, {"waist_to_hip": "20"}, over="underwear")
    assert Measuring.objects.count() == 2


def test_a_colleagues_cell_is_never_overwritten(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    mine = fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    filled = fill(in_house.owner, course, ana, {"waist_girth": "76.4", "hip_girth": "102"}, seen=0)
    assert (filled.first, filled.further) == (("hip_girth",), ("waist_girth",))
    assert filled.measuring != mine.measuring
    assert [reading.measure for reading in filled.measuring.readings.all()] == ["hip_girth"]
    waist = cell(in_house, course, ana, "waist_girth")
    assert [(take.take, take.value, take.by) for take in waist.takes] == [
        (1, Decimal("760.0000"), in_house.instructor.name),
        (2, Decimal("764.0000"), in_house.owner.name),
    ]
    assert {take.measuring_id for take in waist.takes} == {mine.measuring.pk}
    assert (waist.value, waist.wants) == (Decimal(762), "")


def test_two_takes_that_differ_ask_for_a_third(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    for text, wants in (("76", "second"), ("80", "third"), ("76.5", "")):
        fill(in_house.instructor, course, ana, {"waist_girth": text})
        assert cell(in_house, course, ana, "waist_girth").wants == wants
    assert cell(in_house, course, ana, "waist_girth").value == Decimal(765)
    fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    with pytest.raises(Refused) as refused:
        fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    assert "was taken 5 times on this day" in refused.value.reasons["cells.waist_girth"]


def test_a_line_that_is_sent_twice_is_kept_once(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    for _ in range(2):
        filled = fill(in_house.instructor, course, ana, {"waist_girth": "76", "hip_girth": "102"}, seen=0)
    assert filled.there_before == ("waist_girth", "hip_girth")
    assert filled.measuring is None
    assert Reading.objects.count() == 2
    # The same figure read by somebody else, or read again after it was seen, is a take of its own.
    fill(in_house.owner, course, ana, {"waist_girth": "76"}, seen=0)
    fill(in_house.instructor, course, ana, {"waist_girth": "76"}, seen=2)
    assert Reading.objects.filter(measure="waist_girth").count() == 3


def test_a_corrected_reading_shows_corrected(in_house):
    from studio.services.measuring import correct_reading

    course = a_course(in_house)
    ana, _ = students(course)
    row = fill(in_house.instructor, course, ana, {"waist_girth": "97"}).measuring
    correct_reading(in_house.instructor, row.readings.get().pk, typed="79", reason="97 for 79")
    assert cell(in_house, course, ana, "waist_girth").value == Decimal(790)
    fill(in_house.owner, course, ana, {"waist_girth": "79.2"})
    assert [take.take for take in cell(in_house, course, ana, "waist_girth").takes] == [1, 2]


def test_another_day_begins_a_new_occasion(in_house):
    course = a_course(in_house, starts=timezone.localdate() - timedelta(days=30))
    ana, _ = students(course)
    yesterday = timezone.localdate() - timedelta(days=1)
    fill(in_house.instructor, course, ana, {"waist_girth": "76"}, day=yesterday)
    found = cell(in_house, course, ana, "waist_girth")
    assert (found.on_the_day, found.seen, found.open) == (False, 0, True)
    assert found.takes[0].measured_at.astimezone(in_house.owner.zone).hour == 12
    fill(in_house.instructor, course, ana, {"waist_girth": "77"})
    assert [take.value for take in cell(in_house, course, ana, "waist_girth").takes] == [Decimal("770.0000")]
    assert [take.value for take in cell(in_house, course, ana, "waist_girth", day=yesterday).takes] == [
        Decimal("760.0000")
    ]
    with pytest.raises(Refused) as refused:
        fill(in_house.owner, course, ana, {"waist_girth": "76"}, day=timezone.localdate() + timedelta(days=1))
    assert "in the future" in refused.value.reasons["day"]


def test_what_was_read_before_the_course_does_not_count(in_house):
    course = a_course(in_house, starts=timezone.localdate() - timedelta(days=3))
    ana, _ = students(course)
    measured(in_house.instructor, ana, {"waist_girth": "70"}, measured_at=timezone.now() - timedelta(days=9))
    assert cell(in_house, course, ana, "waist_girth").wants == "first"
    measured(in_house.instructor, ana, {"waist_girth": "71"}, measured_at=timezone.now() - timedelta(days=2))
    assert cell(in_house, course, ana, "waist_girth").value == Decimal(710)


def test_a_refused_cell_keeps_the_whole_line_back(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    with pytest.raises(Refused) as refused:
        fill(
            in_house.instructor,
            course,
            ana,
            {
                "waist_girth": "76",
                "hip_girth": "1020",
                "height": "168",
                "tail_length": "9",
                "waist_height": "x",
            },
        )
    assert set(refused.value.reasons) == {
        "cells.hip_girth",
        "cells.height",
        "cells.tail_length",
        "cells.waist_height",
    }
    assert "Hip girth of 1020.0 cm is outside" in refused.value.reasons["cells.hip_girth"]
    assert "is not in this course's set" in refused.value.reasons["cells.height"]
    with pytest.raises(Refused, match="typed in cm or in"):
        fill(in_house.instructor, course, ana, {"waist_girth": "76"}, unit="ell")
    with pytest.raises(Refused) as refused:
        fill(in_house.instructor, course, ana, {})
    assert "No reading" in refused.value.reasons[""]
    with pytest.raises(Refused) as refused:
        fill(in_house.instructor, course, ana, {"waist_girth": "76"}, over="armour")
    assert "over" in refused.value.reasons
    assert not Reading.objects.exists()
    assert not Measuring.objects.exists()


def test_takes_over_other_clothing_are_not_mixed(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    with pytest.raises(Refused) as refused:
        fill(in_house.owner, course, ana, {"waist_girth": "75"}, over="underwear")
    assert "was taken over close clothing on this day" in refused.value.reasons["cells.waist_girth"]


def test_a_minor_is_measured_with_consent_and_a_guardian_asked_for_once(in_house):
    course = a_course(in_house, ())
    tomas = a_client(
        in_house.clerk,
        "Tomas Prado",
        born=date(timezone.localdate().year - 10, 1, 1),
        guardian_name="Ana Prado",
        consent_by="",
    )
    courses.enrol(in_house.clerk, course.pk, client_id=tomas.pk)
    row = class_grid(in_house.owner, course.pk).row_of(tomas.pk)
    assert (row.minor, row.may_be_measured) == (True, False)
    with pytest.raises(Refused) as refused:
        fill(in_house.instructor, course, tomas, {"waist_girth": "60"})
    assert "has not consented" in refused.value.reasons[""]
    clients.record_consent(
        in_house.clerk, tomas.pk, kind="measure", given=True, given_by="Ana Prado", by_guardian=True
    )
    with pytest.raises(Refused) as refused:
        fill(in_house.instructor, course, tomas, {"waist_girth": "60"})
    assert "which guardian is present" in refused.value.reasons["guardian_present"]
    fill(in_house.instructor, course, tomas, {"waist_girth": "60"}, guardian_present="Ana Prado")
    row = class_grid(in_house.owner, course.pk).row_of(tomas.pk)
    assert (row.may_be_measured, row.guardian_present) == (True, "Ana Prado")
    fill(in_house.instructor, course, tomas, {"hip_girth": "70"})
    assert Measuring.objects.get().readings.count() == 2


def test_a_hidden_measure_leaves_the_grid(in_house):
    course = a_course(in_house)
    hide_measure(in_house.owner, "seated_hip_girth")
    assert "seated_hip_girth" not in [found.code for found in class_grid(in_house.owner, course.pk).measures]


def test_marks_change_with_what_they_stand_for(in_house):
    course = a_course(in_house)
    ana, bea = students(course)
    before = class_grid(in_house.owner, course.pk)
    fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    after = class_grid(in_house.owner, course.pk)
    assert before.row_of(ana.pk).mark != after.row_of(ana.pk).mark
    assert before.row_of(bea.pk).mark == after.row_of(bea.pk).mark
    assert before.roster_mark == after.roster_mark
    courses.leave(in_house.clerk, course.pk, client_id=bea.pk)
    assert class_grid(in_house.owner, course.pk).roster_mark != after.roster_mark


def test_the_grid_asks_the_same_for_two_students_and_for_thirty(in_house, django_assert_num_queries):
    small = a_course(in_house)
    large = a_course(in_house, tuple(f"Student {number}" for number in range(30)), name="A large one")
    for course in (small, large):
        for who in students(course):
            fill(in_house.instructor, course, who, {"waist_girth": "76", "hip_girth": "102"})
    with CaptureQueriesContext(connection) as counted:
        assert len(class_grid(in_house.owner, small.pk).rows) == 2
    assert len(counted) == 8
    with django_assert_num_queries(8):
        assert len(class_grid(in_house.owner, large.pk).rows) == 30
    with django_assert_num_queries(1):
        assert [course.students for course in course_list(in_house.clerk)] == [30, 2]


def test_a_line_of_eleven_costs_no_more_queries_than_one(in_house, django_assert_num_queries):
    course = a_course(in_house, ("Ana Prado", "Bea Lund", "Cora Diaz"))
    ana, bea, cora = students(course)
    typed = {
        found.code: "%g mm" % (sum(found.adult) / 2)
        for found in class_grid(in_house.owner, course.pk).measures
    }
    with CaptureQueriesContext(connection) as one:
        fill(in_house.instructor, course, ana, {"waist_girth": "76"})
    with django_assert_num_queries(len(one)):
        fill(in_house.instructor, course, bea, typed)
    fill(in_house.owner, course, cora, typed)
    with CaptureQueriesContext(connection) as again:  # eleven second takes need no measuring of their own
        fill(in_house.instructor, course, cora, typed)
    assert len(again) < len(one)
    assert Reading.objects.filter(client=cora, take=2).count() == 11


def test_roles(in_house):
    course = a_course(in_house)
    ana, _ = students(course)
    for act in (
        lambda: class_grid(in_house.clerk, course.pk),
        lambda: fill(in_house.clerk, course, ana, {"waist_girth": "76"}),
    ):
        with pytest.raises(NotAllowed):
            act()
    assert course_list(in_house.clerk).count() == 1


def test_another_studios_course_is_not_here(house, other_house):
    with other_house.scope():
        theirs = a_course(other_house)
        who = students(theirs)[0]
    with house.scope():
        mine = a_course(house)
        for act in (
            lambda: course_get(house.owner, theirs.pk),
            lambda: class_grid(house.owner, theirs.pk),
            lambda: student_list(house.owner, theirs.pk),
            lambda: courses.change_course(house.owner, theirs.pk, name="x"),
            lambda: courses.enrol(house.owner, theirs.pk, client_id=students(mine)[0].pk),
            lambda: courses.enrol(house.owner, mine.pk, client_id=who.pk),
            lambda: courses.leave(house.owner, theirs.pk, client_id=who.pk),
            lambda: fill(house.owner, theirs, who, {"waist_girth": "76"}),
        ):
            with pytest.raises(NotHere):
                act()


@real_transactions
def test_two_instructors_at_the_same_moment_lose_nothing(house):
    """Both have an empty line before them and save it at once; whoever comes second adds a second take."""
    with house.scope():
        course = a_course(house)
        ana, _ = students(course)
    ready, wrong = Barrier(2), []

    def save(actor, typed):
        try:
            ready.wait(20)
            with house.scope():
                fill_cells(
                    actor, course.pk, ana.pk, cells=[TypedCell(code, text, 0) for code, text in typed.items()]
                )
        except Exception as exc:
            wrong.append(exc)
        finally:
            connections.close_all()

    lines = [
        (house.instructor, {"waist_girth": "76", "hip_girth": "102", "waist_height": "104"}),
        (house.owner, {"waist_girth": "76.2", "hip_girth": "102.4", "outside_leg": "103"}),
    ]
    threads = [Thread(target=save, args=line) for line in lines]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert wrong == []
    with house.scope():
        grid = class_grid(house.owner, course.pk).row_of(ana.pk)
        taken = {found.measure.code: found.takes for found in grid.cells if found.takes}
    assert {code: len(takes) for code, takes in taken.items()} == {
        "waist_girth": 2,
        "hip_girth": 2,
        "waist_height": 1,
        "outside_leg": 1,
    }
    for code in ("waist_girth", "hip_girth"):
        assert {take.by_id for take in taken[code]} == {house.instructor.member_id, house.owner.member_id}
        assert [take.take for take in taken[code]] == [1, 2]
