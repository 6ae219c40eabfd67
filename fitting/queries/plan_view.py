"""A stored fit plan told in words and in the client's unit: what page, API and report show of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from fitting.models import FitPlan
from fitting.queries.paper_zones import needs_of, zone_name
from fitting.queries.plan_text import say_in, say_signed

# The verdicts of calc as pages say them, and the state that shows them (see the page parts).
VERDICTS = {
    "within": ("in range", "done"),
    "too tight": ("too tight", "stop"),
    "too loose": ("too loose", "care"),
    "cannot tell": ("cannot tell", "unsure"),
}
# Of a length one says it otherwise.
LENGTH_WORDS = {"too tight": "too short", "too loose": "too long"}
STATES = {"draft": "open", "approved": "done", "replaced": "off"}


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


@dataclass(frozen=True)
class NoticeView:
    """A warning: `code` of calc, or old, left_out, learned. `zone` is "" where it speaks of several."""

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
    measuring_id: str
    reading_ids: tuple[str, ...]


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
    summary: str
    rounding: str
    sizes: dict[str, str]  # zone -> size, top to bottom
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
    planned_by: str
    planned_at: datetime
    approved_by: str
    approved_at: datetime | None
    supersedes_id: UUID | None


def view_of(plan: FitPlan, *, outdated: tuple[str, ...] = ()) -> PlanView:
    """Tell a stored plan in words. `plan` has its client, pattern, garment and members at hand."""
    inputs, result = plan.inputs, plan.result
    say = say_in(inputs["unit"])
    reasons = {one["zone"]: one["reason"] for one in result["sizes"]["zones"]}
    sizes = {one["zone"]: one["size"] for one in result["sizes"]["zones"]}
    bust = inputs["bust"]
    return PlanView(
        id=plan.pk,
        version=plan.version,
        number=plan.number,
        state=plan.state,
        state_words=plan.get_state_display(),
        state_chip=STATES[plan.state],
        client_id=plan.client_id,
        client_name=plan.client.name,
        pattern_id=plan.pattern_id,
        pattern_name=plan.pattern.name,
        garment_id=plan.garment_id,
        garment_words=plan.garment.words if plan.garment else "",
        kind=inputs["pattern"]["kind"],
        kind_words=needs_of(inputs["pattern"]["kind"]).words,
        closeness=inputs["pattern"]["closeness"],
        structure=inputs["pattern"]["structure"],
        basis=inputs["pattern"]["basis"],
        unit=inputs["unit"],
        ease_set=inputs["ease_set"],
        seam_allowance=say(inputs["pattern"]["seam_allowance_mm"]),
        summary=result["summary"],
        rounding=result["rounding"],
        sizes=sizes,
        sizes_words=_sizes_words(sizes),
        sizes_reason=result["sizes"]["reason"],
        alternatives=tuple(one["text"] for one in result["sizes"]["alternatives"]),
        blends=tuple(one["text"] for one in result["blends"]),
        zones=tuple(
            _zone(one, inputs, reasons.get(one["zone"], "") if one["kind"] == "width" else "")
            for one in result["outcomes"]
        ),
        alterations=tuple(_alteration(one, inputs) for one in result["alterations"]),
        notices=_notices(inputs, result),
        rests_on=tuple(
            RestView(
                zone=code,
                name=one["name"],
                value=say(one["value_mm"]),
                error=say(inputs["errors"][code]) if code in inputs["errors"] else "",
                old=one["old"],
                takes=one["takes"],
                measured_at=datetime.fromisoformat(one["measured_at"]),
                measured_by=one["measured_by"],
                measuring_id=one["measuring"],
                reading_ids=tuple(one["readings"]),
            )
            for code, one in _in_order(inputs, inputs["body"])
        ),
        high_bust=(
            f"Sized by the high bust, {say(bust['high_bust'])}; the pattern is drawn for a full bust "
            f"{say(bust['base_cup'])} more, the body's is {say(bust['full_bust'] - bust['high_bust'])} more."
            if bust
            else ""
        ),
        outdated=outdated,
        planned_by=plan.planned_by.name,
        planned_at=plan.created_at,
        approved_by=plan.approved_by.name if plan.approved_by else "",
        approved_at=plan.approved_at,
        supersedes_id=plan.supersedes_id,
    )


def _in_order(inputs: Mapping[str, Any], rows: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """Rows by zone in the plan's order; JSON objects in the database keep none."""
    order = [*inputs["lengths"], *inputs["zones"], *inputs["details"]]
    return sorted(rows.items(), key=lambda pair: order.index(pair[0]) if pair[0] in order else len(order))


def _sizes_words(sizes: Mapping[str, str]) -> str:
    """ "Bust 12, waist 14, hip 14"; one size throughout is said once."""
    if len(set(sizes.values())) == 1:
        return f"Size {next(iter(sizes.values()))} throughout"
    text = ", ".join(f"{zone_name(zone).lower()} {size}" for zone, size in sizes.items())
    return text[0].upper() + text[1:]


def _verdict(code: str, kind: str) -> Verdict:
    words, chip = VERDICTS[code]
    return Verdict(code, LENGTH_WORDS.get(code, words) if kind == "length" else words, chip)


def _bare(text: str) -> str:
    """A length without its unit, where the unit follows soon."""
    return text.rsplit(" ", 1)[0]


def _zone(one: Mapping[str, Any], inputs: Mapping[str, Any], reason: str) -> ZoneView:
    say, code = say_in(inputs["unit"]), one["zone"]
    reading, rule = inputs["body"][code], inputs["rules"][code]
    error = inputs["errors"][code]
    taken = date.fromisoformat(reading["measured_on"])
    takes = "1 take" if reading["takes"] == 1 else f"{reading['takes']} takes"
    before = one["paper"] + one["carried"]
    return ZoneView(
        zone=code,
        name=zone_name(code),
        kind=one["kind"],
        size=one["size"],
        reason=reason,
        body=say(one["body"]),
        reading=f"{reading['name']}, {takes}, {taken:%-d %B %Y}",
        error=say(error),
        ease_low=say(one["low"]),
        ease_target=say(one["target"]),
        ease_high=say(one["high"]),
        ease_range=f"{_bare(say(one['low']))} to {say(one['high'])}, target {say(one['target'])}",
        paper_before=say(before),
        ease_before=say(one["ease_before"]),
        paper_after=say(one["finished"]),
        ease_after=say(one["ease_after"]),
        changed=one["change"] != 0,
        before=_verdict(one["before"], one["kind"]),
        after=_verdict(one["after"], one["kind"]),
        source=one["source"],
        note=rule["note"],
        learned=rule["learned"],
        body_mm=one["body"],
        error_mm=error,
        low_mm=one["low"],
        target_mm=one["target"],
        high_mm=one["high"],
        paper_before_mm=before,
        paper_after_mm=one["finished"],
        ease_before_mm=one["ease_before"],
        ease_after_mm=one["ease_after"],
    )


def _alteration(one: Mapping[str, Any], inputs: Mapping[str, Any]) -> AlterationView:
    unit = inputs["unit"]
    say, zone = say_in(unit), one["zone"]
    grows = one["total"] > 0
    if one["kind"] == "length" or zone == "centre_front_length":
        change = "lengthen" if grows else "shorten"
    else:
        change = "let out" if grows else "take in"
    name = zone_name(zone)
    where = {
        "length": f": {name.lower()}",
        "width": f" at the {name.lower()}",
        "detail": f" at the {name.lower()}",
    }
    title = f"{change.capitalize()}{where[one['kind']]}"
    each = say(abs(one["per_edge"]))
    much = f"{each} at each of {one['edges']} edges" if one["edges"] > 1 else each
    if inputs["bust"] and zone == "bust":
        title, much = "Bust adjustment", f"{each} on each half front"
    elif zone == "centre_front_length":
        title = f"{change.capitalize()} at the centre front"
    return AlterationView(
        number=one["order"],
        kind=one["kind"],
        zone=zone,
        name=name,
        title=title,
        change=change,
        total=say_signed(one["total"], unit),
        edges=one["edges"],
        per_edge=each,
        per_edge_words=much,
        shares=tuple(
            ShareView(
                share["piece"],
                share["edges"],
                say_signed(share["each"], unit),
                say_signed(share["total"], unit),
            )
            for share in one["shares"]
        ),
        method=one["method"],
        reason=one["reason"],
        paper_before=say(one["paper"]) if one["paper"] is not None else "",
        result=say(one["finished"]) if one["finished"] is not None else "",
        ease_after=say(one["ease"]) if one["ease"] is not None else "",
        total_mm=one["total"],
    )


def _notices(inputs: Mapping[str, Any], result: Mapping[str, Any]) -> tuple[NoticeView, ...]:
    """What to know before drawing: old readings, the plan's own warnings, gaps, what was learnt."""
    found = [NoticeView("old", one["zone"], one["words"]) for one in inputs["old"]]
    found += [NoticeView(one["code"], one["zone"], one["text"]) for one in result["notices"]]
    found += [NoticeView("left_out", one["zone"], one["words"]) for one in inputs["left_out"]]
    found += [
        NoticeView("learned", code, f"{zone_name(code)}: {row['learned']}")
        for code, row in _in_order(inputs, inputs["rules"])
        if row["learned"]
    ]
    return tuple(found)
