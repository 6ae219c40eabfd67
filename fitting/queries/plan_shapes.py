"""A fit plan as pages, answers and reports read it: texts in the client's unit, the same figures in mm beside them."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID


@dataclass(frozen=True)
class Verdict:
    """`code` as calc says it, `words` as people read it, `chip` the state's look."""

    code: str
    words: str
    chip: str


@dataclass(frozen=True)
class ZoneView:
    """One measure of the plan. Texts are in the client's unit; the same figures in mm end in ``_mm``."""

    zone: str
    name: str
    kind: str  # width, length or detail
    size: str
    reason: str  # why this size; "" for lengths and details, which follow a zone
    body: str
    reading: str  # "Hip girth, 2 takes, 12 March 2026"
    error: str  # 95 % half-width
    ease_low: str
    ease_target: str
    ease_high: str
    ease_range: str  # "4.0 to 6.0 cm, target 5.0 cm"
    paper_before: str
    ease_before: str
    paper_after: str
    ease_after: str
    changed: bool
    before: Verdict
    after: Verdict
    source: str
    note: str  # what else the rule's table says
    learned: str  # how accepted garments shifted the target, "" where none did
    growing: str  # room to grow, in words; "" where none was asked for
    estimated: bool  # the body's figure is an estimate
    figure_how: str  # how the body's figure came about where it was not simply taped
    sums: tuple[str, ...]  # the finished measure as a sum: "75.5 cm, paper in size 14", "+2.0 cm, altered"
    by_hand: bool  # size or amount was overruled
    reckoned: str  # the change in all that the rule asks for, with its sign; "" where none
    change: str  # the change in all that is made, with its sign; "" where none
    change_mm: float
    body_mm: float
    error_mm: float
    low_mm: float
    target_mm: float
    high_mm: float
    paper_before_mm: float
    paper_after_mm: float
    ease_before_mm: float
    ease_after_mm: float


@dataclass(frozen=True)
class ShareView:
    """What one piece gets: `edges` edges, each changed by `each`, `total` over all copies."""

    piece: str
    edges: int
    each: str
    total: str


@dataclass(frozen=True)
class TickView:
    """Who carried a line to the paper, and when."""

    by: str
    at: datetime


@dataclass(frozen=True)
class BlendView:
    """A change of size between two zones, to be drawn as a smooth line."""

    line: str
    words: str
    ticked: TickView | None


@dataclass(frozen=True)
class OverruleView:
    """What an instructor set against the reckoning; ``what`` is size or amount."""

    what: str
    zone: str
    name: str
    words: str  # "Hip: size 16", "Waist: 1.0 cm more in all"
    reason: str
    by: str
    at: datetime | None


@dataclass(frozen=True)
class AlterationView:
    """One thing to do on the paper, in its place in the fitter's order."""

    number: int
    kind: str
    zone: str
    name: str
    title: str  # "Let out at the hip"
    change: str  # lengthen, shorten, let out, take in or adjust
    total: str  # with its sign
    edges: int
    per_edge: str
    per_edge_words: str  # "0.5 cm at each of 4 edges"; of one edge the amount alone
    shares: tuple[ShareView, ...]
    method: str
    reason: str
    paper_before: str  # "" where the plan does not know it
    result: str  # the finished measure
    ease_after: str
    total_mm: float
    line: str  # its key when it is ticked off
    by_hand: bool
    ticked: TickView | None


@dataclass(frozen=True)
class NoticeView:
    """A warning: `code` of calc, or old, left_out, learned, growing,
    estimated, cloth. `zone` is "" where it speaks of several."""

    code: str
    zone: str
    words: str


@dataclass(frozen=True)
class RestView:
    """One body measure that the plan rests on."""

    zone: str
    name: str
    value: str
    error: str
    old: bool  # too long ago when the plan was made
    takes: int
    measured_at: datetime
    measured_by: str
    measuring_id: str  # "" for an estimate
    reading_ids: tuple[str, ...]
    estimated: bool
    how: str  # in words where the figure was not simply taped


@dataclass(frozen=True)
class PlanView:
    """A fit plan, ready for a page, an answer or a report. Nothing in it has to be looked up again."""

    id: UUID
    version: int
    number: int
    state: str
    state_words: str
    state_chip: str
    client_id: UUID
    client_name: str
    pattern_id: UUID
    pattern_name: str
    garment_id: UUID | None
    garment_words: str
    kind: str
    kind_words: str
    closeness: str
    structure: str
    basis: str  # finished or chart
    unit: str
    ease_set: str
    seam_allowance: str
    has_allowance: bool
    summary: str
    rounding: str
    sizes: dict[str, str]  # zone -> size, top to bottom
    size_names: tuple[str, ...]  # every size of the pattern, small to large
    sizes_words: str  # "Bust 12, waist and hip 14"
    sizes_reason: str
    alternatives: tuple[str, ...]
    blends: tuple[str, ...]
    zones: tuple[ZoneView, ...]
    alterations: tuple[AlterationView, ...]
    notices: tuple[NoticeView, ...]
    rests_on: tuple[RestView, ...]
    high_bust: str  # how the bust was sized, "" where not by the high bust
    outdated: tuple[str, ...]
    would_change: tuple[str, ...]  # what the newer readings would change on the plan
    news: str  # the same in one sentence, "" where nothing was measured anew
    overrules: tuple[OverruleView, ...]
    blend_lines: tuple[BlendView, ...]
    carried: int  # lines that are on the paper already
    lines: int  # lines in all
    growing_months: int
    planned_by: str
    planned_at: datetime
    approved_by: str
    approved_at: datetime | None
    supersedes_id: UUID | None
