"""Pages of garments, fittings, reports, the client's link and the look-up: who may see what, and what they say."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from fitting.models import AcceptedEase, FitNote, FittingSession, Garment, ReportLink
from fitting.services.fittings import note_fit
from fitting.services.reports import ask_report, make_link
from tests.conftest import House
from tests.fitting.garment.conftest import Shop

STYLE = re.compile(r"<[^>]+\s(style|on[a-z]+)=", re.IGNORECASE)


def text_of(answer: Any) -> str:
    return answer.content.decode()


def test_the_way_from_the_bench_to_the_sign_off(closed_shop: Shop, page: Any) -> None:
    shop = closed_shop
    browser = page(shop.instructor)
    assert "Nothing is in work." in text_of(browser.get("/bench/"))
    made = browser.post(
        f"/garments/new/?client={shop.client.pk}",
        {
            "words": "teal trousers",
            "kind": "trousers",
            "pattern": shop.pattern.pk,
            "cloth": shop.cloth.pk,
            "due": "",
        },
    )
    assert made.status_code == 302, text_of(made)
    here = made["Location"]
    with shop.house.scope():
        garment = Garment.objects.get()
    answer = text_of(browser.get(here))
    assert "Stop before cutting." in answer
    assert "Stop before machine sewing." in answer
    assert "There is no fit plan for the pattern" not in answer  # only what comes next is told at length
    changed = browser.post(
        f"{here}change/",
        {
            "words": "teal trousers",
            "pattern": shop.pattern.pk,
            "cloth": shop.cloth.pk,
            "plan": shop.plan.pk,
            "version": 1,
        },
    )
    assert changed.status_code == 302, text_of(changed)
    for checkpoint in ("body_measured", "paper_altered", "cloth_known", "lay_and_grain"):
        browser.post(f"{here}checkpoints/", {"checkpoint": checkpoint, "answer": "done"})
    answer = text_of(browser.get(here))
    assert "Cutting may begin." in answer
    assert "No seam is chosen." in answer
    refused = browser.post(
        f"{here}checkpoints/", {"checkpoint": "seams_proven", "answer": "done"}, follow=True
    )
    assert "can&#x27;t be done yet. No seam is chosen." in text_of(refused)
    browser.post(f"{here}seams/", {"place": "side seams", "version": shop.version.pk})
    passed = browser.post(
        f"{here}checkpoints/",
        {"checkpoint": "seams_proven", "answer": "passed_by", "reason": "as last time"},
        follow=True,
    )
    assert "“as last time”" in text_of(passed)
    began = browser.post(
        f"{here}fittings/new/", {"kind": "baste", "held_at": "2026-01-21T15:30", "worn": "low shoes"}
    )
    session = began["Location"]
    bad = browser.post(
        f"{session}note/",
        {"place": "waist", "side": "both", "seen": "gapes", "decision": "take_in", "amount": "soon"},
    )
    assert bad.status_code == 400
    assert 'value="soon"' in text_of(bad)  # what was typed is not lost
    browser.post(
        f"{session}note/",
        {"place": "waist", "side": "left", "seen": "gapes", "decision": "open", "amount": ""},
    )
    with shop.house.scope():
        note = FitNote.objects.get()
    answer = text_of(browser.get(session))
    assert "1 note still to decide: waist, left." in answer
    assert "Sign off</button>" not in answer
    lacks = browser.post(f"/fit-notes/{note.pk}/decision/", {"decision": "take_in", "amount": ""})
    assert lacks.status_code == 400
    assert "“Take in” needs an amount" in text_of(lacks)
    browser.post(
        f"/fit-notes/{note.pk}/decision/", {"decision": "take_in", "amount": "1,2", "decided": "back seam"}
    )
    signed = browser.post(f"{session}sign-off/", {"client_agreed": "on", "note": ""}, follow=True)
    assert "Stop before machine sewing." in text_of(signed)
    done = browser.post(
        f"{here}checkpoints/", {"checkpoint": "basted_and_fitted", "answer": "done"}, follow=True
    )
    assert "Machine sewing may begin." in text_of(done)
    assert "Learnt from its fittings" in text_of(signed)
    with shop.house.scope():
        assert AcceptedEase.objects.get(zone="waist").ease_mm == Decimal(6)
        assert FittingSession.objects.get().worn == "low shoes"
    assert "teal trousers" in text_of(browser.get("/bench/"))
    assert str(garment.pk) in here


def test_a_report_from_button_to_link(closed_shop: Shop, page: Any, run_jobs: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        garment = shop.garment()
        ready = shop.signed_garment()
    browser = page(shop.instructor)
    told = browser.post(f"/garments/{garment.pk}/reports/", follow=True)
    assert "There is nothing to report for this garment yet: " in text_of(told)
    asked = browser.post(f"/garments/{ready.pk}/reports/")
    report = asked["Location"]
    answer = text_of(browser.get(report))
    assert "It is being made." in answer
    assert 'hx-trigger="load, every 1s"' in answer
    assert browser.get(f"{report}pdf/").status_code == 404
    assert run_jobs(shop.house) == ["done"]
    answer = text_of(browser.get(report))
    assert "Open the PDF" in answer
    pdf = browser.get(f"{report}pdf/")
    assert pdf["Content-Type"] == "application/pdf"
    assert 'filename="Fit summary 1 - teal trousers.pdf"' in pdf["Content-Disposition"]
    assert "Enter" not in answer
    bad = browser.post(report, {"days": "400"})
    assert bad.status_code == 400
    assert "A link lives from 1 to 365 days, not 400." in text_of(bad)
    made = browser.post(report, {"days": "14"}, follow=True)
    assert "The link is made. Send it to Olia Carvalho." in text_of(made)
    address = re.search(r'value="http://127.0.0.1:8000(/fit/[^"]+)"', text_of(made))
    assert address
    public = Browser()
    door = public.get(address[1])
    assert (door.status_code, door["Cache-Control"], door["X-Robots-Tag"]) == (200, "no-store", "noindex")
    assert "Olia" not in text_of(door)
    assert "Open my fit summary" in text_of(door)
    opened = public.post(address[1])
    for wanted in (
        "Olia Carvalho",
        "Teal trousers",
        "74.2 cm",
        "Take in 1.2 cm in all",
        "Save the PDF",
        "<svg",
    ):
        assert wanted in text_of(opened), wanted
    assert opened["Cache-Control"] == "no-store"
    assert not STYLE.search(text_of(opened))
    file = public.get(f"{address[1]}pdf/")
    assert file.content == pdf.content
    assert file["Content-Disposition"].startswith("attachment")
    assert file["Cache-Control"] == "no-store"
    with shop.house.scope():
        link = ReportLink.objects.get()
        assert link.openings == 1
    browser.post(f"/report-links/{link.pk}/revoke/")
    closed = public.post(address[1])
    assert "has closed this link" in text_of(closed)
    assert "Olia" not in text_of(closed)
    assert public.get(f"{address[1]}pdf/").status_code == 404
    assert public.get("/fit/nonsense/").status_code == 404


def test_past_fits_answers_as_one_types(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        closed_shop.signed_garment()
    browser = page(closed_shop.house.clerk)
    assert "Type who it is, or what was made." in text_of(browser.get("/past-fits/"))
    whole = text_of(browser.get("/past-fits/?words=olia+teai"))
    assert "<html" in whole
    assert "Teal trousers" in whole
    assert "take in 1.2 cm in all" in whole
    assert "74.2" not in whole
    assert "stands away" not in whole
    part = text_of(browser.get("/past-fits/?words=olia", headers={"HX-Request": "true"}))
    assert "<html" not in part
    assert "<mark>Olia</mark>" in part
    assert "Nothing is found by “zzz”" in text_of(browser.get("/past-fits/?words=zzz&kind=moon&year=soon"))
    assert "Nothing is found" in text_of(browser.get("/past-fits/?words=olia&kind=skirt"))


PAGES = [
    ("/bench/", "oic"),
    ("/garments/new/", "oic"),
    ("/garments/new/?client={c}", "oic"),
    ("/garments/{g}/", "oic"),
    ("/garments/{g}/change/", "oic"),
    ("/garments/{g}/fittings/new/", "oi"),
    ("/fittings/{s}/", "oi"),
    ("/fittings/{s}/note/", "oi"),
    ("/garments/{g}/reports/new/", "oi"),
    ("/reports/{r}/", "oic"),
    ("/past-fits/", "oic"),
    ("/past-fits/?words=olia", "oic"),
    ("/", "oic"),
    ("/clients/{c}/", "oic"),
]


@pytest.mark.parametrize(("path", "who"), PAGES, ids=[row[0] for row in PAGES])
def test_every_page_by_role_and_for_strangers(
    closed_shop: Shop, other_house: House, page: Any, path: str, who: str
) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.signed_garment()
        report = ask_report(closed_shop.instructor, garment.pk)
        make_link(closed_shop.instructor, report.pk)
        session = FittingSession.objects.get()
    ids = {"g": garment.pk, "s": session.pk, "r": report.pk, "c": closed_shop.client.pk}
    for letter, actor in {
        "o": closed_shop.house.owner,
        "i": closed_shop.instructor,
        "c": closed_shop.house.clerk,
    }.items():
        answer = page(actor).get(path.format(**ids))
        assert answer.status_code == (200 if letter in who else 403), (letter, answer.status_code)
        assert not STYLE.search(text_of(answer))
    stranger = page(other_house.instructor).get(path.format(**ids))
    if "{" in path:
        assert stranger.status_code == 404
    assert "Olia" not in text_of(stranger)
    assert "teal" not in text_of(stranger).replace("“olia teal”", "").replace("“teal trousers”", "")


def test_a_clerk_is_offered_only_what_she_may(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.signed_garment()
        note_fit(closed_shop.instructor, closed_shop.baste(garment).pk, place="hip", seen="strain at the hip")
    answer = text_of(page(closed_shop.house.clerk).get(f"/garments/{garment.pk}/"))
    for hidden in (
        "Hold a fitting",
        "Go past it",
        "Make the fit report",
        "Choose a seam",
        "strain at the hip",
        "Open again",
    ):
        assert hidden not in answer, hidden
    assert "take in 1.2 cm in all" in answer


def test_posting_what_the_role_does_not_include_is_refused(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.signed_garment()
        session = FittingSession.objects.get()
        note = FitNote.objects.get()
    browser = page(closed_shop.house.clerk)
    for path in (
        f"/garments/{garment.pk}/seams/",
        f"/garments/{garment.pk}/fittings/new/",
        f"/garments/{garment.pk}/reports/",
        f"/fittings/{session.pk}/note/",
        f"/fittings/{session.pk}/sign-off/",
        f"/fit-notes/{note.pk}/decision/",
    ):
        assert browser.post(path, {}).status_code == 403, path


def test_somebody_elses_change_is_not_overwritten(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.garment()
    browser = page(closed_shop.house.clerk)
    given = {"words": "first", "pattern": "", "cloth": "", "version": 1}
    assert browser.post(f"/garments/{garment.pk}/change/", given).status_code == 302
    late = browser.post(f"/garments/{garment.pk}/change/", {**given, "words": "second"})
    assert late.status_code == 400
    assert "changed by somebody else in the meantime" in text_of(late)


def test_a_childs_garment_shows_its_cautions(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.full_garment(for_child=True)
    answer = text_of(page(closed_shop.instructor).get(f"/garments/{garment.pk}/"))
    assert "Because a child will wear it" in answer
    assert "Cords and drawstrings" in answer


def test_the_first_page_tells_what_is_to_sign_off(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        closed_shop.baste(closed_shop.full_garment(words="grey flannel trousers"))
    assert "Fittings to sign off" in text_of(page(closed_shop.instructor).get("/"))
    clerks = text_of(page(closed_shop.house.clerk).get("/"))
    assert "Fittings to sign off" not in clerks
    assert "On the bench" in clerks
