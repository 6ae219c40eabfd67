"""The ease rules: which set a studio follows, and the rule for each zone.

The sourced sets stand in data/ease_rules.json; a studio's own are rows, known by their id. What the followed set does
not say is taken from the others in their order.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from fitting.calc.ease import EaseRule
from fitting.models import OwnEaseRule, OwnEaseSet
from fitting.queries.paper_zones import paper_zones
from studio.platform.errors import NotHere
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
    own: bool = False

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
class RuleRow:
    """One rule of a set; ``stretch`` is a class of knit, None for any; ``key`` names a rule of a studio's own."""

    ease_set: str
    kind: str
    zone: str
    closeness: str
    structure: str
    stretch: str | None
    rule: EaseRule
    note: str
    key: UUID | None = None


@dataclass(frozen=True)
class FollowedSet:
    """The set that a plan follows, with the rules of a studio's own (none for a sourced set)."""

    code: str
    words: str
    follows: str = ""
    own: tuple[RuleRow, ...] = ()


OUR_OWN = "this studio"


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


def all_ease_sets(actor: Actor) -> list[EaseSet]:
    """The sourced sets and the studio's own, the followed one marked. Two queries."""
    actor.need(Right.READ_PAPER)
    chosen = studio_get(actor).ease_set or DEFAULT_SET
    return [*ease_sets(chosen), *(_own_set(row, chosen) for row in own_sets())]


def own_sets() -> "QuerySet[OwnEaseSet]":
    """The studio's own sets with their rules, by title. Two queries."""
    rows: QuerySet[OwnEaseSet] = OwnEaseSet.objects.prefetch_related(
        Prefetch("rules", OwnEaseRule.objects.order_by("kind", "zone", "structure", "closeness", "stretch"))
    ).order_by("title")
    return rows


def _own_set(row: OwnEaseSet, chosen: str) -> EaseSet:
    return EaseSet(
        code=str(row.pk),
        title=row.title,
        author=OUR_OWN,
        year=None,
        status=row.notes,
        rules=len(row.rules.all()),
        chosen=str(row.pk) == chosen,
        own=True,
    )


def chosen_set(actor: Actor) -> str:
    """The code of the set that this studio follows; the default where it has chosen none."""
    actor.need(Right.READ_PAPER)
    return studio_get(actor).ease_set or DEFAULT_SET


def set_followed(actor: Actor, code: str) -> FollowedSet:
    """The set of this code (blank: the studio's own choice) with what it says; raises ValueError for an unknown one.

    At most three queries.
    """
    code = code or chosen_set(actor)
    if code in _sets():
        return FollowedSet(code, next(one.words for one in ease_sets() if one.code == code))
    row = _own_row(code)
    if row is None:
        raise ValueError(
            f"There is no ease set {code[:64]!r}; choose one of {', '.join(_sets())}, or one of your own."
        )
    return FollowedSet(code, f"{row.title} ({OUR_OWN})", row.follows or DEFAULT_SET, _own_rules(row))


def set_rules(actor: Actor, code: str) -> tuple[EaseSet, tuple[RuleRow, ...], OwnEaseSet | None]:
    """One set with its rules in their order, and its row where it is the studio's own; raises NotHere."""
    actor.need(Right.READ_PAPER)
    chosen = chosen_set(actor)
    if code in _sets():
        rows = tuple(row for row in _rows() if row.ease_set == code)
        return next(one for one in ease_sets(chosen) if one.code == code), rows, None
    own = _own_row(code)
    if own is None:
        raise NotHere("ease set")
    return _own_set(own, chosen), _own_rules(own), own


def _own_row(code: str) -> OwnEaseSet | None:
    try:
        found: OwnEaseSet | None = own_sets().filter(pk=UUID(code)).first()
    except ValueError:
        return None
    return found


def _own_rules(row: OwnEaseSet) -> tuple[RuleRow, ...]:
    return tuple(
        RuleRow(
            ease_set=str(row.pk),
            kind=one.kind,
            zone=one.zone,
            closeness=one.closeness,
            structure=one.structure,
            stretch=one.stretch or None,
            rule=EaseRule(float(one.low_mm), float(one.target_mm), float(one.high_mm), one.source),
            note=one.note,
            key=one.pk,
        )
        for one in row.rules.all()
    )


def known_set(code: str) -> str:
    """This code, or the default for a blank one; raises ValueError for a sourced set that does not exist."""
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
    followed: FollowedSet | None = None,
) -> dict[str, FoundRule]:
    """The rule of each zone for a garment of this kind, closeness and cloth ("woven" or "knit").

    From the wanted set (blank: the default); a zone that it says nothing about is taken from the other sets
    in their order. How far a length may differ hardly depends on closeness, so the tables state it once for
    the fitted garment and it serves every closeness. `stretch_percent` is the stretch that a close knit
    pattern was drawn for. `followed` is a set with a studio's own rules, in place of `ease_set`. A zone for
    which no set has a rule is not in the answer. Raises ValueError for an unknown set.
    """
    own: Sequence[RuleRow] = followed.own if followed else ()
    wanted = followed.code if followed else known_set(ease_set)
    first = list(dict.fromkeys([wanted, followed.follows or wanted])) if followed else [wanted]
    order = [*first, *(code for code in _sets() if code not in first)]
    titles = {code: one["title"] for code, one in _sets().items()} | (
        {followed.code: followed.words} if followed else {}
    )
    stretch = stretch_class(stretch_percent)
    found: dict[str, FoundRule] = {}
    rows = [row for row in (*own, *_rows()) if row.kind == kind and row.structure == structure]
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
                    set_title=titles[code],
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
def _rows() -> tuple[RuleRow, ...]:
    return tuple(
        RuleRow(
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
