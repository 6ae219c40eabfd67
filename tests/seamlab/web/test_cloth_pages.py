"""Pages of bolts, photographs, laboratory figures, single supplies and tables: who opens them, what they keep."""

import io
import re
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from seamlab.models import Bolt, ClothPhoto, LabFigure, Machine, Needle, Thread
from seamlab.services import bolts as bolt_services
from studio.platform.models import Studio
from tests.seamlab import sewing_room


@pytest.fixture
def furnished(house):
    with house.scope():
        room = sewing_room.room(house.instructor)
        room.cloth = sewing_room.cloth(house.instructor)
        room.bolt = bolt_services.record_bolt(
            house.instructor, cloth_id=room.cloth.pk, label="T-1", length_mm=Decimal(9000)
        )
    return room


def swatch():
    drawn = io.BytesIO()
    Image.new("RGB", (300, 200), "teal").save(drawn, "JPEG")
    return SimpleUploadedFile("swatch.jpg", drawn.getvalue(), "image/jpeg")


def reading(room):
    return [
        reverse("seamlab:bolts"),
        reverse("seamlab:bolt", args=[room.bolt.pk]),
        reverse("seamlab:laboratory", args=[room.cloth.pk]),
        reverse("seamlab:cloth-photos", args=[room.cloth.pk]),
        reverse("seamlab:supply", args=["thread", room.thread.pk]),
        reverse("seamlab:supply", args=["needle", room.needle.pk]),
        reverse("seamlab:supply", args=["machine", room.machine.pk]),
        reverse("seamlab:tables"),
    ]


def writing(room):
    return [
        reverse("seamlab:bolt", args=[room.bolt.pk]),
        reverse("seamlab:laboratory", args=[room.cloth.pk]),
        reverse("seamlab:cloth-photos", args=[room.cloth.pk]),
        reverse("seamlab:new-bolt", args=[room.cloth.pk]),
        reverse("seamlab:edit-bolt", args=[room.bolt.pk]),
        reverse("seamlab:put-away-bolt", args=[room.bolt.pk]),
        reverse("seamlab:put-away-cloth", args=[room.cloth.pk]),
        reverse("seamlab:supply", args=["thread", room.thread.pk]),
        reverse("seamlab:put-away-supply", args=["machine", room.machine.pk]),
        reverse("seamlab:service-machine", args=[room.machine.pk]),
    ]


def test_who_reads_and_who_writes(house, other_house, page, furnished):
    keeper = page(house.instructor)
    for path in reading(furnished):
        body = keeper.get(path).content.decode()
        assert " style=" not in body, path
        assert not re.search(r"\son\w+=", body), path
    clerk = page(house.clerk)
    for path in reading(furnished):
        told = clerk.get(path)
        assert told.status_code == 200, path
        for words in ("Cut it off", "Add a report", "Keep the photograph", "Put away", "Save the change"):
            assert words not in told.content.decode(), (path, words)
    for path in writing(furnished):
        assert clerk.post(path, {}).status_code == 403, path
    stranger = page(other_house.owner)
    for path in reading(furnished):
        everybody = "seams/tables" in path or path.endswith("/bolts/")
        assert stranger.get(path).status_code == (200 if everybody else 404), path
    assert "T-1" not in stranger.get(reverse("seamlab:bolts")).content.decode()
    for path in writing(furnished):
        sent = {"kind": "cut", "length_mm": "1", "reason": "curious", "away": "yes"}
        assert stranger.post(path, sent).status_code == 404, path
    with house.scope():
        assert Bolt.objects.get().records.count() == 0
        assert not Machine.objects.get().is_hidden


def test_a_bolt_is_taken_in_cut_and_counted(house, page, furnished):
    browser = page(house.instructor)
    made = browser.post(
        reverse("seamlab:new-bolt", args=[furnished.cloth.pk]),
        {"label": "T-2", "length_mm": "12,5", "dye_lot": "7A"},
    )
    with house.scope():
        bolt = Bolt.objects.get(label="T-2")
    assert bolt.length_at_start_mm == Decimal(12500)
    path = made["Location"]
    browser.post(path, {"kind": "cut", "length_mm": "220 cm", "reason": "skirt"})
    refused = browser.post(path, {"kind": "cut", "length_mm": "11", "reason": "curtain"})
    assert refused.status_code == 400
    assert "Only 10.3 m remain on T-2: 11 m can&#x27;t be cut off" in refused.content.decode()
    browser.post(path, {"kind": "counted", "length_mm": "10", "reason": "stock-taking"})
    body = browser.get(path).content.decode()
    assert "10.00\u00a0m" in body
    assert "stock-taking" in body
    taken = browser.post(
        reverse("seamlab:new-bolt", args=[furnished.cloth.pk]), {"label": "T-2", "length_mm": "3"}
    )
    assert "already a bolt labelled" in taken.content.decode()


def test_an_inch_studio_measures_bolts_in_yards(house, page, furnished):
    with house.scope():
        Studio.objects.update(unit="in")
    browser = page(house.instructor)
    path = reverse("seamlab:new-bolt", args=[furnished.cloth.pk])
    made = browser.post(path, {"label": "Y", "length_mm": "5 1/2"})
    assert "5.50\u00a0yd" in browser.get(made["Location"]).content.decode()
    with house.scope():
        assert Bolt.objects.get(label="Y").length_at_start_mm == Decimal(
            "5029.2"
        )  # 5.5 yd x 914.4 mm, by definition


def test_a_report_is_typed_and_its_chart_drawn(house, page, furnished):
    browser, path = page(house.instructor), reverse("seamlab:laboratory", args=[furnished.cloth.pk])
    empty = browser.post(path, {})
    assert "at least one figure" in empty.content.decode()
    wrong = browser.post(path, {"bias_extension:": "280"})
    assert wrong.status_code == 400
    assert "is outside 0.1 to 60" in wrong.content.decode()
    with house.scope():
        assert not LabFigure.objects.exists()
    kept = {
        "bias_extension:": "2,8",
        "extension_5:lengthwise": "0.4",
        "extension_5:crosswise": "0.7",
        "tested_on": "2026-03-02",
    }
    assert browser.post(path, kept).status_code == 302
    for shown in (path, reverse("seamlab:cloth", args=[furnished.cloth.pk])):
        body = browser.get(shown).content.decode()
        assert "Give of the cloth between warp and weft" in body
        assert "on the true bias" in body


def test_a_photograph_is_shown_and_taken_away(house, page, furnished, other_house):
    browser, path = page(house.instructor), reverse("seamlab:cloth-photos", args=[furnished.cloth.pk])
    bad = browser.post(path, {"picture": SimpleUploadedFile("x.jpg", b"no picture"), "side": "face"})
    assert "not a photograph" in bad.content.decode()
    assert browser.post(path, {"picture": swatch(), "side": "face", "note": "in daylight"}).status_code == 302
    with house.scope():
        photo = ClothPhoto.objects.get()
    picture = reverse("seamlab:cloth-photo", args=[photo.pk])
    for small, longest in (("", 300), ("?small", 240)):
        answer = browser.get(picture + small)
        assert answer["Content-Type"] == "image/jpeg"
        with Image.open(io.BytesIO(b"".join(answer.streaming_content))) as kept:
            assert max(kept.size) == longest
    assert picture in browser.get(reverse("seamlab:cloth", args=[furnished.cloth.pk])).content.decode()
    assert f"{picture}?small" in browser.get(reverse("seamlab:cloths")).content.decode()
    assert page(other_house.owner).get(picture).status_code == 404
    browser = page(house.instructor)
    browser.post(reverse("seamlab:hide-cloth-photo", args=[photo.pk]))
    assert browser.get(picture).status_code == 404


def test_supplies_are_changed_and_put_away(house, page, furnished):
    browser = page(house.instructor)
    path = reverse("seamlab:supply", args=["thread", furnished.thread.pk])
    form = {
        "name": "Grey all-purpose", "fibre": "polyester", "construction": "spun", "size": "27", "system": "tex",
        "extension_percent": "16", "colours": "grey: 3, teal, black: 1", "reel_length_m": "500", "version": "1",
    }  # fmt: skip
    twice = browser.post(path, form | {"colours": "grey: 3, Grey"})
    assert "Grey is named twice" in twice.content.decode()
    assert browser.post(path, form).status_code == 302
    stale = browser.post(path, form | {"notes": "late"})
    assert "changed by somebody else" in stale.content.decode()
    with house.scope():
        thread = Thread.objects.get()
        assert thread.colours[0] == {"colour": "grey", "reels": 3}
        assert thread.reel_length_m == Decimal(500)
    assert "grey: 3, teal, black: 1" in browser.get(path).content.decode()
    needle = reverse("seamlab:supply", args=["needle", furnished.needle.pk])
    twin = {"size": "80", "numbering": "metric", "point": "round", "blades": "2", "version": "1"}
    assert "distance between the outer blades" in browser.post(needle, twin).content.decode()
    browser.post(needle, twin | {"gauge_mm": "2.5"})
    with house.scope():
        assert Needle.objects.get(pk=furnished.needle.pk).blades == 2
    machine = reverse("seamlab:supply", args=["machine", furnished.machine.pk])
    form = {
        "name": "Table three", "stitch_types": ["301", "304"], "largest_width_mm": "7", "stitches_per_minute": "850",
        "feeds": ["drop", "walking"], "feet": "zip foot\n\nroller foot", "version": "1",
    }  # fmt: skip
    assert browser.post(machine, form).status_code == 302
    late = browser.post(
        reverse("seamlab:service-machine", args=[furnished.machine.pk]), {"serviced_on": "2126-01-01"}
    )
    assert "lies in the future" in late.content.decode()
    browser.post(
        reverse("seamlab:service-machine", args=[furnished.machine.pk]),
        {"serviced_on": "2026-04-20", "note": "oiled, belt renewed"},
    )
    body = browser.get(machine).content.decode()
    for words in ("zip foot, roller foot", "Walking foot or upper feed", "20 Apr 2026", "belt renewed"):
        assert words in body
    browser.post(reverse("seamlab:put-away-supply", args=["machine", furnished.machine.pk]), {"away": "yes"})
    supplies = reverse("seamlab:supplies")
    assert "Table three" not in browser.get(supplies).content.decode().replace("Table three is put away", "")
    assert "Table three" in browser.get(f"{supplies}?away").content.decode()
    assert browser.get(machine.replace("machine", "iron")).status_code == 404


def test_one_thread_number_in_every_system(house, page):
    """Ticket 120 is tex 25 by the definition, Nm 40 (several teaching pages)."""
    browser = page(house.clerk)
    body = browser.get(reverse("seamlab:tables") + "?value=120&system=metric+ticket").content.decode()
    assert re.search(r"tex \(grams per 1,000 m\)</dt><dd>25<", body)
    assert re.search(r"Nm \(metres per gram\)</dt><dd>40<", body)
    assert (
        "must be greater than 0"
        in browser.get(reverse("seamlab:tables") + "?value=0&system=tex").content.decode()
    )
    assert "Common practice, no source" in body


@pytest.mark.parametrize("name", ["bolts", "supplies", "cloths"])
def test_lists_ask_the_database_as_often_for_many_as_for_few(house, page, furnished, name):
    browser, path = page(house.owner), reverse(f"seamlab:{name}")

    def count():
        with CaptureQueriesContext(connection) as seen:
            assert browser.get(path).status_code == 200
        return len(seen)

    count()
    few = count()
    with house.scope():
        for number in range(5):
            cloth = sewing_room.cloth(house.instructor, f"Cloth {number}")
            bolt = bolt_services.record_bolt(
                house.instructor, cloth_id=cloth.pk, label=f"B{number}", length_mm=Decimal(9000)
            )
            bolt_services.cut_bolt(house.instructor, bolt.pk, length_mm=Decimal(100), reason="sample")
    assert count() == few
