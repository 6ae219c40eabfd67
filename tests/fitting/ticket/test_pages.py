"""The counter's pages: intake in one page, the list, one ticket, prices, slip."""

from typing import Any
from urllib.parse import quote

import pytest

from fitting.calc.ticket_number import ticket_words
from fitting.models import Price, Ticket, TicketSlip
from fitting.queries.tickets import slip_code
from tests.conftest import House
from tests.fitting.garment.conftest import Shop
from tests.fitting.ticket.conftest import price_list


@pytest.fixture
def counter(closed_shop: Shop) -> Shop:
    with closed_shop.house.scope():
        price_list(closed_shop.house)
    return closed_shop


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def intake(**given: str) -> dict[str, str]:
    usual = {
        "words": "rust corduroy trousers", "kind": "trousers", "rows": "2", "due": "", "deposit": "5",
        "deposit_way": "card", "note": "", "job0-job": "shorten_hem", "job0-amount": "3.2", "job0-where": "both legs",
        "job1-job": "",
    }  # fmt: skip
    return usual | given


def test_intake_finds_the_client_and_takes_the_garment_in(counter: Shop, page: Any, run_jobs: Any) -> None:
    browser = page(counter.house.clerk)
    hits = text(browser.get("/tickets/new/", {"words": "olia carv"}, headers={"HX-Request": "true"}))
    assert f"?client={counter.client.pk}" in hits
    assert "<html" not in hits
    address = f"/tickets/new/?client={counter.client.pk}"
    assert "For <strong>Olia Carvalho</strong>" in text(browser.get(address))
    answer = browser.post(address, intake(), follow=True)
    with counter.house.scope():
        ticket = Ticket.objects.get()
        assert [str(job.amount_mm) for job in ticket.jobs.all()] == ["32.0000"]
    number = ticket_words(ticket.number)
    assert f"Ticket {number} is taken in" in text(answer)
    assert "9.50 EUR" in text(answer)
    assert run_jobs(counter.house) == ["done"]
    with counter.house.scope():
        slip = TicketSlip.objects.get()
    pdf = browser.get(f"/tickets/{ticket.pk}/slips/{slip.pk}/")
    assert pdf.content.startswith(b"%PDF")
    assert pdf["ETag"] == f'"{slip.sha256}"'
    # The search box of every page and the code of the slip lead to the ticket, all else to the past fits.
    assert browser.get("/find/", {"words": number}).url == f"/tickets/{ticket.pk}/"
    assert browser.get("/find/", {"words": "olia teal"}).url == "/past-fits/?words=olia+teal"
    assert browser.get(f"/slips/{quote(slip_code_of(counter, ticket))}/").url == f"/tickets/{ticket.pk}/"
    assert f"/tickets/{ticket.pk}/" in text(
        browser.get("/tickets/new/", {"words": number}, headers={"HX-Request": "true"})
    )


def slip_code_of(shop: Shop, ticket: Ticket) -> str:
    with shop.house.scope():
        return slip_code(ticket)


def test_a_code_opens_nothing_for_strangers(
    counter: Shop, page: Any, other_house: House, client: Any
) -> None:
    browser = page(counter.house.clerk)
    browser.post(f"/tickets/new/?client={counter.client.pk}", intake())
    with counter.house.scope():
        address = f"/slips/{quote(slip_code(Ticket.objects.get()))}/"
    client.logout()
    assert "/sign-in/" in client.get(address).url
    assert page(other_house.owner).get(address).status_code == 404


def test_intake_says_what_is_wrong_beside_it_and_keeps_what_was_typed(counter: Shop, page: Any) -> None:
    browser = page(counter.house.clerk)
    wrong = intake(**{
        "client_name": "", "job1-job": "let_out", "job1-amount": "4", "job1-allowance": "1,5", "job1-keep": "0.7",
        "job1-edges": "4", "deposit": "1,250",
    })  # fmt: skip
    shown = text(browser.post("/tickets/new/", wrong | {"show": "1"}, headers={"HX-Request": "true"}))
    assert "It does not reach: 1.5 cm lie inside at each edge" in shown
    assert 'placeholder="22.00"' in shown  # the list's price for trousers
    assert "more than" not in shown
    answer = browser.post("/tickets/new/", wrong)
    assert answer.status_code == 400
    assert "two ways" in text(answer)
    answer = browser.post("/tickets/new/", wrong | {"deposit": "", "client_name": "Ulla"})
    assert answer.status_code == 400
    assert "Promise 3.2 cm at most" in text(answer)
    assert 'value="rust corduroy trousers"' in text(answer)
    assert "Whose is it?" in text(browser.post("/tickets/new/", intake()))
    with counter.house.scope():
        assert not Ticket.objects.exists()
    more = text(browser.post("/tickets/new/", intake(more="yes"), headers={"HX-Request": "true"}))
    assert 'name="job2-job"' in more


def test_a_ticket_is_worked_paid_and_handed_over_by_its_page(counter: Shop, page: Any) -> None:
    browser = page(counter.house.clerk)
    browser.post(f"/tickets/new/?client={counter.client.pk}", intake(deposit=""))
    with counter.house.scope():
        ticket = Ticket.objects.get()
        job = ticket.jobs.get()
    here = f"/tickets/{ticket.pk}/"
    wrong = browser.post(f"{here}state/", {"state": "ready"})
    assert wrong.status_code == 400
    assert "Still to do: shorten at the hem" in text(wrong)
    browser.post(f"{here}jobs/new/", {"job0-job": "buttons", "job0-where": "waistband", "job0-price": ""})
    with counter.house.scope():
        buttons = ticket.jobs.get(job="buttons")
    browser.post(f"{here}jobs/{job.pk}/", {"state": "done"})
    browser.post(f"{here}jobs/{buttons.pk}/", {"state": "left_out", "reason": "found them again"})
    assert "It is ready" in text(browser.get(here))
    browser.post(f"{here}state/", {"state": "ready"})
    assert "Tell Olia Carvalho by email" in text(browser.get(here))
    browser.post(f"{here}tell/", {"by": "telephone", "note": "comes on Friday"})
    wrong = browser.post(f"{here}payments/", {"amount": "15", "way": "cash", "direction": "taken"})
    assert "more than is owed" in text(wrong)
    browser.post(f"{here}payments/", {"amount": "4,50", "way": "cash", "direction": "taken"})
    with counter.house.scope():
        paid = ticket.payments.get()
    browser.post(f"{here}payments/{paid.pk}/correct/", {"note": "it was a card"})
    assert "remains to be paid" in text(browser.post(f"{here}hand-over/", {"amount": "", "way": "cash"}))
    done = text(browser.post(f"{here}hand-over/", {"amount": "14.50", "way": "card"}, follow=True))
    assert "Handed over" in done
    assert "Told by telephone: comes on Friday" in done
    assert ticket_words(ticket.number) in text(browser.get("/tickets/?state=handed_over"))
    assert "Nothing is in the house" in text(browser.get("/tickets/"))


def test_prices_are_kept_by_the_studio(closed_shop: Shop, page: Any) -> None:
    clerk = page(closed_shop.house.clerk)
    assert "choose it on the price list" in text(clerk.get("/tickets/new/"))
    assert clerk.post("/prices/currency/", {"currency": "eur"}).status_code == 403
    assert "An instructor or the owner" in text(clerk.get("/prices/"))
    browser = page(closed_shop.instructor)
    assert "not a currency" in text(browser.post("/prices/currency/", {"currency": "XXX"}))
    browser.post("/prices/currency/", {"currency": "eur"})
    wrong = browser.post("/prices/", {"job": "reline", "kind": "", "words": "", "price": "1,250"})
    assert wrong.status_code == 400
    browser.post("/prices/", {"job": "reline", "kind": "jacket", "words": "half lining", "price": "85"})
    shown = text(browser.get("/prices/"))
    assert 'value="85.00"' in shown
    assert "half lining" in shown
    seen = text(page(closed_shop.house.clerk).get("/prices/"))
    assert "85.00" in seen
    assert 'name="price"' not in seen
    assert "Put it on the list" not in seen
    with closed_shop.house.scope():
        line = Price.objects.get()
    browser = page(closed_shop.instructor)
    wrong = text(browser.post(f"/prices/{line.pk}/", {"price": "much"}, follow=True))
    assert "The list is changed" not in wrong
