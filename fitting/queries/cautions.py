"""The usual cautions, picked from the table by what is being done. They inform; local rules decide."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

TABLE = Path(__file__).resolve().parents[1] / "data" / "cautions.json"
# What a child's garment may have is not asked in detail: all that could matter is said.
CHILD_FEATURES = ("cord", "small_part", "nightwear", "fastener")


@dataclass(frozen=True)
class Caution:
    """One caution: a few words, the text, and where to look for the rule that is in force."""

    code: str
    title: str
    text: str
    refer: tuple[str, ...]


@lru_cache(maxsize=1)
def _table() -> tuple[dict[str, Any], ...]:
    return tuple(json.loads(TABLE.read_text(encoding="utf-8"))["cautions"])


def cautions_for(**facts: Iterable[str]) -> list[Caution]:
    """The cautions all of whose conditions hold: ``cautions_for(step=["cutting"])``. In the table's order."""
    known = {key: frozenset(values) for key, values in facts.items()}
    return [
        Caution(row["code"], row["title"], row["text"], tuple(row["refer"]))
        for row in _table()
        if all(value in known.get(key, ()) for key, value in row["when"].items())
    ]


def cautions_of_garment(*, for_child: bool, materials: Iterable[str] = ()) -> list[Caution]:
    """What whoever wears or washes the garment should know: a child's garment, elastic, adhesive."""
    child = {"garment": ["child"], "feature": CHILD_FEATURES} if for_child else {}
    return cautions_for(material=list(materials), **child)
