"""How much thread of each colour, and how much time, the seams of one piece of work take.

Three ways lead to the thread of a seam, the surest first: a sample unpicked and taped (`Factors.from_sample`), the
stitch's geometry (`thread.consumption`), a published ratio. None of them is exact; `ALLOWANCE` comes on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from seamlab.calc.bounds import finite, not_negative, positive, whole
from seamlab.calc.thread import consumption

ALLOWANCE = 0.15
"""Waste beyond the seam (threading up, ends, unpicking): 10-15 % and 15-20 % are published (two textile teaching
pages); the value where both meet."""
LEAST_ALLOWANCE, MOST_ALLOWANCE = 0.0, 1.0

Basis = Literal["sample", "geometry", "ratio"]


@dataclass(frozen=True, slots=True)
class Factors:
    """Thread per length of seam, above and beneath, all ends and loopers together, and what it rests on."""

    needle: float
    under: float
    basis: Basis

    @property
    def total(self) -> float:
        return self.needle + self.under


@dataclass(frozen=True, slots=True)
class SeamLine:
    """One seam: `length` of one in any unit, sewn `times`. `needle` and `under` name thread and colour (any keys that
    can be told apart); `under` is None for a stitch of one thread. `factors` None: nothing is known of its thread.
    """

    key: str
    length: float
    times: int
    needle: tuple[str, str]
    under: tuple[str, str] | None
    factors: Factors | None

    @property
    def whole_length(self) -> float:
        return self.length * self.times


@dataclass(frozen=True, slots=True)
class ThreadNeed:
    """Thread of one kind and colour in the unit of the lengths: `sewn` into the seams, `needed` with the allowance.

    `seams` are the keys of the seams that it goes into; `lacking` those whose use of it is not known.
    """

    thread: tuple[str, str]
    sewn: float
    needed: float
    seams: tuple[str, ...]
    lacking: tuple[str, ...]


def from_sample(
    *, unpicked: float, needle: float | None = None, under: float | None = None, one_thread: bool = False
) -> Factors | None:
    """Factors of a sample: `needle` and `under` thread came out of the length `unpicked`, all in one unit.

    None where a part that the stitch has was not taped. Raises ValueError for lengths that are not positive.
    """
    length = positive("unpicked", unpicked)
    if needle is None or (under is None and not one_thread):
        return None
    beneath = 0.0 if one_thread or under is None else positive("under", under) / length
    return Factors(positive("needle", needle) / length, beneath, "sample")


def from_geometry(
    stitch_type: str,
    *,
    thickness: float,
    stitch_length: float,
    width: float,
    passes: int,
    ends: int,
    needle_share: float,
) -> Factors:
    """Factors by the stitch's geometry; lengths in one unit, `thickness` of the whole seam.

    `needle_share` of the thread is needle thread (0.5 for a lockstitch); several `ends` through one needle take it so
    many times. Raises ValueError where the type has no published geometry.
    """
    total = consumption(stitch_type, thickness, 1.0 / positive("stitch_length", stitch_length), width, passes)
    return _split(total, needle_share, ends, "geometry")


def from_ratio(ratio: float, *, passes: int, ends: int, needle_share: float) -> Factors:
    """Factors by a published ratio of seam to thread, for middling settings."""
    return _split(positive("ratio", ratio) * whole("passes", passes), needle_share, ends, "ratio")


def _split(total: float, needle_share: float, ends: int, basis: Basis) -> Factors:
    share = finite("needle_share", needle_share)
    if not 0 < share <= 1:
        raise ValueError(f"needle_share must be more than 0 and at most 1, got {share:g}.")
    return Factors(total * share * whole("ends", ends), total * (1.0 - share), basis)


def thread_needs(lines: Sequence[SeamLine], allowance: float = ALLOWANCE) -> list[ThreadNeed]:
    """Thread by kind and colour, the most first; `allowance` is a share (0.15 for 15 %).

    Raises ValueError for an allowance outside 0 to 1, lengths that are not positive, or a key that stands twice.
    """
    share = finite("allowance", allowance)
    if not LEAST_ALLOWANCE <= share <= MOST_ALLOWANCE:
        raise ValueError(f"allowance must be a share from 0 to 1 (0.15 for 15 %), got {share:g}.")
    keys = [line.key for line in lines]
    if len(set(keys)) != len(keys):
        raise ValueError("each seam must have its own key; one stands twice.")
    sewn: dict[tuple[str, str], float] = {}
    seams: dict[tuple[str, str], list[str]] = {}
    lacking: dict[tuple[str, str], list[str]] = {}
    for line in lines:
        length = positive(f"length of {line.key}", line.length) * whole("times", line.times)
        for thread, factor in _parts(line):
            sewn.setdefault(thread, 0.0)
            (lacking if factor is None else seams).setdefault(thread, [])
            if factor is None:
                lacking[thread] += [line.key] if line.key not in lacking[thread] else []
                continue
            sewn[thread] += factor * length
            seams[thread] += [line.key] if line.key not in seams[thread] else []
    found = [
        ThreadNeed(
            thread,
            length,
            length * (1.0 + share),
            tuple(seams.get(thread, ())),
            tuple(lacking.get(thread, ())),
        )
        for thread, length in sewn.items()
    ]
    return sorted(found, key=lambda need: (-need.needed, need.thread))


def _parts(line: SeamLine) -> Iterable[tuple[tuple[str, str], float | None]]:
    yield line.needle, None if line.factors is None else line.factors.needle
    if line.under is not None:
        yield line.under, None if line.factors is None else line.factors.under


def whole_reels(needed: float, reel: float) -> int:
    """How many full reels hold `needed`, both in one unit."""
    return math.ceil(round(not_negative("needed", needed) / positive("reel", reel), 9))


def needle_share(split_percent: Mapping[str, float] | None) -> float:
    """The needle's share of all thread from a published split such as {"needle": 25, "looper": 75}; a half where
    none is published, as for a zigzag whose two threads lie alike (common practice, no source).
    """
    if not split_percent:
        return 0.5
    return float(split_percent["needle"]) / 100.0
