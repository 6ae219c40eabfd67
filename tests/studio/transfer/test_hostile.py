"""Files that nobody means well with: the reader answers in sentences, in little memory, never with a fault of ours."""

import io
import zipfile
from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from studio.calc.transfer import FIELDS, Layout, find_heads, guess_layout
from studio.calc.transfer_files import FORMULA, MOST_COLUMNS, FileKind, Trouble, look_into, rows_of
from studio.calc.transfer_rows import read_rows
from studio.calc.transfer_values import ValueReader
from studio.calc.transfer_words import (
    bare_head,
    escape_cell,
    fold,
    parse_clock,
    parse_day,
    parse_moment,
    unescape_cell,
    unit_in_head,
)
from studio.queries.catalogue import catalogue
from studio.queries.transfer import import_words, words_for
from studio.services.transfer_spool import Spool
from tests.studio.transfer.invented import LONG, as_book, as_csv

WORDS = words_for(catalogue().measures)
ZONE = ZoneInfo("Europe/London")
NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
OPEN: list[Spool] = []
LAYOUT = Layout(
    {"client": 1, "born": 2, "date": 3, "measure": 4, "value": 5, "unit": 6, "take": 7}, heads=LONG
)


def read(content: bytes, layout: Layout | None = None):
    """(spool, totals) of a file's bytes."""
    file = io.BytesIO(content)
    kind = look_into(file)
    spool = Spool(ZONE)
    OPEN.append(spool)
    totals = read_rows(rows_of(file, kind), layout or LAYOUT, WORDS, ZONE, NOW, spool)
    return spool, totals


@pytest.fixture(autouse=True)
def _close_spools():
    yield
    while OPEN:
        OPEN.pop().close()


def refusal(content: bytes) -> str:
    """The sentence with which a file is refused at the door; "" where it is read, its problems being sentences."""
    try:
        spool, _ = read(content)
    except ValueError as exc:
        return str(exc)
    assert all(problem["reason"].endswith(".") for problem in spool.problems)
    return ""


def sentence_of(parse) -> str:
    try:
        parse()
    except ValueError as exc:
        return str(exc)
    return ""


def with_part(book: bytes, name: str, change) -> bytes:
    """The same workbook with one part rewritten."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            content = old.read(part)
            new.writestr(part.filename, change(content) if part.filename == name else content)
    return made.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
ROW = ("Olia Duarte", "1990-02-03", "2026-05-04", "waist_girth", "76", "cm", 1)


@given(st.text(max_size=60))
def test_escaping_is_undone_exactly(text):
    escaped = escape_cell(text)
    assert unescape_cell(escaped) == text
    assert escaped.lstrip()[:1] not in set("=+-@＝＋－＠")


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused_in_a_sentence(content):
    assert refusal(content)[-1:] in {"", "."}


CELLS = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        ["76", "38 1/4 in", "2026-05-04", "waist_girth", "1", "\x00", "=1+1", "'", '"', "١٢", "٣"]
    ),
)


@settings(deadline=None)
@given(st.lists(st.lists(CELLS, min_size=7, max_size=7), max_size=6))
def test_any_cells_become_readings_or_problems(rows):
    spool = Spool(ZONE)
    totals = read_rows(enumerate(([*row] for row in rows), start=2), LAYOUT, WORDS, ZONE, NOW, spool)
    assert totals.rows <= len(rows)
    assert all(problem["reason"] and problem["row"] >= 2 for problem in spool.problems)
    # What is kept goes through COPY: one line for each, and no NUL in any.
    spool.occasions.seek(0)
    spool.readings.seek(0)
    for spooled, many in ((spool.occasions, spool.occasion_count), (spool.readings, spool.reading_count)):
        content = spooled.read()
        assert content.count(b"\n") == many
        assert b"\0" not in content
    spool.close()


@given(st.text(max_size=30), st.sampled_from(["", "dmy", "mdy"]))
def test_any_text_is_a_day_or_a_sentence(text, order):
    for parse in (
        lambda: parse_day(text, order, WORDS.months),
        lambda: parse_moment(text, order, WORDS.months, ZONE),
        lambda: parse_clock(text),
    ):
        assert sentence_of(parse)[-1:] in {"", "."}


@given(st.dates(min_value=date(1900, 1, 1), max_value=date(2199, 12, 31)))
def test_a_day_is_read_in_all_its_forms(day):
    months = {number: word for word, number in WORDS.months.items() if len(word) > 3 or word == "may"}
    forms = {
        "": [f"{day:%Y-%m-%d}", f"{day:%Y/%m/%d}", f"{day.day}.{day.month}.{day.year}",
             f"{day.day} {months[day.month]} {day.year}",
             f"{months[day.month].title()} {day.day}, {day.year}"],
        "dmy": [f"{day:%d/%m/%Y}", f"{day:%d-%m-%Y}"],
        "mdy": [f"{day:%m/%d/%Y}", f"{day:%m-%d-%Y}"],
    }  # fmt: skip
    for order, texts in forms.items():
        for text in texts:
            assert parse_day(text, order, WORDS.months) == day


@pytest.mark.parametrize("text", ["03/04/2026", "3-4-2026"])
def test_a_date_with_two_readings_is_refused_until_its_order_is_stated(text):
    with pytest.raises(ValueError, match="two ways"):
        parse_day(text, "", WORDS.months)
    assert parse_day(text, "dmy", WORDS.months) == date(2026, 4, 3)
    assert parse_day(text, "mdy", WORDS.months) == date(2026, 3, 4)


@pytest.mark.parametrize(
    ("text", "order"),
    [("25/12/26", ""), ("31.02.2026", ""), ("2026-13-01", ""), ("25/12/2026", "mdy"), ("1066-10-14", "")],
)
def test_a_date_that_is_none_is_refused(text, order):
    with pytest.raises(ValueError, match="“"):
        parse_day(text, order, WORDS.months)


def test_a_day_alone_is_its_first_minute_and_an_offset_wins():
    assert parse_moment("2026-05-04", "", WORDS.months, ZONE).isoformat() == "2026-05-04T00:00:00+01:00"
    assert parse_moment("4.5.2026 10:30", "", WORDS.months, ZONE).isoformat() == "2026-05-04T10:30:00+01:00"
    assert (
        parse_moment("May 4, 2026, 2:15 pm", "", WORDS.months, ZONE).isoformat()
        == "2026-05-04T14:15:00+01:00"
    )
    assert parse_moment("2026-05-04T10:30:00.123456+05:30", "", WORDS.months, ZONE).microsecond == 123456


def test_an_open_quotation_mark_is_told_and_ends_the_reading():
    content = as_csv(LONG, [ROW, ROW]) + b'"Olia,1990-02-03,2026-05-04,waist_girth,76,cm,1\n' + b"x,y\n" * 20
    spool, totals = read(content)
    assert [(problem["row"], "never closed" in problem["reason"]) for problem in spool.problems] == [
        (4, True)
    ]
    assert totals.readings == 2


def test_quotation_marks_out_of_pairs_cost_one_row():
    content = (
        as_csv(LONG, [ROW])
        + b'"Olia" Duarte,1990-02-03,2026-05-04,waist_girth,76,cm,1\n'
        + as_csv(LONG, [ROW])[len(as_csv(LONG, [])) :]
    )
    spool, totals = read(content)
    assert [problem["row"] for problem in spool.problems] == [3]
    assert totals.readings == 2


def test_huge_cells_many_columns_and_controls_are_problems_of_their_rows():
    rows = [
        ("x" * 50_000, *ROW[1:]),
        (*ROW, *["y"] * 300),
        ("Olia\x07 Duarte", *ROW[1:]),
        (*ROW[:4], "7" * 500, "cm", 1),
        ROW,
    ]
    spool, totals = read(as_csv(LONG, rows))
    assert [problem["row"] for problem in spool.problems] == [2, 3, 4, 5]
    assert totals.rows == 5
    assert len(find_heads([(1, ["h"] * 5000)], WORDS)[1]) <= MOST_COLUMNS


def test_a_formula_is_not_worked_out():
    book = as_book(LONG, [("Olia Duarte", "1990-02-03", "2026-05-04", "waist_girth", "=70+6", "cm", 1)])
    file = io.BytesIO(book)
    assert [row for _, row in rows_of(file, look_into(file))][1][4] is FORMULA
    spool, _ = read(book)
    assert "formula" in spool.problems[0]["reason"]


@pytest.mark.parametrize(
    "start",
    [
        b'<!DOCTYPE x [<!ENTITY a "b">]>',
        b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>',
        b'<!DOCTYPE x SYSTEM "http://127.0.0.1:9/x.dtd">',
    ],
)
def test_entities_are_refused_and_nothing_is_fetched(start, monkeypatch):
    def no_network(*_, **__):
        raise AssertionError("the reader asked the network")

    monkeypatch.setattr("socket.create_connection", no_network)
    book = as_book(LONG, [ROW])
    for name in (SHEET, "xl/workbook.xml"):
        changed = with_part(
            book,
            name,
            lambda part: part.replace(b"?>", b"?>" + start, 1) if part.startswith(b"<?xml") else start + part,
        )
        said = refusal(changed)
        assert said[-1:] in {"", "."}
        if b"ENTITY" in start and not said:
            assert OPEN[-1].reading_count == 0
            assert OPEN[-1].problems


def test_a_workbook_that_unpacks_to_too_much_is_refused_unread(monkeypatch):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<x/>")
        archive.writestr("xl/workbook.xml", "<x/>")
        with archive.open(SHEET, "w", force_zip64=True) as part:
            for _ in range(700):
                part.write(b" " * (1 << 20))
    assert len(made.getvalue()) < 2_000_000
    opened = zipfile.ZipFile.open

    def contents_alone(archive, name, *args, **kwargs):
        assert name == "[Content_Types].xml", "a part was unpacked"
        return opened(archive, name, *args, **kwargs)

    monkeypatch.setattr(zipfile.ZipFile, "open", contents_alone)
    with pytest.raises(ValueError, match="too large when it is unpacked"):
        look_into(made)


def test_a_table_of_texts_that_fills_the_memory_is_refused_whatever_it_is_called(monkeypatch):
    monkeypatch.setattr("studio.calc.transfer_files.MOST_HELD", 200_000)
    book = as_book(LONG, [ROW] * 20)
    look_into(io.BytesIO(book))
    for name in ("xl/styles.xml", "xl/theme/theme1.xml"):
        with pytest.raises(ValueError, match="too large"):
            look_into(io.BytesIO(with_part(book, name, lambda part: part + b" " * 200_000)))


@pytest.mark.parametrize(
    "change",
    [
        lambda part: part[: len(part) // 2],
        lambda part: part.replace(b"</row>", b"</rows>"),
        lambda part: part.replace(b'r="A2"', b'r="ZZZZZ99999999"'),
        lambda part: part.replace(b't="inlineStr"><is><t>Olia Duarte</t></is>', b't="s"><v>99999</v>'),
        lambda part: part.replace(b"<v>", b"<v>x"),
        lambda _: b"",
        lambda _: b"\0" * 100,
    ],
)
def test_a_damaged_sheet_is_told_in_a_sentence(change):
    book = with_part(as_book(LONG, [ROW, ROW]), SHEET, change)
    said = refusal(book)
    assert said.endswith(".") if said else OPEN[-1].problems


def test_rows_far_down_and_wrong_sizes_do_not_cost_the_world():
    book = with_part(
        as_book(LONG, [ROW]),
        SHEET,
        lambda part: part.replace(b'<dimension ref="A1:G2"', b'<dimension ref="A1:A1"').replace(
            b'<row r="2"', b'<row r="900000"'
        ),
    )
    file = io.BytesIO(book)
    found = [number for number, _ in rows_of(file, look_into(file))]
    assert found == [1, 900000]


def test_other_archives_and_hidden_books_are_refused():
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("letter.txt", "hello")
    with pytest.raises(ValueError, match="but not an"):
        look_into(made)


def test_more_rows_than_allowed_end_with_a_sentence(monkeypatch):
    monkeypatch.setattr("studio.calc.transfer_rows.MOST_ROWS", 3)
    spool, totals = read(as_csv(LONG, [ROW] * 6))
    assert totals.rows == 3
    assert "split the file" in spool.problems[0]["reason"]


def test_reading_takes_no_more_memory_for_more_rows():
    import tracemalloc

    def most(many):
        rows = (
            (
                number,
                [
                    f"Person {number}",
                    "1990-02-03",
                    "2026-05-04",
                    "waist_girth",
                    f"{60 + number % 400 / 10}",
                    "cm",
                    "1",
                ],
            )
            for number in range(2, many)
        )
        spool = Spool(ZONE)
        tracemalloc.start()
        read_rows(rows, LAYOUT, WORDS, ZONE, NOW, spool)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        spool.close()
        return peak

    most(100)
    assert most(8000) < most(2000) + 100_000


# --- what files mean ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_encoding_and_delimiter_are_found(encoding, delimiter):
    content = as_csv(LONG, [("Zoë Müller", *ROW[1:])] * 3, delimiter, encoding)
    file = io.BytesIO(content)
    kind = look_into(file)
    assert kind == FileKind("csv", encoding, delimiter)
    assert [row for _, row in rows_of(file, kind)][1][0] == "Zoë Müller"


def test_heads_below_a_title_are_found_and_a_file_without_heads_has_none():
    rows = [
        (1, ["Our readings of May"]),
        (3, ["Client", "Date", "Waist (in)", "Hip"]),
        (4, ["Olia", "2026-05-04", "30", "40"]),
    ]
    assert find_heads(rows, WORDS) == (3, ["Client", "Date", "Waist (in)", "Hip"])
    row, heads = find_heads([(1, ["Olia", "2026-05-04", "30"]), (2, ["Mira", "2026-05-04", "31"])], WORDS)
    assert (row, heads) == (0, ["Column 1", "Column 2", "Column 3"])


def test_guesses_by_codes_names_standard_names_and_synonyms():
    heads = [
        "Student",
        "DOB",
        "Phone",
        "Date measured",
        "waist_girth",
        "Hip girth",
        "Seat",
        "lower knee",
        "Inseam (in)",
        "Mood",
    ]
    layout = guess_layout(heads, 1, WORDS)
    assert layout.fields == {"client": 1, "born": 2, "telephone": 3, "date": 4}
    assert layout.measures == {
        5: "waist_girth",
        6: "hip_girth",
        7: "hip_girth",
        8: "below_knee_girth",
        9: "inside_leg",
    }
    assert guess_layout(["Name", "Date", "Measure", "Value"], 1, WORDS).fields == {
        "client": 1,
        "date": 2,
        "measure": 3,
        "value": 4,
    }


def test_a_unit_in_a_head_and_beside_a_value():
    heads = {"Waist (in)": "in", "Waist [cm]": "cm", "Waist cm": "cm", "taken in": "", "Waist": ""}
    assert {head: unit_in_head(head, WORDS.units) for head in heads} == heads
    assert bare_head("Waist 2 (cm)", WORDS.units) == "waist"
    reader = ValueReader(WORDS.units, "cm", "")
    assert reader.read("38 1/4", "in", weight=False, is_number=False).value == Decimal("971.5500")
    assert reader.read("1.68", "m", weight=False, is_number=False).value == Decimal("1680.0000")
    assert reader.read("968.375", "mm", weight=False, is_number=True).value == Decimal("968.3750")
    with pytest.raises(ValueError, match="two ways"):
        reader.read("968.375", "mm", weight=False, is_number=False)
    with pytest.raises(ValueError, match="names the unit"):
        reader.read("97 in", "cm", weight=False, is_number=False)
    with pytest.raises(ValueError, match="not a unit"):
        reader.read("97", "kg", weight=False, is_number=False)


def test_the_words_file_speaks_of_fields_and_measures_that_there_are():
    listed = import_words()
    assert set(listed["fields"].values()) <= set(FIELDS)
    assert set(listed["measures"].values()) <= set(catalogue().measures)
    assert all(fold(word) == word for word in listed["fields"])
    assert sorted(set(listed["months"].values())) == list(range(1, 13))
    # A name or code of the catalogue is never overruled by a synonym for something else.
    for code, found in catalogue().measures.items():
        assert WORDS.measures[fold(found.name)] == code
        assert WORDS.measures[fold(code)] == code


def test_a_trouble_in_the_middle_does_not_hide_what_follows():
    rows = iter(
        [
            (2, list(map(str, ROW))),
            (3, Trouble("The quotation marks of this row are not in pairs.")),
            (4, list(map(str, ROW))),
        ]
    )
    spool = Spool(ZONE)
    OPEN.append(spool)
    totals = read_rows(rows, LAYOUT, WORDS, ZONE, NOW, spool)
    assert (totals.readings, spool.problem_count) == (2, 1)
