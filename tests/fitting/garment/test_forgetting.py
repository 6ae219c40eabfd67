"""Whoever writes about a client locks her first: nothing personal is written after an erasure, or slips past one."""

import threading
from collections.abc import Callable
from dataclasses import replace
from time import monotonic, sleep
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.db import connection, connections
from django.utils import timezone

from fitting.models import CheckpointAnswer, FitNote, FitPlan, FittingSession, IssuedReport, ReportLink
from fitting.queries.garments import bench
from fitting.queries.panels import of_home
from fitting.reports.render import Rendered
from fitting.services.agreement import client_agrees
from fitting.services.fittings import decide, hold_session, note_fit, sign_off
from fitting.services.garments import (
    answer_checkpoint,
    change_garment,
    choose_seam,
    drop_seam,
    hand_over,
    open_garment,
)
from fitting.services.plans import approve_plan, make_plan
from fitting.services.reports import REPORT_JOB, ask_report, make_link
from studio.models import ClientSearch
from studio.platform.errors import Conflict, Refused
from studio.platform.jobs import run_job
from studio.platform.models import Erasure, Job, StoredFile
from studio.platform.registries import JOB_KINDS
from studio.services.clients import erase_client
from tests.conftest import House, real_transactions
from tests.fitting.garment.conftest import Shop, fill

PATIENCE = 20.0  # seconds that a thread may take on a busy machine
PERSONAL = "her left hip stands 2 cm higher"


def erase(shop: Shop) -> None:
    erase_client(shop.house.owner, shop.client.pk, reason="asked by letter")


def test_nothing_more_is_written_about_somebody_erased(shop: Shop) -> None:
    me = shop.instructor
    garment = shop.full_garment()
    session = shop.baste(garment)
    seam = choose_seam(me, garment.pk, place="side seams", version_id=shop.version.pk)
    erase(shop)
    garment.refresh_from_db()
    acts: list[Callable[[], Any]] = [
        lambda: change_garment(
            shop.house.clerk, garment.pk, words="Olia Carvalho's skirt", notes="0555 0142"
        ),
        lambda: change_garment(me, garment.pk, given_up=True, notes="Olia Carvalho"),
        lambda: choose_seam(me, garment.pk, place="Olia's hem", version_id=shop.version.pk),
        lambda: drop_seam(me, garment.pk, seam.pk),
        lambda: answer_checkpoint(
            me, garment.pk, checkpoint="body_measured", answer="passed_by", reason=PERSONAL
        ),
        lambda: hand_over(me, garment.pk),
        lambda: hold_session(me, garment.pk, kind="baste", held_at=timezone.now(), worn=PERSONAL),
        lambda: note_fit(me, session.pk, place="waist", seen=PERSONAL),
        lambda: sign_off(me, session.pk, client_agreed=True, note=PERSONAL),
        lambda: client_agrees(me, session.pk, name="Olia Carvalho"),
        lambda: ask_report(me, garment.pk),
    ]
    for act in acts:
        with pytest.raises(Conflict, match="This client was erased"):
            act()
    for refused in (
        lambda: open_garment(me, client_id=shop.client.pk, kind="skirt", words="Olia's skirt"),
        lambda: make_plan(me, client_id=shop.client.pk, pattern_id=shop.pattern.pk),
    ):
        with pytest.raises(Refused) as told:
            refused()
        assert set(told.value.reasons) == {"client"}
    assert garment.words == "Erased"
    assert not FitNote.objects.exists()
    assert not FitPlan.objects.exists()
    assert not ClientSearch.objects.exists()
    assert not CheckpointAnswer.objects.exists()
    assert list(FittingSession.objects.values_list("worn", flat=True)) == [""]


def test_a_garment_of_somebody_erased_waits_for_nobody(shop: Shop) -> None:
    shop.baste(shop.full_garment())
    assert bench(shop.instructor).count == 1
    assert len(of_home(shop.instructor, shop.house.studio_id)["fittings"]) == 1
    erase(shop)
    assert bench(shop.instructor).count == 0
    assert of_home(shop.instructor, shop.house.studio_id)["fittings"] == []


def test_an_emptied_job_that_is_tried_again_fails_in_a_sentence(shop: Shop) -> None:
    from fitting.jobs import prepare_report
    from studio.platform.errors import JobFailed

    report = ask_report(shop.instructor, shop.full_garment().pk)
    erase(shop)
    job = Job.objects.get(pk=report.job_id)
    assert job.arguments == {}
    with pytest.raises(JobFailed, match="its client was erased on request"):
        prepare_report(job.arguments)


# --- two at once: each thread has its own connection and transaction ------------------------------------------------


class Race:
    """One writes and keeps its transaction open; the other erases meanwhile, and only then the first one commits."""

    def __init__(self, shop: Shop) -> None:
        self.shop, self.house = shop, shop.house
        self.written, self.may_commit = threading.Event(), threading.Event()
        self.writer_error: BaseException | None = None
        self.eraser_error: BaseException | None = None
        self.eraser_pid = 0

    def run(self, write: Callable[[], Any]) -> None:
        first = threading.Thread(target=self._write, args=(write,))
        second = threading.Thread(target=self._erase)
        first.start()
        try:
            assert self.written.wait(PATIENCE), "the writer did not come so far"
            assert self.writer_error is None, self.writer_error
            second.start()
            self._wait_until_it_waits()
        finally:
            self.may_commit.set()
            first.join(PATIENCE)
            if second.ident:
                second.join(PATIENCE)
        assert self.writer_error is None, self.writer_error
        assert self.eraser_error is None, self.eraser_error

    def hold(self) -> None:
        """Called by the writer when it has written."""
        self.written.set()
        self.may_commit.wait(PATIENCE)

    def _write(self, write: Callable[[], Any]) -> None:
        try:
            write()
            assert self.written.is_set(), "the writer ended before it had written"
        except BaseException as exc:
            self.writer_error = exc
        finally:
            self.written.set()
            connections.close_all()

    def _erase(self) -> None:
        try:
            with self.house.scope():
                with connection.cursor() as cursor:
                    cursor.execute("select pg_backend_pid()")
                    self.eraser_pid = cursor.fetchone()[0]
                erase(self.shop)
        except BaseException as exc:
            self.eraser_error = exc
        finally:
            connections.close_all()

    def _wait_until_it_waits(self) -> None:
        """Until the eraser stands at a lock, so that the two truly meet."""
        until = monotonic() + PATIENCE
        while monotonic() < until and self.eraser_error is None:
            if self.eraser_pid:
                with connection.cursor() as cursor:
                    cursor.execute("select cardinality(pg_blocking_pids(%s)) > 0", [self.eraser_pid])
                    if cursor.fetchone()[0]:
                        return
            sleep(0.02)
        raise AssertionError(f"the erasure did not wait for the writer ({self.eraser_error})")


def in_scope(race: Race, act: Callable[[], Any]) -> Callable[[], None]:
    def write() -> None:
        with race.house.scope():
            act()
            race.hold()

    return write


@real_transactions
def test_an_erasure_waits_for_a_fit_note_and_takes_it_along(house: House) -> None:
    with house.scope():
        shop = fill(house)
        session = shop.baste(shop.full_garment())
        note = note_fit(house.instructor, session.pk, place="hip", seen=PERSONAL)
    race = Race(shop)

    def write() -> None:
        note_fit(house.instructor, session.pk, place="waist", seen=PERSONAL)
        decide(house.instructor, note.pk, decision="leave", decided=PERSONAL)

    race.run(in_scope(race, write))
    with house.scope():
        assert Erasure.objects.count() == 1
        assert not FitNote.objects.exists()


@pytest.mark.parametrize("earlier_plan", [True, False])
@real_transactions
def test_an_erasure_waits_for_a_plan_and_takes_it_along(house: House, earlier_plan: bool) -> None:
    with house.scope():
        shop = fill(house)
        if not earlier_plan:
            FitPlan.objects.all().delete()
    race = Race(shop)

    def write() -> None:
        plan = make_plan(house.instructor, client_id=shop.client.pk, pattern_id=shop.pattern.pk)
        approve_plan(house.instructor, plan.pk)

    race.run(in_scope(race, write))
    with house.scope():
        assert Erasure.objects.count() == 1
        assert not FitPlan.objects.exists()


@real_transactions
def test_an_erasure_waits_for_a_link_and_takes_it_along(house: House) -> None:
    with house.scope():
        shop = fill(house)
        report = ask_report(house.instructor, shop.full_garment().pk)
    race = Race(shop)
    race.run(in_scope(race, lambda: make_link(house.clerk, report.pk)))
    with house.scope():
        assert not ReportLink.objects.exists()


@real_transactions
def test_an_erasure_waits_for_a_worker_and_takes_its_pdf_along(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    with house.scope():
        shop = fill(house)
        report = ask_report(house.instructor, shop.full_garment().pk)
    race = Race(shop)
    kind = JOB_KINDS[REPORT_JOB]
    keys: list[str] = []
    states: list[str] = []

    def finish(arguments: Any, prepared: Any, output: Any) -> Any:
        result = kind.finish(arguments, prepared, output)
        keys.append(StoredFile.objects.get().key)
        race.hold()
        return result

    made = Rendered(b"%PDF-1.7 74.2 cm", 1, {"renderer": "none"})
    monkeypatch.setitem(JOB_KINDS, REPORT_JOB, replace(kind, work=lambda *_: made, finish=finish))
    race.run(lambda: states.append(run_job(house.studio_id, report.job_id)))
    assert states == ["done"]
    assert len(keys) == 1
    assert not default_storage.exists(keys[0])
    with house.scope():
        assert not IssuedReport.objects.exists()
        assert not StoredFile.objects.exists()
        job = Job.objects.get(pk=report.job_id)
        assert (job.state, job.arguments, job.result) == ("done", {}, {})
