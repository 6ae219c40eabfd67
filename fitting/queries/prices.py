"""The table of what is done at the counter, and the studio's own prices for it."""

import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from fitting.calc.money import format_money, plain_money
from fitting.models import Counter, Price
from fitting.queries.garments import kinds
from studio.platform.rights import Actor, Right

TABLE = Path(__file__).resolve().parents[1] / "data" / "jobs.json"


@dataclass(frozen=True)
class Room:
    """What must be measured inside: ``words``, the least to leave in mm, and (edges, words) to choose from."""

    words: str
    keep_mm: float
    edges: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class JobKind:
    """One kind of job, as data/jobs.json tells it."""

    code: str
    name: str
    amount: str
    needs_amount: bool
    room: Room | None
    steps: tuple[str, ...]
    features: tuple[str, ...]
    materials: tuple[str, ...]
    look: str


@dataclass(frozen=True)
class PriceLine:
    """One line of the list in words; ``minor`` in the currency's smallest unit."""

    price: Price
    job: JobKind
    kind_words: str
    text: str
    typed: str

    @property
    def words(self) -> str:
        parts = [self.job.name, self.kind_words.lower(), self.price.words]
        return ", ".join(part for part in parts if part)


@lru_cache(maxsize=1)
def job_kinds() -> dict[str, JobKind]:
    """Every kind of job by its code, in the table's order."""
    rows: list[dict[str, Any]] = json.loads(TABLE.read_text(encoding="utf-8"))["jobs"]
    return {row["code"]: _kind(row) for row in rows}


def job_name(code: str) -> str:
    """A job in words; a code that the table lost stays as it is."""
    found = job_kinds().get(code)
    return found.name if found else code


def counter_of(actor: Actor) -> Counter:
    """The studio's counter; an unsaved one, without a currency, where nobody has chosen yet."""
    actor.need(Right.KEEP_GARMENTS)
    return Counter.objects.first() or Counter()


def price_lines(actor: Actor, *, active: bool | None = None) -> list[PriceLine]:
    """The price list in the table's order; one query beside the counter's."""
    currency = counter_of(actor).currency
    if not currency:
        return []
    rows = Price.objects.all() if active is None else Price.objects.filter(active=active)
    order = {code: place for place, code in enumerate(job_kinds())}
    names = dict(kinds())
    return [
        PriceLine(
            row,
            job_kinds()[row.job],
            names.get(row.kind, ""),
            format_money(row.minor, currency),
            plain_money(row.minor, currency),
        )
        for row in sorted(
            (row for row in rows if row.job in order), key=lambda row: (order[row.job], row.kind, row.words)
        )
    ]


def usual_price(lines: list[PriceLine], job: str, kind: str) -> PriceLine | None:
    """The line that is meant where only job and kind of garment are known: the most particular, if it is one."""
    active = [line for line in lines if line.price.active and line.price.job == job]
    for wanted in (kind, ""):
        fitting = [line for line in active if line.price.kind == wanted]
        if fitting:
            return fitting[0] if len(fitting) == 1 else None
    return None


def _kind(row: dict[str, Any]) -> JobKind:
    room = row["room"]
    return JobKind(
        code=row["code"],
        name=row["name"],
        amount=row["amount"] or "",
        needs_amount=row["needs_amount"],
        room=Room(room["words"], float(room["keep_mm"]), tuple((int(n), text) for n, text in room["edges"]))
        if room
        else None,
        steps=tuple(row["steps"]),
        features=tuple(row["features"]),
        materials=tuple(row.get("materials", ())),
        look=row["look"],
    )
