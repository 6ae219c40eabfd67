"""The parts of a fit plan: what goes into it and what comes out, as plain frozen values. Lengths in mm.

`dataclasses.asdict` of a `FitPlan` holds only numbers, words, true or false, None, lists, tuples and dicts,
so it can be stored as JSON.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fitting.calc.ease import Verdict
from fitting.calc.sizing import BASE_CUP, SizeChoice

Kind = Literal["length", "width", "detail"]


@dataclass(frozen=True)
class Length:
    """A length that the plan compares: body, paper and rule each hold a measure of this code.

    `lowers` are the zones whose level moves with it; `part_of` are longer lengths that grow by what it grows
    and so must come later; `follows` are zones, the first of which that is in the plan gives the size to
    measure. `at_hem`: changed at the hem, not within the piece. `side` is "left" or "right" where the two
    differ and each is changed by itself.
    """

    code: str
    lowers: tuple[str, ...] = ()
    part_of: tuple[str, ...] = ()
    follows: tuple[str, ...] = ()
    at_hem: bool = False
    side: str = ""


# In the order in which a fitter corrects them (common practice, no source).
LENGTHS: tuple[Length, ...] = (
    Length(
        "shoulder_to_waist",
        lowers=("waist", "abdomen", "hip", "seat", "thigh", "knee", "hem"),
        part_of=("garment_length",),
        follows=("bust", "chest"),
    ),
    Length(
        "waist_to_hip",
        lowers=("hip", "seat", "thigh", "knee", "hem"),
        part_of=("rise", "garment_length"),
        follows=("hip", "seat"),
    ),
    Length("rise", lowers=("thigh", "knee", "hem"), follows=("hip", "seat")),
    Length("leg", lowers=("hem",), follows=("thigh", "hip", "seat")),
    Length("sleeve", lowers=("wrist",), follows=("chest", "bust")),
    Length("garment_length", lowers=("hem",), follows=("hip", "seat", "bust", "chest"), at_hem=True),
)


@dataclass(frozen=True)
class Detail:
    """A measure that is corrected after the widths, such as a shoulder length or a sleeve's girth.

    `follows` as for `Length`. The number of edges that share the change is given with those of the zones.
    """

    code: str
    follows: tuple[str, ...] = ()


@dataclass(frozen=True)
class Bust:
    """Asks for sizing by the high bust, with a bust adjustment for the rest.

    `base_cup` is full less high bust of the body that the pattern was drawn for. `front_length` is the length
    that the fitter adds at centre front; without it the rule marked common practice is used.
    """

    high_bust: float
    full_bust: float
    base_cup: float = BASE_CUP
    zone: str = "bust"
    front_length: float | None = None


@dataclass(frozen=True)
class Dart:
    """One dart of a zone: the whole cloth it swallows, and the most it may (common practice, no source)."""

    intake: float
    most: float = 40.0


@dataclass(frozen=True)
class Share:
    """What one piece gets: so many edges, each changed by `each`; `total` over all copies of the piece."""

    piece: str
    edges: int
    each: float
    total: float


@dataclass(frozen=True)
class Alteration:
    """One thing to do on the paper, in its place in the order.

    `total` is positive where the garment grows; `step` is what the amount at an edge was rounded to (0: not
    rounded). `paper` and `finished` are the finished measure before and after, None where the plan does not
    know it.
    """

    order: int
    kind: Kind
    zone: str
    total: float
    edges: int
    per_edge: float
    shares: tuple[Share, ...]
    step: float
    method: str
    reason: str
    reading: str
    paper: float | None
    finished: float | None
    ease: float | None
    by_hand: bool = False


@dataclass(frozen=True)
class Outcome:
    """One measure of the plan, from body to sewn garment.

    `paper` is the finished measure in the chosen size before any alteration, `carried` what earlier
    alterations add to it, `change` its own alteration, `finished` the sum. `lowered_by` tells how far lengths
    move its level down. `reckoned` is the change that the rules ask for, `by_hand` tells that somebody set
    another.
    """

    zone: str
    kind: Kind
    size: str
    reading: str
    body: float
    paper: float
    carried: float
    change: float
    finished: float
    ease_before: float
    ease_after: float
    low: float
    target: float
    high: float
    source: str
    before: Verdict
    after: Verdict
    lowered_by: float
    reckoned: float = 0.0
    by_hand: bool = False


@dataclass(frozen=True)
class Blend:
    """Where the size changes between two zones: the line to draw."""

    upper_zone: str
    upper_size: str
    lower_zone: str
    lower_size: str
    text: str


@dataclass(frozen=True)
class Notice:
    """A warning. `code` is one of grade_step, take_in, dart, walk, measure_again,
    finer_step, chart, by_hand, out_of_range."""

    code: str
    zone: str
    text: str


@dataclass(frozen=True)
class FitPlan:
    """A pattern set against a body: sizes, then what to do on the paper, in order."""

    sizes: SizeChoice
    outcomes: tuple[Outcome, ...]
    blends: tuple[Blend, ...]
    alterations: tuple[Alteration, ...]
    notices: tuple[Notice, ...]
    step: float
    rounding: str
    summary: str
