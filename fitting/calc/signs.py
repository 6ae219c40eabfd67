"""What a sign at a try-on may mean, and which change on the paper usually mends it. The choice is the fitter's.

The table is `fitting/data/signs.json`; this module reasons over it and reads no file. All of it is common practice,
no source, unless a row names one. Amounts are lengths in mm of cloth in all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from fitting.calc import inputs

CHANGE_KINDS = ("width", "length", "detail", "by_hand")
AMOUNTS = ("pinch", "half_pinch", "letting_out", "")
NEEDS = ("wider", "narrower", "longer", "shorter", "regrain")
Nearness = Literal["here", "general"]


@dataclass(frozen=True)
class Sign:
    """Something that can be seen, and the directions that it can have."""

    code: str
    name: str
    how: str
    directions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Change:
    """What is done on the paper. `zone` names the fit plan's zone for widths, lengths and details."""

    code: str
    name: str
    kind: str
    decision: str
    how: str
    zone: str = ""
    edges: int = 0


@dataclass(frozen=True)
class SignRule:
    """At these places a sign most likely has this cause, mended by this change."""

    places: tuple[str, ...]
    seen: str
    cause: str
    change: str
    amount: str = ""
    direction: str = ""
    garments: tuple[str, ...] = ()
    source: str = "common practice, no source"


@dataclass(frozen=True)
class GeneralRule:
    """What a sign means wherever no rule is nearer: a need, met by the change nearest to the place."""

    seen: str
    cause: str
    need: str
    amount: str = ""
    source: str = "common practice, no source"


@dataclass(frozen=True)
class SignTable:
    """The whole table, by code."""

    signs: Mapping[str, Sign]
    directions: Mapping[str, str]
    changes: Mapping[str, Change]
    rules: tuple[SignRule, ...]
    general: Mapping[str, GeneralRule]
    near: Mapping[str, Mapping[str, str]]


@dataclass(frozen=True)
class Meaning:
    """One likely cause, with the usual change and its amount in mm in all (None: it can't be told beforehand)."""

    cause: str
    change: Change
    amount: float | None
    each: float | None
    edges: int
    why: str
    nearness: Nearness
    source: str


def meanings(
    table: SignTable,
    place: str,
    seen: str,
    *,
    direction: str = "",
    garment: str = "",
    amount: float | None = None,
    one_side: bool = False,
) -> list[Meaning]:
    """Likely causes of a sign, the nearest first; never empty for a place and a sign of the table.

    `amount` is the cloth that was pinched, or that had to be let out until the sign was gone, in mm in all; with
    `one_side` it is shared among the edges of one side alone.
    Rules with the very direction and garment come before rules that name none; the general meaning comes last, where
    its change was not named already. Raises ValueError for an unknown place, sign or direction and for an amount
    that is none.
    """
    if place not in table.near:
        raise ValueError(f"{place!r} is not a place on a garment; choose one of {', '.join(table.near)}.")
    sign = table.signs.get(seen)
    if sign is None:
        raise ValueError(f"{seen!r} is not a sign; choose one of {', '.join(table.signs)}.")
    if direction and direction not in sign.directions:
        allowed = ", ".join(sign.directions) or "none: leave it empty"
        raise ValueError(f"{sign.name} has no direction {direction!r}; allowed: {allowed}.")
    if amount is not None:
        amount = inputs.positive("Amount pinched or let", amount)
    fits = [
        rule
        for rule in table.rules
        if rule.seen == seen
        and place in rule.places
        and (not rule.direction or not direction or rule.direction == direction)
        and (not rule.garments or not garment or garment in rule.garments)
    ]
    fits.sort(
        key=lambda rule: (rule.direction != direction, not rule.garments)
    )  # stable: the table's order within
    found = [_meaning(table, rule, amount, one_side) for rule in fits]
    general = table.general[seen]
    usual = table.near[place][general.need]
    if usual not in {meaning.change.code for meaning in found}:
        found.append(_general(table, general, usual, amount, one_side))
    return found


def _meaning(table: SignTable, rule: SignRule, amount: float | None, one_side: bool) -> Meaning:
    change = table.changes[rule.change]
    total = _total(rule.amount, amount)
    where = f", {table.directions[rule.direction]}" if rule.direction else ""
    why = f"{table.signs[rule.seen].name}{where}, at this place: {_lower(rule.cause)}"
    return Meaning(rule.cause, change, total, *_shared(change, total, one_side), why, "here", rule.source)


def _general(table: SignTable, rule: GeneralRule, code: str, amount: float | None, one_side: bool) -> Meaning:
    change = table.changes[code]
    total = _total(rule.amount, amount)
    why = f"In general: {_lower(rule.cause)} Nearest change here: {_lower(change.name)}."
    return Meaning(rule.cause, change, total, *_shared(change, total, one_side), why, "general", rule.source)


def _total(kind: str, amount: float | None) -> float | None:
    if amount is None or not kind:
        return None
    return amount / 2 if kind == "half_pinch" else amount


def _shared(change: Change, total: float | None, one_side: bool) -> tuple[float | None, int]:
    """The amount at each edge, where the change is shared, and over how many edges."""
    edges = change.edges // 2 if one_side and change.edges % 2 == 0 else change.edges
    return (None if total is None or not edges else total / edges), edges


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def check_table(table: SignTable, places: Sequence[str]) -> list[str]:
    """What is wrong with a table, in sentences: every place and sign must lead to a change that exists."""
    wrong = [
        f"No nearest change is given for the place {place}." for place in places if place not in table.near
    ]
    wrong += [
        f"The place {place} is not one of the fit notes' places."
        for place in table.near
        if place not in places
    ]
    for place, needs in table.near.items():
        wrong += [f"{place}: no change is given for {need}." for need in NEEDS if need not in needs]
        wrong += [
            f"{place}: there is no change {code!r}." for code in needs.values() if code not in table.changes
        ]
    wrong += [f"There is no general meaning of {code}." for code in table.signs if code not in table.general]
    for rule in table.rules:
        where = f"{', '.join(rule.places)}, {rule.seen}"
        if rule.change not in table.changes:
            wrong.append(f"{where}: there is no change {rule.change!r}.")
        if rule.seen not in table.signs:
            wrong.append(f"{where}: there is no such sign.")
        elif rule.direction and rule.direction not in table.signs[rule.seen].directions:
            wrong.append(f"{where}: the sign has no direction {rule.direction!r}.")
        if rule.amount not in AMOUNTS:
            wrong.append(f"{where}: {rule.amount!r} is not a way to an amount.")
        wrong += [f"{where}: {place!r} is not a place." for place in rule.places if place not in places]
    for change in table.changes.values():
        if change.kind not in CHANGE_KINDS:
            wrong.append(f"{change.code}: {change.kind!r} is not a kind of change.")
        if bool(change.zone) != (change.kind != "by_hand"):
            wrong.append(f"{change.code}: a zone stands with widths, lengths and details alone.")
    return wrong
