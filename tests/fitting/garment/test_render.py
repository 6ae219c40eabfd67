"""The PDF of a snapshot: reproducible to the byte, tagged, self-contained, with every fact on its pages."""

import hashlib
import subprocess
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from fitting.reports.pictures import pictures
from fitting.reports.render import CannotRender, render_html, render_pdf
from fitting.reports.snapshot import CautionFact, freeze
from studio.reports.pdf import only_our_own
from tests.fitting.garment.invented import LATEX, trousers_facts

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def full() -> dict[str, Any]:
    return freeze(trousers_facts(cautions=(LATEX,)))


@pytest.fixture(scope="module")
def reader(full: dict[str, Any]) -> PdfReader:
    return PdfReader(BytesIO(render_pdf(full).pdf))


def words_of(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_the_same_snapshot_gives_the_same_bytes_here_and_in_another_process(full: dict[str, Any]) -> None:
    first = render_pdf(full).pdf
    assert render_pdf(full).pdf == first
    script = (
        "import django, hashlib; django.setup()\n"
        "from tests.fitting.garment.invented import LATEX, trousers_facts\n"
        "from fitting.reports.render import render_pdf\n"
        "from fitting.reports.snapshot import freeze\n"
        "print(hashlib.sha256(render_pdf(freeze(trousers_facts(cautions=(LATEX,)))).pdf).hexdigest())"
    )
    import os

    other = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True, timeout=120,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONHASHSEED": "7"},
    )  # fmt: skip
    assert other.stdout.strip() == hashlib.sha256(first).hexdigest()


def test_another_snapshot_gives_another_document(full: dict[str, Any]) -> None:
    changed = {**full, "next_step": "We cut."}
    assert render_pdf(changed).pdf != render_pdf(full).pdf


def test_it_is_short_tagged_and_says_what_it_is(reader: PdfReader) -> None:
    assert len(reader.pages) <= 4
    catalogue = reader.trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/Lang"] == "en"
    assert "/StructTreeRoot" in catalogue
    assert reader.metadata is not None
    assert reader.metadata.title == "Fit summary: teal trousers"
    assert reader.metadata.author == "Thimble Row"
    assert reader.metadata.creation_date is not None
    assert reader.metadata.creation_date.isoformat().startswith("2026-11-25T16:40:00")
    # PDF/UA identification: ISO 14289-1, clause 5: pdfuaid:part is 1.
    assert b"pdfuaid:part" in reader.trailer["/Root"]["/Metadata"].get_data()
    outline = [entry.title for entry in reader.outline if not isinstance(entry, list)]  # type: ignore[union-attr]
    assert outline == ["teal trousers"]
    [inner] = [entry for entry in reader.outline if isinstance(entry, list)]
    assert "At your fittings" in [entry.title for entry in inner]  # type: ignore[union-attr]


def test_every_fact_is_on_its_pages(reader: PdfReader, full: dict[str, Any]) -> None:
    text = words_of(reader)
    for wanted in (
        "Thimble Row", "Olia Carvalho", "74.2 cm", "+1.8 cm", "Take in 1.2 cm in all", "Plain seam, pressed open",
        "Inside leg: shorten", "Latex", "We sew the garment. Your garment is to be ready by 18 December 2026.",
        "Page 1 of 4",
        "What the studio keeps", "WeasyPrint 70", "4 Needle Yard", "Milbridge",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_only_its_own_fonts_are_embedded(reader: PdfReader) -> None:
    found = {
        str(font.get_object()["/BaseFont"]).split("+", 1)[1]
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
    }
    assert found == {"Report-Sans", "Report-Sans-Bold", "Report-Serif"}


def test_figures_have_words_for_those_who_do_not_see_them(full: dict[str, Any]) -> None:
    html = render_html(full)
    assert 'alt="Body from the front with numbered tape lines: 1 Height; 2 Waist girth' in html
    assert 'alt="Fit in each zone. ' in html
    assert 'alt="Pieces with the alterations marked. 1. Inside leg: shorten, 2.6 cm in all.' in html


def test_without_figures_of_the_body_none_is_printed() -> None:
    text = words_of(PdfReader(BytesIO(render_pdf(freeze(trousers_facts(with_figures=False))).pdf)))
    assert "Your measurements" not in text
    assert "74.2" not in text
    assert "How it will fit" not in text
    assert "The paper pattern, made yours" in text


def test_inches_and_very_long_names_stay_on_the_page() -> None:
    name = "Maria Antónia da Conceição " + "Wolfenbüttelschwarzenbergerdorff" * 3
    made = render_pdf(freeze(trousers_facts(unit="in", client_name=name, garment_words="trousers " * 17)))
    reader = PdfReader(BytesIO(made.pdf))
    assert made.pages == len(reader.pages) <= 5
    text = words_of(reader)
    assert "29 1/4 in" in text
    assert "+3/4 in" in text
    assert "Conceição" in text
    # A word wider than the page is broken: no line of the document holds it whole.
    long_word = name.rsplit(maxsplit=1)[-1]
    assert not any(long_word in line for page in reader.pages for line in page.extract_text().splitlines())
    width = float(reader.pages[0].mediabox.width)

    def check(words: str, cm: Any, matrix: Any, _font: Any, _size: float) -> None:
        if words.strip():
            assert 0 <= matrix[4] * cm[0] + cm[4] < width

    for page in reader.pages:
        page.extract_text(visitor_text=check)


def test_what_people_typed_is_never_markup() -> None:
    nasty = '<img src="http://evil.example/x.png"><script>alert(1)</script>'
    html = render_html(freeze(trousers_facts(client_name=nasty, garment_words="a & b < c")))
    assert "<script>" not in html
    assert "http://evil.example" in html  # as text
    assert 'src="http' not in html
    render_pdf(freeze(trousers_facts(client_name=nasty)))


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/passwd", "http://127.0.0.1:9/x.png", "https://example.org/x", "report-font:../../secret.ttf",
        "report-font:DejaVuSansMono.ttf", "ftp://example.org/x", "relative.png",
    ],
)  # fmt: skip
def test_nothing_outside_the_report_is_fetched(address: str) -> None:
    with pytest.raises(ValueError, match="neither a font of the report nor inside it"):
        only_our_own().fetch(address)


def test_a_forbidden_address_ends_the_rendering_in_our_own_error(
    full: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    from fitting.reports import render

    monkeypatch.setattr(
        render,
        "render_html",
        lambda snapshot, photos: '<html lang="en"><title>x</title><img alt="" src="file:///etc/passwd">',
    )
    with pytest.raises(CannotRender, match="outside itself"):
        render_pdf(full)


def test_a_snapshot_of_another_shape_is_refused(full: dict[str, Any]) -> None:
    with pytest.raises(CannotRender, match="can't read a snapshot of shape 99"):
        render_pdf({**full, "shape": 99})


def test_progress_is_told(full: dict[str, Any]) -> None:
    heard: list[tuple[int, str]] = []
    render_pdf(full, lambda percent, words: heard.append((percent, words)))
    assert [percent for percent, _ in heard] == sorted(percent for percent, _ in heard)
    assert heard[-1][1] == "Writing the PDF"


def test_a_report_with_hardly_anything_is_one_page() -> None:
    bare = trousers_facts(
        measures=(), sizes=(), blends=(), zones=(), alterations=(), seams=(), fittings=(), pattern="", cloth="", due="",
        measured_on="",
    )  # fmt: skip
    assert render_pdf(freeze(bare)).pages == 1


def test_many_cautions_and_notes_are_capped() -> None:
    facts = trousers_facts()
    crowded = trousers_facts(
        fittings=tuple(facts.fittings[1] for _ in range(60)),
        cautions=(CautionFact("Cords", "Mind them.", ()),) * 3,
    )
    shot = freeze(crowded)
    assert sum(len(row["notes"]) for row in shot["fittings"]) == 60
    assert shot["fittings"][-1]["left_out"] == 0
    assert shot["fittings"][0]["left_out"] == 2


def test_numbers_in_the_table_are_those_of_the_drawing(full: dict[str, Any]) -> None:
    drawn = pictures(full)
    assert list(drawn.numbers.values()) == list(range(1, len(drawn.numbers) + 1))
    assert set(drawn.numbers) == {row["code"] for row in full["measures"] if row["figure"]}
    assert len(drawn.body) == 2
    assert pictures({**full, "measures": []}).body == ()


def test_a_garment_without_a_schematic_lists_its_alterations() -> None:
    shot = freeze(trousers_facts(garment_kind="jacket"))
    drawn = pictures(shot)
    assert drawn.paper is None
    assert [row["label"] for row in drawn.undrawn] == [row["label"] for row in shot["alterations"]]
    assert "Inside leg: shorten" in render_html(shot)
