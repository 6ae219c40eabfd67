"""Reading garments: the bench, one garment with everything that ties to it, and what its checkpoints look at."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from django.utils import timezone

from fitting.models import (
    CheckpointAnswer,
    FittingSession,
    Garment,
    GarmentSeam,
    Pattern,
    PatternMeasure,
    SignOff,
)
from fitting.queries.carried import uncarried_of
from fitting.queries.checkpoints import (
    CHECKPOINTS,
    AnswerFact,
    Checkpoint,
    CheckpointState,
    GarmentFacts,
    LayFact,
    SeamFact,
    Stop,
    next_of,
    states,
    stop_before,
)
from fitting.queries.fittings import SessionView, current_notes, sessions_of
from fitting.queries.garment_lays import lays_of
from fitting.queries.paper_zones import needs_of, paper_zones
from fitting.queries.plans import drawn_lines
from seamlab.models import ClothTest, SeamTrial
from studio.models import Reading
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

MOST_ON_BENCH = 500
_JOINED = ("client", "pattern", "cloth", "plan")


@dataclass(frozen=True)
class SeamView:
    """A chosen seam: where it is sewn, by which version, and the proof on the garment's cloth."""

    id: UUID
    place: str
    recipe: str
    recipe_id: UUID
    version_id: UUID
    number: int
    settings: str
    purpose: str
    proven_on: date | None
    newest_verdict: str
    cloth: str = ""  # where it is not the garment's own


@dataclass(frozen=True)
class GarmentView:
    """One garment with everything that its page shows."""

    garment: Garment
    checkpoints: tuple[CheckpointState, ...]
    cutting: Stop
    sewing: Stop
    seams: tuple[SeamView, ...]
    sessions: tuple[SessionView, ...]
    is_due: bool  # due today or earlier, and still open

    @property
    def next_checkpoint(self) -> CheckpointState | None:
        return next_of(list(self.checkpoints))

    @property
    def is_open(self) -> bool:
        return bool(self.garment.state == Garment.State.OPEN)


@dataclass(frozen=True)
class BenchRow:
    garment: Garment
    waits_for: CheckpointState
    passed_by: int
    is_due: bool


@dataclass(frozen=True)
class BenchGroup:
    """The garments that wait for one checkpoint, due first."""

    checkpoint: Checkpoint
    rows: tuple[BenchRow, ...]


@dataclass(frozen=True)
class Bench:
    groups: tuple[BenchGroup, ...]
    count: int
    due: int  # how many are due today or earlier


def kinds() -> list[tuple[str, str]]:
    """The kinds of garment, (code, words)."""
    return [(str(code), str(words)) for code, words in Garment._meta.get_field("kind").flatchoices]


def studio_today(actor: Actor) -> date:
    """Today where the studio is."""
    return timezone.localdate(timezone=actor.zone)


def garment_list(actor: Actor, *, client_id: UUID | None = None) -> "QuerySet[Garment]":
    """The studio's garments, newest first."""
    actor.need(Right.KEEP_GARMENTS)
    rows = Garment.objects.select_related(*_JOINED).order_by("-id")
    return rows.filter(client_id=client_id) if client_id else rows


def garment_row(actor: Actor, garment_id: UUID) -> Garment:
    """The garment's row with client, pattern, cloth and plan; raises NotHere."""
    found: Garment | None = garment_list(actor).filter(pk=garment_id).first()
    if found is None:
        raise NotHere("garment")
    return found


def garment_get(actor: Actor, garment_id: UUID) -> GarmentView:
    """One garment with checkpoints, seams and sessions (notes only for who may read them); raises NotHere."""
    garment = garment_row(actor, garment_id)
    seams = seams_of(garment)
    facts = facts_of([garment], {garment.pk: seams})[garment.pk]
    found = states(facts)
    return GarmentView(
        garment=garment,
        checkpoints=tuple(found),
        cutting=stop_before(found, "cutting"),
        sewing=stop_before(found, "sewing"),
        seams=tuple(seams),
        sessions=tuple(sessions_of([garment.pk], with_notes=actor.may(Right.READ_FIT_NOTES))),
        is_due=_is_due(garment, studio_today(actor)),
    )


def checkpoint_states(actor: Actor, garment_id: UUID) -> list[CheckpointState]:
    """The checkpoints of one garment in order; raises NotHere."""
    garment = garment_row(actor, garment_id)
    return states(facts_of([garment])[garment.pk])


def bench(actor: Actor) -> Bench:
    """The open garments by the checkpoint that they wait for, due first: a constant number of queries.

    Those of an erased client are left out (nothing more is done about them), and bought ones: tickets lead their way.
    """
    rows = list(
        garment_list(actor)
        .filter(state=Garment.State.OPEN, client__erased_at=None, ready_made=False)
        .order_by(F("due").asc(nulls_last=True), "id")[:MOST_ON_BENCH]
    )
    facts = facts_of(rows)
    today = studio_today(actor)
    by_code: dict[str, list[BenchRow]] = defaultdict(list)
    for garment in rows:
        found = states(facts[garment.pk])
        waits_for = next_of(found) or found[-1]
        passed = sum(state.is_passed_by for state in found)
        by_code[waits_for.code].append(BenchRow(garment, waits_for, passed, _is_due(garment, today)))
    groups = tuple(
        BenchGroup(found, tuple(by_code[found.code])) for found in CHECKPOINTS if found.code in by_code
    )
    due = sum(row.is_due for group in groups for row in group.rows)
    return Bench(groups, len(rows), due)


def seams_of(garment: Garment) -> list[SeamView]:
    """The chosen seams of a garment with the proof on its cloth, by place."""
    return _seams([garment])[garment.pk]


def facts_of(
    garments: Sequence[Garment], seams: dict[UUID, list[SeamView]] | None = None
) -> dict[UUID, GarmentFacts]:
    """What the checkpoints of some garments look at: a constant number of queries however many there are."""
    ids = [garment.pk for garment in garments]
    seams = _seams(garments) if seams is None else seams
    measured = _grouped(
        Reading.objects.filter(client_id__in={garment.client_id for garment in garments})
        .values_list("client_id", "measure")
        .distinct()
    )
    wanted = _grouped(
        PatternMeasure.objects.filter(size__pattern_id__in={g.pattern_id for g in garments if g.pattern_id})
        .values_list("size__pattern_id", "measure")
        .distinct()
    )
    tests = _grouped(
        ClothTest.objects.filter(cloth_id__in={g.cloth_id for g in garments if g.cloth_id})
        .values_list("cloth_id", "kind")
        .distinct()
    )
    sessions = _grouped(
        FittingSession.objects.filter(
            garment_id__in=ids, kind__in=[FittingSession.Kind.BASTE, FittingSession.Kind.FINAL]
        ).values_list("garment_id", "id")
    )
    signed = set(SignOff.objects.filter(session__garment_id__in=ids).values_list("session_id", flat=True))
    open_notes: dict[UUID, int] = defaultdict(int)
    for garment_id in (
        current_notes()
        .filter(session__garment_id__in=ids, decision="open")
        .values_list("session__garment_id", flat=True)
    ):
        open_notes[garment_id] += 1
    answers = _answers(ids)
    lays = lays_of(ids)
    uncarried = uncarried_of(garments)
    drawn = drawn_lines(garment.plan_id for garment in garments if garment.plan_id)
    names = _measure_names()
    return {
        garment.pk: GarmentFacts(
            client_name=garment.client.name,
            is_measured=bool(measured[garment.client_id]),
            unmeasured=_unmeasured(garment.pattern, wanted, measured[garment.client_id], names),
            plan_state=garment.plan.state if garment.plan else "",
            plan_lines=drawn[garment.plan_id][0] if garment.plan_id in drawn else 0,
            plan_ticked=drawn[garment.plan_id][1] if garment.plan_id in drawn else 0,
            pattern=garment.pattern.name if garment.pattern else "",
            cloth=garment.cloth.name if garment.cloth else "",
            cloth_is_knit=garment.cloth is not None and garment.cloth.structure == "knit",
            cloth_direction_known=garment.cloth is None or garment.cloth.direction != "not_known",
            cloth_tests=frozenset(tests[garment.cloth_id]),
            seams=tuple(
                SeamFact(
                    seam.place, seam.recipe, seam.number, seam.proven_on, seam.newest_verdict, seam.cloth
                )
                for seam in seams[garment.pk]
            ),
            baste_sessions=len(sessions[garment.pk]),
            baste_signed_off=len(sessions[garment.pk] & signed),
            open_notes=open_notes[garment.pk],
            lays=tuple(
                LayFact(one.lay.name, one.checked, one.off, is_chosen=one.chosen is not None)
                for one in lays[garment.pk]
            ),
            uncarried=uncarried[garment.pk],
            answers=answers[garment.pk],
        )
        for garment in garments
    }


def _is_due(garment: Garment, today: date) -> bool:
    return bool(garment.state == Garment.State.OPEN and garment.due is not None and garment.due <= today)


def _grouped(pairs: Any) -> dict[Any, set[Any]]:
    found: dict[Any, set[Any]] = defaultdict(set)
    for key, value in pairs:
        found[key].add(value)
    return found


def _answers(garment_ids: list[UUID]) -> dict[UUID, dict[str, AnswerFact]]:
    """The newest answer to each checkpoint."""
    found: dict[UUID, dict[str, AnswerFact]] = defaultdict(dict)
    for row in (
        CheckpointAnswer.objects.filter(garment_id__in=garment_ids)
        .select_related("answered_by")
        .order_by("id")
    ):
        found[row.garment_id][row.checkpoint] = AnswerFact(
            row.answer, row.reason, row.answered_by.name, row.at, tuple(row.missing)
        )
    return found


def _measure_names() -> dict[str, str]:
    from studio.queries.catalogue import catalogue

    return {code: measure.name for code, measure in catalogue().measures.items()}


def _unmeasured(
    pattern: Pattern | None, wanted: dict[Any, set[Any]], measured: set[str], names: dict[str, str]
) -> tuple[str, ...]:
    """Names of the measures without which no plan can be made for this pattern, and which the body lacks."""
    if pattern is None:
        return ()
    on_paper = wanted[pattern.pk]
    found = []
    for group in needs_of(pattern.kind).needed:
        bodies = [body for code in group if code in on_paper for body in paper_zones()[code].body]
        if bodies and not any(body in measured for body in bodies):
            found.append(names.get(bodies[0], bodies[0]))
    return tuple(found)


def _seams(garments: Sequence[Garment]) -> dict[UUID, list[SeamView]]:
    cloth_of: dict[UUID, UUID | None] = {garment.pk: garment.cloth_id for garment in garments}
    rows = list(
        GarmentSeam.objects.filter(garment_id__in=list(cloth_of))
        .select_related("version__recipe", "version__needle", "version__needle_thread", "cloth")
        .order_by("id")
    )
    proven: dict[tuple[UUID, UUID | None], datetime] = {}
    newest: dict[tuple[UUID, UUID | None], str] = {}
    trials = SeamTrial.objects.filter(
        version_id__in={row.version_id for row in rows},
        cloth_id__in={cloth for cloth in (*cloth_of.values(), *(row.cloth_id for row in rows)) if cloth},
        withdrawals=None,
    )
    for version_id, cloth_id, verdict, sewn_at in trials.order_by("sewn_at", "id").values_list(
        "version_id", "cloth_id", "verdict", "sewn_at"
    ):
        newest[version_id, cloth_id] = verdict
        if verdict == SeamTrial.Verdict.PASSES:
            proven[version_id, cloth_id] = sewn_at
    found: dict[UUID, list[SeamView]] = {pk: [] for pk in cloth_of}
    for row in rows:
        key = (row.version_id, row.cloth_id or cloth_of[row.garment_id])
        sewn_on = proven.get(key)
        found[row.garment_id].append(
            SeamView(
                id=row.pk,
                place=row.place,
                recipe=row.version.recipe.name,
                recipe_id=row.version.recipe_id,
                version_id=row.version_id,
                number=row.version.number,
                settings=settings_words(row.version),
                purpose=row.version.recipe.purpose,
                proven_on=timezone.localdate(sewn_on) if sewn_on else None,
                newest_verdict=newest.get(key, ""),
                cloth=row.cloth.name if row.cloth and row.cloth_id != cloth_of[row.garment_id] else "",
            )
        )
    return found


def settings_words(version: Any) -> str:
    """A recipe's settings in one line: stitch, length, needle, thread."""
    parts = [
        f"stitch {version.stitch_type}",
        f"{_plain(version.stitch_length_mm)} mm long",
        *([f"{_plain(version.stitch_width_mm)} mm wide"] if version.stitch_width_mm else []),
        f"needle {version.needle}",
        f"thread {version.needle_thread}",
    ]
    return ", ".join(parts)


def _plain(value: Any) -> str:
    return f"{value.normalize():f}"
