"""Samples side by side: what each was sewn with, what it took, what it measured, and in what they differ."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from seamlab.calc.cloth import stretch_percent
from seamlab.calc.seam import sewing_time, waviness_percent
from seamlab.calc.thread import sample_factors
from seamlab.models import (
    ComparisonConclusion,
    ComparisonSample,
    SeamComparison,
    SeamTrial,
    TrialPhoto,
    TrialWithdrawal,
)
from seamlab.queries.advice import settings_of, thickness_of, thread_estimate
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

LEAST_SAMPLES, MOST_SAMPLES = 2, 6
TRIAL_PARTS = (
    "cloth",
    "machine",
    "sewn_by",
    "version__recipe",
    "version__needle_thread",
    "version__under_thread",
    "version__needle",
    "version__written_by",
)


@dataclass(frozen=True)
class Cell:
    """One figure of one sample; ``source`` says where it comes from (measured, estimate), empty for a setting."""

    words: str
    source: str = ""


@dataclass(frozen=True)
class Line:
    """One property of all samples, in their order. ``differs`` marks where they are not alike."""

    name: str
    cells: tuple[Cell, ...]

    @property
    def differs(self) -> bool:
        return len({cell.words for cell in self.cells}) > 1

    @property
    def common(self) -> str:
        return self.cells[0].words


@dataclass(frozen=True)
class SampleTable:
    """Samples side by side. ``settings`` that differ come apart from those that are the same for all."""

    trials: tuple[SeamTrial, ...]
    settings: tuple[Line, ...]
    alike: tuple[Line, ...]
    cost: tuple[Line, ...]
    measured: tuple[Line, ...]


def trials_with_parts() -> "QuerySet[SeamTrial]":
    """Trials with all that a page shows of them: supplies, photographs, and whether they are withdrawn; two queries."""
    photos = TrialPhoto.objects.filter(is_hidden=False).order_by("side", "-added_at")
    found: QuerySet[SeamTrial] = (
        SeamTrial.objects.select_related(*TRIAL_PARTS)
        .annotate(is_withdrawn=Exists(TrialWithdrawal.objects.filter(trial=OuterRef("pk"))))
        .prefetch_related(Prefetch("photos", queryset=photos, to_attr="shown_photos"))
    )
    return found


def comparable(actor: Actor, trial_ids: Sequence[UUID]) -> list[SeamTrial]:
    """These trials in the order given; two queries. Raises NotHere where one is not in this studio."""
    actor.need(Right.READ_SEAMS)
    found = {trial.pk: trial for trial in trials_with_parts().filter(pk__in=list(trial_ids))}
    if len(found) < len(set(trial_ids)):
        raise NotHere("seam trial")
    return [found[pk] for pk in dict.fromkeys(trial_ids)]


def comparison_list(
    actor: Actor, *, cloth_id: UUID | None = None, recipe_id: UUID | None = None
) -> "QuerySet[SeamComparison]":
    """Kept tables, the newest first, each with its newest conclusion under ``newest_conclusion``; two queries."""
    actor.need(Right.READ_SEAMS)
    conclusions = ComparisonConclusion.objects.select_related(
        "taken__version__recipe", "concluded_by"
    ).order_by("-concluded_at", "-id")
    found = (
        SeamComparison.objects.filter(is_hidden=False)
        .select_related("cloth", "recipe", "asked_by")
        .prefetch_related(Prefetch("conclusions", queryset=conclusions, to_attr="newest_first"))
        .order_by("-created_at", "-id")
    )
    if cloth_id is not None:
        found = found.filter(samples__trial__cloth_id=cloth_id).distinct()
    if recipe_id is not None:
        found = found.filter(samples__trial__version__recipe_id=recipe_id).distinct()
    return found


def comparison_get(actor: Actor, comparison_id: UUID) -> SeamComparison:
    """A kept table with its conclusions (``newest_first``) and ``trials`` in their order. Raises NotHere.

    Five queries.
    """
    found: SeamComparison | None = comparison_list(actor).filter(pk=comparison_id).first()
    if found is None:
        raise NotHere("comparison of samples")
    samples = ComparisonSample.objects.filter(comparison_id=comparison_id).order_by("place", "id")
    found.trials = comparable(actor, list(samples.values_list("trial_id", flat=True)))  # type: ignore[attr-defined]
    return found


def further_samples(actor: Actor, kept: SeamComparison, *, most: int = 30) -> list[SeamTrial]:
    """Trials that could lie beside those of a kept table: of its purpose, on its cloths, newest first; one query."""
    actor.need(Right.READ_SEAMS)
    lying: list[SeamTrial] = kept.trials  # type: ignore[attr-defined]
    found = (
        SeamTrial.objects.select_related("version__recipe", "cloth")
        .filter(
            version__recipe__purpose__in={trial.version.recipe.purpose for trial in lying},
            cloth_id__in={trial.cloth_id for trial in lying},
            withdrawals=None,
        )
        .exclude(pk__in=[trial.pk for trial in lying])
        .order_by("-sewn_at", "-id")
    )
    return list(found[:most])


def sample_table(trials: Sequence[SeamTrial], *, length: Callable[[Decimal], str]) -> SampleTable:
    """What these samples were sewn with, took and measured; ``length`` writes a length in the reader's unit."""
    settings = [*_settings(trials), *_circumstances(trials)]
    return SampleTable(
        trials=tuple(trials),
        settings=tuple(line for line in settings if line.differs),
        alike=tuple(line for line in settings if not line.differs),
        cost=(_line("Time for 1 m", trials, _time), _line("Thread for 1 m", trials, _thread)),
        measured=tuple(_measured(trials, length)),
    )


def _line(name: str, trials: Sequence[SeamTrial], cell: Callable[[SeamTrial], Cell]) -> Line:
    return Line(name, tuple(cell(trial) for trial in trials))


def _settings(trials: Sequence[SeamTrial]) -> list[Line]:
    tables = [{setting.name: setting.words for setting in settings_of(trial.version)} for trial in trials]
    names = list(dict.fromkeys(name for table in tables for name in table))
    return [Line(name, tuple(Cell(table.get(name, "–")) for table in tables)) for name in names]


def _circumstances(trials: Sequence[SeamTrial]) -> list[Line]:
    return [
        _line("Cloth", trials, lambda trial: Cell(trial.cloth.name)),
        _line("Layers", trials, lambda trial: Cell(str(trial.layers))),
        _line("Seam runs", trials, lambda trial: Cell(trial.get_direction_display())),
        _line("Machine", trials, lambda trial: Cell(trial.machine.name if trial.machine else "by hand")),
    ]


def _time(trial: SeamTrial) -> Cell:
    """Seconds for a metre: as it was timed, else by the machine's speed."""
    sewn = trial.length_before_mm or trial.length_after_mm
    if trial.sewing_seconds is not None and sewn:
        return Cell(f"{trial.sewing_seconds * 1000 / sewn:.0f} s", "timed on the sample")
    if trial.machine is None:
        return Cell("not timed")
    version = trial.version
    minutes = sewing_time(
        1000.0, float(version.stitch_length_mm), trial.machine.stitches_per_minute, version.passes
    )
    return Cell(f"{60 * minutes:.0f} s", f"estimate at {trial.machine.stitches_per_minute} stitches a minute")


def _thread(trial: SeamTrial) -> Cell:
    """Metres of thread for a metre of seam: as it was unpicked, else by geometry or the table, all ends counted."""
    parts = thread_factors(trial)
    if parts is not None:
        words = " and ".join(f"{share:.2f} m {name}" for name, share in parts)
        total = sum(share for _, share in parts)
        return Cell(
            f"{total:.2f} m" if len(parts) == 1 else f"{total:.2f} m: {words}", "unpicked from the sample"
        )
    thickness = thickness_of(trial.cloth.thickness_mm, trial.layers)
    ratio, basis = thread_estimate(trial.version, thickness)
    return Cell("not known" if ratio is None else f"{ratio:.1f} m", basis)


def thread_factors(trial: SeamTrial) -> list[tuple[str, float]] | None:
    """Thread for each length of seam, above and below, as it was unpicked from the sample; None where it was not."""
    length = trial.unpicked_length_mm
    if length is None:
        return None
    given = [("above", trial.needle_thread_mm), ("below", trial.under_thread_mm)]
    known = [(name, float(value)) for name, value in given if value is not None]
    factors = sample_factors([value for _, value in known], float(length))
    return [(name, share) for (name, _), share in zip(known, factors, strict=True)]


def _measured(trials: Sequence[SeamTrial], length: Callable[[Decimal], str]) -> list[Line]:
    return [
        _line("Length by sewing", trials, _waviness),
        _line("Stretched", trials, _stretched),
        _line(
            "Smoothness",
            trials,
            lambda t: Cell("–" if t.smoothness is None else f"{t.smoothness.normalize():f} of 5"),
        ),
        _line("Balance", trials, lambda t: Cell(t.get_balance_display() or "–")),
        _line("Skipped stitches", trials, lambda t: Cell(_or_dash(t.skipped_stitches))),
        _line("At the needle holes", trials, lambda t: Cell(t.get_needle_damage_display() or "–")),
        _line("Strength across", trials, _strength),
        _line(
            "Sample",
            trials,
            lambda t: Cell("–" if t.length_before_mm is None else length(t.length_before_mm)),
        ),
    ]


def _or_dash(value: Any) -> str:
    return "–" if value is None else str(value)


def _waviness(trial: SeamTrial) -> Cell:
    if trial.length_before_mm is None or trial.length_after_mm is None:
        return Cell("–")
    change = round(waviness_percent(float(trial.length_before_mm), float(trial.length_after_mm)), 1)
    if change == 0:
        return Cell("kept")
    return Cell(f"{abs(change):.1f} % {'shorter' if change < 0 else 'longer'}")


def _stretched(trial: SeamTrial) -> Cell:
    if trial.length_after_mm is None or trial.stretched_mm is None:
        return Cell("–")
    reached = stretch_percent(float(trial.length_after_mm), float(trial.stretched_mm))
    ends = {"held": "held", "stopped": "would go no further", "broke": "broke"}
    return Cell(f"{reached:.0f} %, {ends.get(trial.pull_end, '')}".rstrip(", "))


def _strength(trial: SeamTrial) -> Cell:
    return Cell("–" if trial.strength_n_per_cm is None else f"{trial.strength_n_per_cm.normalize():f} N/cm")
