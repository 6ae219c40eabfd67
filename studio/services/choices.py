"""What a studio measures: measures and sets of its own, and what it hides of the catalogue.

Nothing that was measured is ever touched: a measure is hidden, never deleted, and its code and kind stay as
they were made.
"""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any, TypedDict, TypeVar, Unpack

from django.db import IntegrityError, transaction

from studio.figures.tape import draw, tape_line
from studio.models import StudioMeasure, StudioSet
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.queries.catalogue import CatalogueMeasure, catalogue, read_measure, read_set
from studio.queries.choices import OWN, known_measures

KINDS = ("girth", "length", "width", "height")  # the scale's weight is in the catalogue; there is no other
MOST_OWN = 200
Row = TypeVar("Row", StudioMeasure, StudioSet)
LONGEST_CODE = 64  # the column's width
LONGEST_NAME = 80
LONGEST_INSTRUCTION = 1000
FIELDS = {
    "technical_error_mm": "technical_error",
    "between_measurers_error_mm": "between_error",
    "range_adult_mm": "range_adult",
    "range_child_mm": "range_child",
    "kind": "kind",
    "side": "side",
}


class SetFacts(TypedDict, total=False):
    """What can be changed of a set of the studio's own; what is left out stays as it is."""

    name: str
    measures: Sequence[str]
    repeat: Sequence[str]


def add_measure(
    actor: Actor,
    *,
    name: str,
    kind: str,
    instruction: str,
    technical_error: float,
    range_adult: tuple[float, float],
    range_child: tuple[float, float],
    code: str = "",
    side: str = "centre",
    between_error: float | None = None,
    technical_error_source: str = "",
    range_source: str = "",
    garments: Sequence[str] = (),
    figure: Mapping[str, str] | None = None,
    after: str = "",
    note: str = "",
) -> StudioMeasure:
    """Add a measure of the studio's own; all lengths in mm.

    ``technical_error`` is the standard deviation of one taping by one measurer, ``between_error`` (left out:
    the same) that between measurers. ``figure`` says how it is drawn (view, kind, from, to in the words of
    the catalogue's file); None: it is not drawn. ``after`` is the code of the measure that it follows on the
    walk round the body; "": it comes last. Without ``code`` the name makes one; ``own_`` is put before it.
    Raises Refused with fields and the sentences of the catalogue's own reader.
    """
    actor.need(Right.RECORD_MEASURING)
    known = known_measures(actor)
    reasons = _words_wrong(name, instruction, kind, garments)
    full_code = _code_of(code or name, reasons)
    if full_code in known:
        reasons["code" if code else "name"] = (
            f"There is a measure {full_code} ({known[full_code].name}) already: choose another name."
        )
    if len([each for each in known if each.startswith(OWN)]) >= MOST_OWN:
        reasons[""] = f"A studio can have {MOST_OWN} measures of its own: hide and reuse one of those."
    if after and after not in known:
        reasons["after"] = f"There is no measure {after[:64]!r} that it could follow."
    if reasons:
        raise Refused(reasons)
    own_words = "the studio's own word, no source"
    facts: dict[str, Any] = {
        "code": full_code,
        "name": " ".join(name.split()),
        "iso_8559": None,
        "kind": kind,
        "side": side,
        "unit": "mm",
        "instruction": instruction.strip(),
        "technical_error_mm": technical_error,
        "between_measurers_error_mm": technical_error if between_error is None else between_error,
        "technical_error_source": technical_error_source.strip() or own_words,
        "iso_20685_limit_mm": None,
        "iso_20685_class": None,
        "range_adult_mm": list(range_adult),
        "range_child_mm": list(range_child),
        "range_source": range_source.strip() or own_words,
        "garments": list(dict.fromkeys(garments)),
        "figure": dict(figure) if figure else None,
        "order": _order(known, after),
        "note": note.strip(),
    }
    _check(facts)
    row = _insert(StudioMeasure(code=full_code, facts=facts), "measure")
    record_act(actor, "add_measure", row, code=full_code)
    return row


def hide_measure(actor: Actor, code: str) -> StudioMeasure:
    """Offer a measure no longer; readings that were taken of it stay and keep its name. Raises NotHere."""
    return _show(actor, code, hidden=True)


def show_measure(actor: Actor, code: str) -> StudioMeasure:
    """Offer a hidden measure again. Raises NotHere."""
    return _show(actor, code, hidden=False)


def add_set(
    actor: Actor, *, name: str, measures: Sequence[str], repeat: Sequence[str] = (), code: str = ""
) -> StudioSet:
    """Add a set of the studio's own: codes in walking order; those in ``repeat`` are taken twice.

    Raises Refused (``name``, ``code``, ``measures``, ``repeat``).
    """
    actor.need(Right.RECORD_MEASURING)
    reasons: dict[str, str] = {}
    full_code = _code_of(code or name, reasons)
    if full_code in catalogue().sets or StudioSet.objects.filter(code=full_code).exists():
        reasons["code" if code else "name"] = "There is a set of this name already: choose another name."
    row = StudioSet(code=full_code, name=" ".join(name.split()), measures=list(measures), repeat=list(repeat))
    reasons |= _set_wrong(actor, row.name, row.measures, row.repeat)
    if reasons:
        raise Refused(reasons)
    _insert(row, "set")
    record_act(actor, "add_set", row, code=full_code)
    return row


def change_set(
    actor: Actor, code: str, *, expected_version: int | None = None, **facts: Unpack[SetFacts]
) -> StudioSet:
    """Change a set of the studio's own. Raises NotHere, Stale, Conflict for one of the catalogue, Refused."""
    actor.need(Right.RECORD_MEASURING)
    if code in catalogue().sets:
        raise Conflict("This set is the catalogue's: hide it, and make one of your own beside it.")
    row = lock_for_edit(StudioSet, _pk_of(code), expected_version)
    changes: dict[str, Any] = dict(facts)
    if "name" in changes:
        changes["name"] = " ".join(changes["name"].split())
    for key in ("measures", "repeat"):
        if key in changes:
            changes[key] = list(changes[key])
    reasons = _set_wrong(
        actor,
        changes.get("name", row.name),
        changes.get("measures", row.measures),
        changes.get("repeat", row.repeat),
    )
    if reasons:
        raise Refused(reasons)
    changed = save_edit(row, changes)
    if changed:
        record_act(actor, "change_set", row, **changed)
    return row


def hide_set(actor: Actor, code: str) -> StudioSet:
    """Offer a set no longer, one's own or the catalogue's; courses that use it go on. Raises NotHere."""
    return _show_set(actor, code, hidden=True)


def show_set(actor: Actor, code: str) -> StudioSet:
    """Offer a hidden set again. Raises NotHere."""
    return _show_set(actor, code, hidden=False)


def _show(actor: Actor, code: str, *, hidden: bool) -> StudioMeasure:
    actor.need(Right.RECORD_MEASURING)
    row = StudioMeasure.objects.select_for_update(no_key=True).filter(code=code).first()
    if row is None:
        if code not in catalogue().measures:
            raise NotHere("measure")
        row = _insert(StudioMeasure(code=code, hidden=hidden), "measure")
    elif not save_edit(row, {"hidden": hidden}):
        return row
    record_act(actor, "hide_measure" if hidden else "show_measure", row, code=code)
    return row


def _show_set(actor: Actor, code: str, *, hidden: bool) -> StudioSet:
    actor.need(Right.RECORD_MEASURING)
    row = StudioSet.objects.select_for_update(no_key=True).filter(code=code).first()
    if row is None:
        shipped = catalogue().sets.get(code)
        if shipped is None:
            raise NotHere("set of measures")
        row = _insert(
            StudioSet(
                code=code,
                name=shipped.name,
                measures=list(shipped.measures),
                repeat=sorted(shipped.repeat),
                hidden=hidden,
            ),
            "set",
        )
    elif not save_edit(row, {"hidden": hidden}):
        return row
    record_act(actor, "hide_set" if hidden else "show_set", row, code=code)
    return row


def _pk_of(code: str) -> Any:
    pk = StudioSet.objects.filter(code=code).values_list("pk", flat=True).first()
    if pk is None:
        raise NotHere("set of measures")
    return pk


def _code_of(text: str, reasons: dict[str, str]) -> str:
    """A name or code in small letters, digits and lines below, with ``own_`` before it."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    plain = re.sub(r"[^a-z0-9]+", "_", plain).strip("_").removeprefix(OWN)
    if not plain:
        reasons.setdefault("name", "Give it a name with at least one Latin letter, or a code of its own.")
    return (OWN + plain)[:LONGEST_CODE]


def _words_wrong(name: str, instruction: str, kind: str, garments: Sequence[str]) -> dict[str, str]:
    reasons: dict[str, str] = {}
    if not name.strip() or len(name) > LONGEST_NAME:
        reasons["name"] = f"Give the measure a name of at most {LONGEST_NAME} letters."
    if not instruction.strip() or len(instruction) > LONGEST_INSTRUCTION:
        reasons["instruction"] = (
            "Say where the tape begins, where it passes and where it ends, "
            f"in at most {LONGEST_INSTRUCTION} letters."
        )
    if kind not in KINDS:
        reasons["kind"] = f"Kind is {kind[:32]!r}; a measure of your own is one of {', '.join(KINDS)}."
    allowed = {each for found in catalogue().measures.values() for each in found.garments}
    unknown = [each for each in garments if each not in allowed]
    if unknown:
        reasons["garments"] = (
            f"There is no garment {unknown[0][:32]!r}; allowed are {', '.join(sorted(allowed))}."
        )
    return reasons


def _check(facts: Mapping[str, Any]) -> None:
    """The catalogue's reader says whether it can be read, the drawing whether it can be drawn."""
    try:
        found = read_measure(facts)
    except ValueError as problem:
        field = next((mine for key, mine in FIELDS.items() if f": {key} " in str(problem)), "")
        raise Refused({field: str(problem)}) from problem
    if found.figure is not None:
        try:
            line = tape_line(1, found.figure, body_side=found.side)
            for build in ("adult", "child"):
                draw(found.figure["view"], [line], build)
        except ValueError as problem:
            raise Refused({"figure": f"It can't be drawn so: {problem}"}) from problem


def _order(known: Mapping[str, CatalogueMeasure], after: str) -> int:
    """Directly behind the measure that it follows: of equal numbers the catalogue's comes first."""
    return known[after].order if after else max(each.order for each in known.values()) + 1


def _set_wrong(actor: Actor, name: str, measures: Sequence[str], repeat: Sequence[str]) -> dict[str, str]:
    reasons: dict[str, str] = {}
    if not name or len(name) > LONGEST_NAME:
        reasons["name"] = f"Give the set a name of at most {LONGEST_NAME} letters."
    twice = next((code for code in measures if list(measures).count(code) > 1), None)
    if twice is not None:
        reasons["measures"] = f"{twice} stands in the set twice; what is taken twice goes into repeat."
        return reasons
    try:
        read_set({"code": name, "name": name, "measures": measures, "repeat": repeat}, known_measures(actor))
    except ValueError as problem:
        unknown_repeat = "repeated" in str(problem) and bool(measures)
        reasons["repeat" if unknown_repeat else "measures"] = str(problem)
    return reasons


def _insert(row: Row, noun: str) -> Row:
    try:
        with transaction.atomic():
            return save_new(row)
    except IntegrityError as exc:
        raise Conflict(f"Somebody else has just made the same {noun}: look at it again.") from exc
