"""A ticket's whole journey in a real browser: taken in, pinned and refused, printed, worked, paid, handed over."""

import re
from time import monotonic

import pytest
from playwright.sync_api import expect

from fitting.models import Ticket, TicketSlip
from fitting.services.prices import choose_currency, set_price
from studio.platform.jobs import run_job
from studio.services.clients import record_client
from tests.conftest import PASSWORD, found_house, real_transactions
from tests.journeys.conftest import DESK, TABLET, Visitor, Watch, sign_in
from tests.journeys.pages import look

pytestmark = [pytest.mark.browser, pytest.mark.slow, real_transactions]


def test_a_ticket_from_the_counter_to_the_hand_over(
    transactional_db: None, visitor: Visitor, watch: Watch
) -> None:
    house = found_house("Thimble Row")
    with house.scope():
        choose_currency(house.instructor, currency="EUR")
        set_price(house.instructor, job="let_out", minor=2200)
        record_client(house.clerk, name="Olia Carvalho", telephone="0555 0142")
    watch.expect("/tickets/new/", 400)
    page = visitor(TABLET)
    sign_in(page, "clerk@thimblerow.example", PASSWORD)

    # The customer waits: found by a few letters, the jobs asked for one after another.
    started = monotonic()
    page.get_by_role("link", name="Tickets", exact=True).click()
    page.get_by_role("link", name="Take in", exact=True).click()
    page.locator("#who-words").press_sequentially("olia c")
    page.locator("#who").get_by_role("link", name=re.compile("Olia Carvalho")).click()
    page.get_by_label("The garment, in words").fill("rust corduroy trousers")
    page.get_by_label("Kind").select_option("trousers")
    page.get_by_label("What is to be done?").select_option("let_out")
    page.get_by_label("How much wider in all, cm").fill("4")
    page.get_by_label("Allowance inside, at each edge, cm").fill("1.5")
    page.get_by_label("Where, how").fill("side seams")
    expect(page.locator(".reach")).to_contain_text("It does not reach")
    page.get_by_role("button", name="Take it in and print the slip").click()
    expect(page.locator(".error").first).to_contain_text("Promise 3.2 cm at most")
    assert not look(page, keyboard=False)
    page.get_by_label("How much wider in all, cm").fill("3")
    page.get_by_label("Deposit paid now, EUR").fill("5")
    page.get_by_role("button", name="Take it in and print the slip").click()
    expect(page.locator(".flash")).to_contain_text("is taken in")
    assert monotonic() - started < 60, "an intake takes under a minute"

    with house.scope():
        ticket, slip = Ticket.objects.get(), TicketSlip.objects.get()
    assert run_job(house.studio_id, slip.job_id) == "done"
    page.reload()
    expect(page.get_by_role("link", name=re.compile("Open.*slip 1"))).to_be_visible()
    page.get_by_role("button", name=re.compile("Done.*Let out")).click()
    page.get_by_role("button", name="It is ready").click()
    page.get_by_text("Told by telephone").click()
    page.get_by_label(re.compile("What was said")).fill("comes on Friday")
    page.get_by_role("button", name="Write it down").first.click()
    for size in (TABLET, DESK):
        page.set_viewport_size(size)
        assert not look(page, keyboard=size is TABLET)
    expect(page.get_by_label("Paid now, EUR")).to_have_value("17.00")
    page.get_by_role("button", name="Hand it over").click()
    expect(page.locator(".flash")).to_contain_text("Handed over")

    for path in ("/tickets/?state=handed_over", "/prices/", f"/tickets/{ticket.pk}/"):
        page.goto(path)
        assert not look(page, keyboard=False)

    # Found again by the number on the slip, from any page.
    page.goto("/")
    page.locator("#find").fill(slip.snapshot["number"])
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/tickets/{ticket.pk}/")
    expect(page.get_by_text("Told by telephone: comes on Friday")).to_be_visible()
