"""Fitting sessions: notes, decisions, the sign-off and the ease that was accepted."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.db.utils import DatabaseError
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fitting.models import AcceptedEase, FitNote, FittingSession, SignOff
from fitting.queries.fittings import session_get, sessions_of
from fitting.queries.planned import read_plan
from fitting.services.fittings import decide, hold_session, note_fit, sign_off
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry
from studio.platform.models.base import new_id
from tests.fitting.garment.conftest import Shop


def test_a_session_is_held_by_whoever_fits(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    assert session.fitted_by_id == shop.instructor.member_id
    with pytest.raises(NotAllowed, match="A clerk may not hold fitting sessions"):
        hold_session(shop.house.clerk, session.garment_id, kind="baste", held_at=timezone.now())


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"kind": "party"}, "kind", "'party' is not a kind of fitting"),
        ({"held_at": datetime(2026, 1, 5, 10, 0)}, "held_at", "needs its time zone"),  # noqa: DTZ001 - what is refused
        ({"held_at": timezone.now() + timedelta(hours=3)}, "held_at", "recorded when it is held"),
    ],
)
def test_a_session_is_refused_in_a_sentence(
    shop: Shop, given: dict[str, object], field: str, words: str
) -> None:
    garment = shop.full_garment()
    with pytest.raises(Refused) as refused:
        hold_session(shop.instructor, garment.pk, **({"kind": "baste", "held_at": timezone.now()} | given))  # type: ignore[arg-type]
    assert words in refused.value.reasons[field]
    assert not FittingSession.objects.exists()


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"place": "moon"}, "place", "'moon' is not a place on a garment"),
        ({"side": "up"}, "side", "left, right or both"),
        ({"seen": "  "}, "seen", "Write what is seen"),
        ({"decision": "burn"}, "decision", "'burn' is not a decision"),
        ({"decision": "take_in"}, "amount", "“Take in” needs an amount"),
        ({"decision": "let_out", "amount_mm": Decimal(0)}, "amount", "more than nothing"),
        ({"decision": "shorten", "amount_mm": Decimal(-5)}, "amount", "more than nothing"),
        ({"decision": "lengthen", "amount_mm": Decimal("NaN")}, "amount", "more than nothing"),
        ({"decision": "lengthen", "amount_mm": Decimal(1500)}, "amount", "check the unit"),
        ({"decision": "leave", "amount_mm": Decimal(5)}, "amount", "takes no amount"),
        ({"decision": "open", "amount_mm": Decimal(5)}, "amount", "takes no amount"),
    ],
)
def test_a_note_is_refused_in_a_sentence(
    shop: Shop, given: dict[str, object], field: str, words: str
) -> None:
    session = shop.baste(shop.full_garment())
    with pytest.raises(Refused) as refused:
        note_fit(shop.instructor, session.pk, **({"place": "waist", "seen": "gapes"} | given))  # type: ignore[arg-type]
    assert words in refused.value.reasons[field]
    assert not FitNote.objects.exists()
    assert not AuditEntry.objects.filter(act="note_fit").exists()


def test_a_decision_supersedes_and_the_earlier_note_stays(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    open_note = note_fit(shop.instructor, session.pk, place="waist", side="left", seen="gapes")
    first = decide(shop.instructor, open_note.pk, decision="take_in", amount_mm=Decimal(10))
    second = decide(
        shop.instructor, first.pk, decision="take_in", amount_mm=Decimal(12), decided="at the back seam"
    )
    view = session_get(shop.instructor, session.pk)
    assert [note.id for note in view.notes] == [second.pk]
    assert {note.id for note in view.earlier} == {open_note.pk, first.pk}
    assert (second.place, second.side, second.seen) == ("waist", "left", "gapes")
    assert view.notes[0].change_words("cm") == "Take in 1.2 cm in all"
    assert view.notes[0].change_words("in") == "Take in 1/2 in in all"
    with pytest.raises(Conflict, match="decided already"):
        decide(shop.instructor, open_note.pk, decision="leave")
    with pytest.raises(Refused, match="says what is done"):
        decide(shop.instructor, second.pk, decision="open")
    assert FitNote.objects.count() == 3


def test_notes_are_kept_as_written_by_the_database(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    note = note_fit(shop.instructor, session.pk, place="waist", seen="gapes")
    for act in (
        lambda: FitNote.objects.filter(pk=note.pk).update(seen="nothing"),
        lambda: FitNote.objects.filter(pk=note.pk).delete(),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            act()
    assert FitNote.objects.get(pk=note.pk).seen == "gapes"


def test_sign_off_is_refused_while_a_note_is_open(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    note = note_fit(shop.instructor, session.pk, place="hip", seen="strain across the back")
    with pytest.raises(Conflict, match=r"1 fit note is not decided yet \(hip: strain across the back\)"):
        sign_off(shop.instructor, session.pk, client_agreed=True)
    assert not SignOff.objects.exists()
    decide(shop.instructor, note.pk, decision="let_out", amount_mm=Decimal(8))
    sign_off(shop.instructor, session.pk, client_agreed=True)
    with pytest.raises(Conflict, match="signed off"):
        sign_off(shop.instructor, session.pk, client_agreed=True)
    with pytest.raises(Conflict, match="belongs to a new one"):
        note_fit(shop.instructor, session.pk, place="hip", seen="more")
    with pytest.raises(Conflict, match="belongs to a new one"):
        decide(shop.instructor, FitNote.objects.order_by("-id").first().pk, decision="leave")


def accepted(session: FittingSession) -> dict[str, Decimal]:
    return dict(AcceptedEase.objects.filter(session=session).values_list("zone", "ease_mm"))


def test_the_accepted_ease_is_the_plans_changed_by_the_fittings(shop: Shop) -> None:
    """Ease = finished - body (common practice, no source): the plan's finished waist is 760 on a body of 742."""
    planned = {zone.zone: zone for zone in read_plan(shop.plan).zones}
    assert (planned["waist"].finished, planned["waist"].body) == (760.0, 742.0)
    garment = shop.full_garment()
    toile = shop.baste(garment, kind="toile", days_ago=5)
    note_fit(
        shop.instructor, toile.pk, place="waist", seen="tight", decision="let_out", amount_mm=Decimal(20)
    )
    sign_off(shop.instructor, toile.pk, client_agreed=True)
    assert accepted(toile)["waist"] == Decimal(38)
    baste = shop.baste(garment)
    note_fit(
        shop.instructor,
        baste.pk,
        place="waist",
        side="left",
        seen="gapes",
        decision="take_in",
        amount_mm=Decimal(12),
    )
    note_fit(
        shop.instructor, baste.pk, place="leg", seen="long", decision="shorten", amount_mm=Decimal("6.35")
    )
    note_fit(shop.instructor, baste.pk, place="hem", seen="uneven", decision="shorten", amount_mm=Decimal(3))
    # A width is not changed by a length's word, nor the other way round.
    note_fit(shop.instructor, baste.pk, place="hip", seen="low", decision="lengthen", amount_mm=Decimal(9))
    sign_off(shop.instructor, baste.pk, client_agreed=True)
    found = accepted(baste)
    assert found["waist"] == Decimal(26)
    assert found["hip"] == Decimal(repr(planned["hip"].finished - planned["hip"].body)).quantize(
        Decimal("0.0001")
    )
    assert found["leg"] == Decimal(repr(planned["leg"].ease_after)).quantize(Decimal("0.0001")) - Decimal(
        "6.35"
    )
    assert set(found) == set(planned)
    row = AcceptedEase.objects.get(session=baste, zone="waist")
    assert (row.rule_low_mm, row.rule_high_mm, row.rule_source) == (10, 30, "Invented rule for tests")
    assert (row.client_id, row.kind) == (shop.client.pk, "trousers")
    assert accepted(toile)["waist"] == Decimal(38)


def test_a_superseded_decision_does_not_count_for_the_ease(shop: Shop) -> None:
    baste = shop.baste(shop.full_garment())
    slip = note_fit(
        shop.instructor, baste.pk, place="waist", seen="gapes", decision="take_in", amount_mm=Decimal(120)
    )
    decide(shop.instructor, slip.pk, decision="take_in", amount_mm=Decimal(12))
    sign_off(shop.instructor, baste.pk, client_agreed=True)
    assert accepted(baste)["waist"] == Decimal(6)


def test_no_ease_is_kept_without_the_clients_word_or_a_plan(shop: Shop) -> None:
    unsure = shop.baste(shop.full_garment())
    sign_off(shop.instructor, unsure.pk, client_agreed=False)
    planless = shop.baste(shop.garment(words="grey trousers"))
    sign_off(shop.instructor, planless.pk, client_agreed=True)
    assert not AcceptedEase.objects.exists()
    assert SignOff.objects.count() == 2


def test_changes_that_leave_nothing_are_refused_and_nothing_is_kept(shop: Shop) -> None:
    baste = shop.baste(shop.full_garment())
    for _ in range(2):
        note_fit(
            shop.instructor, baste.pk, place="waist", seen="huge", decision="take_in", amount_mm=Decimal(400)
        )
    with pytest.raises(Conflict, match="leave nothing of it"), transaction.atomic():
        sign_off(shop.instructor, baste.pk, client_agreed=True)
    assert not SignOff.objects.exists()
    assert not AcceptedEase.objects.exists()


def test_what_is_not_there(shop: Shop) -> None:
    for act in (
        lambda: hold_session(shop.instructor, new_id(), kind="baste", held_at=timezone.now()),
        lambda: note_fit(shop.instructor, new_id(), place="waist", seen="gapes"),
        lambda: decide(shop.instructor, new_id(), decision="leave"),
        lambda: sign_off(shop.instructor, new_id(), client_agreed=True),
        lambda: session_get(shop.instructor, new_id()),
    ):
        with pytest.raises(NotHere):
            act()


def test_clerks_read_no_notes(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    with pytest.raises(NotAllowed, match="A clerk may not read fit notes"):
        session_get(shop.house.clerk, session.pk)


def test_sessions_are_read_in_a_constant_number_of_queries(shop: Shop, django_assert_num_queries) -> None:  # type: ignore[no-untyped-def]
    garment = shop.full_garment()
    note_fit(shop.instructor, shop.baste(garment).pk, place="waist", seen="gapes")
    with CaptureQueriesContext(connection) as one:
        sessions_of([garment.pk])
    for _ in range(9):
        note_fit(shop.instructor, shop.baste(garment).pk, place="waist", seen="gapes")
    with django_assert_num_queries(len(one)):
        assert len(sessions_of([garment.pk])) == 10
