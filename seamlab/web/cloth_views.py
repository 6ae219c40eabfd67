"""Pages about cloth: the list, one cloth with its tests and proven seams, recording and changing."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse

from seamlab.queries import cloth as queries
from seamlab.queries import seams, supplies
from seamlab.queries.bolts import bolt_list
from seamlab.queries.conversions import ounces
from seamlab.queries.laboratory import lab_reading
from seamlab.queries.tables import cloth_kinds
from seamlab.services import cloth as services
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.cloth_drawings import bias_drawing, direction_drawing, stretch_drawing
from seamlab.web.cloth_forms import ClothForm, StretchTestForm, WashTestForm
from seamlab.web.drawings import stitch_drawing
from seamlab.web.fields import as_typed
from seamlab.web.seam_forms import SeamQuestionForm
from studio.platform.errors import NotHere

PAGE_ROWS = 50
WASHED: dict[str, Decimal] = {"cm": Decimal(1000), "in": Decimal("914.4")}  # a metre, or a yard
MOST_ANSWERS = 3  # on the cloth's own page; all of them stand on the page of answers
TESTS: dict[str, tuple[type[Any], Any, str]] = {
    "stretch": (StretchTestForm, services.test_stretch, "Stretch and recovery"),
    "wash": (WashTestForm, services.test_wash, "Change by washing"),
}
LENGTH_FACTS = ("width_mm", "usable_width_mm", "repeat_lengthwise_mm", "repeat_crosswise_mm")
PLAIN_FACTS = (
    "name",
    "structure",
    "construction",
    "kind",
    "colour",
    "weight_gsm",
    "thickness_mm",
    "direction",
    "drape",
    "care",
    "notes",
    "version",
)


class Cloths(SeamPage):
    """Every cloth by name; with words in the address those that mention them."""

    def get(self, request: HttpRequest) -> HttpResponse:
        words = request.GET.get("words", "").strip()
        away = "away" in request.GET
        cloths = queries.cloth_list(self.actor, words, with_hidden=away)
        rows = Paginator(cloths, PAGE_ROWS).get_page(request.GET.get("page"))
        swatches = queries.swatches(self.actor, [cloth.pk for cloth in rows])
        found = [(cloth, queries.fibre_words(cloth), swatches.get(cloth.pk)) for cloth in rows]
        return self.page("seamlab/cloths.html", found=found, rows=rows, words=words, away=away)


class ClothPage(SeamPage):
    """One cloth: facts, tests, direction, and which seam is proven for it."""

    def get(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        cloth = queries.cloth_get(self.actor, cloth_id)
        machines = list(supplies.machine_list(self.actor))
        question = SeamQuestionForm(request.GET if "purpose" in request.GET else None)
        question.fields["machine"].offer((row.pk, row.name) for row in machines)  # type: ignore[attr-defined]
        asked = question.cleaned_data if question.is_valid() else {}
        answers = seams.proven_for(
            self.actor,
            cloth_id,
            purpose=asked.get("purpose") or "join",
            layers=asked.get("layers") or 2,
            machine_id=asked.get("machine"),
            most=MOST_ANSWERS,
        )
        newest = queries.newest_tests(cloth)
        reading = lab_reading(self.actor, cloth)
        photos = queries.cloth_photos(self.actor, cloth_id)
        return self.page(
            "seamlab/cloth.html",
            cloth=cloth,
            fibres=queries.fibre_words(cloth),
            kind=cloth_kinds().get(cloth.kind),
            direction_words=queries.DIRECTION_WORDS[cloth.direction],
            direction_drawing=direction_drawing(cloth.direction),
            newest=newest,
            stretch_drawing=stretch_drawing(newest),
            unwashed=queries.unwashed_lengths(newest, WASHED[self.unit]),
            washed=WASHED[self.unit],
            reading=reading,
            bias_drawing=bias_drawing(reading),
            swatch=photos[0] if photos else None,
            photos=photos,
            bolts=list(bolt_list(self.actor, cloth_id=cloth_id)),
            ounces=ounces(cloth.weight_gsm),
            tests=list(cloth.tests.all()),
            question=question,
            answers=[
                (answer, stitch_drawing(answer.stitch_type, answer.stitch_length_mm, answer.stitch_width_mm))
                for answer in answers
            ],
            trials=list(seams.trial_list(self.actor, cloth_id=cloth_id)[:PAGE_ROWS]),
            stretch_form=StretchTestForm(unit=self.unit, auto_id="stretch_%s"),
            wash_form=WashTestForm(unit=self.unit, auto_id="wash_%s"),
        )


class PutAwayCloth(KeepingPage):
    """Put a cloth away, or take it out again."""

    def post(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        away = request.POST.get("away") == "yes"
        cloth = services.change_cloth(self.actor, cloth_id, changes={"is_hidden": away})
        words = "is put away: it is no longer offered, and its records stay" if away else "is offered again"
        return self.done(f"{cloth.name} {words}.", "seamlab:cloth", cloth_id)


class NewCloth(KeepingPage):
    def get(self, request: HttpRequest) -> HttpResponse:
        return self._show(ClothForm(unit=self.unit))

    def post(self, request: HttpRequest) -> HttpResponse:
        form = ClothForm(request.POST, unit=self.unit)
        if form.is_valid():
            cloth = self.attempt(form, services.record_cloth, **form.facts())
            if cloth:
                return self.done(
                    f"{cloth.name} is recorded. Test its stretch next.", "seamlab:cloth", cloth.pk
                )
        return self._show(form, 400)

    def _show(self, form: ClothForm, status: int = 200) -> HttpResponse:
        return self.page("seamlab/new_cloth.html", form=form, status=status)


class EditCloth(KeepingPage):
    def get(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        cloth = queries.cloth_get(self.actor, cloth_id)
        initial = {name: getattr(cloth, name) for name in PLAIN_FACTS}
        initial |= {name: as_typed(getattr(cloth, name), self.unit) for name in LENGTH_FACTS}
        for row, part in enumerate(cloth.fibres, 1):
            initial |= {f"fibre_{row}": part["fibre"], f"percent_{row}": part["percent"]}
        return self._show(cloth, ClothForm(unit=self.unit, initial=initial))

    def post(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        form = ClothForm(request.POST, unit=self.unit)
        if form.is_valid():
            changed = self.attempt(
                form,
                services.change_cloth,
                cloth_id,
                changes=form.facts(),
                expected_version=form.cleaned_data["version"],
            )
            if changed:
                return self.done("The cloth is changed.", "seamlab:cloth", cloth_id)
        return self._show(queries.cloth_get(self.actor, cloth_id), form, 400)

    def _show(self, cloth: Any, form: ClothForm, status: int = 200) -> HttpResponse:
        return self.page("seamlab/edit_cloth.html", cloth=cloth, form=form, status=status)


class TestCloth(KeepingPage):
    """One test by two or three tape readings."""

    def get(self, request: HttpRequest, cloth_id: UUID, kind: str) -> HttpResponse:
        form_class, _, _ = self._kind(kind)
        return self._show(cloth_id, kind, form_class(unit=self.unit))

    def post(self, request: HttpRequest, cloth_id: UUID, kind: str) -> HttpResponse:
        form_class, act, _ = self._kind(kind)
        form = form_class(request.POST, unit=self.unit)
        if form.is_valid():
            test = self.attempt(form, act, cloth_id, **form.cleaned_data)
            if test:
                return self.done("The test is kept.", "seamlab:cloth", cloth_id)
        return self._show(cloth_id, kind, form, 400)

    @staticmethod
    def _kind(kind: str) -> tuple[type[Any], Any, str]:
        if kind not in TESTS:
            raise NotHere("test")
        return TESTS[kind]

    def _show(self, cloth_id: UUID, kind: str, form: Any, status: int = 200) -> HttpResponse:
        cloth = queries.cloth_get(self.actor, cloth_id)
        return self.page(
            "seamlab/test_cloth.html", cloth=cloth, kind=kind, words=TESTS[kind][2], form=form, status=status
        )
