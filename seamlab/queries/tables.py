"""The wing's printed tables, read once: stitch types, seam classes, kinds of cloth, generic names of fibres."""

import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).resolve().parents[1] / "data"

# Stitches that lie in one line: a width has no meaning. Blind stitches (103) swing, but few machines say by
# how much.
STRAIGHT = frozenset({"101", "202", "209", "301", "401"})
WIDTH_AS_IT_COMES = frozenset({"103"})


@dataclass(frozen=True)
class StitchType:
    """A row of the ISO 4915 table. ``thread_ratio``: thread per seam length, an estimate (None: unknown)."""

    code: str
    name: str
    stitch_class: str
    class_name: str
    threads: int
    thread_ratio: float | None
    ratio_source: str
    note: str
    split_percent: dict[str, float] | None = None  # how the thread divides: {"needle": 25, "looper": 75}

    @property
    def words(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def by_hand(self) -> bool:
        return self.stitch_class == "200"

    @property
    def is_straight(self) -> bool:
        return self.code in STRAIGHT

    @property
    def needs_width(self) -> bool:
        return self.code not in STRAIGHT | WIDTH_AS_IT_COMES


@dataclass(frozen=True)
class Fibre:
    """A generic name, and the other names under which it is looked for."""

    name: str
    kind: str
    also: tuple[str, ...]


@dataclass(frozen=True)
class ClothKind:
    """A kind of cloth by which recipes say what they were written for. ``hint``: common practice, no source."""

    key: str
    name: str
    structure: str
    hint: str


def _read(name: str) -> Any:
    return json.loads((DATA / name).read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def stitch_types() -> dict[str, StitchType]:
    """Stitch types by their ISO 4915 number, in its order."""
    table = _read("stitches.json")
    classes = {row["code"]: row["name"] for row in table["stitch_classes"]}
    return {
        row["code"]: StitchType(
            code=row["code"],
            name=row["name"],
            stitch_class=row["stitch_class"],
            class_name=classes[row["stitch_class"]],
            threads=row["threads"],
            thread_ratio=row["thread_ratio"],
            ratio_source=row["ratio_source"] or "",
            note=row.get("note", ""),
            split_percent=row["split_percent"],
        )
        for row in table["stitch_types"]
    }


@lru_cache(maxsize=1)
def seam_classes() -> dict[str, str]:
    """Names of the ISO 4916 seam classes by number ("1" to "8")."""
    return {str(row["code"]): row["name"] for row in _read("stitches.json")["seam_classes"]}


@lru_cache(maxsize=1)
def cloth_kinds() -> dict[str, ClothKind]:
    """Kinds of cloth by their key, such as "single_jersey"."""
    return {row["key"]: ClothKind(**row) for row in _read("cloth_kinds.json")["kinds"]}


@lru_cache(maxsize=1)
def fibres() -> tuple[Fibre, ...]:
    return tuple(
        Fibre(row["name"], row["kind"], tuple(row["also"])) for row in _read("fibres.json")["fibres"]
    )


@lru_cache(maxsize=1)
def _fibre_words() -> dict[str, str]:
    return {word.lower(): row.name for row in fibres() for word in (row.name, *row.also)}


def fibre_named(word: str) -> str | None:
    """The generic name that ``word`` means ("linen" is flax), or None."""
    return _fibre_words().get(" ".join(word.split()).lower())
