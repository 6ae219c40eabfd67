"""What a sample sheet holds, as plain data, and where its codes lead."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.db.models import QuerySet, TextField
from django.db.models.functions import Cast
from django.utils import timezone

from seamlab.models import Cloth, SeamRecipeVersion, SeamTrial
from seamlab.queries.advice import settings_of
from seamlab.queries.cloth import DIRECTION_WORDS, cloth_get, fibre_words, newest_tests
from seamlab.queries.needs import STANDING_WORDS, SeamRow, SewingNeeds, time_words
from studio.calc.units import format_length
from studio.platform import links
from studio.platform.errors import NotHere
from studio.platform.models import Job, StoredFile
from studio.platform.rights import Actor, Right

SHEET_JOB = "sample_sheet"
MOST_SAMPLES = 24
CODE_DIGITS = 8  # of 122 random bits: two trials of one studio hardly ever share them

# Common practice, no source; local rules and whoever is licensed to say decide.
CAUTIONS = (
    {
        "title": "Needle",
        "text": "Switch the machine off before threading or changing the needle. A needle that broke is found whole, "
        "every piece, before anybody sews on.",
    },
    {
        "title": "Iron",
        "text": "Try heat and steam on a scrap of this cloth first. "
        "An iron stands on its heel and is never left alone.",
    },
)


def trial_code(trial_id: UUID) -> str:
    """The last digits of a trial's id: short enough to be typed."""
    return trial_id.hex[-CODE_DIGITS:]


def pair_code(version_id: UUID, cloth_id: UUID) -> str:
    """The code of a sample still to be sewn: this version on this cloth."""
    return f"{version_id.hex[-CODE_DIGITS:]}-{cloth_id.hex[-CODE_DIGITS:]}"


def trial_of_code(actor: Actor, code: str) -> SeamTrial:
    """The newest trial of this code; raises NotHere."""
    actor.need(Right.READ_SEAMS)
    found: SeamTrial | None = _ending(SeamTrial.objects.order_by("-sewn_at", "-id"), code).first()
    if found is None:
        raise NotHere("sample")
    return found


def pair_of_code(actor: Actor, version_code: str, cloth_code: str) -> tuple[UUID, UUID]:
    """(version, cloth) of a sample to be sewn; raises NotHere."""
    actor.need(Right.READ_SEAMS)
    version = _ending(SeamRecipeVersion.objects.order_by("-id"), version_code).first()
    cloth = _ending(Cloth.objects.order_by("-id"), cloth_code).first()
    if version is None or cloth is None:
        raise NotHere("sample")
    return version.pk, cloth.pk


def _ending(rows: Any, code: str) -> Any:
    return rows.annotate(digits=Cast("id", TextField())).filter(digits__endswith=code.lower())


def sheet_list(actor: Actor) -> "QuerySet[Job]":
    """Sample sheets, newest first: each is the job that draws it."""
    actor.need(Right.READ_SEAMS)
    return Job.objects.filter(kind=SHEET_JOB).select_related("asked_by").order_by("-id")


def sheet_get(actor: Actor, sheet_id: UUID) -> Job:
    """One sheet; raises NotHere."""
    found: Job | None = sheet_list(actor).filter(pk=sheet_id).first()
    if found is None:
        raise NotHere("sample sheet")
    return found


def sheet_file(actor: Actor, sheet_id: UUID) -> StoredFile:
    """The PDF of a sheet as it was stored; raises NotHere while it is not drawn."""
    named = sheet_get(actor, sheet_id).result.get("file")
    found: StoredFile | None = StoredFile.objects.filter(pk=named).first() if named else None
    if found is None or not default_storage.exists(found.key):
        raise NotHere("file of this sample sheet")
    return found


# --- parts of a snapshot ---


def trial_sample(trial: SeamTrial, unit: str) -> dict[str, Any]:
    """A sample that was sewn; needs the trial's cloth, machine and version with its parts."""
    standing = {"passes": "proven", "fails": "failed"}.get(trial.verdict, "doubted")
    machine = trial.machine.name if trial.machine else "by hand"
    return {
        **_head(trial.version, trial.cloth, trial.pk),
        "lead": f"{trial.cloth.name}, {_layers(trial.layers)}, {trial.get_direction_display().lower()}, {machine}.",
        "standing": standing,
        "standing_words": str(trial.get_verdict_display()).lower(),
        "verdict": trial.verdict,
        "sewn_on": _day(timezone.localdate(trial.sewn_at)),
        "measured": {
            "before": _length(trial.length_before_mm, unit),
            "after": _length(trial.length_after_mm, unit),
            "stretched": _length(trial.stretched_mm, unit),
            "smoothness": "" if trial.smoothness is None else f"{trial.smoothness.normalize():f}",
            "skipped": "" if trial.skipped_stitches is None else str(trial.skipped_stitches),
        },
    }


def owed_sample(version: SeamRecipeVersion, cloth: Cloth | None) -> dict[str, Any]:
    """A sample that is still to be sewn; needs the version's recipe, threads and needle."""
    standing = "owed" if cloth else "no_cloth"
    where = f"On {cloth.name}, {_layers(version.recipe.layers_low)}." if cloth else ""
    return {
        **_head(version, cloth, None),
        "lead": where,
        "standing": standing,
        "standing_words": STANDING_WORDS[standing],  # type: ignore[index]
    }


def needs_parts(needs: SewingNeeds) -> dict[str, Any]:
    """Thread and time of a list of seams, in words."""
    return {
        "threads": [
            {
                "colour": row.colour,
                "thread": row.thread,
                "metres": row.metres,
                "reels": row.reels,
                "seams": list(row.seams),
                "lacking": list(row.lacking),
            }
            for row in needs.threads
        ],
        "allowance": f"{needs.allowance_percent.normalize():f}",
        "time": "" if needs.minutes is None else time_words(needs.minutes),
        "untimed": list(needs.untimed),
        "unmeasured": list(needs.unmeasured),
    }


def seam_place(row: SeamRow) -> str:
    """ "Side seams, grey above, moss beneath": where and in which colours."""
    above, beneath = row.asked.needle_colour, row.asked.under_colour
    colours = [above, f"{beneath} beneath" if beneath else ""]
    words = ", ".join([row.asked.place, *(colour for colour in colours if colour)])
    return words[:1].upper() + words[1:]


def cloth_facts(actor: Actor, cloth_id: UUID) -> list[dict[str, str]]:
    """What the head of a sheet says of a cloth; raises NotHere."""
    cloth = cloth_get(actor, cloth_id)
    tests = newest_tests(cloth)
    stretch = [
        f"{test.percent.normalize():f} % {test.get_way_display()}"
        for test in (tests.stretch_lengthwise, tests.stretch_crosswise)
        if test is not None
    ]
    rows = [
        ("Cloth", ", ".join(part for part in (cloth.name, cloth.construction, cloth.colour) if part)),
        ("Fibres", fibre_words(cloth)),
        ("Weight", f"{cloth.weight_gsm.normalize():f} g/m²"),
        ("Thickness", f"{cloth.thickness_mm.normalize():f} mm, one layer" if cloth.thickness_mm else ""),
        ("Stretch", ", ".join(stretch) or "not tested"),
        ("Direction", DIRECTION_WORDS[cloth.direction].split(":", 1)[0].split(".", 1)[0]),
    ]
    return [{"name": name, "words": words} for name, words in rows if words]


def trials_with_parts(trials: Iterable[UUID]) -> list[SeamTrial]:
    """These trials in their order, with all that a sheet shows; one query."""
    wanted = list(trials)
    rows = _with_parts(SeamTrial.objects.filter(pk__in=wanted))
    found = {trial.pk: trial for trial in rows}
    return [found[pk] for pk in wanted if pk in found]


def newest_on(cloth_id: UUID) -> list[SeamTrial]:
    """The newest trial of each version on this cloth, newest first; what was withdrawn is left out."""
    rows = SeamTrial.objects.filter(cloth_id=cloth_id, withdrawals=None)
    newest = (
        rows.order_by("version_id", "-sewn_at", "-id").distinct("version_id").values_list("pk", flat=True)
    )
    return list(
        _with_parts(SeamTrial.objects.filter(pk__in=list(newest))).order_by("-sewn_at")[:MOST_SAMPLES]
    )


def versions_of(ids: Sequence[UUID]) -> Mapping[UUID, SeamRecipeVersion]:
    rows = SeamRecipeVersion.objects.select_related("recipe", "needle_thread", "under_thread", "needle")
    return {version.pk: version for version in rows.filter(pk__in=list(ids))}


def _with_parts(rows: "QuerySet[SeamTrial]") -> "QuerySet[SeamTrial]":
    parts = ("recipe", "needle_thread", "under_thread", "needle")
    return rows.select_related("cloth", "machine", *(f"version__{part}" for part in parts))


def _head(version: SeamRecipeVersion, cloth: Cloth | None, trial_id: UUID | None) -> dict[str, Any]:
    code = trial_code(trial_id) if trial_id else pair_code(version.pk, cloth.pk) if cloth else ""
    address = (
        links.address("seamlab:sample", code)
        if code
        else links.address("seamlab:recipe", str(version.recipe_id))
    )
    return {
        "title": f"{version.recipe.name}, version {version.number}",
        "place": "",
        "verdict": "",
        "sewn_on": "",
        "measured": dict.fromkeys(("before", "after", "stretched", "smoothness", "skipped"), ""),
        "settings": [{"name": row.name, "words": row.words} for row in settings_of(version)],
        "cautions": version.cautions,
        "address": address,
        "short": address.partition("://")[2] if code else "",
        "code_words": "Back to this sample:" if trial_id else "Write this sample down:",
    }


def _layers(count: int) -> str:
    return f"{count} layer{'s' if count > 1 else ''}"


def _day(day: Any) -> str:
    return f"{day.day} {day:%b %Y}"


def _length(value: Any, unit: str) -> str:
    return "" if value is None else format_length(value, unit)
