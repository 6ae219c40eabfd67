"""Names in other scripts: real letters on paper, in their own direction, by fonts that come with the program.

The letters that a region writes are those of its national standards (GB/T 2312, Big5, JIS X 0208, KS X 1001), taken
from Python's codecs; the blocks of letters are those of the Unicode character database (unicodedata).
"""

import re
import subprocess
import unicodedata
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from fontTools.ttLib import TTFont
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from studio.reports.fonts import dress, font_files, further_fonts
from studio.reports.pdf import as_image, made_with, write_pdf

# Invented people.
NAMES = {
    "Arabic": "ليلى منصور",
    "Hebrew": "שרה לוי",
    "Cyrillic": "Наталія Їжакевич",
    "Greek": "Ελένη Παπαδοπούλου",
    "Devanagari": "प्रिया शर्मा",
    "Japanese": "佐藤さくら",
    "Simplified Chinese": "刘小龙",
    "Traditional Chinese": "張學友",
    "Korean": "김민지",
    "Thai": "สมชาย ใจดี",
    "Bengali": "রহিমা",
    "Tamil": "குமார்",
    "Gurmukhi": "ਗੁਰਪ੍ਰੀਤ",
    "Georgian": "ნინო ბერიძე",
    "Armenian": "Անահիտ",
    "Ethiopic": "አበበ",
    "Vietnamese": "Nguyễn Thị Hằng",
}
RIGHT_TO_LEFT = {"Arabic", "Hebrew"}


def document(body: str) -> str:
    return (
        '<!doctype html><html lang="en"><head><title>Names</title>'
        '<style>html { font: 14pt "Report Sans"; } h1 { font: 22pt "Report Serif"; }</style></head>'
        f"<body>{body}</body></html>"
    )


def pdf_of(body: str, **snapshot: Any) -> bytes:
    html = document(body)
    return write_pdf(html, made_at="2026-03-01T10:00:00+00:00", snapshot={"body": body, **snapshot})[0]


def glyphs_without_ink(pdf: bytes) -> list[str]:
    """The glyphs that the first page shows and whose outline in the embedded font is empty, blanks left out.

    The renderer shows a missing letter by a glyph number that the font does not use.
    """
    page = PdfReader(BytesIO(pdf)).pages[0]
    content, resources = page.get_contents(), page["/Resources"]
    assert content is not None
    assert isinstance(resources, DictionaryObject)
    fonts = {}
    for key, font in resources["/Font"].items():
        face = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        fonts[key] = TTFont(BytesIO(face["/FontFile2"].get_object().get_data()))
    empty, seen, key = [], 0, ""
    for name, array in re.findall(rb"(/\S+) [\d.]+ Tf|\[([^\]]*)\] TJ", content.get_data()):
        if name:
            key = name.decode()
            continue
        for run in re.findall(rb"<([0-9a-fA-F]+)>", array):
            for at in range(0, len(run), 4):
                glyph, face = int(run[at : at + 4], 16), fonts[key]
                seen += 1
                inside = glyph < face["maxp"].numGlyphs
                if not inside or face["glyf"][face.getGlyphName(glyph)].numberOfContours == 0:
                    empty.append(f"{key} {glyph}")
    assert seen
    return empty


def squeezed(text: str) -> str:
    return "".join(unicodedata.normalize("NFC", text).split())


@pytest.mark.parametrize("script", NAMES)
def test_a_name_is_set_in_real_letters(script: str, caplog: pytest.LogCaptureFixture) -> None:
    name = NAMES[script]
    pdf = pdf_of(f"<h1>{name}</h1><p>for <strong>{name}</strong>, number 12, <bdi>{name}</bdi></p>")
    assert glyphs_without_ink(pdf_of(name.replace(" ", ""))) == []
    assert "notdef" not in caplog.text  # what the renderer itself says of a letter that no font has
    text = squeezed(PdfReader(BytesIO(pdf)).pages[0].extract_text())
    # Every letter comes back as it was typed; an extractor may tell the order in which marks are drawn.
    wanted = squeezed(name)
    assert {sign for sign in wanted if text.count(sign) < 3 * wanted.count(sign)} == set()


def test_the_box_of_a_missing_letter_would_be_noticed() -> None:
    assert glyphs_without_ink(pdf_of("<p>\U0001346f</p>"))  # a hieroglyph that nobody's name has


@pytest.mark.parametrize("script", sorted(RIGHT_TO_LEFT))
def test_a_name_from_right_to_left_keeps_its_order(script: str) -> None:
    """poppler brings a line back into reading order by the bidirectional algorithm (Unicode annex 9)."""
    first, last = NAMES[script].split()
    pdf = pdf_of(f"<p>for <bdi>{first} {last}</bdi> 5</p>")
    raw = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
    assert f"{first} {last}" in "".join(sign for sign in raw if unicodedata.category(sign) != "Cf")
    # On the page the family name stands left of the first name, and the number right of both.
    boxes = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=pdf, capture_output=True, check=True)
    words = re.findall(r'xMin="([\d.]+)".*>(.+)</word>', boxes.stdout.decode())
    in_order = [word for _, word in sorted(words, key=lambda found: float(found[0]))]
    assert in_order == [
        "for",
        last[::-1],
        first[::-1],
        "5",
    ]  # each word's letters as they stand, left to right


def test_a_drawing_has_the_letters_too(tmp_path: Path) -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 40"><text x="10" y="30" font-size="24" '
        'font-family="Liberation Sans, Arial, Helvetica, DejaVu Sans, sans-serif">前みごろ</text></svg>'
    )
    picture = as_image(svg, "A piece")
    pdf = pdf_of(f'<img alt="A piece" style="width: 100mm" src="{picture["src"]}">')
    (tmp_path / "x.pdf").write_bytes(pdf)
    fonts = subprocess.run(["pdffonts", tmp_path / "x.pdf"], capture_output=True, check=True).stdout.decode()
    assert "Report-JP" in fonts
    assert "Report-Sans " not in fonts
    subprocess.run(["pdftoppm", "-r", "60", "-png", "-singlefile", "x.pdf", "x"], cwd=tmp_path, check=True)
    assert Image.open(tmp_path / "x.png").convert("L").getextrema()[0] < 100  # there is ink


def test_latin_documents_bring_no_further_font() -> None:
    assert further_fonts("Zoë Łuczak, 5 × 3 … “so” – Šárka’s ½ in, Ελένη, Наталія, ليلى, שרה") == {}


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("佐藤さくら", "JP"),
        ("東京 ケンジ", "JP"),
        ("김 金", "KR"),
        ("刘小龙", "SC"),
        ("張學友", "TC"),
        ("髙橋", "JP"),  # in no national standard's first list, but on every Japanese form
        ("प्रिया", "World"),
    ],
)
def test_a_region_writes_its_own_letters(text: str, first: str) -> None:
    assert next(iter(further_fonts(text))) == first or text == "髙橋"
    assert "".join(sorted("".join(further_fonts(text).values()))) == "".join(sorted(set(text) - {" "}))


@pytest.mark.parametrize(
    ("standard", "least"), [("gb2312", 6763), ("big5", 13000), ("shift_jis", 6355), ("euc_kr", 2350)]
)
def test_every_letter_of_a_national_standard_is_there(standard: str, least: int) -> None:
    """GB/T 2312 has 6,763 Han letters, JIS X 0208 6,355, KS X 1001 2,350 syllables, Big5 13,053 Han letters."""
    letters = []
    for first in range(0x81, 0xFF):
        for second in range(0x40, 0xFF):
            try:
                sign = bytes([first, second]).decode(standard)
            except UnicodeDecodeError:
                continue
            if len(sign) == 1 and unicodedata.category(sign) == "Lo":
                letters.append(sign)
    assert len(letters) >= least
    lacking = set(letters) - set("".join(further_fonts("".join(letters)).values()))
    assert len(lacking) <= len(letters) // 1000, sorted(lacking)[:20]


def test_fonts_come_with_the_program_and_are_named_by_version() -> None:
    assert all(path.is_file() for path in font_files().values())
    assert "Kurinto from weblate-fonts 20" in made_with()["fonts"]


def test_what_people_type_can_not_name_a_font() -> None:
    html = document("<p>&quot;Report Sans&quot; 佐</p>")
    assert "&quot;Report Sans&quot; 佐" in dress(html).html


def test_the_same_letters_give_the_same_bytes() -> None:
    body = "".join(f"<p>{name}</p>" for name in NAMES.values())
    assert pdf_of(body) == pdf_of(body)


@pytest.mark.parametrize("part", ["words", "drawing"])
def test_the_studio_s_colour_marks_words_and_drawings_alike(part: str) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9" fill="#a3234e"/></svg>'
    body = {
        "words": '<p style="color: var(--accent)">x</p>',
        "drawing": f'<img alt="A square" src="{as_image(svg, "A square")["src"]}">',
    }[part]
    for snapshot, colour in (({}, (163, 35, 78)), ({"studio_colour": "#004080"}, (0, 64, 128))):
        content = PdfReader(BytesIO(pdf_of(body, **snapshot))).pages[0].get_contents()
        assert content is not None
        filled = [
            tuple(round(float(part) * 255) for part in found.split())
            for found in re.findall(rb"((?:[\d.]+ ){3})rg", content.get_data())
        ]
        assert colour in filled
