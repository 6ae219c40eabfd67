"""Reading a laboratory's figures on a cloth, and what follows from them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import QuerySet

from seamlab.calc import cloth as calc
from seamlab.calc import laboratory as lab
from seamlab.models import Cloth, LabFigure
from seamlab.models.cloth import CROSSWISE, LENGTHWISE
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

Q = LabFigure.Quantity
Known = Mapping[tuple[str, str], float]
TEST_SET = "the wool laboratory's simple test set"
QUANTITY_WORDS: dict[str, str] = {str(word): str(label) for word, label in Q.choices}
MOST_FIGURES = 600
CHART_STEP = 1.0  # degrees between the points of the chart


@dataclass(frozen=True)
class Derived:
    """A figure that follows from others: ``text`` with its unit, ``way`` or "", what it tells and its source."""

    words: str
    way: str
    text: str
    unit: str
    tells: str
    source: str


@dataclass(frozen=True)
class LabReading:
    """The newest figure of each quantity and way (``rows``), how many older ones are kept, and what follows.

    ``around`` is empty where the chart lacks something; ``missing`` then says what.
    """

    rows: tuple[LabFigure, ...]
    older: int
    derived: tuple[Derived, ...]
    around: tuple[lab.AngleFigure, ...]
    sentences: tuple[str, ...]
    missing: tuple[str, ...]
    trouble: str

    @property
    def table(self) -> tuple[lab.AngleFigure, ...]:
        """Every 15 degrees, for a table beside the chart."""
        return tuple(row for row in self.around if row.angle_deg % 15 == 0)


@dataclass(frozen=True)
class Report:
    """Figures that were recorded together. ``rows``: (words, (lengthwise, crosswise, without a way))."""

    tested_on: date
    method: str
    by: str
    rows: tuple[tuple[str, tuple[Decimal | None, Decimal | None, Decimal | None]], ...]


def lab_reports(actor: Actor, cloth_id: UUID) -> list[Report]:
    """The newest figures of a cloth as the reports in which they came, newest first; one query. Raises NotHere."""
    together: dict[tuple[date, str, str, datetime], dict[str, dict[str, Decimal]]] = {}
    for row in lab_figures(actor, cloth_id)[:MOST_FIGURES]:
        # What is recorded in one act lies in one second.
        key = (row.tested_on, row.method, row.recorded_by.name, row.recorded_at.replace(microsecond=0))
        together.setdefault(key, {}).setdefault(row.quantity, {})[row.way] = row.value
    return [
        Report(
            key[0],
            key[1],
            key[2],
            tuple(
                (words, (ways.get(LENGTHWISE), ways.get(CROSSWISE), ways.get("")))
                for quantity, words in QUANTITY_WORDS.items()
                if (ways := found.get(quantity)) is not None
            ),
        )
        for key, found in together.items()
    ]


def lab_figures(actor: Actor, cloth_id: UUID) -> "QuerySet[LabFigure]":
    """Every laboratory figure of a cloth of this studio, newest first. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    if not Cloth.objects.filter(pk=cloth_id).exists():
        raise NotHere("cloth")
    return LabFigure.objects.filter(cloth_id=cloth_id).select_related("recorded_by").order_by("-id")


def lab_reading(actor: Actor, cloth: Cloth) -> LabReading:
    """What is known of a cloth from laboratories; one query."""
    actor.need(Right.READ_SEAMS)
    rows = (
        LabFigure.objects.filter(cloth_id=cloth.pk).select_related("recorded_by").order_by("tested_on", "id")
    )
    newest: dict[tuple[str, str], LabFigure] = {}
    count = 0
    for row in rows:
        newest[row.quantity, row.way] = row
        count += 1
    order = list(Q.values)
    shown = sorted(newest.values(), key=lambda row: (order.index(row.quantity), row.way != LENGTHWISE))
    known = {key: float(row.value) for key, row in newest.items()}
    lines, missing, trouble = _lines(known)
    return LabReading(
        rows=tuple(shown),
        older=count - len(newest),
        derived=tuple(_derived(known, float(cloth.weight_gsm))),
        around=lab.around(lines, CHART_STEP) if lines else (),
        sentences=(*lab.bias_sentences(lines), *_heavier_pulls(known)) if lines else (),
        missing=missing if known else (),
        trouble=trouble,
    )


PULLS: tuple[tuple[str, float], ...] = (
    (Q.EXTENSION_5, 5.0),
    (Q.EXTENSION_20, 20.0),
    (Q.EXTENSION_100, 100.0),
)


def _stiffness(known: Known, way: str) -> float | None:
    """N/m along one way: as told, or from the extension under the pull that is nearest to the bias test's own."""
    if (Q.MODULUS, way) in known:
        return known[Q.MODULUS, way]
    for quantity, pull in PULLS:
        if (quantity, way) in known:
            return lab.modulus_from_extension(known[quantity, way], pull)
    return None


def _heavier_pulls(known: Known) -> tuple[str, ...]:
    """A sentence for each way whose stiffness had to be taken from a heavier pull than the bias test's."""
    sentences = []
    for way in (LENGTHWISE, CROSSWISE):
        if (Q.MODULUS, way) in known or (Q.EXTENSION_5, way) in known:
            continue
        pull = next((pull for quantity, pull in PULLS if (quantity, way) in known), None)
        if pull is not None:
            sentences.append(
                f"{way.capitalize()} only the extension under {pull:g} gf/cm is known: under a light pull cloth "
                "often gives more than this tells."
            )
    return tuple(sentences)


def _lines(known: Known) -> tuple[lab.ThreadLines | None, tuple[str, ...], str]:
    warp, weft = _stiffness(known, LENGTHWISE), _stiffness(known, CROSSWISE)
    bias = known.get((Q.BIAS_EXTENSION, ""))
    missing = tuple(
        words
        for words, value in (
            ("the extension (or modulus) lengthwise", warp),
            ("the extension (or modulus) crosswise", weft),
            ("the bias extension", bias),
        )
        if value is None
    )
    if warp is None or weft is None or bias is None:
        return None, missing, ""
    poisson = known.get((Q.POISSON, ""))
    try:
        return (
            lab.ThreadLines(
                warp, weft, calc.shear_rigidity(bias), poisson or 0.0, poisson_assumed=poisson is None
            ),
            (),
            "",
        )
    except ValueError:
        return (
            None,
            (),
            (
                "These figures can't belong to one cloth: it would give out more than is put in when pulled. "
                "Look at Poisson's ratio and at both extensions again."
            ),
        )


def _derived(known: Known, weight_gsm: float) -> list[Derived]:
    rows: list[Derived] = []
    bias = known.get((Q.BIAS_EXTENSION, ""))
    if bias is not None:
        rows.append(
            Derived(
                "Shear rigidity", "", _short(calc.shear_rigidity(bias)), "N/m",
                "How hard the threads are turned against each other: low moulds and drapes, and slips on the table.",
                f"123 / bias extension: {TEST_SET} (the factor from memory)",
            )
        )  # fmt: skip
    for way in (LENGTHWISE, CROSSWISE):
        bending = lab.mean_bending_length(known.get((Q.BENDING_FACE, way)), known.get((Q.BENDING_BACK, way)))
        if bending is None:
            continue
        rigidity = calc.bending_rigidity(weight_gsm, bending)
        rows.append(
            Derived(
                "Bending rigidity", way, _short(rigidity), "µN·m",
                "How hard it is to bend: low hangs close and is hard to cut straight, high stands away.",
                f"weight × bending length³ × 9.81e-6: {TEST_SET}",
            )
        )  # fmt: skip
        light, more = known.get((Q.EXTENSION_5, way)), known.get((Q.EXTENSION_20, way))
        if light is not None and more is not None and more >= light:
            rows.append(
                Derived(
                    "Formability", way, _short(calc.formability(light, more, rigidity)), "mm²",
                    "How far it can be pushed together in a seam before it buckles: low puckers sooner.",
                    f"(E20 - E5) × bending rigidity / 14.7: {TEST_SET} (from memory)",
                )
            )  # fmt: skip
    light, heavy = known.get((Q.THICKNESS_2, "")), known.get((Q.THICKNESS_100, ""))
    if light is not None and heavy is not None and heavy <= light:
        rows.append(
            Derived(
                "Surface", "", _short(lab.surface_thickness(light, heavy)), "mm",
                "The hairy layer that a firm press flattens; if it grows by steaming, the finish is not stable.",
                f"thickness under 2 less under 100 gf/cm²: {TEST_SET}",
            )
        )  # fmt: skip
    rows += _cover(known)
    return rows


def _cover(known: Known) -> list[Derived]:
    covers: dict[str, float] = {}
    for way in (LENGTHWISE, CROSSWISE):
        threads, tex = known.get((Q.THREADS, way)), known.get((Q.YARN_TEX, way))
        if threads is not None and tex is not None:
            covers[way] = lab.yarn_cover(threads, tex)
    if len(covers) < 2:
        return []
    cover = lab.cloth_cover(covers[LENGTHWISE], covers[CROSSWISE])
    return [
        Derived(
            "Cover", "", _short(cover), f"of {lab.FULL_COVER:g}",
            "How closely the threads fill the cloth: low frays and slips at seams.",
            "Peirce 1937 (from memory)",
        )
    ]  # fmt: skip


def _short(value: float) -> str:
    """Three figures are more than the tests give."""
    exact = Decimal(repr(value))
    places = max(0, 2 - exact.adjusted())
    return f"{round(exact, places).normalize():f}"
