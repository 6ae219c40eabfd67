"""A stored fit plan told in words and in the client's unit: what page, API and report show of it."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from fitting.models import FitPlan, PlanTick
from fitting.queries.paper_zones import needs_of, zone_name
from fitting.queries.plan_news import News, overrules_in
from fitting.queries.plan_reckon import AMOUNT, SIZE, Overrule
from fitting.queries.plan_shapes import (
    AlterationView,
    BlendView,
    NoticeView,
    OverruleView,
    PlanView,
    RestView,
    ShareView,
    TickView,
    Verdict,
    ZoneView,
)
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


def alteration_line(zone: str) -> str:
    """The key of an alteration when it is ticked off."""
    return f"alteration:{zone}"


def blend_line(upper: str, lower: str) -> str:
    """The key of a change of size when it is ticked off."""
    return f"blend:{upper}:{lower}"


def lines_of(result: Mapping[str, Any]) -> list[str]:
    """Everything on a plan that is carried to the paper: changes of size, then alterations in their order."""
    return [blend_line(one["upper_zone"], one["lower_zone"]) for one in result["blends"]] + [
        alteration_line(one["zone"]) for one in result["alterations"]
    ]


def view_of(
    plan: FitPlan,
    *,
    news: News = News(),  # noqa: B008 - frozen
    ticks: Sequence[PlanTick] = (),
    result: Mapping[str, Any] | None = None,
) -> PlanView:
    """Tell a stored plan in words. `plan` has its client, pattern, garment and members at hand.

    `ticks` are its ticks, oldest first, with their members; `result` shows another result than the stored one
    (what an overrule would bring).
    """
    inputs, result = plan.inputs, result or plan.result
    newest = {tick.line: tick for tick in ticks}
    done = {line: TickView(tick.by.name, tick.at) for line, tick in newest.items() if tick.done}
    lines = lines_of(result)
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
        has_allowance=inputs["pattern"]["seam_allowance_mm"] > 0,
        summary=result["summary"],
        rounding=result["rounding"],
        sizes=sizes,
        size_names=tuple(row["size"] for row in inputs["paper"]),
        sizes_words=_sizes_words(sizes),
        sizes_reason=result["sizes"]["reason"],
        alternatives=tuple(one["text"] for one in result["sizes"]["alternatives"]),
        blends=tuple(one["text"] for one in result["blends"]),
        zones=tuple(
            _zone(one, inputs, result, reasons.get(one["zone"], "") if one["kind"] == "width" else "")
            for one in result["outcomes"]
        ),
        alterations=tuple(_alteration(one, inputs, done) for one in result["alterations"]),
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
                estimated=one.get("estimated", False),
                how=one.get("how", ""),
            )
            for code, one in _in_order(inputs, inputs["body"])
        ),
        high_bust=(
            f"Sized by the high bust, {say(bust['high_bust'])}; the pattern is drawn for a full bust "
            f"{say(bust['base_cup'])} more, the body's is {say(bust['full_bust'] - bust['high_bust'])} more."
            if bust
            else ""
        ),
        outdated=news.newer,
        would_change=news.changes,
        news=news.words,
        overrules=tuple(_overrule(one, say) for one in overrules_in(result)),
        blend_lines=tuple(
            BlendView(line, one["text"], done.get(line))
            for one in result["blends"]
            for line in [blend_line(one["upper_zone"], one["lower_zone"])]
        ),
        carried=sum(line in done for line in lines),
        lines=len(lines),
        growing_months=inputs.get("growing_months", 0),
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


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _bare(text: str) -> str:
    """A length without its unit, where the unit follows soon."""
    return text.rsplit(" ", 1)[0]


def _overrule(one: Overrule, say: Callable[[float], str]) -> OverruleView:
    if one.what == SIZE:
        words = f"size {one.size}"
    elif one.amount_mm:
        words = f"{say(abs(one.amount_mm))} {'more' if one.amount_mm > 0 else 'less'} in all"
    else:
        words = "left as it is"
    name = zone_name(one.zone)
    return OverruleView(
        what=one.what,
        zone=one.zone,
        name=name,
        words=f"{name}: {words}",
        reason=one.reason,
        by=one.by,
        at=datetime.fromisoformat(one.at) if one.at else None,
    )


def _sums(one: Mapping[str, Any], basis: str, unit: str) -> tuple[str, ...]:
    """A finished measure as a sum that can be followed on paper."""
    say = say_in(unit)
    paper = "body chart and ease drawn in" if basis == "chart" else "paper"
    found = [f"{say(one['paper'])}, {paper} in size {one['size']}"]
    if one["carried"]:
        found.append(f"{say_signed(one['carried'], unit)}, from the lengths changed before")
    if one["change"]:
        found.append(f"{say_signed(one['change'], unit)}, altered")
    if len(found) > 1:
        found.append(f"= {say(one['finished'])}, finished")
    return tuple(found)


def _zone(
    one: Mapping[str, Any], inputs: Mapping[str, Any], result: Mapping[str, Any], reason: str
) -> ZoneView:
    say, code = say_in(inputs["unit"]), one["zone"]
    reading, rule = inputs["body"][code], inputs["rules"][code]
    error = inputs["errors"][code]
    taken = date.fromisoformat(reading["measured_on"])
    takes = "1 take" if reading["takes"] == 1 else f"{reading['takes']} takes"
    if reading.get("estimated"):
        takes = "estimated"
    before = one["paper"] + one["carried"]
    by_hand = {(row["what"], row["zone"]) for row in result.get("overrules", ())}
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
        growing=rule.get("growing", ""),
        estimated=reading.get("estimated", False),
        figure_how=reading.get("how", ""),
        sums=_sums(one, inputs["pattern"]["basis"], inputs["unit"]),
        by_hand=(SIZE, code) in by_hand or (AMOUNT, code) in by_hand,
        reckoned=say_signed(one["reckoned"], inputs["unit"]) if one.get("reckoned") else "",
        change=say_signed(one["change"], inputs["unit"]) if one["change"] else "",
        change_mm=one["change"],
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


def _alteration(
    one: Mapping[str, Any], inputs: Mapping[str, Any], done: Mapping[str, TickView]
) -> AlterationView:
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
        line=alteration_line(zone),
        by_hand=one.get("by_hand", False),
        ticked=done.get(alteration_line(zone)),
    )


def _notices(inputs: Mapping[str, Any], result: Mapping[str, Any]) -> tuple[NoticeView, ...]:
    """What to know before drawing: old readings, the plan's own warnings, gaps, what was learnt."""
    found = [NoticeView("old", one["zone"], one["words"]) for one in inputs["old"]]
    found += [NoticeView(one["code"], one["zone"], one["text"]) for one in result["notices"]]
    found += [NoticeView("cloth", "", words) for words in (inputs.get("cloth") or {}).get("words", ())]
    taken = {one["size"] for one in result["sizes"]["zones"]}
    found += [
        NoticeView("seam_walk", "", f"{one['words']} Look at the paper before it is altered.")
        for one in inputs.get("seam_walks", ())  # plans from before outlines were walked have none
        if one["size"] in taken
    ]
    found += [
        NoticeView(
            "estimated",
            code,
            f"{zone_name(code)}: the {_lower(one['name'])} is {one['how']}. Tape it before you cut.",
        )
        for code, one in _in_order(inputs, inputs["body"])
        if one.get("estimated")
    ]
    found += [
        NoticeView("growing", code, f"{zone_name(code)}: {_lower(row['growing'])}")
        for code, row in _in_order(inputs, inputs["rules"])
        if row.get("growing")
    ]
    found += [NoticeView("left_out", one["zone"], one["words"]) for one in inputs["left_out"]]
    found += [
        NoticeView("learned", code, f"{zone_name(code)}: {row['learned']}")
        for code, row in _in_order(inputs, inputs["rules"])
        if row["learned"]
    ]
    return tuple(found)
