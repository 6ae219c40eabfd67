"""Taking in the starting library: recipes, and the threads and needles that they are sewn with."""

from dataclasses import asdict, dataclass
from decimal import Decimal

from seamlab.models import Needle, SeamRecipe, SeamRecipeVersion, Thread
from seamlab.queries.library import LibraryRecipe, LibraryThread, library
from seamlab.services.checks import Checks
from seamlab.services.seams import save_version
from seamlab.services.settings import RecipeSettings, check_settings
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new

SOURCE = "The starting library: general knowledge of the trade, untested here until a sample of this studio passes."
THREAD_NOTE = (
    "From the starting library. Its stretch at break is the low figure usual for this kind, from memory: "
    "take the reel's data sheet."
)
# A thread on the shelf serves for one of the library's where its size is within this share. Common practice, no source.
TEX_SLACK = Decimal("0.1")
EXTENSIBLE_PERCENT = Decimal(50)


@dataclass(frozen=True)
class TakenIn:
    """What taking in the library added; ``recipes`` that were there already are not counted."""

    recipes: int
    threads: int
    needles: int


def take_in_library(actor: Actor) -> TakenIn:
    """Write every recipe of the library that this studio has not yet, with version 1; done twice it adds nothing.

    A thread or needle on the shelf that fits is taken, what is missing is recorded. A recipe that was taken in and then
    changed or hidden stays as it is. Raises NotAllowed.
    """
    actor.need(Right.KEEP_SEAMS)
    taken = set(SeamRecipe.objects.exclude(library_key="").values_list("library_key", flat=True))
    missing = [recipe for recipe in library().recipes if recipe.key not in taken]
    shelf = _Shelf()
    names = {name.casefold() for name in SeamRecipe.objects.values_list("name", flat=True)}
    made = [_take_in(actor, row, shelf, names) for row in missing]
    result = TakenIn(len(made), shelf.threads_made, shelf.needles_made)
    if made:
        record_act(actor, "take_in_library", made[0].recipe, **asdict(result))
    return result


class _Shelf:
    """The studio's threads and needles, and what had to be added to them; two queries."""

    def __init__(self) -> None:
        self.threads: list[Thread] = list(Thread.objects.filter(is_hidden=False))
        self.names: dict[str, Thread] = {thread.name.casefold(): thread for thread in Thread.objects.all()}
        self.needles: dict[tuple[int, str], Needle] = {
            (needle.metric, needle.point): needle for needle in Needle.objects.filter(blades=1, gauge_mm=0)
        }
        self.chosen: dict[str, Thread] = {}
        self.threads_made = self.needles_made = 0

    def thread(self, key: str) -> Thread:
        if key not in self.chosen:
            wanted = library().threads[key]
            self.chosen[key] = self._fitting(wanted) or self._record(wanted)
        return self.chosen[key]

    def _fitting(self, wanted: LibraryThread) -> Thread | None:
        fits = [thread for thread in self.threads if _serves(thread, wanted)]
        return min(fits, key=lambda thread: abs(thread.tex - wanted.tex)) if fits else None

    def _record(self, wanted: LibraryThread) -> Thread:
        known = self.names.get(wanted.name.casefold())
        if known is not None:
            return known
        self.threads_made += 1
        made: Thread = save_new(
            Thread(
                name=wanted.name,
                fibre=wanted.fibre,
                construction=wanted.construction,
                tex=wanted.tex,
                extension_percent=wanted.extension_percent,
                notes=THREAD_NOTE if wanted.extension_percent is not None else "From the starting library.",
            )
        )
        return made

    def needle(self, wanted: tuple[int, str]) -> Needle:
        if wanted not in self.needles:
            self.needles_made += 1
            self.needles[wanted] = save_new(Needle(metric=wanted[0], point=wanted[1]))
        return self.needles[wanted]


def _serves(thread: Thread, wanted: LibraryThread) -> bool:
    if thread.fibre != wanted.fibre or abs(thread.tex - wanted.tex) > wanted.tex * TEX_SLACK:
        return False
    if thread.construction.casefold() != wanted.construction.casefold():
        return False
    # An extensible thread is asked for its stretch: one that is not known to stretch is no substitute.
    if wanted.extension_percent is not None and wanted.extension_percent >= EXTENSIBLE_PERCENT:
        return thread.extension_percent is not None and thread.extension_percent >= EXTENSIBLE_PERCENT
    return True


def _take_in(actor: Actor, row: LibraryRecipe, shelf: _Shelf, names: set[str]) -> SeamRecipeVersion:
    needle = shelf.needle(row.needle) if row.needle else None
    under = shelf.thread(row.under_thread) if row.under_thread else None
    settings = RecipeSettings(
        stitch_type=row.stitch_type,
        stitch_length_mm=row.stitch_length_mm,
        stitch_width_mm=row.stitch_width_mm,
        passes=row.passes,
        needle_thread_id=shelf.thread(row.needle_thread).pk,
        needle_thread_ends=row.needle_thread_ends,
        under_thread_id=under.pk if under else None,
        needle_id=needle.pk if needle else None,
        tension=row.tension,
        foot=row.foot,
        pressure=row.pressure,
        differential_feed=row.differential_feed,
        stabiliser=row.stabiliser,
        pressing=row.pressing,
        preparation=row.preparation,
        allowance_mm=row.allowance_mm,
        cautions=row.cautions,
        note=row.note,
    )
    checks = Checks()
    settings = check_settings(settings, checks)
    checks.done()
    name = row.name if row.name.casefold() not in names else f"{row.name} (library)"
    names.add(name.casefold())
    recipe = save_new(
        SeamRecipe(
            name=name,
            purpose=row.purpose,
            seam_class=row.seam_class,
            structure=row.structure,
            layers_low=row.layers[0],
            layers_high=row.layers[1],
            origin=SeamRecipe.Origin.LIBRARY,
            library_key=row.key,
            source=SOURCE,
            written_for=list(row.written_for),
        )
    )
    return save_version(actor, recipe, 1, settings, row.basis)
