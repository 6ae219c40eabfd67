"""The report in every language: nothing unsaid, days and numbers as people there write them, names left alone."""

import json
import re
import sys
from datetime import date, datetime
from decimal import Decimal
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.utils import translation
from pypdf import PdfReader

from fitting.reports.render import CannotRender, render_html, render_pdf
from fitting.reports.snapshot import freeze
from fitting.reports.voice import LOCALES, Voice, catalogue
from studio.platform.choices import LANGUAGES
from tests.fitting.garment.invented import LATEX, trousers_facts
from tests.fitting.garment.words_of_reports import wanted

PLACE = re.compile(r"{(\w+)}")
OTHERS = [code for code, _ in LANGUAGES if code != "en"]


def forms(said: Any) -> list[str]:
    return [said] if isinstance(said, str) else list(said.values())


def words_of(pdf: bytes) -> str:
    reader = PdfReader(BytesIO(pdf))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_every_language_on_offer_can_be_spoken() -> None:
    assert {code for code, _ in LANGUAGES} == set(LOCALES)
    for code in LOCALES:
        assert Voice(code).locale


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_that_a_report_can_say_is_unsaid(language: str) -> None:
    everything, known = wanted(), catalogue(language)
    assert sum(len(texts) for texts in everything.values()) > 450  # the gathering found the tables
    missing = {
        context: sorted(texts - set(known.get(context, {})))
        for context, texts in everything.items()
        if texts - set(known.get(context, {}))
    }
    assert missing == {}, json.dumps(missing, indent=1)
    unused = {
        context: sorted(set(said) - everything.get(context, set()))
        for context, said in known.items()
        if set(said) - everything.get(context, set())
    }
    assert unused == {}, json.dumps(unused, indent=1)


def test_a_sentence_without_its_counterpart_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    short = {context: dict(said) for context, said in catalogue("de").items()}
    del short["measure"]["Waist girth"]
    monkeypatch.setattr(sys.modules[__name__], "catalogue", lambda language: short)
    with pytest.raises(AssertionError, match="Waist girth"):
        test_nothing_that_a_report_can_say_is_unsaid("de")


@pytest.mark.parametrize("language", LOCALES)
def test_every_counterpart_fills_the_same_places_in_every_plural_form(language: str) -> None:
    categories = set(Voice(language).locale.plural_form.tags) | {"other"}
    for said in catalogue(language).values():
        for text, counterpart in said.items():
            if not isinstance(counterpart, str):
                assert set(counterpart) == categories, text
            for form in forms(counterpart):
                assert form.strip() == form
                assert form
                # A form for exactly one may leave its count unsaid.
                assert set(PLACE.findall(form)) | {"count"} == set(PLACE.findall(text)) | {"count"}, text


def test_days_and_numbers_are_written_as_people_write_them() -> None:
    # Unicode CLDR: de "d. MMMM y" and a decimal comma; en-GB "d MMMM y" and a point.
    german, english = Voice("de"), Voice("en")
    at = datetime(2026, 12, 3, 9, 5, tzinfo=ZoneInfo("Europe/Berlin"))
    assert german.day(date(2026, 3, 1)) == "1. März 2026"
    assert english.day(date(2026, 3, 1)) == "1 March 2026"
    assert german.day_and_time(at) == "3. Dezember 2026, 09:05"
    assert english.day_and_time(at) == "3 December 2026, 09:05"
    assert (german.number(Decimal("1234.5")), english.number(Decimal("1234.5"))) == ("1.234,5", "1,234.5")
    assert german.percent(Decimal("1.5"), 1) == "1,5\u00a0%"
    assert german.listed(["Taille", "Hüfte", "Knie"]) == "Taille, Hüfte und Knie"
    assert german.figure("97.2 cm") == "97,2 cm"
    assert german.figure("\u22120.5 cm") == "\u22120,5 cm"
    assert german.figure("38 1/4 in") == "38 1/4 Zoll"
    assert german.figure("less than 0.1 cm") == "weniger als 0,1 cm"
    assert english.figure("less than 1/16 in") == "less than 1/16 in"


def test_the_words_do_not_depend_on_the_language_of_the_process() -> None:
    facts = trousers_facts(language="de")
    with translation.override("fr"):
        french = render_html(freeze(facts))
    with translation.override("en-gb"):
        assert render_html(freeze(facts)) == french


def test_counts_choose_their_form() -> None:
    more = "{count} more notes are kept at the studio."
    assert Voice("de")(more, count=1) == "1 weitere Notiz liegt im Atelier."
    assert Voice("de")(more, count=2) == "2 weitere Notizen liegen im Atelier."
    assert Voice("en")(more, count=1) == "One more note is kept at the studio."


def test_what_somebody_typed_is_not_translated() -> None:
    assert Voice("de").name("The band of my own", "measure") == "The band of my own"


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(ValueError, match="no language 'xx'"):
        Voice("xx")("Page")
    with pytest.raises(CannotRender, match="no language 'xx'"):
        render_html({**freeze(trousers_facts()), "language": "xx"})


@pytest.mark.parametrize("shape", [0, 3, 99, "1", None])
def test_a_shape_that_never_was_is_refused(shape: Any) -> None:
    with pytest.raises(CannotRender, match="can't read a snapshot of shape"):
        render_html({**freeze(trousers_facts()), "shape": shape})


def test_the_german_pdf_is_german_throughout() -> None:
    made = render_pdf(freeze(trousers_facts(language="de", cautions=(LATEX,), keep_months=1)))
    reader = PdfReader(BytesIO(made.pdf))
    assert reader.trailer["/Root"]["/Lang"] == "de"
    assert reader.metadata is not None
    assert reader.metadata.title == "Passformbericht: teal trousers"
    assert b"pdfuaid:part" in reader.trailer["/Root"]["/Metadata"].get_data()  # ISO 14289-1, clause 5
    [inner] = [entry for entry in reader.outline if isinstance(entry, list)]
    assert [entry.title for entry in inner][:2] == ["Wie es weitergeht", "Ihre Maße"]  # type: ignore[union-attr]
    text = words_of(made.pdf)
    for said in (
        "für Olia Carvalho", "25. November 2026", "Taillenumfang", "74,2 cm", "+1,8 cm", "Innere Beinlänge: kürzen",
        "insgesamt 2,6 cm", "Bei Ihren Anproben", "Nähprobe steht noch aus", "Waschen und Bügeln",
        "Was Ihre Kleidung meistens braucht", "Vorderteil", "passt", "Wenn 1 Monat lang", "Seite 1 von",
    ):  # fmt: skip
        assert said in text, said
    # What is English here was typed in English, or is the renderer's name.
    for unsaid in ("Your", "What happens", "Page", "Issued", "cm in all", "in range", "Measured", "74.2"):
        assert unsaid not in text, unsaid


def test_both_languages_tell_the_same_sections() -> None:
    def headings(language: str) -> list[int]:
        html = render_html(freeze(trousers_facts(language=language)))
        return [html.count(f"<{tag}") for tag in ("h1", "h2", "h3", "tr", "li", "img")]

    assert headings("en") == headings("de")


def test_a_snapshot_of_the_first_shape_still_renders() -> None:
    """As reports were frozen before language, care and habits were in them."""
    today = freeze(trousers_facts())
    first = {
        key: value for key, value in today.items() if key not in {"is_planned", "care", "photos", "usual"}
    }
    first["shape"] = 1
    first["seams"] = [{key: row[key] for key in ("place", "words", "proof")} for row in today["seams"]]
    first["fittings"] = [
        {
            **{key: row[key] for key in ("kind", "held_on", "worn", "signed", "left_out")},
            "notes": [
                {**{key: note[key] for key in ("where", "seen", "decision")}, "decided": note["how"]}
                for note in row["notes"]
            ],
        }
        for row in today["fittings"]
    ]
    before = json.dumps(first, sort_keys=True)
    text = words_of(render_pdf(first).pdf)
    for said in ("74.2 cm", "Plain seam, pressed open", "scoop the back fork", "What the studio keeps"):
        assert said in text, said
    assert "What your clothes usually need" not in text
    assert json.dumps(first, sort_keys=True) == before  # the frozen one is not touched
