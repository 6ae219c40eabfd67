"""The settings of a seam recipe: what they are, and what is asked of them before they are kept."""

from dataclasses import dataclass, fields, replace
from decimal import Decimal
from uuid import UUID

from seamlab.models import Needle, SeamRecipeVersion, Thread
from seamlab.queries.tables import StitchType, stitch_types
from seamlab.services.checks import Checks, plain

MOST_STITCH_MM = Decimal(30)
MOST_WIDTH_MM = Decimal(60)
MOST_PASSES = 9
MOST_ENDS = 6
MOST_ALLOWANCE_MM = Decimal(150)


@dataclass(frozen=True, kw_only=True)
class RecipeSettings:
    """Everything that is set up before the seam is sewn. Lengths in mm.

    ``stitch_length_mm`` is the advance from one needle hole to the next. No ``under_thread_id``: the same
    thread as above. No ``needle_id``: a stitch by hand. ``passes`` 3 is a triple stitch.
    """

    stitch_type: str
    stitch_length_mm: Decimal
    needle_thread_id: UUID
    needle_id: UUID | None = None
    stitch_width_mm: Decimal = Decimal(0)
    passes: int = 1
    needle_thread_ends: int = 1
    under_thread_id: UUID | None = None
    tension: str = ""
    foot: str = ""
    pressure: str = ""
    differential_feed: str = ""
    stabiliser: str = ""
    pressing: str = ""
    preparation: str = ""
    allowance_mm: Decimal | None = None
    cautions: str = ""
    note: str = ""


SETTING_NAMES = tuple(field.name for field in fields(RecipeSettings))


def settings_of_version(version: SeamRecipeVersion) -> RecipeSettings:
    """The settings of a version as they were given."""
    return RecipeSettings(**{name: getattr(version, name) for name in SETTING_NAMES})


def check_settings(given: RecipeSettings, checks: Checks) -> RecipeSettings:
    """The settings, tidied; what is wrong with them is added to ``checks``."""
    settings = replace(
        given,
        tension=given.tension.strip(),
        foot=given.foot.strip(),
        pressure=given.pressure.strip(),
        differential_feed=given.differential_feed.strip(),
        stabiliser=given.stabiliser.strip(),
        pressing=given.pressing.strip(),
        preparation=given.preparation.strip(),
        cautions=given.cautions.strip(),
        note=given.note.strip(),
    )
    stitch = stitch_types().get(settings.stitch_type)
    length, passes, ends = settings.stitch_length_mm, settings.passes, settings.needle_thread_ends
    checks.need(
        stitch is not None,
        "stitch_type",
        f"{settings.stitch_type!r} is not a stitch type in the table (ISO 4915).",
    )
    checks.positive("stitch_length_mm", length, "The stitch length", unit="mm", most=MOST_STITCH_MM)
    checks.positive(
        "allowance_mm", settings.allowance_mm, "The seam allowance", unit="mm", most=MOST_ALLOWANCE_MM
    )
    checks.need(
        1 <= passes <= MOST_PASSES, "passes", f"A stitch is sewn 1 to {MOST_PASSES} times over, got {passes}."
    )
    checks.need(
        1 <= ends <= MOST_ENDS,
        "needle_thread_ends",
        f"1 to {MOST_ENDS} ends go through one needle, got {ends}.",
    )
    if stitch is not None:
        _check_width(stitch, settings.stitch_width_mm, checks)
        _check_parts(stitch, settings, checks)
    return settings


def _check_width(stitch: StitchType, width: Decimal, checks: Checks) -> None:
    field = "stitch_width_mm"
    if not checks.need(
        width.is_finite() and 0 <= width <= MOST_WIDTH_MM,
        field,
        f"The stitch width must be from 0 to {plain(MOST_WIDTH_MM)} mm.",
    ):
        return
    checks.need(
        width == 0 or not stitch.is_straight,
        field,
        f"Stitch {stitch.words} lies in one line: its width is 0.",
    )
    checks.need(width > 0 or not stitch.needs_width, field, f"Stitch {stitch.words} needs a width in mm.")


def _check_parts(stitch: StitchType, settings: RecipeSettings, checks: Checks) -> None:
    """Thread and needle must be of this studio and suit the stitch; two queries."""
    above, under, needle = settings.needle_thread_id, settings.under_thread_id, settings.needle_id
    wanted = [above] if under is None else [above, under]
    known = set(Thread.objects.filter(pk__in=wanted).values_list("pk", flat=True))
    missing = "There is no such {} here: record it under supplies first."
    checks.need(above in known, "needle_thread_id", missing.format("thread"))
    if under is not None:
        checks.need(under in known, "under_thread_id", missing.format("thread"))
        checks.need(stitch.threads > 1, "under_thread_id", f"Stitch {stitch.words} is sewn with one thread.")
    if needle is None:
        checks.need(stitch.by_hand, "needle_id", f"Choose a needle for stitch {stitch.words}.")
        return
    checks.need(
        not stitch.by_hand,
        "needle_id",
        f"Stitch {stitch.words} is sewn by hand: leave the machine needle out.",
    )
    checks.need(Needle.objects.filter(pk=needle).exists(), "needle_id", missing.format("needle"))
