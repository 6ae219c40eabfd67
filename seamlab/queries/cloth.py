"""Reading cloth and its tests."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery

from seamlab.calc.cloth import ClothFigures, cut_for_finished
from seamlab.models import Cloth, ClothPhoto, ClothTest
from seamlab.models.cloth import CROSSWISE, LENGTHWISE
from seamlab.queries.mapping import figures_of
from seamlab.queries.tables import cloth_kinds, fibre_named
from studio.calc.wording import searchable
from studio.platform.errors import NotHere
from studio.platform.models import StoredFile
from studio.platform.rights import Actor, Right

DIRECTION_WORDS: dict[str, str] = {
    Cloth.Direction.NAP: "Nap or pile: one direction. Lay every piece the same way up, or the parts shade.",
    Cloth.Direction.ONE_WAY_PRINT: "One-way print: one direction. Lay every piece with the print one way up.",
    Cloth.Direction.SHEEN: "Sheen that shades: one direction. Turned pieces look like another colour.",
    Cloth.Direction.TWO_WAY: "Two directions: compared in daylight both ways up, it looks the same. "
    "Pieces may be turned by half a turn.",
    Cloth.Direction.NOT_KNOWN: "Not known, so treated as one direction. Hang two lengths side by side, "
    "one turned, and look in daylight: if they are the same, record two directions.",
}


@dataclass(frozen=True)
class NewestTests:
    """The newest test of each kind and way, None where there is none."""

    stretch_lengthwise: ClothTest | None
    stretch_crosswise: ClothTest | None
    wash_lengthwise: ClothTest | None
    wash_crosswise: ClothTest | None


def newest_percent(kind: str, way: str) -> Subquery:
    """The percent of the newest such test, inside a query of cloths."""
    return Subquery(
        ClothTest.objects.filter(cloth=OuterRef("pk"), kind=kind, way=way)
        .order_by("-tested_at", "-id")
        .values("percent")[:1]
    )


def cloth_list(actor: Actor, words: str = "", *, with_hidden: bool = False) -> "QuerySet[Cloth]":
    """Cloths by name, each with the percent of its newest tests (``stretch_lengthwise`` and so on, or None).

    Every one of ``words`` must occur in the name, colour, construction, kind, notes or a fibre. What was put
    away comes along only ``with_hidden``. One query.
    """
    actor.need(Right.READ_SEAMS)
    found = _with_newest().order_by("name", "id")
    if not with_hidden:
        found = found.filter(is_hidden=False)
    for word in searchable(words).split()[:8]:
        found = found.filter(_mentions(word))
    return found


def cloth_get(actor: Actor, cloth_id: UUID) -> Cloth:
    """A cloth with its tests, newest first, and the same percents; two queries. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    tests = ClothTest.objects.select_related("tested_by").order_by("-tested_at", "-id")
    found: Cloth | None = (
        _with_newest().prefetch_related(Prefetch("tests", queryset=tests)).filter(pk=cloth_id).first()
    )
    if found is None:
        raise NotHere("cloth")
    return found


def newest_tests(cloth: Cloth) -> NewestTests:
    """The newest tests of a cloth that ``cloth_get`` gave (no further query)."""
    newest: dict[tuple[str, str], ClothTest] = {}
    for test in sorted(cloth.tests.all(), key=lambda row: (row.tested_at, row.pk)):
        newest[test.kind, test.way] = test
    stretch, wash = ClothTest.Kind.STRETCH, ClothTest.Kind.WASH
    return NewestTests(
        newest.get((stretch, LENGTHWISE)),
        newest.get((stretch, CROSSWISE)),
        newest.get((wash, LENGTHWISE)),
        newest.get((wash, CROSSWISE)),
    )


def unwashed_lengths(tests: NewestTests, finished_mm: Decimal = Decimal(1000)) -> list[tuple[str, Decimal]]:
    """For each way whose wash was tested: (way, mm to cut of unwashed cloth for ``finished_mm`` when washed)."""
    return [
        (way, round(Decimal(cut_for_finished(float(finished_mm), float(test.percent))), 1))
        for way, test in ((LENGTHWISE, tests.wash_lengthwise), (CROSSWISE, tests.wash_crosswise))
        if test is not None
    ]


def cloth_figures(cloth: Cloth) -> ClothFigures:
    """What the calculations need of a cloth, with the stretch of its newest tests."""
    tests = newest_tests(cloth)

    def percent(test: ClothTest | None) -> Decimal | None:
        return None if test is None else test.percent

    return figures_of(cloth, percent(tests.stretch_lengthwise), percent(tests.stretch_crosswise))


def cloth_tests(actor: Actor, cloth_id: UUID, *, kind: str) -> "QuerySet[ClothTest]":
    """The tests of one kind on a cloth of this studio, newest first. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    if not Cloth.objects.filter(pk=cloth_id).exists():
        raise NotHere("cloth")
    return ClothTest.objects.filter(cloth_id=cloth_id, kind=kind).select_related("tested_by").order_by("-id")


def cloth_photos(actor: Actor, cloth_id: UUID) -> list[ClothPhoto]:
    """The photographs of a cloth: right side first, then wrong side, then details; newest first; one query."""
    actor.need(Right.READ_SEAMS)
    order = list(ClothPhoto.Side.values)
    rows = ClothPhoto.objects.filter(cloth_id=cloth_id, is_hidden=False).select_related("added_by")
    return sorted(rows.order_by("-added_at", "-id"), key=lambda row: order.index(row.side))


def swatches(actor: Actor, cloth_ids: Iterable[UUID]) -> dict[UUID, ClothPhoto]:
    """The newest photograph of the right side of each cloth that has one; one query."""
    actor.need(Right.READ_SEAMS)
    rows = (
        ClothPhoto.objects.filter(cloth_id__in=list(cloth_ids), is_hidden=False, side=ClothPhoto.Side.FACE)
        .order_by("cloth_id", "-added_at", "-id")
        .distinct("cloth_id")
    )
    return {row.cloth_id: row for row in rows}


def cloth_photo_file(actor: Actor, photo_id: UUID, *, small: bool = False) -> StoredFile:
    """The file of a photograph that is shown, or its ``small`` one where there is one. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    row = ClothPhoto.objects.filter(pk=photo_id, is_hidden=False).select_related("file", "small").first()
    if row is None:
        raise NotHere("photograph")
    file: StoredFile = row.small if small and row.small else row.file
    return file


def fibre_words(cloth: Cloth) -> str:
    """ "80 % wool, 20 % polyamide", most first."""
    parts = sorted(cloth.fibres, key=lambda part: -Decimal(str(part["percent"])))
    return ", ".join(
        f"{Decimal(str(part['percent'])).normalize():f}\u00a0% {part['fibre']}" for part in parts
    )


def _with_newest() -> "QuerySet[Cloth]":
    stretch, wash = ClothTest.Kind.STRETCH, ClothTest.Kind.WASH
    found: QuerySet[Cloth] = Cloth.objects.annotate(
        stretch_lengthwise=newest_percent(stretch, LENGTHWISE),
        stretch_crosswise=newest_percent(stretch, CROSSWISE),
        wash_lengthwise=newest_percent(wash, LENGTHWISE),
        wash_crosswise=newest_percent(wash, CROSSWISE),
    )
    return found


def _mentions(word: str) -> Q:
    return (
        Q(name__icontains=word)
        | Q(colour__icontains=word)
        | Q(kind__in=[key for key, kind in cloth_kinds().items() if word.lower() in kind.name.lower()])
        | Q(construction__icontains=word)
        | Q(notes__icontains=word)
        | Q(structure__iexact=word)
        | Q(fibres__contains=[{"fibre": fibre_named(word) or word.lower()}])
    )
