"""What a report is told from the record: language, seams, care, habits, photographs, keeping, what comes next."""

import io
import json
from datetime import timedelta
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from django.core import mail
from django.utils import timezone
from PIL import Image

from fitting.jobs import prepare_report, work_report
from fitting.models import Appointment, FitReport, Garment, LayLine, LayPlan
from fitting.queries.care import usual_care
from fitting.queries.reports import look_at_link, report_file
from fitting.services.fit_photos import add_fit_photo, take_away_photo
from fitting.services.fittings import note_fit, sign_off
from fitting.services.garments import choose_seam
from fitting.services.reports import ask_report, make_link, preview_report
from fitting.services.sending import prepare_sending, work_sending
from fitting.services.told import Told
from seamlab.models import Cloth
from studio.platform.errors import Conflict, JobFailed, Refused
from studio.platform.models import Job
from studio.platform.models.base import new_id
from studio.platform.services.studios import change_studio
from studio.services.clients import change_client, record_consent
from studio.services.retention import set_keep_months
from tests.fitting.garment.conftest import Shop
from tests.fitting.garment.test_reports import issue


def jpeg() -> bytes:
    drawn = io.BytesIO()
    Image.new("RGB", (60, 80), (120, 160, 140)).save(drawn, "JPEG")
    return drawn.getvalue()


def speaks(shop: Shop, language: str) -> None:
    change_client(shop.house.clerk, shop.client.pk, expected_version=None, language=language)


def allow_photographs(shop: Shop, given: bool = True) -> None:
    record_consent(
        shop.house.clerk, shop.client.pk, kind="photograph", given=given, given_by=shop.client.name
    )


def photographed(shop: Shop) -> tuple[Garment, Any]:
    """A garment with a signed-off fitting at which one note was photographed."""
    garment = shop.full_garment()
    session = shop.baste(garment)
    note = note_fit(
        shop.instructor, session.pk, place="waist", side="left", decision="take_in", amount_mm=Decimal(12),
        told=Told(sign="gaping", change="deepen_dart", seam="centre back"),
    )  # fmt: skip
    allow_photographs(shop)
    photo = add_fit_photo(shop.instructor, note.pk, picture=jpeg())
    sign_off(shop.instructor, session.pk, client_agreed=True)
    return garment, photo


def test_the_language_is_the_clients_then_the_studios_unless_another_is_chosen(shop: Shop) -> None:
    garment = shop.full_garment()
    assert preview_report(shop.instructor, garment.pk)["language"] == "en"
    change_studio(shop.house.owner, language="de")
    with pytest.raises(Refused) as refused:
        change_studio(shop.house.owner, language="xx")
    assert "one of en, de" in refused.value.reasons["language"]
    assert preview_report(shop.instructor, garment.pk)["language"] == "de"
    speaks(shop, "en")
    assert preview_report(shop.instructor, garment.pk)["language"] == "en"
    report = ask_report(shop.instructor, garment.pk, language="de")
    assert report.snapshot["garment"]["kind_words"] == "Hose"
    assert [row["zone"] for row in report.snapshot["sizes"]] == ["Taille", "Hüfte"]
    assert report.snapshot["measures"][0]["name"] == "Körperhöhe"
    assert {row["code"]: row["text"] for row in report.snapshot["measures"]}["waist_girth"] == "74,2 cm"
    with pytest.raises(Refused) as refused:
        ask_report(shop.instructor, garment.pk, language="xx")
    assert "one of en, de" in refused.value.reasons["language"]
    with pytest.raises(Refused) as refused:
        speaks(shop, "xx")
    assert "one of en, de" in refused.value.reasons["language"]


def test_a_preview_keeps_nothing_and_is_what_is_frozen(shop: Shop) -> None:
    garment = shop.signed_garment()
    seen = preview_report(shop.instructor, garment.pk, language="de")
    assert not FitReport.objects.exists()
    assert not Job.objects.exists()
    frozen = ask_report(shop.instructor, garment.pk, language="de").snapshot
    for shot in (seen, frozen):
        shot["report"].pop("issued_at")
    assert seen == frozen


def test_a_note_is_told_with_sign_change_and_where(shop: Shop) -> None:
    garment, _ = photographed(shop)
    [note] = preview_report(shop.instructor, garment.pk, language="de")["fittings"][0]["notes"]
    assert (note["where"], note["seen"]) == ("Taille, links", "Klafft")
    assert note["decision"] == "Enger machen: insgesamt 1,2 cm"
    assert note["how"] == "Tieferer Abnäher; centre back"
    [note] = preview_report(shop.instructor, garment.pk, language="en")["fittings"][0]["notes"]
    assert (note["where"], note["seen"], note["how"]) == (
        "Waist, left",
        "Gaping",
        "A deeper dart; centre back",
    )


def test_who_decided_is_told_where_it_was_somebody_else(shop: Shop) -> None:
    garment = shop.full_garment()
    session = shop.baste(garment)
    note_fit(shop.house.owner, session.pk, place="hem", seen="breaks on the shoe", decision="leave")
    sign_off(shop.instructor, session.pk, client_agreed=False)
    [fitting] = preview_report(shop.instructor, garment.pk)["fittings"]
    assert fitting["held_by"] == shop.instructor.name
    assert fitting["notes"][0]["by"].startswith(f"Decided by {shop.house.owner.name} on ")
    assert fitting["signed"].startswith(f"Signed off by {shop.instructor.name} on ")
    assert "agreement" not in fitting["signed"]


def test_seams_are_told_in_plain_words_and_the_clients_unit(shop: Shop) -> None:
    garment = shop.full_garment()
    choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    [seam] = preview_report(shop.instructor, garment.pk)["seams"]
    assert seam["settings"].startswith(
        "Lockstitch (ISO 4915 type 301), 2.5 mm long; needle 80/12, round point;"
    )
    assert "(40 tex)" in seam["settings"]
    assert seam["proof"] == "sample to come"
    [seam] = preview_report(shop.instructor, garment.pk, language="de")["seams"]
    assert seam["settings"].startswith(
        "Doppelsteppstich (ISO 4915, Typ 301), 2,5 mm lang; Nadel 80/12, runde Spitze;"
    )
    change_client(shop.house.clerk, shop.client.pk, expected_version=None, unit="in")
    [seam] = preview_report(shop.instructor, garment.pk)["seams"]
    assert "2.5 mm long (about 10 to the inch)" in seam["settings"]  # 25.4 / 2.5 = 10.16


def test_care_comes_from_the_cloths_own_facts(shop: Shop) -> None:
    garment = shop.full_garment()
    Cloth.objects.filter(pk=shop.cloth.pk).update(
        fibres=[{"fibre": "polyamide", "percent": 20}, {"fibre": "wool", "percent": 80}], care="Dry clean."
    )
    [care] = preview_report(shop.instructor, garment.pk)["care"]
    assert care["sentences"][0] == "Made of 80\u00a0% wool and 20\u00a0% polyamide."
    assert "it came out 1.0\u00a0% smaller in its length." in care["sentences"][1]
    assert "Noted with the cloth: Dry clean." in care["sentences"]
    assert not any("washed before it was cut" in said for said in care["sentences"])
    lay = LayPlan.objects.create(
        name="Trousers", cloth=shop.cloth, direction="two_way", width_mm=1470, washed_first=True, chosen=1,
        pieces=[], planned_by_id=shop.instructor.member_id,
    )  # fmt: skip
    size = shop.pattern.sizes.first()
    LayLine.objects.create(lay=lay, pattern=shop.pattern, size=size, garment=garment)
    [care] = preview_report(shop.instructor, garment.pk, language="de")["care"]
    assert care["sentences"][0] == "Aus 80\u00a0% Wolle und 20\u00a0% Polyamid."
    assert "in der Länge 1,0\u00a0% kleiner" in care["sentences"][1]
    assert "vor dem Zuschneiden gewaschen" in care["sentences"][2]


def test_usual_care_goes_by_fibre_direction_and_structure() -> None:
    def cloth(**facts: Any) -> Any:
        return SimpleNamespace(**facts)

    pile = cloth(structure="woven", direction="nap", fibres=[{"fibre": "cotton", "percent": 100}])
    assert [said[:9] for said in usual_care(pile)] == ["Iron pile", "Iron plan", "Try heat "]
    jersey = cloth(
        structure="knit", direction="two_way",
        fibres=[{"fibre": "rayon", "percent": 95}, {"fibre": "spandex", "percent": 5}],
    )  # fmt: skip
    told = " ".join(usual_care(jersey))
    for word in ("man-made", "Elastane", "lying flat", "weaker"):
        assert word in told, word
    assert usual_care(cloth(structure="woven", direction="two_way", fibres=[])) == [usual_care(jersey)[-1]]


def test_what_her_clothes_usually_need_is_told_once_it_repeats_itself(shop: Shop) -> None:
    first = shop.signed_garment()
    assert preview_report(shop.instructor, first.pk)["usual"] == []
    second = shop.signed_garment()
    told = {row["place"]: row["words"] for row in preview_report(shop.instructor, second.pk)["usual"]}
    assert told["Waist"] == "taken in by 1.2 cm on average, in 2 of 2 garments"
    told = {
        row["place"]: row["words"]
        for row in preview_report(shop.instructor, second.pk, language="de")["usual"]
    }
    assert told["Taille"] == "im Mittel 1,2 cm enger gemacht, bei 2 von 2 Kleidungsstücken"


def test_how_long_it_is_kept_and_the_next_fitting_are_told(shop: Shop) -> None:
    garment = shop.full_garment()
    assert any("No end is set" in said for said in preview_report(shop.instructor, garment.pk)["keeps"])
    set_keep_months(shop.house.owner, months=36)
    assert any("for 36 months" in said for said in preview_report(shop.instructor, garment.pk)["keeps"])
    Appointment.objects.create(garment=garment, kind="baste", starts_at=timezone.now() + timedelta(days=3))
    assert "Your next fitting is agreed for" in preview_report(shop.instructor, garment.pk)["next_step"]
    Appointment.objects.update(state="called_off")
    assert "next fitting" not in preview_report(shop.instructor, garment.pk)["next_step"]


def test_photographs_stand_in_it_only_if_allowed_and_chosen(shop: Shop) -> None:
    garment, photo = photographed(shop)
    assert preview_report(shop.instructor, garment.pk)["photos"] == []
    report = ask_report(shop.instructor, garment.pk, photos=[photo.pk])
    [shown] = report.snapshot["photos"]
    assert (shown["caption"], shown["sha256"]) == ("Waist, left: Gaping", photo.file.sha256)
    assert json.dumps(report.snapshot)
    without = work_report(prepare_report({"report": str(ask_report(shop.instructor, garment.pk).pk)}), print)
    made = work_report(prepare_report({"report": str(report.pk)}), lambda percent, words: None)
    assert made is not None
    assert without is not None
    assert b"/Subtype/Image" in made.pdf.replace(b" ", b"")
    assert b"/Subtype/Image" not in without.pdf.replace(b" ", b"")
    with pytest.raises(Refused, match="not of a signed-off fitting"):
        ask_report(shop.instructor, garment.pk, photos=[new_id()])
    with pytest.raises(Refused, match="6 photographs at most"):
        ask_report(shop.instructor, garment.pk, photos=[new_id() for _ in range(7)])


def test_withdrawing_the_consent_takes_them_out_of_sight(closed_shop: Shop) -> None:
    shop = closed_shop
    with shop.house.scope():
        garment, photo = photographed(shop)
        report = ask_report(shop.instructor, garment.pk, photos=[photo.pk])
        issue(report)
        waiting = ask_report(shop.instructor, garment.pk, photos=[photo.pk])
        signed = make_link(shop.instructor, report.pk).address.rstrip("/").rsplit("/", 1)[1]
        assert report_file(shop.instructor, report.pk).content.startswith(b"%PDF")
    found = look_at_link(signed)
    assert (len(found.photos), found.has_file) == (1, True)
    with shop.house.scope():
        allow_photographs(shop, given=False)
        with pytest.raises(Conflict, match="consent to them was withdrawn"):
            report_file(shop.instructor, report.pk)
        with pytest.raises(JobFailed, match="withdrawn meanwhile"):
            prepare_report({"report": str(waiting.pk)})
        with pytest.raises(Refused, match="not recorded: leave them out"):
            ask_report(shop.instructor, garment.pk, photos=[photo.pk])
    found = look_at_link(signed)
    assert (found.photos, found.has_file) == ({}, False)
    assert found.snapshot is not None


def test_one_that_was_taken_away_is_not_shown_on_the_page(closed_shop: Shop) -> None:
    with closed_shop.house.scope():
        garment, photo = photographed(closed_shop)
        report = ask_report(closed_shop.instructor, garment.pk, photos=[photo.pk])
        signed = make_link(closed_shop.instructor, report.pk).address.rstrip("/").rsplit("/", 1)[1]
    with closed_shop.house.scope():
        take_away_photo(closed_shop.instructor, photo.pk)
        from django.core.files.storage import default_storage

        default_storage.delete(photo.file.key)  # as the commit does
    assert look_at_link(signed).photos == {}


def test_the_letter_and_the_link_speak_the_reports_language(closed_shop: Shop, client: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        report = ask_report(shop.instructor, shop.signed_garment().pk, language="de")
        issue(report)
        made = make_link(shop.instructor, report.pk)
        letter = prepare_sending({"link": str(made.link.pk)})
    work_sending(letter, lambda percent, words: None)
    [sent] = mail.outbox
    assert sent.subject == "Teal trousers: Ihr Passformbericht"
    assert sent.body.startswith("Guten Tag, Olia Carvalho,")
    assert made.address in sent.body
    path = made.address[made.address.index("/fit/") :]
    closed = client.get(path).content.decode()
    assert '<html lang="de">' in closed
    assert "Meinen Passformbericht öffnen" in closed
    opened = client.post(path).content.decode()
    for said in ("Ihre Maße", "Taillenumfang", "74,2 cm", "PDF speichern", "Was das Atelier aufbewahrt"):
        assert said in opened, said
    assert "Your measurements" not in opened


def test_the_page_shows_what_would_be_said_before_it_is_made(closed_shop: Shop, page: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        garment, photo = photographed(shop)
    browser = page(shop.instructor)
    path = f"/garments/{garment.pk}/reports/new/"
    whole = browser.get(path).content.decode()
    assert "Your measurements" in whole
    assert "data:image/jpeg" not in whole
    part = browser.get(
        f"{path}?language=de&photos={photo.pk}", headers={"HX-Request": "true"}
    ).content.decode()
    assert "<html" not in part
    assert 'lang="de"' in part
    assert "Ihre Maße" in part
    assert "data:image/jpeg" in part
    assert "Your measurements" in browser.get(f"{path}?language=zz&photos=nonsense").content.decode()
    assert browser.post(f"/garments/{garment.pk}/reports/", {"language": "zz"}).status_code == 404
    assert (
        browser.post(
            f"/garments/{garment.pk}/reports/", {"language": "de", "photos": [str(photo.pk)]}
        ).status_code
        == 302
    )
    with shop.house.scope():
        report = FitReport.objects.get()
        assert (report.snapshot["language"], len(report.snapshot["photos"])) == ("de", 1)


def test_the_api_previews_and_takes_a_language(closed_shop: Shop, api: Any) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.signed_garment()
    browser = api(closed_shop.instructor)
    seen = browser.get(f"/api/v1/garments/{garment.pk}/report-preview/?language=de")
    assert seen.json()["snapshot"]["language"] == "de"
    assert browser.get(f"/api/v1/garments/{garment.pk}/report-preview/?language=zz").status_code == 400
    made = browser.post(f"/api/v1/garments/{garment.pk}/reports/", {"language": "de"}, format="json")
    assert (made.status_code, made.json()["language"]) == (202, "de")
    wrong = browser.post(
        f"/api/v1/garments/{garment.pk}/reports/", {"photos": [str(new_id())]}, format="json"
    )
    assert wrong.status_code == 400
    assert [row["field"] for row in wrong.json()["errors"]] == ["photos"]
