"""Claim slip and work ticket as PDF: what stands on them, for whom, and that they are what was frozen."""

import io
from decimal import Decimal
from typing import Any

import pytest
from pypdf import PdfReader

from fitting.models import TicketSlip
from fitting.reports.slip import render_slip
from fitting.services.ticket_slips import ask_slip
from fitting.services.tickets import NewClient, WantedJob
from studio.platform.models import StoredFile
from studio.platform.services.files import read_file
from studio.reports.pdf import CannotRender
from tests.fitting.garment.conftest import Shop

LONG = "Anneliese Wilhelmine von der Rothenburg-Falkenhausen zu Oberstein-Niederwald"


def words(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages]


def test_a_slip_tells_the_client_what_is_paid_and_the_bench_what_is_pinned(
    shop: Shop, taken: Any, run_jobs: Any
) -> None:
    ticket = taken(
        client_id=None, new_client=NewClient(LONG), words="raincoat with a hood cord", kind="jacket", for_child=True,
        jobs=[WantedJob("let_out", "side seams", Decimal(30), Decimal(15), Decimal(7), 4),
              WantedJob("shorten_hem", "a little more at the back", Decimal(25)), WantedJob("buttons", "one is lost")],
        deposit_minor=1000, note="Rings before she comes",
    )  # fmt: skip
    slip = ask_slip(shop.house.clerk, ticket.pk)
    assert run_jobs(shop.house) == ["done"]
    slip.refresh_from_db()
    file = StoredFile.objects.get()
    pdf = read_file(file)
    assert (slip.sha256, slip.pages, file.client_id) == (file.sha256, 2, ticket.garment.client_id)
    claim, bench = words(pdf)
    number = slip.snapshot["number"]
    for page in (claim, bench):
        assert number in page
        assert "Falkenhausen" in page
        assert "Cords and drawstrings" in page  # a child will wear it
    for text in ("31.00 EUR", "10.00 EUR", "37.00 EUR", "To be paid"):
        assert text in claim
        assert text not in bench  # what it costs is not the bench's matter
    for text in (
        "3.0 cm",
        "0.75 cm at each edge",
        "Pins counted",
        "A broken needle",
        "Rings before she comes",
    ):
        assert text in bench
    assert "Rings before" not in claim
    reader = PdfReader(io.BytesIO(pdf))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"
    # The code holds a signature over two ids and nothing about a person.
    assert slip.snapshot["code"].count("/slips/") == 1
    assert not {"Anneliese", "raincoat", number} & set(slip.snapshot["code"].split("/"))


def test_the_same_snapshot_gives_the_same_bytes_whatever_the_alphabet(shop: Shop, taken: Any) -> None:
    ticket = taken(client_id=None, new_client=NewClient("ليلى الحداد"), jobs=[WantedJob("buttons")] * 9)
    snapshot = ask_slip(shop.house.clerk, ticket.pk).snapshot
    first = render_slip(snapshot)
    assert render_slip(snapshot).pdf == first.pdf
    assert first.rendered_with["renderer"].startswith("WeasyPrint")
    with pytest.raises(CannotRender, match="shape"):
        render_slip(snapshot | {"shape": 99})
    assert TicketSlip.objects.count() == 1
