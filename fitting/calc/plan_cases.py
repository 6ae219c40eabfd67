"""What the plan needs to know of each measure before it is altered, and the checks of what was asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fitting.calc import inputs
from fitting.calc.ease import EaseRule
from fitting.calc.plan_parts import Bust, Detail, Kind, Length
from fitting.calc.sizing import SizeRow

FOUR_PANELS: Mapping[str, int] = {"front": 2, "back": 2}
"""A symmetrical four-panel garment: two side seams, two edges each."""
HALF_FRONTS: Mapping[str, int] = {"front": 2}
ONE_EDGE: Mapping[str, int] = {"edge": 1}
EVERY_PIECE: Mapping[str, int] = {"every piece that the line crosses": 1}


@dataclass(frozen=True)
class Case:
    """Everything that one measure of the plan needs before it is altered."""

    code: str
    kind: Kind
    size: SizeRow
    body: float
    paper: float
    rule: EaseRule
    error: float
    pieces: Mapping[str, int]
    reading: str
    length: Length | None
    is_bust: bool

    @property
    def edges(self) -> int:
        return sum(self.pieces.values())


def check_codes(
    zones: Sequence[str],
    lengths: Sequence[Length],
    details: Sequence[Detail],
    named: Mapping[str, Mapping[str, object] | None],
    bust: Bust | None,
) -> list[str]:
    """Return all codes of the plan, or raise ValueError for one that is named twice, unknown or out of order."""
    codes = [length.code for length in lengths] + list(zones) + [detail.code for detail in details]
    for code in codes:
        if codes.count(code) > 1:
            raise ValueError(
                f"{code} is named more than once in this plan; each zone, length or detail once."
            )
    for what, mapping in named.items():
        for code in mapping or {}:
            if code not in codes:
                raise ValueError(f"{what} are given for {code}, which is not in this plan; it has {codes}.")
    if bust is not None and bust.zone not in zones:
        raise ValueError(f"Sizing by the high bust needs the zone {bust.zone}, which is not in this plan.")
    seen: set[str] = set()
    for length in lengths:
        early = seen.intersection(length.part_of)
        if early:
            raise ValueError(f"{length.code} is part of {min(early)} and must come before it in the lengths.")
        seen.add(length.code)
    return codes


def pieces_of(
    edges: Mapping[str, int | Mapping[str, int]] | None, code: str, default: Mapping[str, int]
) -> Mapping[str, int]:
    """Return the edges that share a change, by piece; a bare number counts edges of no named piece."""
    given = (edges or {}).get(code, default)
    if not isinstance(given, Mapping):
        return {"edge": inputs.whole(f"Edges of {code}", given)}
    if not given:
        raise ValueError(f"Edges of {code}: name at least one piece and its number of edges.")
    return {piece: inputs.whole(f"Edges of {code} on {piece}", count) for piece, count in given.items()}
