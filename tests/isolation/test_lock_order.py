"""Nobody waits in a circle: rows are locked in one order everywhere, and what could cross is tried by two at once."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import pytest
from django.db import connection, connections, transaction
from django.utils import timezone

from fitting.services import garments, reports
from fitting.services.plans import make_plan
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict
from studio.platform.jobs import run_job
from studio.platform.models import Job
from studio.platform.registries import JOB_KINDS
from studio.queries.client_copy import COPY_JOB
from studio.services.client_copy import ask_copy
from studio.services.clients import change_client
from studio.services.leaving import erase_client
from studio.services.measuring import TypedReading, record_measuring
from tests.access.full_house import furnish
from tests.access.locks import Order
from tests.conftest import real_transactions
from tests.fitting.garment.conftest import Shop, fill

PATIENCE = 30.0  # seconds that a thread may take on a busy machine


def test_every_act_of_a_whole_studio_locks_in_one_order(db: Any) -> None:
    order = Order(by_act=True)  # the whole story is one transaction
    with transaction.atomic(), connection.execute_wrapper(order):
        furnish()
    held_two = {held for held in order.seen if len(held) > 1}
    assert len(held_two) > 10, f"the story locks hardly anything together: {held_two}"
    assert "studio_client" in order.after["fitting_garment"]
    order.need_no_circle()


# --- two at once ---------------------------------------------------------------------------------------------------


@pytest.fixture
def shop(transactional_db: Any) -> Iterator[Shop]:
    from tests.conftest import found_house

    house = found_house("Thimble Row")
    with house.scope():
        made = fill(house)
    yield made
    connections.close_all()


@contextmanager
def at_once(*works: Callable[[], Any]) -> Iterator[list[BaseException]]:
    """Run each in a thread with a connection of its own; gives what they raised."""
    raised: list[BaseException] = []

    def run(work: Callable[[], Any]) -> None:
        try:
            work()
        except BaseException as exc:
            raised.append(exc)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(work,)) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE)
    assert not any(thread.is_alive() for thread in threads), "two acts wait for each other"
    yield raised


@real_transactions
def test_a_copy_that_is_kept_while_its_client_is_erased(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """The erasure waits for the copy, clears the copy's job and takes the copy along; neither fails."""
    house = shop.house
    with house.scope():
        job = ask_copy(house.owner, shop.client.pk)
    kind = JOB_KINDS[COPY_JOB]
    at_it, held = threading.Event(), threading.Event()

    def finish(*given: Any) -> Any:
        at_it.set()
        held.wait(1.5)  # long enough for the erasure to lock what it can
        return kind.finish(*given)

    monkeypatch.setitem(JOB_KINDS, COPY_JOB, replace(kind, finish=finish, work=lambda *_: b"an archive"))

    def erase() -> None:
        assert at_it.wait(PATIENCE)
        with house.scope():
            erase_client(house.owner, shop.client.pk, reason="asked by letter")

    with at_once(lambda: run_job(house.studio_id, job.pk), erase) as raised:
        assert not raised
    with house.scope():
        row = Job.objects.get(pk=job.pk)
        assert (row.state, row.arguments, row.result, row.attempts) == ("done", {}, {}, 1)


@real_transactions
def test_acts_on_one_garment_by_several_at_once_all_end(shop: Shop) -> None:
    """Measuring, planning, changing, reporting and renaming cross each other for one client; each waits its turn."""
    house, me = shop.house, shop.instructor
    with house.scope():
        garment = shop.full_garment()

    def scoped(act: Callable[[], Any]) -> Callable[[], None]:
        def run() -> None:
            for _ in range(4):
                try:
                    with studio_scope(house.studio_id):
                        act()
                except Conflict:
                    pass  # said in a sentence; what is tried here is that it ends

        return run

    acts = [
        lambda: record_measuring(
            me,
            client_id=shop.client.pk,
            measured_at=timezone.now(),
            readings=[TypedReading("waist_girth", "75 cm", 1)],
        ),
        lambda: make_plan(me, client_id=shop.client.pk, pattern_id=shop.pattern.pk, garment_id=garment.pk),
        lambda: garments.change_garment(me, garment.pk, words="teal trousers"),
        lambda: reports.ask_report(me, garment.pk),
        lambda: change_client(me, shop.client.pk, notes="prefers mornings", expected_version=None),
    ]
    with at_once(*map(scoped, acts)) as raised:
        assert not raised
