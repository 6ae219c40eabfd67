"""Pages about cloth on the shelf: bolts, photographs, laboratory figures."""

from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.http import FileResponse, HttpRequest, HttpResponse

from seamlab.queries import bolts, laboratory
from seamlab.queries import cloth as cloth_queries
from seamlab.services import bolts as bolt_services
from seamlab.services import pictures
from seamlab.services.laboratory import record_lab_figures
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.cloth_drawings import bias_drawing
from seamlab.web.cloth_forms import BoltForm, ChangeBoltForm, CountForm, CutForm, LabReportForm, PhotoForm
from studio.platform.rights import Right
from studio.platform.services.pictures import MOST_BYTES


class Laboratory(SeamPage):
    """What laboratories found out about a cloth: all figures, what follows, and a form for another report."""

    rights = {"POST": Right.KEEP_SEAMS}

    def get(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        return self._show(cloth_id, LabReportForm())

    def post(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        form = LabReportForm(request.POST)
        if form.is_valid():
            rows = self.attempt(form, record_lab_figures, cloth_id, **form.facts())
            if rows:
                return self.done("The laboratory's figures are kept.", "seamlab:laboratory", cloth_id)
        return self._show(cloth_id, form, 400)

    def _show(self, cloth_id: UUID, form: LabReportForm, status: int = 200) -> HttpResponse:
        cloth = cloth_queries.cloth_get(self.actor, cloth_id)
        reading = laboratory.lab_reading(self.actor, cloth)
        return self.page(
            "seamlab/laboratory.html",
            cloth=cloth,
            reading=reading,
            bias_drawing=bias_drawing(reading),
            reports=laboratory.lab_reports(self.actor, cloth_id),
            form=form,
            status=status,
        )


class ClothPhotos(SeamPage):
    """Every photograph of a cloth, and a form for another."""

    rights = {"POST": Right.KEEP_SEAMS}

    def get(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        return self._show(cloth_id, PhotoForm())

    def post(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        form = PhotoForm(request.POST, request.FILES)
        if form.is_valid():
            given = dict(form.cleaned_data)
            picture = given.pop("picture").read(MOST_BYTES + 1)
            photo = self.attempt(form, pictures.add_cloth_photo, cloth_id, picture=picture, **given)
            if photo:
                return self.done("The photograph is kept.", "seamlab:cloth", cloth_id)
        return self._show(cloth_id, form, 400)

    def _show(self, cloth_id: UUID, form: PhotoForm, status: int = 200) -> HttpResponse:
        return self.page(
            "seamlab/photos.html",
            cloth=cloth_queries.cloth_get(self.actor, cloth_id),
            photos=cloth_queries.cloth_photos(self.actor, cloth_id),
            form=form,
            status=status,
        )


class ClothPhoto(SeamPage):
    """The picture itself; ``?small`` for lists."""

    def get(self, request: HttpRequest, photo_id: UUID) -> FileResponse:
        file = cloth_queries.cloth_photo_file(self.actor, photo_id, small="small" in request.GET)
        return FileResponse(default_storage.open(file.key, "rb"), content_type=file.media_type)


class HideClothPhoto(KeepingPage):
    def post(self, request: HttpRequest, photo_id: UUID) -> HttpResponse:
        photo = pictures.hide_cloth_photo(self.actor, photo_id)
        return self.done("The photograph is taken away.", "seamlab:cloth-photos", photo.cloth_id)


class Bolts(SeamPage):
    """Every bolt by cloth, with what remains of it."""

    def get(self, request: HttpRequest) -> HttpResponse:
        away = "away" in request.GET
        return self.page(
            "seamlab/bolts.html", bolts=list(bolts.bolt_list(self.actor, with_hidden=away)), away=away
        )


class NewBolt(KeepingPage):
    def get(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        return self._show(cloth_id, BoltForm(unit=self.unit))

    def post(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        form = BoltForm(request.POST, unit=self.unit)
        if form.is_valid():
            bolt = self.attempt(form, bolt_services.record_bolt, cloth_id=cloth_id, **form.cleaned_data)
            if bolt:
                return self.done(f"Bolt {bolt.label} is on the shelf.", "seamlab:bolt", bolt.pk)
        return self._show(cloth_id, form, 400)

    def _show(self, cloth_id: UUID, form: BoltForm, status: int = 200) -> HttpResponse:
        cloth = cloth_queries.cloth_get(self.actor, cloth_id)
        return self.page("seamlab/new_bolt.html", cloth=cloth, form=form, status=status)


class BoltPage(SeamPage):
    """One bolt: what remains, every cut and count; forms to cut and to count."""

    rights = {"POST": Right.KEEP_SEAMS}
    acts: dict[str, tuple[type[Any], Any, str]] = {
        "cut": (CutForm, bolt_services.cut_bolt, "is cut off"),
        "counted": (CountForm, bolt_services.count_bolt, "is counted"),
    }

    def get(self, request: HttpRequest, bolt_id: UUID, sent: dict[str, Any] | None = None) -> HttpResponse:
        forms = {kind: form(unit=self.unit, auto_id=f"{kind}_%s") for kind, (form, _, _) in self.acts.items()}
        bolt = bolts.bolt_get(self.actor, bolt_id)
        share = 100 * bolt.remaining_mm / bolt.length_at_start_mm  # type: ignore[attr-defined]
        return self.page(
            "seamlab/bolt.html",
            bolt=bolt,
            share=min(100, round(share)),
            forms=forms | (sent or {}),
            opened=next(iter(sent), "") if sent else "",
            status=400 if sent else 200,
        )

    def post(self, request: HttpRequest, bolt_id: UUID) -> HttpResponse:
        kind = "counted" if request.POST.get("kind") == "counted" else "cut"
        form_class, act, words = self.acts[kind]
        form = form_class(request.POST, unit=self.unit, auto_id=f"{kind}_%s")
        if form.is_valid() and self.attempt(form, act, bolt_id, **form.cleaned_data):
            return self.done(f"It {words}.", "seamlab:bolt", bolt_id)
        return self.get(request, bolt_id, {kind: form})


class EditBolt(KeepingPage):
    def get(self, request: HttpRequest, bolt_id: UUID) -> HttpResponse:
        bolt = bolts.bolt_get(self.actor, bolt_id)
        initial = {name: getattr(bolt, name) for name in ChangeBoltForm.base_fields}
        return self._show(bolt, ChangeBoltForm(initial=initial))

    def post(self, request: HttpRequest, bolt_id: UUID) -> HttpResponse:
        form = ChangeBoltForm(request.POST)
        if form.is_valid():
            changed = self.attempt(
                form,
                bolt_services.change_bolt,
                bolt_id,
                changes=form.changes(),
                expected_version=form.cleaned_data["version"],
            )
            if changed:
                return self.done("The bolt is changed.", "seamlab:bolt", bolt_id)
        return self._show(bolts.bolt_get(self.actor, bolt_id), form, 400)

    def _show(self, bolt: Any, form: ChangeBoltForm, status: int = 200) -> HttpResponse:
        return self.page("seamlab/edit_bolt.html", bolt=bolt, form=form, status=status)


class PutAwayBolt(KeepingPage):
    """Put a bolt away (used up, sold, given back), or take it out again."""

    def post(self, request: HttpRequest, bolt_id: UUID) -> HttpResponse:
        away = request.POST.get("away") == "yes"
        bolt = bolt_services.change_bolt(self.actor, bolt_id, changes={"is_hidden": away})
        words = "is put away; its records stay" if away else "is on the shelf again"
        return self.done(f"Bolt {bolt.label} {words}.", "seamlab:bolt", bolt_id)
