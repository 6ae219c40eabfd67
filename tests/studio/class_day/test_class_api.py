"""Measures, sets, courses, the class grid and sheets in the API: every address by role, and what it answers."""

import pytest
from django.urls import reverse

from studio.services import choices
from studio.services.sheets import ask_sheet
from tests.studio.class_day.invented import OWN_MEASURE, a_course, students
from tests.studio.helpers import a_client

ROLES = ("owner", "instructor", "clerk")


@pytest.fixture
def course(house):
    with house.scope():
        course = a_course(house)
        course.ids = [client.pk for client in students(course)]
        choices.add_measure(house.owner, **OWN_MEASURE)
        choices.add_set(house.owner, name="Cuffs", measures=["own_cuff_depth"])
    return course


def at(name, *args):
    return reverse(f"api-{name}", args=args)


@pytest.mark.parametrize("role", ROLES)
def test_who_may_read(house, course, api, role):
    asks = api(getattr(house, role))
    for name, args, everybody in (
        ("measures", (), True),
        ("measure", ("own_cuff_depth",), True),
        ("measure-sets", (), True),
        ("measure-set", ("own_cuffs",), True),
        ("courses", (), True),
        ("course", (course.pk,), True),
        ("course-students", (course.pk,), True),
        ("course-grid", (course.pk,), False),
        ("course-sheets", (course.pk,), False),
    ):
        expected = 200 if everybody or role != "clerk" else 403
        assert asks.get(at(name, *args)).status_code == expected, name


@pytest.mark.parametrize("role", ROLES)
def test_who_may_write(house, course, api, role):
    asks = api(getattr(house, role))
    with house.scope():
        new = a_client(house.clerk, "Cora Diaz")
    measurer = 403 if role == "clerk" else None
    line = {"client": str(course.ids[0]), "cells": [{"measure": "waist_girth", "typed": "76"}]}
    own = {**OWN_MEASURE, "name": "Collar stand"}
    for answer, status in (
        (asks.post(at("measures"), own, format="json"), measurer or 201),
        (asks.patch(at("measure", "weight"), {"hidden": True}, format="json"), measurer or 200),
        (
            asks.post(at("measure-sets"), {"name": "A", "measures": ["height"]}, format="json"),
            measurer or 201,
        ),
        (asks.patch(at("measure-set", "skirt"), {"hidden": False}, format="json"), measurer or 200),
        (asks.post(at("courses"), {"name": "Coats", "measure_set": "child_coat"}, format="json"), 201),
        (
            asks.patch(at("course", course.pk), {"notes": "x"}, format="json", headers={"If-Match": '"1"'}),
            200,
        ),
        (asks.post(at("course-students", course.pk), {"client": str(new.pk)}, format="json"), 201),
        (asks.delete(at("course-student", course.pk, new.pk)), 204),
        (asks.post(at("course-grid", course.pk), line, format="json"), measurer or 201),
        (asks.post(at("course-sheets", course.pk), {"layout": "table"}, format="json"), measurer or 201),
    ):
        assert answer.status_code == status, (answer.request["PATH_INFO"], answer.data)
        if status == 201:
            assert answer["Location"]


def test_another_studio_finds_nothing(house, other_house, course, api):
    asks = api(other_house.owner)
    for name, args in (
        ("measure", ("own_cuff_depth",)),
        ("measure-set", ("own_cuffs",)),
        ("course", (course.pk,)),
        ("course-students", (course.pk,)),
        ("course-grid", (course.pk,)),
        ("course-sheets", (course.pk,)),
        ("course-sheet-pdf", (course.pk, course.pk)),
    ):
        assert asks.get(at(name, *args)).status_code == 404, name


def test_own_measures_stand_among_the_others(house, course, api):
    asks = api(house.instructor)
    found = {each["code"]: each for each in asks.get(at("measures")).json()}
    assert len(found) == 75
    assert found["own_cuff_depth"]["own"] is True
    assert found["waist_girth"]["own"] is False
    asks.patch(at("measure", "waist_girth"), {"hidden": True}, format="json")
    assert "waist_girth" not in [each["code"] for each in asks.get(at("measures")).json()]
    every = asks.get(at("measures"), {"hidden": "true"}).json()
    assert [each["code"] for each in every if each["hidden"]] == ["waist_girth"]
    skirt = next(each for each in asks.get(at("measure-sets")).json() if each["code"] == "skirt")
    assert "waist_girth" not in skirt["measures"] + skirt["repeat"]


def test_a_refusal_names_the_field(house, course, api):
    answer = api(house.owner).post(
        at("measures"), {**OWN_MEASURE, "name": "B", "kind": "depth"}, format="json"
    )
    assert answer.status_code == 400
    assert "one of girth, length, width, height" in str(answer.json())


def test_a_set_is_changed_with_its_etag(house, course, api):
    asks = api(house.owner)
    address = at("measure-set", "own_cuffs")
    etag = asks.get(address)["ETag"]
    assert asks.patch(address, {"name": "Deep cuffs"}, format="json").status_code == 428
    done = asks.patch(address, {"name": "Deep cuffs"}, format="json", headers={"If-Match": etag})
    assert (done.status_code, done.json()["name"]) == (200, "Deep cuffs")
    late = asks.patch(address, {"name": "x"}, format="json", headers={"If-Match": etag})
    assert late.status_code == 412


def test_a_line_is_filled_and_the_grid_tells(house, course, api):
    asks = api(house.instructor)
    ana = str(course.ids[0])
    line = {
        "client": ana,
        "unit": "in",
        "cells": [
            {"measure": "waist_girth", "typed": "30", "seen": 0},
            {"measure": "hip_girth", "typed": "102 cm", "seen": 0},
        ],
    }
    made = asks.post(at("course-grid", course.pk), line, format="json").json()
    assert (made["first"], made["further"]) == (["waist_girth", "hip_girth"], [])
    again = asks.post(at("course-grid", course.pk), line, format="json").json()
    assert again == {
        "measuring": None,
        "first": [],
        "further": [],
        "there_before": ["waist_girth", "hip_girth"],
    }
    grid = asks.get(at("course-grid", course.pk)).json()
    row = next(each for each in grid["rows"] if each["client"] == ana)
    waist = next(each for each in row["cells"] if each["measure"] == "waist_girth")
    assert (waist["value"], waist["wants"], waist["seen"]) == ("762.0000", "second", 1)
    assert waist["takes"][0]["measurer"] == house.instructor.name
    assert "hip_girth" not in row["lacks"]
    assert len(row["lacks"]) == 9
    wrong = asks.post(
        at("course-grid", course.pk),
        {"client": ana, "cells": [{"measure": "waist_girth", "typed": "x"}]},
        format="json",
    )
    assert wrong.status_code == 400
    assert "cells.waist_girth" in str(wrong.json())
    assert asks.get(at("course-grid", course.pk), {"day": "soon"}).status_code == 400


def test_sheets_are_listed_with_their_state(house, course, api):
    asks = api(house.instructor)
    with house.scope():
        job = ask_sheet(house.owner, course.pk)
    (found,) = asks.get(at("course-sheets", course.pk)).json()["results"]
    assert (found["job"], found["state"], found["layout"], found["file"]) == (
        str(job.pk),
        "waiting",
        "pages",
        None,
    )
