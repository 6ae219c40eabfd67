"""The ease rules: which set a studio follows, and the rule for each zone (data/ease_rules.json)."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from fitting.calc.ease import EaseRule
from fitting.queries.paper_zones import paper_zones
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right

TABLE = Path(__file__).resolve().parents[1] / "data" / "ease_rules.json"
DEFAULT_SET = "costume_text"  # the one whose source is a named text
NO_SOURCE = "Common practice, no source"

# From how many percent of stretch on a knit belongs to which class of the rules (common practice, no source).
STRETCH_CLASSES = ((100.0, "very_stretchy"), (50.0, "stretchy"), (25.0, "moderate"), (0.0, "stable"))


@dataclass(frozen=True)
class EaseSet:
    """One author's rules. `rules` counts them; `chosen` marks the set that this studio follows."""

    code: str
    title: str
    author: str
    year: int | None
    status: str
    rules: int
    chosen: bool = False

    @property
    def words(self) -> str:
        return f"{self.title} ({self.author})"


@dataclass(frozen=True)
class FoundRule:
    """The rule for one zone and where it comes from.

    `rule.source` are the words for the plan. `borrowed` tells that the chosen set has no such rule and
    another set's stands in; `any_closeness` that a length's rule, stated for another closeness, was taken.
    """

    zone: str
    rule: EaseRule
    ease_set: str
    set_title: str
    note: str
    borrowed: bool
    any_closeness: bool


@dataclass(frozen=True)
class _Row:
    ease_set: str
    kind: str
    zone: str
    closeness: str
    structure: str
    stretch: str | None
    rule: EaseRule
    note: str


def ease_sets(chosen: str = "") -> list[EaseSet]:
    """Every set, in the order of the table; `chosen` is marked."""
    counts: dict[str, int] = {}
    for row in _rows():
        counts[row.ease_set] = counts.get(row.ease_set, 0) + 1
    return [
        EaseSet(
            code=code,
            title=one["title"],
            author=one["source"]["author"],
            year=one["source"]["year"],
            status=one["source"]["status"],
            rules=counts.get(code, 0),
            chosen=code == chosen,
        )
        for code, one in _sets().items()
    ]


def chosen_set(actor: Actor) -> str:
    """The code of the set that this studio follows; the default where it has chosen none."""
    actor.need(Right.READ_PAPER)
    return known_set(studio_get(actor).ease_set)


def known_set(code: str) -> str:
    """This code, or the default for a blank one; raises ValueError for a set that does not exist."""
    code = code or DEFAULT_SET
    if code not in _sets():
        raise ValueError(f"There is no ease set {code!r}; choose one of {', '.join(_sets())}.")
    return code


def stretch_class(percent: float | None) -> str | None:
    """The class of the knit rules for a stretch in percent; None where no stretch is stated."""
    if percent is None:
        return None
    return next(name for least, name in STRETCH_CLASSES if percent >= least)


def rules_for(
    kind: str,
    closeness: str,
    structure: str,
    ease_set: str = "",
    *,
    stretch_percent: float | None = None,
) -> dict[str, FoundRule]:
    """The rule of each zone for a garment of this kind, closeness and cloth ("woven" or "knit").

    From the wanted set (blank: the default); a zone that it says nothing about is taken from the other sets
    in their order. How far a length may differ hardly depends on closeness, so the tables state it once for
    the fitted garment and it serves every closeness. `stretch_percent` is the stretch that a close knit
    pattern was drawn for. A zone for which no set has a rule is not in the answer. Raises ValueError for an
    unknown set.
    """
    wanted = known_set(ease_set)
    order = [wanted, *(code for code in _sets() if code != wanted)]
    stretch = stretch_class(stretch_percent)
    found: dict[str, FoundRule] = {}
    rows = [row for row in _rows() if row.kind == kind and row.structure == structure]
    for exact in (True, False):
        for code in order:
            for row in rows:
                fits = row.closeness == closeness if exact else _is_length(row.zone)
                if (
                    row.ease_set != code
                    or row.zone in found
                    or not fits
                    or row.stretch not in {None, stretch}
                ):
                    continue
                found[row.zone] = FoundRule(
                    zone=row.zone,
                    rule=row.rule,
                    ease_set=code,
                    set_title=_sets()[code]["title"],
                    note=row.note,
                    borrowed=code != wanted,
                    any_closeness=not exact,
                )
    return found


def _is_length(zone: str) -> bool:
    known = paper_zones().get(zone)
    return known is not None and known.kind == "length"


def _source_words(row: Mapping[str, Any]) -> str:
    source = row["source"]
    words: str = source["author"] if source["year"] is None else f"{source['author']}, {source['year']}"
    if not row["stated"] and source["author"] != NO_SOURCE:
        # The author states it for something else; the plan must not pretend otherwise.
        note = row["note"].rstrip(".")
        words += f"; {note[:1].lower()}{note[1:]}"
    return words


@cache
def _sets() -> dict[str, dict[str, Any]]:
    return {one["code"]: one for one in _table()["sets"]}


@cache
def _rows() -> tuple[_Row, ...]:
    return tuple(
        _Row(
            ease_set=row["set"],
            kind=row["garment"],
            zone=row["zone"],
            closeness=row["closeness"],
            structure=row["cloth"],
            stretch=row["stretch"],
            rule=EaseRule(row["low_mm"], row["target_mm"], row["high_mm"], _source_words(row)),
            note=row["note"],
        )
        for row in _table()["rules"]
    )


@cache
def _table() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(TABLE.read_text(encoding="utf-8"))
    return found
