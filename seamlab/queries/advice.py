"""What can be said of a recipe's settings before anybody sews: settings in words, notes, estimates.

Estimates never decide: the sewn sample does.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from seamlab.calc import suits
from seamlab.calc.cloth import ClothFigures
from seamlab.calc.seam import sewing_time
from seamlab.calc.thread import consumption
from seamlab.models import Machine, SeamRecipe, SeamRecipeVersion
from seamlab.queries.mapping import HOLDING_PURPOSES, number, settings_figures
from seamlab.queries.supplies import needle_words, thread_words
from seamlab.queries.tables import seam_classes, stitch_types

Kind = Literal["warning", "estimate"]
DECIDES = "The sewn sample decides."
METRE_MM = 1000.0


@dataclass(frozen=True)
class Setting:
    """One line of a recipe's settings."""

    name: str
    words: str


@dataclass(frozen=True)
class Note:
    """A remark on settings for a cloth: a warning to heed, or an estimate to know."""

    kind: Kind
    words: str


@dataclass(frozen=True)
class Estimate:
    """A figure that is reckoned, not measured, with what it rests on."""

    name: str
    words: str
    basis: str


def seam_class_words(code: str) -> str:
    return f"{code} {seam_classes().get(code, '')}".strip()


def stitch_words(code: str) -> str:
    found = stitch_types().get(code)
    return found.words if found else code


def layer_words(recipe: SeamRecipe) -> str:
    low, high = recipe.layers_low, recipe.layers_high
    if low == high:
        return f"{low} layer{'s' if low > 1 else ''}"
    return f"{low} to {high} layers"


def millimetres(value: Decimal) -> str:
    return f"{value.normalize():f} mm"


def settings_of(version: SeamRecipeVersion) -> tuple[Setting, ...]:
    """The settings in the order in which a machine is set up; what was left open is left out."""
    under = thread_words(version.under_thread) if version.under_thread else "the same as the needle thread"
    has_under = (found := stitch_types().get(version.stitch_type)) is not None and found.threads > 1
    rows = [
        ("Stitch", stitch_words(version.stitch_type)),
        ("Stitch length", millimetres(version.stitch_length_mm)),
        ("Stitch width", millimetres(version.stitch_width_mm) if version.stitch_width_mm else ""),
        ("Sewn over each stitch", f"{version.passes} times" if version.passes > 1 else ""),
        ("Needle", needle_words(version.needle)),
        ("Needle thread", thread_words(version.needle_thread, version.needle_thread_ends)),
        ("Under thread", under if has_under else ""),
        ("Tension", version.tension),
        ("Foot", version.foot),
        ("Foot pressure", version.pressure),
        ("Differential feed", version.differential_feed),
        ("Seam allowance", millimetres(version.allowance_mm) if version.allowance_mm else ""),
        ("Before sewing", version.preparation),
        ("Stabiliser", version.stabiliser),
        ("Pressing", version.pressing),
        ("Note", version.note),
    ]
    return tuple(Setting(name, words) for name, words in rows if words)


BASIS_NAMES = {
    "figures": "Stitch, length, width, allowance, feed",
    "thread": "Thread",
    "needle": "Needle",
    "cautions": "Cautions",
}


def basis_of(version: SeamRecipeVersion) -> tuple[Setting, ...]:
    """What the figures of a version rest on, where that is recorded."""
    return tuple(
        Setting(name, version.basis[key]) for key, name in BASIS_NAMES.items() if version.basis.get(key)
    )


# --- notes: settings against a cloth ---


def notes_for(version: SeamRecipeVersion, cloth: ClothFigures, layers: int) -> tuple[Note, ...]:
    """Warnings first, then estimates; needs the version's recipe, threads and needle loaded."""
    settings = settings_figures(version)
    stretches = version.recipe.purpose not in HOLDING_PURPOSES
    speaks_against = suits.objections(settings, cloth, layers=layers, must_stretch=stretches)
    notes = [Note("warning", _decided(objection)) for objection in speaks_against]
    if stretches:
        notes += _stretch_notes(version, settings, cloth, layers)
    return tuple(sorted(notes, key=lambda note: note.kind != "warning"))


def _decided(objection: suits.Objection) -> str:
    return f"{objection.text} {DECIDES}" if objection.check == "stretch" else objection.text


def _stretch_notes(
    version: SeamRecipeVersion, settings: suits.SeamSettings, cloth: ClothFigures, layers: int
) -> list[Note]:
    ways = {"lengthwise": cloth.stretch_lengthwise_percent, "crosswise": cloth.stretch_crosswise_percent}
    tested = {way: percent for way, percent in ways.items() if percent is not None}
    notes = []
    if cloth.structure == "knit" and len(tested) < len(ways):
        untested = " and ".join(way for way in ways if way not in tested)
        notes = [Note("warning", f"This knit's stretch {untested} is not tested: two tape readings show it.")]
    asked = suits.stretch_asked(cloth)
    if not asked:
        return notes
    extension = suits.seam_extension(settings, layers * (cloth.thickness_mm or 0.0))
    if extension is None:
        words = f"How far this seam stretches can't be reckoned: {_why_not(version)}. {DECIDES}"
        return [*notes, Note("estimate", words)]
    if extension.low >= asked:
        stretchy = " and ".join(f"{percent:.0f} % {way}" for way, percent in tested.items() if percent > 0)
        words = (
            f"This seam stretches about {extension.low:.0f} to {extension.high:.0f} % (estimate); "
            f"the cloth {stretchy}. {DECIDES}"
        )
        return [*notes, Note("estimate", words)]
    return notes  # what speaks against it is among the warnings


def _why_not(version: SeamRecipeVersion) -> str:
    if version.stitch_type not in ("301", "304"):
        return f"stitch {version.stitch_type} has no model"
    if version.passes != 1:
        return "a stitch sewn several times over has no model"
    return "the stretch of its thread is not recorded"


# --- the few changes for a knit ---


def knit_checklist(version: SeamRecipeVersion, structure: str) -> tuple[suits.KnitChange, ...]:
    """What to change before a knit is sewn with this version, as questions; nothing for a woven cloth or by hand."""
    if structure != "knit" or version.needle is None:
        return ()
    return suits.knit_changes(
        settings_figures(version), tension=version.tension, stabiliser=version.stabiliser
    )


def knit_questions() -> dict[str, str]:
    """The questions of the checklist by key."""
    anything = suits.SeamSettings("301", 2.5)
    return {change.key: change.words for change in suits.knit_changes(anything)}


# --- estimates of a version ---


def estimates_for(
    version: SeamRecipeVersion, machines: list[Machine], *, thickness_mm: float | None = None
) -> tuple[Estimate, ...]:
    """Thread and time for one metre of seam; ``thickness_mm`` of the whole seam where a cloth is known."""
    thread = _thread_use(version, thickness_mm)
    return (*([thread] if thread else []), *_sewing_times(version, machines))


def thread_estimate(version: SeamRecipeVersion, thickness_mm: float | None) -> tuple[float | None, str]:
    """Thread per length of seam, all threads, ends and passes together, and what the figure rests on.

    By the stitch's geometry where the thickness of the whole seam is known, else by the table's ratio for middling
    settings. Lockstitch threads take half each, and every further end lies beside the first; for other stitches with
    several ends no figure is known.
    """
    ends, code = version.needle_thread_ends, version.stitch_type
    if ends > 1 and code not in ("301", "304"):
        return None, "several ends: unpick a sewn sample and measure its threads"
    share = (ends + 1) / 2
    if thickness_mm is not None:
        try:
            ratio = consumption(
                code,
                thickness_mm,
                1.0 / float(version.stitch_length_mm),
                float(version.stitch_width_mm),
                version.passes,
            )
        except ValueError:
            pass  # no published geometry for this stitch type: the table's ratio is next
        else:
            return ratio * share, f"estimate from the stitch's geometry, seam {thickness_mm:g} mm thick"
    found = stitch_types().get(code)
    if found is None or found.thread_ratio is None:
        return None, "unpick a sewn sample and measure its threads"
    ratio = found.thread_ratio * version.passes * share
    return ratio, f"estimate for middling settings ({found.ratio_source})"


def _thread_use(version: SeamRecipeVersion, thickness_mm: float | None) -> Estimate | None:
    ratio, basis = thread_estimate(version, thickness_mm)
    words = "not known" if ratio is None else f"about {ratio:.1f} m"
    return Estimate("Thread for 1 m of seam, all threads together", words, basis)


def _sewing_times(version: SeamRecipeVersion, machines: list[Machine]) -> list[Estimate]:
    estimates = []
    for machine in machines:
        if (
            version.stitch_type not in machine.stitch_types
            or machine.largest_width_mm < version.stitch_width_mm
        ):
            continue
        minutes = sewing_time(
            METRE_MM, float(version.stitch_length_mm), machine.stitches_per_minute, version.passes
        )
        estimates.append(
            Estimate(
                f"Sewing 1 m on {machine.name}",
                f"about {60 * minutes:.0f} s",
                f"estimate at {machine.stitches_per_minute} stitches a minute; "
                "handling and pressing come on top",
            )
        )
    return estimates


def thickness_of(cloth_thickness_mm: Decimal | None, layers: int) -> float | None:
    single = number(cloth_thickness_mm)
    return None if single is None else single * layers
