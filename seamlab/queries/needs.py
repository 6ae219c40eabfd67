"""Before sewing the real thing: thread by colour, time, and which seams still owe a sample.

Seams are given as lines (where, by which version, on which cloth, how long, in which colours); a garment's are
listed by the wing that makes garments.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Literal
from uuid import UUID

from django.utils import timezone

from seamlab.calc import needs as calc
from seamlab.calc.seam import sewing_time
from seamlab.models import Cloth, Machine, SeamRecipeVersion, SeamTrial
from seamlab.queries.advice import Setting, settings_of, stitch_words
from seamlab.queries.mapping import number
from seamlab.queries.tables import StitchType, stitch_types
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right

LEAST_PERCENT, MOST_PERCENT, USUAL_PERCENT = Decimal(0), Decimal(100), Decimal(15)
Standing = Literal["proven", "doubted", "failed", "owed", "no_cloth"]
STANDING_WORDS: dict[Standing, str] = {
    "proven": "proven on this cloth",
    "doubted": "proven, but its newest sample did not pass",
    "failed": "has not passed on this cloth",
    "owed": "sew a sample first",
    "no_cloth": "no cloth chosen",
}
STANDING_SHORT: dict[Standing, str] = {
    "proven": "proven",
    "doubted": "in doubt",
    "failed": "has not passed",
    "owed": "no sample yet",
    "no_cloth": "no cloth chosen",
}
NO_COLOUR = "colour not said"


def time_words(minutes: float) -> str:
    """ "40 s", "7 min", "1 h 25 min"."""
    seconds = round(minutes * 60)
    if seconds < 90:
        return f"{seconds} s"
    whole = round(minutes)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60} min"


@dataclass(frozen=True)
class SeamAsked:
    """One line of the list. ``length_mm`` of one seam (None: not measured), sewn ``times``; empty colours: not said."""

    id: UUID
    place: str
    version_id: UUID
    cloth_id: UUID | None
    length_mm: Decimal | None = None
    times: int = 1
    needle_colour: str = ""
    under_colour: str = ""


@dataclass(frozen=True)
class SeamRow:
    """A seam with its proof, what is set up for it, and what it takes."""

    asked: SeamAsked
    recipe_id: UUID
    recipe: str
    number: int
    purpose: str
    stitch_type: str
    stitch_length_mm: Decimal
    stitch_width_mm: Decimal
    stitch: str
    settings: tuple[Setting, ...]
    cautions: str
    cloth: str
    standing: Standing
    proven_on: date | None
    trial_id: UUID | None  # the one that proves it, else the newest on this cloth
    thread_mm: float | None  # all threads, without allowance
    basis: str  # what its thread rests on, in words
    minutes: float | None
    machine: str

    @property
    def standing_words(self) -> str:
        return STANDING_WORDS[self.standing]

    @property
    def standing_short(self) -> str:
        return STANDING_SHORT[self.standing]

    @property
    def owes_a_sample(self) -> bool:
        return self.standing != "proven"

    @property
    def thread_metres(self) -> str:
        """All threads together, without allowance."""
        return "" if self.thread_mm is None else f"{self.thread_mm / 1000:.1f}"

    @property
    def time_words(self) -> str:
        return "" if self.minutes is None else time_words(self.minutes)

    @property
    def whole_length_mm(self) -> Decimal | None:
        return None if self.asked.length_mm is None else self.asked.length_mm * self.asked.times


@dataclass(frozen=True)
class ThreadRow:
    """Thread of one kind and colour: metres sewn in, metres with the allowance, reels, and what lies on the shelf."""

    thread_id: UUID
    thread: str
    colour: str
    sewn_m: float
    needed_m: float
    reels: int | None
    on_shelf: int | None
    seams: tuple[str, ...]
    lacking: tuple[str, ...]

    @property
    def metres(self) -> int:
        """Rounded up: half a metre too much is no harm."""
        return math.ceil(round(self.needed_m, 6))

    @property
    def is_short(self) -> bool:
        return self.reels is not None and self.on_shelf is not None and self.on_shelf < self.reels


@dataclass(frozen=True)
class SewingNeeds:
    """Everything for one list of seams."""

    seams: tuple[SeamRow, ...]
    threads: tuple[ThreadRow, ...]
    allowance_percent: Decimal
    minutes: float | None  # of the seams whose time is known
    untimed: tuple[str, ...]
    unmeasured: tuple[str, ...]

    @property
    def time_words(self) -> str:
        return "" if self.minutes is None else time_words(self.minutes)

    @property
    def owing(self) -> tuple[SeamRow, ...]:
        return tuple(row for row in self.seams if row.owes_a_sample)


@dataclass
class _Known:
    """What the lines refer to."""

    versions: dict[UUID, SeamRecipeVersion]
    cloths: dict[UUID, Cloth]
    machine: Machine | None
    trials: dict[tuple[UUID, UUID], list[SeamTrial]] = field(default_factory=dict)  # newest last

    def of(self, asked: SeamAsked) -> list[SeamTrial]:
        return self.trials.get((asked.version_id, asked.cloth_id), []) if asked.cloth_id else []


def sewing_needs(
    actor: Actor,
    lines: Sequence[SeamAsked],
    *,
    allowance_percent: Decimal = USUAL_PERCENT,
    machine_id: UUID | None = None,
) -> SewingNeeds:
    """What these seams take. Three queries, four with a machine, however many lines.

    Without ``machine_id`` each seam is timed on the machine of its sample. Raises NotHere (machine) and Refused
    (allowance_percent).
    """
    actor.need(Right.READ_SEAMS)
    if not (allowance_percent.is_finite() and LEAST_PERCENT <= allowance_percent <= MOST_PERCENT):
        raise Refused(
            {
                "allowance_percent": f"The allowance must be from {LEAST_PERCENT} to {MOST_PERCENT} % (15 is usual)."
            }
        )
    known = _known(lines, machine_id)
    rows = tuple(_row(asked, known) for asked in lines)
    timed = [row.minutes for row in rows if row.minutes is not None]
    return SewingNeeds(
        seams=rows,
        threads=tuple(_threads(lines, known, float(allowance_percent) / 100)),
        allowance_percent=allowance_percent,
        minutes=sum(timed) if timed else None,
        untimed=tuple(row.asked.place for row in rows if row.minutes is None and row.asked.length_mm),
        unmeasured=tuple(row.asked.place for row in rows if row.asked.length_mm is None),
    )


def _known(lines: Iterable[SeamAsked], machine_id: UUID | None) -> _Known:
    lines = list(lines)
    versions = SeamRecipeVersion.objects.select_related("recipe", "needle_thread", "under_thread", "needle")
    machine = None if machine_id is None else Machine.objects.filter(pk=machine_id).first()
    if machine_id is not None and machine is None:
        raise NotHere("machine")
    known = _Known(
        {version.pk: version for version in versions.filter(pk__in={line.version_id for line in lines})},
        {cloth.pk: cloth for cloth in Cloth.objects.filter(pk__in={line.cloth_id for line in lines})},
        machine,
    )
    trials = SeamTrial.objects.filter(
        version_id__in={line.version_id for line in lines},
        cloth_id__in={line.cloth_id for line in lines if line.cloth_id},
        withdrawals=None,
    ).select_related("machine")
    for trial in trials.defer("reasons", "checklist").order_by("sewn_at", "id"):
        known.trials.setdefault((trial.version_id, trial.cloth_id), []).append(trial)
    return known


def _row(asked: SeamAsked, known: _Known) -> SeamRow:
    version = known.versions[asked.version_id]
    trials = known.of(asked)
    standing, trial = _proof(asked, trials)
    factors, basis = _factors(asked, known)
    minutes, machine = _time(asked, version, trials, known.machine)
    length = None if asked.length_mm is None else float(asked.length_mm) * asked.times
    cloth = known.cloths.get(asked.cloth_id) if asked.cloth_id else None
    proves = trial is not None and standing in ("proven", "doubted")
    return SeamRow(
        asked=asked,
        recipe_id=version.recipe_id,
        recipe=version.recipe.name,
        number=version.number,
        purpose=str(version.recipe.get_purpose_display()),
        stitch_type=version.stitch_type,
        stitch_length_mm=version.stitch_length_mm,
        stitch_width_mm=version.stitch_width_mm,
        stitch=stitch_words(version.stitch_type),
        settings=settings_of(version),
        cautions=version.cautions,
        cloth=cloth.name if cloth else "",
        standing=standing,
        proven_on=timezone.localdate(trial.sewn_at) if trial is not None and proves else None,
        trial_id=trial.pk if trial is not None else None,
        thread_mm=factors.total * length if factors and length is not None else None,
        basis=basis,
        minutes=minutes,
        machine=machine,
    )


def _proof(asked: SeamAsked, trials: Sequence[SeamTrial]) -> tuple[Standing, SeamTrial | None]:
    if asked.cloth_id is None:
        return "no_cloth", None
    if not trials:
        return "owed", None
    passed = [trial for trial in trials if trial.verdict == SeamTrial.Verdict.PASSES]
    if not passed:
        return "failed", trials[-1]
    return ("proven" if trials[-1].verdict == SeamTrial.Verdict.PASSES else "doubted"), passed[-1]


def _factors(asked: SeamAsked, known: _Known) -> tuple[calc.Factors | None, str]:
    """Thread per length, the surest way first, and in words what it rests on."""
    version = known.versions[asked.version_id]
    stitch = stitch_types().get(version.stitch_type)
    if stitch is None:
        return None, "not known"
    for trial in reversed(known.of(asked)):
        if trial.unpicked_length_mm:
            found = calc.from_sample(
                unpicked=float(trial.unpicked_length_mm),
                needle=number(trial.needle_thread_mm),
                under=number(trial.under_thread_mm),
                one_thread=stitch.threads == 1,
            )
            if found is not None:
                return found, f"unpicked from the sample of {timezone.localdate(trial.sewn_at):%-d %b %Y}"
    share = 1.0 if stitch.threads == 1 else calc.needle_share(stitch.split_percent)
    cloth = known.cloths.get(asked.cloth_id) if asked.cloth_id else None
    if cloth is not None and cloth.thickness_mm:
        try:
            found = calc.from_geometry(
                version.stitch_type,
                thickness=float(cloth.thickness_mm) * version.recipe.layers_low,
                stitch_length=float(version.stitch_length_mm),
                width=float(version.stitch_width_mm),
                passes=version.passes,
                ends=version.needle_thread_ends,
                needle_share=share,
            )
        except ValueError:
            pass  # no published geometry for this type: the table's ratio is next
        else:
            return found, "estimate from the stitch's geometry"
    return _by_ratio(version, stitch, share)


def _by_ratio(
    version: SeamRecipeVersion, stitch: StitchType, share: float
) -> tuple[calc.Factors | None, str]:
    if stitch.thread_ratio is None:
        return None, "not known: unpick a sample and tape its threads"
    found = calc.from_ratio(
        stitch.thread_ratio, passes=version.passes, ends=version.needle_thread_ends, needle_share=share
    )
    return found, "estimate for middling settings"


def _time(
    asked: SeamAsked, version: SeamRecipeVersion, trials: Sequence[SeamTrial], wanted: Machine | None
) -> tuple[float | None, str]:
    """Minutes at the needle and the machine, by name; None for a seam by hand, or without length or machine."""
    if asked.length_mm is None or version.needle_id is None:
        return None, "by hand" if version.needle_id is None else ""
    passed = [trial for trial in trials if trial.verdict == SeamTrial.Verdict.PASSES]
    machine = wanted
    if machine is None:
        machine = next((t.machine for t in reversed(passed or list(trials)) if t.machine is not None), None)
    if machine is None or version.stitch_type not in machine.stitch_types:
        return None, machine.name if machine else ""
    length = float(asked.length_mm) * asked.times
    return (
        sewing_time(length, float(version.stitch_length_mm), machine.stitches_per_minute, version.passes),
        machine.name,
    )


def _threads(lines: Sequence[SeamAsked], known: _Known, allowance: float) -> Iterable[ThreadRow]:
    threads: dict[str, Any] = {}
    asked = []
    for line in lines:
        if line.length_mm is None:
            continue
        version = known.versions[line.version_id]
        stitch = stitch_types().get(version.stitch_type)
        above, beneath = version.needle_thread, version.under_thread or version.needle_thread
        threads[str(above.pk)], threads[str(beneath.pk)] = above, beneath
        colour = line.needle_colour or NO_COLOUR
        one = stitch is not None and stitch.threads == 1
        asked.append(
            calc.SeamLine(
                key=str(line.id),
                length=float(line.length_mm),
                times=line.times,
                needle=(str(above.pk), colour),
                under=None if one else (str(beneath.pk), line.under_colour or colour),
                factors=_factors(line, known)[0],
            )
        )
    places = {str(line.id): line.place for line in lines}
    for need in calc.thread_needs(asked, allowance):
        yield _thread_row(need, threads[need.thread[0]], places)


def _thread_row(need: calc.ThreadNeed, thread: Any, places: Mapping[str, str]) -> ThreadRow:
    colour = need.thread[1]
    shelf = next(
        (row.get("reels") for row in thread.colours if row["colour"].casefold() == colour.casefold()), None
    )
    reel = number(thread.reel_length_m)
    return ThreadRow(
        thread_id=thread.pk,
        thread=thread.name,
        colour=colour,
        sewn_m=need.sewn / 1000,
        needed_m=need.needed / 1000,
        reels=calc.whole_reels(need.needed / 1000, reel) if reel else None,
        on_shelf=shelf,
        seams=tuple(places[key] for key in need.seams),
        lacking=tuple(places[key] for key in need.lacking),
    )
