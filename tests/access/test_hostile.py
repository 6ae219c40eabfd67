"""Whatever is sent in: a sentence comes back, never a fault of ours, and nothing is kept by halves.

Files are good ones of our own that were damaged (bytes cut, doubled, changed, foreign ones put in), and bytes without
any sense; they come as a program sends them, through the API. ``HOSTILE=10000`` spreads so many over everything
that is tried here (without it, a few of each, always the same).
"""

import csv
import html
import io
import json
import os
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from PIL import Image

from fitting.models import Garment
from studio.calc.units import parse_length, parse_weight
from studio.platform.database.scope import studio_scope
from studio.platform.models import AuditEntry, Job, StoredFile
from tests.access.full_house import CLOTHS, READINGS, YOKE, FullHouse, furnish
from tests.access.routes import access, every_route
from tests.access.test_every_route import QUESTIONS, browser
from tests.fitting.lay.test_exchange import SKIRT, dxf
from tests.studio.transfer.invented import as_book

pytestmark = pytest.mark.slow

TOTAL = int(os.environ.get("HOSTILE", "0"))
KINDS = 16  # of what is tried below
TRYING = settings(
    max_examples=max(TOTAL // KINDS, 12),
    derandomize=not TOTAL,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
NASTY = [
    b"\0", b"\xff\xfe", b"\r\n\r\n", b'"', b"'", b"=1+1", b"%s%n", b"../" * 9, b"<script>",
    b"<!ENTITY a SYSTEM 'file:///etc/passwd'>", b"9" * 400, b"-1", b"1e999", b"NaN", b"\xed\xa0\x80",
    "\u202e".encode(), b"\x1b[2J", b"'; drop table studio_client; --",
]  # fmt: skip
NASTY_TEXTS = [
    "", " ", "0", "-1", "1e999", "NaN", "∞", "½", "١٢", "9" * 400, "x" * 5000, "\u202eabc", "a\u0301" * 90, "\ud7ff",
    "2026-02-30", "9999-12-31", "0001-01-01", "24:61", "38 1/0 in", "'; drop table x; --", "{{ 7*7 }}",
    "<script>alert(1)</script>", "00000000-0000-0000-0000-000000000000", "\x1b[2J", "a,b;c|d",
]  # fmt: skip


@st.composite
def damaged(draw: Any, whole: bytes) -> bytes:
    """A good file with one to four wounds; now and then anything at all."""
    if draw(st.integers(0, 9)) == 0:
        return draw(st.binary(max_size=300))
    found = whole
    for _ in range(draw(st.integers(1, 4))):
        a, b = sorted(draw(st.tuples(st.integers(0, len(found)), st.integers(0, len(found)))))
        b = min(b, a + draw(st.sampled_from([0, 1, 4, 40, len(found)])))
        put = draw(st.one_of(st.sampled_from(NASTY), st.binary(max_size=8), st.just(found[a:b] * 3)))
        found = found[:a] + put + found[b:]
    return found[:200_000]


def painted(kind: str) -> bytes:
    drawn = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(drawn, kind)
    return drawn.getvalue()


def book(text: bytes) -> bytes:
    heads, *rows = csv.reader(io.StringIO(text.decode()))
    return as_book(heads, rows)


PAPER = b"""Chart,Source,Unit,Size,Measure,Value
House women,our own students,cm,12,waist_girth,72
House women,our own students,cm,12,hip_girth,97
House women,our own students,cm,14,waist_girth,76
House women,our own students,cm,14,hip_girth,101
"""
# Who takes files, the name of the part, what a file is called, and a good one.
FILES: dict[str, tuple[str, str, str, bytes]] = {
    "readings as CSV": ("api-reading-imports", "file", "old.csv", READINGS),
    "readings as XLSX": ("api-reading-imports", "file", "old.xlsx", book(READINGS)),
    "cloth as CSV": ("api-seam-table-imports", "file", "cloth.csv", CLOTHS),
    "cloth as XLSX": ("api-seam-table-imports", "file", "cloth.xlsx", book(CLOTHS)),
    "paper as CSV": ("paper-files", "file", "paper.csv", PAPER),
    "paper as XLSX": ("paper-files", "file", "paper.xlsx", book(PAPER)),
    "pieces as SVG": ("drawing-list", "file", "skirt.svg", SKIRT.encode()),
    "a piece as SVG": ("drawing-list", "file", "yoke.svg", YOKE),
    "pieces as DXF": ("drawing-list", "file", "skirt.dxf", dxf()),
    "a photograph as PNG": ("api-trial-photos", "picture", "a.png", painted("PNG")),
    "a photograph as JPEG": ("fit-note-photos", "picture", "a.jpg", painted("JPEG")),
    "a photograph as WEBP": ("api-cloth-photos", "picture", "a.webp", painted("WEBP")),
}


@pytest.fixture(scope="module")
def full(django_db_setup: None, django_db_blocker: Any) -> Iterator[FullHouse]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield furnish()
        transaction.set_rollback(True)


def kept(full: FullHouse) -> tuple[int, ...]:
    with studio_scope(full.house.studio_id):
        return tuple(model.objects.count() for model in (AuditEntry, Job, StoredFile))


def told(answer: Any) -> str:
    """The sentence of a refusal; fails where it is none."""
    assert answer.status_code < 500, answer.content[:300]
    if answer.status_code < 400:
        return ""
    problem = json.loads(answer.content)
    assert problem["detail"], problem
    assert not re.search(r"Traceback|File \"|Error\(|Exception|psycopg|django\.", problem["detail"]), problem
    return str(problem["detail"])


@pytest.mark.parametrize("what", FILES)
def test_a_damaged_file_is_read_or_refused_in_a_sentence(full: FullHouse, what: str) -> None:
    name, part, called, whole = FILES[what]
    client, address = browser(None), every_route()[name].address(full.ids)
    key = {"Authorization": f"Bearer {full.tokens['owner']}"}
    before = kept(full)

    def send(content: bytes) -> str:
        with transaction.atomic():
            answer = client.post(address, {part: SimpleUploadedFile(called, content)}, headers=key)
            said = told(answer)
            if said:
                assert kept(full) == before, f"{said} – and yet something was kept"
            transaction.set_rollback(True)
        return said

    assert not send(whole), "the good file itself is taken"
    assert send(b"\x7fELF" + bytes(60))

    @TRYING
    @given(damaged(whole))
    def damage(content: bytes) -> None:
        send(content)

    damage()


ANY_TEXT = st.one_of(
    st.text(max_size=60), st.sampled_from(NASTY_TEXTS), st.text("0123456789 ./,½¼′″cmin-−", max_size=14)
)


@TRYING
@given(ANY_TEXT, st.sampled_from(["cm", "in", "mm"]))
def test_any_text_is_a_length_or_a_sentence(text: str, unit: str) -> None:
    for parse, known in ((parse_length, unit), (parse_weight, "kg")):
        said = ""
        try:
            assert parse(text, known).is_finite()
        except ValueError as exc:
            said = str(exc)
        assert said[-1:] in {"", "."}


def test_any_words_stay_one_entry_of_the_calendar(full: FullHouse) -> None:
    """What people write can't break out of its line in the feed: a strict reader finds the same entries."""
    client, address = browser(None), every_route()["fitting:calendar-feed"].address(full.ids)
    entries = len(Calendar.from_ical(client.get(address).content).walk("VEVENT"))
    assert entries

    @TRYING
    @given(st.one_of(ANY_TEXT, st.sampled_from(["a\r\nEND:VEVENT", "a\nBEGIN:VALARM", "a;b,c:d\\n"])))
    def write(words: str) -> None:
        with transaction.atomic(), studio_scope(full.house.studio_id):
            Garment.objects.update(words=words.replace("\0", "")[:120])
            read = Calendar.from_ical(client.get(address).content)
            assert len(read.walk("VEVENT")) == entries
            assert not read.walk("VALARM")
            transaction.set_rollback(True)

    write()


JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), ANY_TEXT),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(ANY_TEXT, inner, max_size=4)),
    max_leaves=12,
)
BODIES = st.one_of(
    JSON.map(lambda value: json.dumps(value).encode()),
    st.binary(max_size=200),
    st.sampled_from(
        [
            b"[" * 100_000,
            b'{"name":' * 3000,
            b'{"a":1e400}',
            b'{"name":"\\ud800"}',
            b"\xff\xfe{\0}\0",
            b"9" * 10_000,
        ]
    ),
)


def test_any_body_is_answered_by_every_operation(full: FullHouse) -> None:
    client, key = browser(None), {"Authorization": f"Bearer {full.tokens['owner']}", "If-Match": '"1"'}
    writes = [
        (method, route.address(full.ids))
        for route in every_route().values()
        if route.is_api
        for method in route.methods
        if method in {"POST", "PUT", "PATCH"}
    ]

    def send(where: tuple[str, str], body: bytes) -> None:
        with transaction.atomic():
            told(client.generic(where[0], where[1], body, content_type="application/json", headers=key))
            transaction.set_rollback(True)

    for where in writes:  # whoever reads a body by a parser of its own is found out
        for body in (b"[" * 100_000, b'{"name":"\\u0000"}', b"\xff\xfe"):
            send(where, body)
    TRYING(given(st.sampled_from(writes), BODIES)(send))()


def fields_of(page: str) -> dict[str, str]:
    """The names of a page's fields, each with a value that it offers."""
    found = {}
    for tag in re.findall(r"<(?:input|select|textarea)\b[^>]*>", page):
        name, value = re.search(r'name="([^"]+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name:
            found[html.unescape(name[1])] = html.unescape(value[1]) if value else ""
    return found


def test_any_form_is_answered_by_every_page(full: FullHouse) -> None:
    """The fields that a page shows, filled with anything, and fields that it does not show."""
    client = browser(full.house.owner)
    forms = []
    for route in every_route().values():
        if (
            not route.is_api
            and "POST" in route.methods
            and access()[route.name, "POST"] not in {"anybody", "key"}
        ):
            address = route.address(full.ids)
            seen = client.get(address + QUESTIONS.get(route.name, "")) if "GET" in route.methods else None
            forms.append((address, fields_of(seen.content.decode()) if seen else {}))

    @TRYING
    @given(st.data())
    def send(data: Any) -> None:
        address, fields = data.draw(st.sampled_from(forms))
        filled = {
            name: data.draw(st.one_of(st.just(value), st.sampled_from(NASTY_TEXTS), ANY_TEXT))
            for name, value in fields.items()
            if data.draw(st.integers(0, 9))
        } | data.draw(
            st.dictionaries(
                st.sampled_from(["", "revoke", "keep", "meant", "version", "rows", "x"]), ANY_TEXT, max_size=2
            )
        )
        with transaction.atomic():
            answer = client.post(address, {name: value.replace("\0", "") for name, value in filled.items()})
            assert answer.status_code < 500, f"{address} {filled}"
            transaction.set_rollback(True)

    send()
