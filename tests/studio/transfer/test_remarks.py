"""A dry run's remarks on readings that do not go together: advice by row, that holds nothing up and is forgotten."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from studio.models import Client, ReadingImport
from studio.platform.jobs import run_job
from studio.platform.services.jobs import ask_for
from studio.queries import transfer as queries
from studio.services import taping
from studio.services.clients import change_client, erase_client
from tests.studio.helpers import a_client
from tests.studio.transfer.invented import (
    as_csv,
    checked,
    mapped,
    new_clients,
    problems,
    taken_over,
    uploaded,
)
from tests.studio.trust.test_taping import WOMEN, typed, women

CODES = ("height", "weight", "chest_girth", "waist_girth", "hip_girth", "wrist_girth")
COLUMNS = tuple(f"{code} ({'kg' if code == 'weight' else 'cm'})" for code in CODES)
HEADS = ("Client", "Birthday", "Body model", "Date", *COLUMNS)
NORA, MO = ("Nora Field", "1990-02-03"), ("Mo Lind", "1988-05-06")
IVO = ("Ivo Duarte", f"{timezone.localdate().year - 9}-01-01")
HONEST = {
    "height": 166,
    "weight": 62,
    "chest_girth": 90,
    "waist_girth": 76,
    "hip_girth": 100,
    "wrist_girth": 16,
}


def line(who, model, day, **changed):
    return (*who, model, day, *({**HONEST, **changed}[code] for code in CODES))


def remarks(house, row):
    with house.scope():
        return queries.problems_of(house.owner, row.pk).remarks


@pytest.fixture
def nora(house):
    with house.scope():
        return a_client(house.owner, "Nora Field", born=date(1990, 2, 3))


def test_a_slip_is_remarked_by_row_and_taken_over_all_the_same(house, nora, page):
    content = as_csv(HEADS, [line(NORA, "", "2026-05-04"), line(NORA, "", "2026-05-05", waist_girth=61)])
    row = checked(house, uploaded(house, content))
    assert problems(house, row) == []
    found = remarks(house, row)
    assert [(each["row"], row.columns[each["column"] - 1]) for each in found] == [(3, "waist_girth (cm)")]
    assert "Waist girth does not go together with the other readings of this measuring" in found[0]["reason"]
    assert "Perhaps 71.0 cm was meant" in found[0]["reason"]
    shown = page(house.owner).get(reverse("studio:transfer-import", args=[row.pk])).content.decode()
    assert "1 reading to look at again" in shown
    done = taken_over(house, row)
    assert done.counts["new_readings"] == 12
    assert len(remarks(house, done)) == 1
    # Whoever is erased leaves no remark behind: nobody can tell any more whose it was.
    with house.scope():
        erase_client(house.owner, nora.pk, reason="asked by letter")
    assert remarks(house, done) == []


def test_whoever_is_left_out_of_the_model_and_children_are_not_remarked(house, nora):
    with house.scope():
        change_client(house.owner, nora.pk, expected_version=None, body_model="none")
    rows = [
        # The client's own record counts, also where the file says otherwise.
        line(NORA, "female", "2026-05-04", waist_girth=61),
        line(MO, "none", "2026-05-04", waist_girth=61),
        (*line(IVO, "", "2026-05-04", waist_girth=61), "Olia Duarte", "Olia Duarte"),
    ]
    heads = (*HEADS, "Guardian", "Guardian present")
    row = uploaded(house, as_csv(heads, [each + ("", "") * (len(each) < len(heads)) for each in rows]))
    row = checked(house, mapped(house, row, **new_clients()))
    assert problems(house, row) == []
    assert remarks(house, row) == []
    taken_over(house, row)
    with house.scope():
        assert dict(Client.objects.values_list("name", "body_model")) == {
            "Nora Field": "none", "Mo Lind": "none", "Ivo Duarte": "both",
        }  # fmt: skip


def test_a_body_model_that_is_none_is_a_problem_of_its_row(house, nora):
    row = checked(house, uploaded(house, as_csv(HEADS, [line(NORA, "tall", "2026-05-04")])))
    assert problems(house, row) == [(2, "body_model", "The body model is one of both, female, male, none.")]


def test_how_the_studio_tapes_is_no_slip_in_a_file_either(house):
    codes = (
        "height",
        "weight",
        "chest_girth",
        "waist_girth",
        "hip_girth",
        "thigh_girth",
        "calf_girth",
        "wrist_girth",
    )
    heads = (
        "Client",
        "Birthday",
        "Body model",
        "Date",
        *(f"{c} ({'kg' if c == 'weight' else 'cm'})" for c in codes),
    )
    rows = [
        (
            f"Client {number}",
            "1990-02-03",
            "female",
            "2026-05-04",
            *(typed(WOMEN[number])[code] for code in codes),
        )
        for number in range(12, 24)
    ]
    row = mapped(house, uploaded(house, as_csv(heads, rows)), **new_clients())
    before = remarks(house, checked(house, row))
    assert len(before) > 3
    with house.scope():
        women(house, 12)
        job = ask_for(house.owner, taping.LEARN_JOB, {})
    assert run_job(house.studio_id, job.pk) == "done"
    assert len(remarks(house, checked(house, row))) < len(before) / 2
    with house.scope():
        assert ReadingImport.objects.get().counts["remarks"] < len(before) / 2
