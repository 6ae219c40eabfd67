"""The studio's own price list and the currency at its counter."""

from typing import Any
from uuid import UUID

from fitting.calc.money import DECIMALS, MOST_MINOR
from fitting.models import Counter, Price
from fitting.queries.garments import kinds
from fitting.queries.prices import job_kinds
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new


def locked_counter() -> Counter:
    """The studio's counter, made on its first use and locked: numbers are given out one at a time."""
    Counter.objects.bulk_create([Counter()], ignore_conflicts=True)
    return Counter.objects.select_for_update(no_key=True, of=("self",)).get()


def choose_currency(actor: Actor, *, currency: str) -> Counter:
    """Say in which currency the studio asks its prices; raises Refused (currency).

    Prices keep their figures, so the list must be looked through; tickets keep the currency they were taken in with.
    """
    actor.need(Right.KEEP_PRICES)
    code = currency.strip().upper()
    if code not in DECIMALS:
        raise Refused(
            {
                "currency": f"{currency[:8]!r} is not a currency in circulation; give the three letters of ISO 4217, "
                "for example EUR."
            }
        )
    counter = locked_counter()
    changed = save_edit(counter, {"currency": code})
    if changed:
        record_act(actor, "choose_currency", counter, before=changed["currency"][0], after=code)
    return counter


def set_price(actor: Actor, *, job: str, minor: int, kind: str = "", words: str = "") -> Price:
    """Put a line on the list, or give the line that is there a new price.

    Raises Refused (currency, job, kind, minor).
    """
    actor.need(Right.KEEP_PRICES)
    counter = locked_counter()
    if not counter.currency:
        raise Refused({"currency": "Choose the studio's currency first; a price without one says nothing."})
    reasons: dict[str, str] = {}
    if job not in job_kinds():
        reasons["job"] = f"{job[:24]!r} is not a job of the table; choose one of {', '.join(job_kinds())}."
    if kind and kind not in dict(kinds()):
        reasons["kind"] = f"{kind[:16]!r} is not a kind of garment."
    reasons |= price_reason("minor", minor)
    if reasons:
        raise Refused(reasons)
    words = " ".join(words.split())
    row = (
        Price.objects.select_for_update(no_key=True, of=("self",))
        .filter(job=job, kind=kind, words__iexact=words)
        .first()
    )
    if row is None:
        row = save_new(Price(job=job, kind=kind, words=words, minor=minor))
        record_act(actor, "set_price", row, job=job, after=minor)
        return row
    changed = save_edit(row, {"minor": minor, "active": True})
    if changed:
        record_act(actor, "set_price", row, job=job, changed=changed)
    return row


def change_price(
    actor: Actor,
    price_id: UUID,
    *,
    expected_version: int | None = None,
    minor: int | None = None,
    active: bool | None = None,
) -> Price:
    """Give a line another price, take it off the list or put it back. Raises NotHere, Stale, Refused (minor)."""
    actor.need(Right.KEEP_PRICES)
    row = lock_for_edit(Price, price_id, expected_version)
    wanted: dict[str, Any] = {}
    if minor is not None:
        reasons = price_reason("minor", minor)
        if reasons:
            raise Refused(reasons)
        wanted["minor"] = minor
    if active is not None:
        wanted["active"] = active
    changed = save_edit(row, wanted)
    if changed:
        record_act(actor, "change_price", row, changed=changed)
    return row


def price_reason(field: str, minor: int) -> dict[str, str]:
    """Why an amount can't be asked, by field; empty where it can."""
    if minor < 0:
        return {field: "A price is 0 or more; 0 means that nothing is asked."}
    if minor > MOST_MINOR:
        return {field: f"A price is at most {MOST_MINOR} of the smallest unit: check the figures."}
    return {}
