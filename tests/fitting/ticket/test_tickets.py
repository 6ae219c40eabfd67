"""Tickets at the counter: taken in, worked on, paid, told, handed over; and what is refused."""

import threading
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core import mail
from django.db import connections
from django.utils import timezone

from fitting.calc.ticket_number import ticket_words
from fitting.models import Garment, Ticket, TicketEvent, TicketJob, TicketPayment, TicketSlip
from fitting.queries.garments import bench
from fitting.queries.past_fits import past_fits
from fitting.queries.tickets import find_ticket, slip_code, ticket_get, ticket_lines, tickets_export
from fitting.services.prices import change_price, choose_currency, set_price
from fitting.services.ticket_acts import correct_payment, hand_over_ticket, move_ticket, pay, tell_ready
from fitting.services.ticket_slips import ask_slip
from fitting.services.tickets import NewClient, WantedJob, add_job, change_ticket, settle_job, take_in
from studio.models import Client
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.models import Job, StoredFile
from studio.services.clients import change_client, erase_client
from tests.conftest import House, real_transactions
from tests.fitting.garment.conftest import Shop, fill
from tests.fitting.ticket.conftest import price_list

LET_OUT = WantedJob("let_out", "side seams", Decimal(32), Decimal(15), Decimal(7), 4)
Take = Callable[..., Ticket]


def refused(act: Callable[[], Any]) -> dict[str, str]:
    with pytest.raises(Refused) as told:
        act()
    return told.value.reasons


def make_ready(shop: Shop, ticket: Ticket) -> None:
    for job in TicketJob.objects.filter(ticket=ticket, state="to_do"):
        settle_job(shop.house.clerk, ticket.pk, job.pk, state="done")
    move_ticket(shop.house.clerk, ticket.pk, state="ready")


def test_a_ticket_from_intake_to_hand_over(shop: Shop, taken: Take) -> None:
    clerk = shop.house.clerk
    due = timezone.localdate() + timedelta(days=9)
    ticket = taken(
        jobs=[WantedJob("shorten_hem", "both legs", Decimal(32)), LET_OUT], due=due, deposit_minor=1000
    )
    view = ticket_get(clerk, ticket.pk)
    assert (view.sums.total, view.sums.paid, view.sums.owed_text) == (1450 + 2200, 1000, "26.50 EUR")
    assert [line.amount for line in view.jobs] == ["3.2 cm", "3.2 cm"]
    assert view.jobs[1].reach is not None
    assert view.jobs[1].reach.words.startswith("It reaches: 1.5 cm lie inside at each edge")
    assert view.ticket.garment.ready_made
    assert bench(clerk).count == 0  # nobody measures a body for a hem
    with pytest.raises(Conflict, match="Still to do: shorten at the hem, let out"):
        move_ticket(clerk, ticket.pk, state="ready")
    settle_job(clerk, ticket.pk, view.jobs[0].row.pk, state="done")
    assert "reason" in refused(lambda: settle_job(clerk, ticket.pk, view.jobs[1].row.pk, state="left_out"))
    settle_job(clerk, ticket.pk, view.jobs[1].row.pk, state="left_out", reason="she likes them close")
    move_ticket(clerk, ticket.pk, state="ready")
    assert ticket_get(clerk, ticket.pk).sums.owed == 450  # what is left out is not asked for
    assert refused(lambda: hand_over_ticket(clerk, ticket.pk)) == {
        "reason": "4.50 EUR remains to be paid: take it, or write down why not."
    }
    assert "amount" in refused(lambda: hand_over_ticket(clerk, ticket.pk, paid_minor=451))
    assert TicketPayment.objects.count() == 1
    hand_over_ticket(clerk, ticket.pk, paid_minor=450, way="card")
    view = ticket_get(clerk, ticket.pk)
    assert view.sums.owed == 0
    assert view.ticket.garment.state == "handed_over"
    assert [event.state for event in reversed(view.events) if event.what == "state"] == [
        "taken_in", "ready", "handed_over",
    ]  # fmt: skip
    with pytest.raises(Conflict, match="handed over"):
        add_job(clerk, ticket.pk, WantedJob("buttons"))
    assert refused(lambda: move_ticket(clerk, ticket.pk, state="ready"))["reason"]
    move_ticket(clerk, ticket.pk, state="ready", reason="it still pulls at the back")
    assert Garment.objects.get().state == "open"


def test_one_garment_comes_again_and_again(shop: Shop, taken: Take) -> None:
    first = taken()
    make_ready(shop, first)
    hand_over_ticket(shop.house.clerk, first.pk, unpaid_reason="pays at the end of the month")
    second = taken(client_id=None, garment_id=first.garment_id, jobs=[WantedJob("buttons", "waistband")])
    assert (second.garment_id, second.number) == (first.garment_id, first.number + 1)
    assert Garment.objects.get().state == "open"
    assert [one.pk for one in ticket_get(shop.house.clerk, second.pk).others] == [first.pk]
    move_ticket(shop.house.clerk, second.pk, state="given_up", reason="fetched as it was")
    assert Garment.objects.get().state == "handed_over"
    # What is made here goes its own way, whatever its tickets do.
    made = shop.full_garment()
    third = taken(client_id=shop.client.pk, garment_id=made.pk)
    move_ticket(shop.house.clerk, third.pk, state="given_up", reason="too late")
    made.refresh_from_db()
    assert made.state == "open"


def test_what_can_not_be_promised_is_refused_beside_its_field(shop: Shop, taken: Take) -> None:
    more = WantedJob("let_out", "side seams", Decimal(33), Decimal(15), Decimal(7), 4)
    reasons = refused(
        lambda: taken(
            words="", due=timezone.localdate() - timedelta(days=1), deposit_minor=99999,
            jobs=[WantedJob("shorten_hem"), more, WantedJob("embroider"), WantedJob("let_out", amount_mm=Decimal(9))],
        )
    )  # fmt: skip
    # The customer waits: all that is wrong is told at once.
    assert set(reasons) == {
        "words", "due", "jobs.0.amount", "jobs.1.amount", "jobs.2.job", "jobs.3.allowance",
    }  # fmt: skip
    reasons = refused(
        lambda: taken(
            due=timezone.localdate() - timedelta(days=1),
            jobs=[WantedJob("shorten_hem"), more, WantedJob("embroider"), WantedJob("let_out", amount_mm=Decimal(9)),
                  WantedJob("other", price_minor=1), WantedJob("patch"), WantedJob("buttons", price_minor=-1)],
        )
    )  # fmt: skip
    assert set(reasons) == {"due", "jobs.0.amount", "jobs.1.amount", "jobs.2.job", "jobs.3.allowance", "jobs.4.where",
                            "jobs.5.price", "jobs.6.price"}  # fmt: skip
    assert "Promise 3.2 cm at most" in reasons["jobs.1.amount"]
    assert "deposit" in refused(lambda: taken(deposit_minor=1451))
    assert "jobs" in refused(lambda: taken(jobs=[]))
    assert not Ticket.objects.exists()


def test_a_new_client_in_two_fields(shop: Shop, taken: Take) -> None:
    ticket = taken(client_id=None, new_client=NewClient("Bertil  Åkesson", "bertil@example.org"))
    client = ticket.garment.client
    assert (client.name, client.email, client.telephone) == ("Bertil Åkesson", "bertil@example.org", "")
    again = refused(lambda: taken(client_id=None, new_client=NewClient("bertil åkesson", "0555 0199")))
    assert "recorded already" in again["client_name"]
    taken(client_id=None, new_client=NewClient("bertil åkesson", "0555 0199", same_name=True))
    assert "client_name" in refused(lambda: taken(client_id=None, new_client=NewClient(" ")))
    assert "client_reach" in refused(lambda: taken(client_id=None, new_client=NewClient("Ulla", "ulla@")))
    assert not Client.objects.filter(name="Ulla").exists()


def test_money_is_corrected_by_a_counter_row(shop: Shop, taken: Take) -> None:
    clerk, ticket = shop.house.clerk, taken()
    wrong = pay(clerk, ticket.pk, minor=1400, way="cash")
    assert refused(lambda: pay(clerk, ticket.pk, minor=51, way="cash")) == {
        "amount": "0.51 EUR is more than is owed: 0.50 EUR remains to be paid."
    }
    assert "note" in refused(lambda: correct_payment(clerk, ticket.pk, wrong.pk, note=" "))
    undone = correct_payment(clerk, ticket.pk, wrong.pk, note="it was 4")
    pay(clerk, ticket.pk, minor=400, way="cash")
    for row in (wrong, undone):
        with pytest.raises(Conflict, match="corrected already"):
            correct_payment(clerk, ticket.pk, row.pk, note="again")
    assert ticket_get(clerk, ticket.pk).sums.paid == 400
    assert "amount" in refused(lambda: pay(clerk, ticket.pk, minor=401, way="cash", give_back=True))
    pay(clerk, ticket.pk, minor=400, way="cash", give_back=True)
    assert ticket_get(clerk, ticket.pk).sums.paid == 0
    assert set(refused(lambda: pay(clerk, ticket.pk, minor=0, way="shells"))) == {"amount", "way"}


def test_prices_are_the_studios_own(shop: Shop, taken: Take) -> None:
    clerk, me = shop.house.clerk, shop.instructor
    dress = taken(words="long dress", kind="dress", jobs=[LET_OUT])
    assert ticket_get(clerk, dress.pk).sums.total == 3100  # any garment; trousers have a line of their own
    line = set_price(me, job="let_out", kind="dress", words="lined", minor=4200)
    assert ticket_get(clerk, taken(kind="dress", jobs=[LET_OUT]).pk).sums.total == 4200
    change_price(me, line.pk, active=False)
    assert ticket_get(clerk, taken(kind="dress", jobs=[LET_OUT]).pk).sums.total == 3100
    with pytest.raises(Stale):
        change_price(me, line.pk, minor=1, expected_version=line.version - 1)
    assert "currency" in refused(lambda: choose_currency(me, currency="XAU"))
    choose_currency(me, currency="SEK")
    assert ticket_get(clerk, dress.pk).sums.total_text == "31.00 EUR"  # a ticket keeps its own
    for act in (
        lambda: set_price(clerk, job="let_out", minor=1),
        lambda: change_price(clerk, line.pk, minor=1),
        lambda: choose_currency(clerk, currency="EUR"),
    ):
        with pytest.raises(NotAllowed, match="A clerk may not change the price list"):
            act()


def test_found_by_number_slip_name_and_words(shop: Shop, taken: Take) -> None:
    clerk, ticket = shop.house.clerk, taken()
    code = slip_code(ticket)
    number = ticket_words(ticket.number)
    for words in (number, f"ticket {number.replace('-', '')}", code, f"https://studio.example/slips/{code}/"):
        found = find_ticket(clerk, words)
        assert found is not None, words
        assert found.pk == ticket.pk
    for words in ("olia", "1001", code[:-2] + "xx", "https://[", "a:b", ""):
        assert find_ticket(clerk, words) is None
    for words in ("oila corduroy", number, "corduroi rust"):
        assert [fit.name for fit in past_fits(clerk, words)] == [shop.client.name], words


def test_told_by_email_or_by_telephone(shop: Shop, taken: Take, run_jobs: Any) -> None:
    clerk, ticket = shop.house.clerk, taken()
    with pytest.raises(Conflict, match="Only what is ready"):
        tell_ready(clerk, ticket.pk, by="telephone")
    make_ready(shop, ticket)
    tell_ready(clerk, ticket.pk, by="telephone", note="left a word with her son")
    tell_ready(clerk, ticket.pk, by="email")
    assert mail.outbox == []  # sent by the worker, once the request has ended well
    assert run_jobs(shop.house) == ["done"]
    (sent,) = mail.outbox
    assert sent.to == ["olia@example.org"]
    assert ticket_words(ticket.number) in sent.subject
    assert "rust corduroy trousers is ready" in sent.body
    assert "EUR" not in sent.body
    assert list(TicketEvent.objects.order_by("id").values_list("what", flat=True))[-2:] == [
        "told_by_telephone", "told_by_email",
    ]  # fmt: skip
    born = timezone.localdate() - timedelta(days=12 * 365)
    change_client(clerk, shop.client.pk, expected_version=None, born=born, guardian_name="Tiago Carvalho")
    assert "Tiago Carvalho" in refused(lambda: tell_ready(clerk, ticket.pk, by="email"))["by"]
    change_client(clerk, shop.client.pk, expected_version=None, guardian_email="tiago@example.org")
    tell_ready(clerk, ticket.pk, by="email")
    run_jobs(shop.house)
    assert mail.outbox[1].to == ["tiago@example.org"]
    assert "of Olia Carvalho" in mail.outbox[1].body


def test_a_notice_is_not_sent_when_it_is_no_longer_true(shop: Shop, taken: Take, run_jobs: Any) -> None:
    ticket = taken()
    make_ready(shop, ticket)
    job = tell_ready(shop.house.clerk, ticket.pk, by="email")
    move_ticket(shop.house.clerk, ticket.pk, state="in_work")
    assert job is not None
    assert run_jobs(shop.house) == ["failed"]
    assert mail.outbox == []
    assert "not ready any more" in Job.objects.get(pk=job.pk).error


def test_reading_asks_a_constant_number_of_questions(shop: Shop, taken: Take) -> None:
    first = taken(deposit_minor=100)
    clerk = shop.house.clerk

    def count(act: Callable[[], Any]) -> int:
        from django.db import connection
        from django.test.utils import CaptureQueriesContext

        with CaptureQueriesContext(connection) as asked:
            act()
        return len(asked)

    reads = (
        lambda: ticket_get(clerk, first.pk),
        lambda: ticket_lines(clerk),
        lambda: tickets_export(shop.client.pk),
    )
    before = [count(read) for read in reads]
    for _ in range(4):
        add_job(clerk, first.pk, WantedJob("buttons", "cuff"))
        pay(clerk, first.pk, minor=50, way="cash")
        taken(garment_id=first.garment_id)
    assert [count(read) for read in reads] == before
    assert before[1] == 2


def test_two_at_once_see_each_others_changes(shop: Shop, taken: Take) -> None:
    clerk, ticket = shop.house.clerk, taken()
    seen = Ticket.objects.get(pk=ticket.pk).version
    add_job(clerk, ticket.pk, WantedJob("buttons"), expected_version=seen)
    for act in (
        lambda: change_ticket(clerk, ticket.pk, note="x", expected_version=seen),
        lambda: add_job(clerk, ticket.pk, WantedJob("buttons"), expected_version=seen),
        lambda: move_ticket(clerk, ticket.pk, state="in_work", expected_version=seen),
    ):
        with pytest.raises(Stale):
            act()


def test_an_erased_clients_ticket_keeps_its_facts_without_her(shop: Shop, taken: Take, run_jobs: Any) -> None:
    clerk = shop.house.clerk
    ticket = taken(
        note="Olia's mother fetches it", deposit_minor=500,
        jobs=[WantedJob("shorten_hem", "Olia's left leg", Decimal(32))],
    )  # fmt: skip
    ask_slip(clerk, ticket.pk)
    run_jobs(shop.house)
    waiting = ask_slip(clerk, ticket.pk)
    told = tickets_export(shop.client.pk)
    assert told[0]["number"] == ticket_words(ticket.number)
    assert [len(told[0][part]) for part in ("jobs", "payments", "events", "slips")] == [1, 1, 1, 2]
    erase_client(shop.house.owner, shop.client.pk, reason="asked by letter")
    ticket.refresh_from_db()
    job = TicketJob.objects.get()
    assert (ticket.note, job.where, job.amount_mm, job.price_minor) == ("", "", Decimal(32), 1450)
    assert TicketPayment.objects.get().minor == 500
    assert not TicketSlip.objects.exists()
    assert not StoredFile.objects.exists()
    assert Job.objects.get(pk=waiting.job_id).state == "cancelled"
    assert ticket_lines(clerk) == []
    for act in (
        lambda: pay(clerk, ticket.pk, minor=1, way="cash"),
        lambda: ask_slip(clerk, ticket.pk),
        lambda: change_ticket(clerk, ticket.pk, note="Olia"),
    ):
        with pytest.raises(Conflict, match="erased"):
            act()


@real_transactions
def test_numbers_and_payments_of_many_at_once(house: House) -> None:
    """Twelve clerks at once: twelve numbers, none twice; and of twelve who take the same money, one does."""
    with house.scope():
        shop = fill(house)
        price_list(house)
        before = take_in(
            house.clerk, client_id=shop.client.pk, words="coat", kind="jacket",
            jobs=[WantedJob("other", "shorten the belt", price_minor=700)],
        )  # fmt: skip
    start = threading.Barrier(12)
    numbers: list[int] = []
    errors: list[BaseException] = []

    def work(place: int) -> None:
        try:
            start.wait(20)
            with house.scope():
                made = take_in(
                    house.clerk, new_client=NewClient(f"Person {place}"), words="coat", kind="jacket",
                    jobs=[WantedJob("buttons", price_minor=100)],
                )  # fmt: skip
                numbers.append(made.number)
            with house.scope():
                pay(house.clerk, before.pk, minor=700, way="cash")
        except BaseException as exc:
            errors.append(exc)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=work, args=(place,)) for place in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(set(numbers)) == 12
    assert sorted(numbers) == list(range(before.number + 1, before.number + 13))
    assert [type(error) for error in errors] == [Refused] * 11
    with house.scope():
        assert ticket_get(house.clerk, before.pk).sums.owed == 0


def test_another_studios_ticket_is_nobodys(closed_shop: Shop, other_house: House) -> None:
    with closed_shop.house.scope():
        price_list(closed_shop.house)
        ticket = take_in(
            closed_shop.house.clerk, client_id=closed_shop.client.pk, words="coat", kind="jacket",
            jobs=[WantedJob("buttons")],
        )  # fmt: skip
        code, number = slip_code(ticket), ticket_words(ticket.number)
    stranger = other_house.clerk
    with other_house.scope():
        assert find_ticket(stranger, code) is None
        assert find_ticket(stranger, number) is None
        for act in (
            lambda: ticket_get(stranger, ticket.pk),
            lambda: move_ticket(stranger, ticket.pk, state="ready"),
            lambda: pay(stranger, ticket.pk, minor=1, way="cash"),
        ):
            with pytest.raises(NotHere):
                act()
