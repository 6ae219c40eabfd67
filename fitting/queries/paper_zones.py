"""What paper is measured at: the table of zones, what each kind of garment needs (data/paper_zones.json)."""

import json
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Literal

TABLE = Path(__file__).resolve().parents[1] / "data" / "paper_zones.json"
ONE_OF = ("bust", "chest")
"""Two lines round the same part of the body: a plan compares the first that body and paper both have."""


@dataclass(frozen=True)
class PaperZone:
    """One measure of a pattern, in mm. `body` are the measures that it must serve, the first that was taken;
    `rule` is the zone whose ease rule and level it shares (its own, except where two measures serve one).
    `side` is "left" or "right" where a plan takes the two apart, `paper` the measure that the paper then has,
    and `plus` two measures of the body whose difference is added."""

    code: str
    name: str
    kind: Literal["width", "length", "detail"]
    body: tuple[str, ...]
    rule: str
    least_mm: float
    most_mm: float
    how: str
    side: str = ""
    paper: str = ""
    plus: tuple[str, ...] = ()

    def served(self, taken: Container[str]) -> str | None:
        """The body measure that this one is held against, or None where none has been taken."""
        return next((code for code in self.body if code in taken), None)


@dataclass(frozen=True)
class GarmentNeeds:
    """What a plan for one kind of garment compares, top to bottom. `needed`: of each group at least one."""

    kind: str
    words: str
    many: str
    needs: str
    zones: tuple[str, ...]
    lengths: tuple[str, ...]
    details: tuple[str, ...]
    needed: tuple[tuple[str, ...], ...]
    joins: Mapping[str, tuple[str, ...]]
    edges: Mapping[str, Mapping[str, int]]

    @property
    def groups(self) -> list[list[str]]:
        """Every measure that may be compared; of those in one list a plan takes the first that it can."""
        found: dict[str, list[str]] = {}
        for code in self.zones + self.lengths + self.details:
            found.setdefault("round the chest" if code in ONE_OF else paper_zones()[code].rule, []).append(
                code
            )
        return list(found.values())


@cache
def paper_zones() -> dict[str, PaperZone]:
    """All zones by code, in the order of the table."""
    return {
        row["code"]: PaperZone(
            code=row["code"],
            name=row["name"],
            kind=row["kind"],
            body=tuple(row["body"]),
            rule=row.get("as", row["code"]),
            least_mm=row["least_mm"],
            most_mm=row["most_mm"],
            how=row["how"],
        )
        for row in _table()["zones"]
    }


@cache
def sided_zones() -> dict[str, PaperZone]:
    """What some measures become where left and right differ, by code."""
    found = {}
    for row in _table()["sided"]:
        whole = paper_zones()[row["paper"]]
        found[row["code"]] = replace(
            whole,
            code=row["code"],
            name=row["name"],
            body=tuple(row["body"]),
            side=row["side"],
            paper=row["paper"],
            plus=tuple(row["plus"]),
        )
    return found


def zone_of(code: str) -> PaperZone:
    """A zone of the paper or one side of it; raises KeyError for a code of neither."""
    return paper_zones()[code] if code in paper_zones() else sided_zones()[code]


def sides_of(code: str) -> list[PaperZone]:
    """The right and the left of a measure that has two; empty for any other."""
    return [zone for zone in sided_zones().values() if zone.paper == code]


@cache
def _garments() -> dict[str, GarmentNeeds]:
    return {
        row["kind"]: GarmentNeeds(
            kind=row["kind"],
            words=row["words"],
            many=row["many"],
            needs=row["needs"],
            zones=tuple(row["zones"]),
            lengths=tuple(row["lengths"]),
            details=tuple(row["details"]),
            needed=tuple(tuple(group) for group in row["needed"]),
            joins={zone: tuple(pieces) for zone, pieces in row["joins"].items()},
            edges=row["edges"],
        )
        for row in _table()["garments"]
    }


def needs_of(kind: str) -> GarmentNeeds:
    """What a garment of this kind needs; raises ValueError for an unknown kind."""
    if kind not in _garments():
        raise ValueError(f"There is no garment kind {kind!r}; choose one of {', '.join(_garments())}.")
    return _garments()[kind]


def zone_name(code: str) -> str:
    """The zone's name as pages say it; a code that the table does not hold is told as words."""
    found = paper_zones().get(code) or sided_zones().get(code)
    return found.name if found else code.replace("_", " ").capitalize()


def lacking(kind: str, measures: frozenset[str]) -> list[str]:
    """What a pattern with these measures lacks for a plan, in words: "hip", "bust or chest"."""
    return [
        " or ".join(zone_name(code).lower() for code in group)
        for group in needs_of(kind).needed
        if not measures.intersection(group)
    ]


def listed(words: Sequence[str]) -> str:
    """Words in a row: "waist", "waist and hip", "bust, waist and hip"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


@cache
def _table() -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = json.loads(TABLE.read_text(encoding="utf-8"))
    return found
