"""What is told of a cloth to whoever will wear and wash it: its fibres, its wash test, the usual care."""

import json
from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from fitting.reports.snapshot import CareFact
from fitting.reports.voice import Voice, capital
from seamlab.models import Cloth, ClothTest
from seamlab.queries.cloth import newest_tests
from seamlab.queries.tables import fibre_named, fibres
from studio.platform.rights import Actor

TABLE = Path(__file__).resolve().parents[1] / "data" / "care.json"
SMALLEST_PERCENT = Decimal("0.5")  # a tape on half a metre of cloth tells no less; common practice, no source


@lru_cache(maxsize=1)
def care_table() -> tuple[dict[str, Any], ...]:
    return tuple(json.loads(TABLE.read_text(encoding="utf-8"))["care"])


def care_of(
    actor: Actor, cloths: Iterable[Cloth], voice: Voice, *, washed: Iterable[Any] = ()
) -> tuple[CareFact, ...]:
    """What to know of each cloth, given with its tests; ``washed`` are the ids of those cut after a wash."""
    cut_washed = set(washed)
    return tuple(_care(actor, cloth, voice, washed=cloth.pk in cut_washed) for cloth in cloths)


def usual_care(cloth: Cloth) -> list[str]:
    """The sentences of the table that hold for this cloth, in English."""
    named = {fibre_named(part["fibre"]) or part["fibre"] for part in cloth.fibres}
    known: dict[str, set[str]] = {
        "structure": {cloth.structure},
        "direction": {cloth.direction},
        "fibre": named,
        "fibre_kind": {fibre.kind for fibre in fibres() if fibre.name in named},
    }
    return [
        row["text"]
        for row in care_table()
        if all(value in known.get(key, ()) for key, value in row["when"].items())
    ]


def _care(actor: Actor, cloth: Cloth, voice: Voice, *, washed: bool) -> CareFact:
    found = []
    if cloth.fibres:
        found.append(voice("Made of {fibres}.", fibres=_fibres(cloth, voice)))
    tests = newest_tests(cloth)
    ways = (
        (voice("in its length"), tests.wash_lengthwise),
        (voice("in its width"), tests.wash_crosswise),
    )
    told = [_wash(test, way, voice) for way, test in ways if test is not None]
    days = [test.tested_at for _, test in ways if test is not None]
    if told:
        found.append(
            voice(
                "In our wash test of {day} it came out {changes}.",
                day=voice.day(max(days).astimezone(actor.zone)),
                changes=voice.listed(told),
            )
        )
    if washed:
        found.append(voice("It was washed before it was cut, so that this lies behind it."))
    if cloth.care:
        found.append(voice("Noted with the cloth: {care}.", care=cloth.care.rstrip(". ")))
    found += [voice(text, "care") for text in usual_care(cloth)]
    return CareFact(capital(cloth.name), tuple(found))


def _fibres(cloth: Cloth, voice: Voice) -> str:
    """ "80 % wool and 20 % polyamide", most first."""
    parts = sorted(cloth.fibres, key=lambda part: -Decimal(str(part["percent"])))
    return voice.listed(
        [
            f"{voice.percent(Decimal(str(part['percent'])).normalize())} "
            f"{voice.name(fibre_named(part['fibre']) or part['fibre'], 'fibre')}"
            for part in parts
        ]
    )


def _wash(test: ClothTest, way: str, voice: Voice) -> str:
    if abs(test.percent) < SMALLEST_PERCENT:
        return voice("unchanged {way}", way=way)
    amount = voice.percent(abs(test.percent), 1)
    if test.percent < 0:
        return voice("{percent} smaller {way}", percent=amount, way=way)
    return voice("{percent} larger {way}", percent=amount, way=way)
