"""The client's own word on a fitting: a typed name under what was read, frozen, once, and forgotten on request."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from django.db.utils import DatabaseError
from django.utils import timezone

from fitting.models import AcceptedEase, ClientAgreement, FittingSession
from fitting.queries.fittings import session_get
from fitting.queries.panels import export_of
from fitting.services.agreement import client_agrees
from fitting.services.fittings import note_fit, sign_off
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry
from studio.platform.models.base import new_id
from studio.services.clients import erase_client
from tests.fitting.garment.conftest import Shop


def signed(shop: Shop, *, agreed: bool = False) -> FittingSession:
    session: FittingSession = shop.baste(shop.full_garment())
    note_fit(
        shop.instructor, session.pk, place="waist", seen="the band stands away", decision="take_in",
        amount_mm=Decimal(12), decided="at the back seam",
    )  # fmt: skip
    sign_off(shop.instructor, session.pk, client_agreed=agreed)
    return session


def test_what_was_read_is_frozen_under_the_name(shop: Shop) -> None:
    session = signed(shop, agreed=True)
    before = AcceptedEase.objects.count()
    client_agrees(shop.instructor, session.pk, name="  Olia   Carvalho ")
    kept = session_get(shop.instructor, session.pk).agreement
    assert kept is not None
    assert (kept.name, kept.by_guardian, kept.witness_id) == (
        "Olia Carvalho", False, shop.instructor.member_id
    )  # fmt: skip
    assert kept.agreed["points"] == [
        {
            "where": "Waist",
            "seen": "the band stands away",
            "done": "Take in 1.2 cm in all",
            "decided": "at the back seam",
        }
    ]
    assert kept.agreed["garment"] == "teal trousers"
    assert AcceptedEase.objects.count() == before  # kept at the sign-off already
    assert AuditEntry.objects.filter(act="client_agrees").count() == 1


def test_the_ease_is_kept_where_the_fitter_had_not_recorded_her_word(shop: Shop) -> None:
    session = signed(shop)
    assert not AcceptedEase.objects.exists()
    client_agrees(shop.instructor, session.pk, name="Olia Carvalho")
    assert AcceptedEase.objects.get(session=session, zone="waist").ease_mm == Decimal(6)


def test_it_is_given_once_to_the_newest_signed_off_fitting(shop: Shop) -> None:
    garment = shop.full_garment()
    session = shop.baste(garment, days_ago=3)
    with pytest.raises(Conflict, match="Sign the fitting off first"):
        client_agrees(shop.instructor, session.pk, name="Olia")
    sign_off(shop.instructor, session.pk, client_agreed=False)
    later = shop.baste(garment)
    with pytest.raises(Conflict, match="A later fitting was held"):
        client_agrees(shop.instructor, session.pk, name="Olia")
    sign_off(shop.instructor, later.pk, client_agreed=False)
    client_agrees(shop.instructor, later.pk, name="Olia")
    with pytest.raises(Conflict, match="agreed to this fitting already"):
        client_agrees(shop.instructor, later.pk, name="Olia")
    assert ClientAgreement.objects.count() == 1


def test_it_is_refused_in_a_sentence(shop: Shop) -> None:
    session = signed(shop)
    with pytest.raises(Refused) as refused:
        client_agrees(shop.instructor, session.pk, name="   ")
    assert refused.value.reasons == {"name": "Whoever agrees types the name."}
    with pytest.raises(Refused) as long:
        client_agrees(shop.instructor, session.pk, name="x" * 121)
    assert "120" in long.value.reasons["name"]
    with pytest.raises(NotHere):
        client_agrees(shop.instructor, new_id(), name="Olia")
    with pytest.raises(NotAllowed, match="A clerk may not"):
        client_agrees(shop.house.clerk, session.pk, name="Olia")
    assert not ClientAgreement.objects.exists()
    assert not AcceptedEase.objects.exists()


def test_for_a_minor_the_guardian_agrees(shop: Shop) -> None:
    session = signed(shop)
    shop.client.born = timezone.localdate() - timedelta(days=365 * 12)
    shop.client.guardian_name = "Maren"
    shop.client.save()
    with pytest.raises(Refused) as refused:
        client_agrees(shop.instructor, session.pk, name="Olia Carvalho")
    assert "is under 18: a guardian agrees" in refused.value.reasons["by_guardian"]
    assert client_agrees(shop.instructor, session.pk, name="Maren", by_guardian=True).by_guardian


def test_the_database_keeps_it_and_an_erasure_forgets_it(shop: Shop) -> None:
    session = signed(shop)
    made = client_agrees(shop.instructor, session.pk, name="Olia Carvalho")
    for act in (
        lambda: ClientAgreement.objects.filter(pk=made.pk).update(name="somebody"),
        lambda: ClientAgreement.objects.filter(pk=made.pk).delete(),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            act()
    exported = export_of(shop.house.owner, shop.client.pk)["garments"][0]["sessions"][0]
    assert exported["client_agreement"]["name"] == "Olia Carvalho"
    erase_client(shop.house.owner, shop.client.pk, reason="asked by letter")
    assert not ClientAgreement.objects.exists()
    with pytest.raises(Conflict, match="This client was erased"):
        client_agrees(shop.instructor, session.pk, name="Olia Carvalho")


def test_the_pages_hand_the_tablet_over_and_back(closed_shop: Shop, page: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        session = signed(shop)
    browser = page(shop.instructor)
    assert "Let the client agree" in browser.get(f"/fittings/{session.pk}/").content.decode()
    asked = browser.get(f"/fittings/{session.pk}/agree/").content.decode()
    assert "take in 1.2 cm in all" in asked
    assert 'class="nav"' not in asked  # whoever holds the tablet now sees no menu
    lacks = browser.post(f"/fittings/{session.pk}/agree/", {"name": ""})
    assert lacks.status_code == 400
    kept = browser.post(f"/fittings/{session.pk}/agree/", {"name": "オリア"}, follow=True).content.decode()
    assert "オリア" in kept
    assert "in the presence of" in kept
    assert "client agrees" in browser.get(f"/garments/{session.garment_id}/").content.decode()
    assert "What was agreed" in browser.get(f"/fittings/{session.pk}/").content.decode()
    again = browser.post(f"/fittings/{session.pk}/agree/", {"name": "Olia"})
    assert again.status_code == 400
    assert "agreed to this fitting already" in again.content.decode()


def test_the_api_keeps_it(closed_shop: Shop, api: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        session = signed(shop)
    made = api(shop.instructor).post(
        f"/api/v1/fitting-sessions/{session.pk}/agreement/", {"name": "Olia Carvalho"}, format="json"
    )
    assert made.status_code == 201, made.json()
    told = made.json()["agreement"]
    assert (told["name"], told["agreed"]["kind"]) == ("Olia Carvalho", "Basted")
    assert api(shop.house.clerk).post(
        f"/api/v1/fitting-sessions/{session.pk}/agreement/", {"name": "x"}, format="json"
    ).status_code == 403  # fmt: skip
