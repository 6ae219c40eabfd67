"""The blank class sheet: asked for, drawn in the background, fetched, and gone with whoever is erased."""

from datetime import date
from io import BytesIO

import pytest
from django.conf import settings
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from studio.platform.errors import NotAllowed, NotHere, Refused
from studio.platform.jobs import run_job
from studio.platform.models import Job, StoredFile
from studio.platform.services.files import read_file
from studio.queries.sheets import sheet_file, sheet_list
from studio.reports.pdf import CannotRender
from studio.reports.sheet import render_sheet, sheet_html
from studio.services import clients, courses
from studio.services.choices import hide_measure
from studio.services.sheets import ask_sheet, finish_sheet, prepare_sheet
from tests.conftest import real_transactions
from tests.studio.class_day.invented import a_course, students
from tests.studio.helpers import a_client


def a_mixed_course(house):
    course = a_course(house)
    tomas = a_client(
        house.clerk,
        "Tomas Prado",
        born=date(timezone.localdate().year - 10, 1, 1),
        guardian_name="Ana Prado",
        consent_by="",
    )
    courses.enrol(house.clerk, course.pk, client_id=tomas.pk)
    return course


def words_of(pdf, number=None):
    pages = PdfReader(BytesIO(pdf)).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    return texts if number is None else texts[number]


def test_each_student_has_a_page_with_numbered_lines(in_house):
    course = a_mixed_course(in_house)
    made = render_sheet(prepare_sheet({"course": str(course.pk), "layout": "pages"}))
    key, *pages = words_of(made.pdf)
    assert made.pages == len(pages) + 1 == 4
    assert "Skirt: how to take it" in key
    assert "No consent yet: Tomas Prado" in key
    assert "Under 18: Tomas Prado" in key
    assert "Pass the tape level over the cord" in key  # the waist's instruction
    for page, name in zip(pages, ("Ana Prado", "Bea Lund", "Tomas Prado"), strict=True):
        assert name in page
        assert "close clothing" in page
        for number in range(1, 12):
            assert str(number) in page
        assert "Waist girth" in page
    assert "Guardian present" in pages[2]
    assert "Guardian present" not in pages[0]
    assert "Not to be measured until it is written down" in pages[2]


def test_or_the_class_has_one_table(in_house):
    course = a_mixed_course(in_house)
    made = render_sheet(prepare_sheet({"course": str(course.pk), "layout": "table"}))
    assert made.pages == 2
    table = words_of(made.pdf, 1)
    for words in ("Ana Prado", "Bea Lund", "Tomas Prado", "guardian present", "no consent yet", "Hip girth"):
        assert words in table


def test_the_body_is_drawn_from_each_side_with_the_numbers_of_the_lines(in_house):
    course = a_course(in_house, ("Ana Prado",))
    snapshot = prepare_sheet({"course": str(course.pk), "layout": "pages"})
    html = sheet_html(snapshot)
    assert "Body from the front, with numbered tape lines: 2 Waist girth" in html
    assert "Body from the side" in html
    assert html.count("<img") == 4  # two views on the key, two on her page


def test_it_holds_names_and_no_figure_of_anybodys_body(in_house):
    course = a_course(in_house)
    snapshot = prepare_sheet({"course": str(course.pk), "layout": "pages"})
    assert set(snapshot["students"][0]) == {"id", "name", "minor", "guardian", "consent"}


def test_the_same_snapshot_gives_the_same_bytes(in_house):
    course = a_course(in_house, ("Ana Prado",))
    snapshot = prepare_sheet({"course": str(course.pk), "layout": "table"})
    assert render_sheet(snapshot).pdf == render_sheet(snapshot).pdf


@pytest.mark.parametrize(
    ("change", "sentence"), [({"shape": 9}, "shape 9"), ({"layout": "cards"}, "no layout 'cards'")]
)
def test_what_cannot_be_drawn_is_told(in_house, change, sentence):
    course = a_course(in_house, ("Ana Prado",))
    snapshot = prepare_sheet({"course": str(course.pk), "layout": "pages"})
    with pytest.raises(CannotRender, match=sentence):
        sheet_html(snapshot | change)


def test_names_are_words_and_no_markup(in_house):
    course = a_course(in_house, ("Ana <b>Prado</b>",))
    html = sheet_html(prepare_sheet({"course": str(course.pk), "layout": "pages"}))
    assert "&lt;b&gt;Prado" in html
    assert "<b>Prado" not in html


def test_who_may_ask(in_house):
    course = a_course(in_house, ())
    with pytest.raises(NotAllowed):
        ask_sheet(in_house.clerk, course.pk)
    with pytest.raises(Refused, match="Nobody is in this course yet"):
        ask_sheet(in_house.instructor, course.pk)
    with pytest.raises(Refused, match="no layout 'cards'"):
        ask_sheet(in_house.instructor, course.pk, layout="cards")
    assert not Job.objects.exists()


def test_another_studio_has_no_such_course(house, other_house):
    with house.scope():
        course = a_course(house)
    with other_house.scope(), pytest.raises(NotHere):
        ask_sheet(other_house.owner, course.pk)


def test_a_sheet_that_is_done_after_an_erasure_is_not_kept(in_house):
    course = a_course(in_house)
    arguments = {"course": str(course.pk), "layout": "table"}
    snapshot = prepare_sheet(arguments)
    clients.erase_client(in_house.owner, students(course)[0].pk, reason="asked by letter")
    from studio.platform.errors import JobFailed

    with pytest.raises(JobFailed, match="was erased on request"):
        finish_sheet(arguments, snapshot, render_sheet(snapshot))
    assert not StoredFile.objects.exists()


@real_transactions
def test_it_is_made_fetched_and_gone_with_whoever_is_erased(house, client):
    from studio.platform.actors import STUDIO_IN_SESSION
    from studio.platform.models import User

    with house.scope():
        course = a_course(house)
        ana = students(course)[0]
        job = ask_sheet(house.instructor, course.pk, layout="table")
    assert run_job(house.studio_id, job.pk) == "done"
    with house.scope():
        (done,) = sheet_list(house.instructor, course.pk)
        file = sheet_file(house.instructor, course.pk, done.result["file"])
        assert read_file(file).startswith(b"%PDF-")
    address = reverse("studio:sheet-pdf", args=[course.pk, file.pk])
    client.force_login(
        User.objects.get(pk=house.instructor.user_id), backend=settings.AUTHENTICATION_BACKENDS[0]
    )
    session = client.session
    session[STUDIO_IN_SESSION] = str(house.studio_id)
    session.save()
    answer = client.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    assert address in client.get(reverse("studio:sheet", args=[course.pk, job.pk])).content.decode()
    with house.scope():
        clients.erase_client(house.owner, ana.pk, reason="asked by letter")
    assert client.get(address).status_code == 404
    assert not default_storage.exists(file.key)


def test_a_set_of_which_all_is_hidden_fails_with_a_sentence(in_house):
    from studio.platform.errors import JobFailed
    from studio.services.choices import add_set

    add_set(in_house.owner, name="Just one", measures=["weight"])
    course = a_course(in_house, measure_set="own_just_one")
    hide_measure(in_house.owner, "weight")
    with pytest.raises(JobFailed, match="is hidden"):
        prepare_sheet({"course": str(course.pk), "layout": "pages"})
