"""Pages before sewing the real thing: what the seams of a garment take, how long one is, and the sample sheet."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from fitting.queries import seams as queries
from fitting.queries.cautions import cautions_for
from fitting.services import seams as services
from fitting.web.base import FittingPage
from fitting.web.seam_forms import SeamLengthForm, SewingForm
from seamlab.queries.needs import USUAL_PERCENT
from seamlab.web.fields import as_typed
from studio.platform.errors import Refused
from studio.platform.rights import Right


class Sewing(FittingPage):
    """Thread by colour, time, and which seams still owe a sample."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        form = SewingForm(
            request.GET if "allowance" in request.GET else None,
            machines=queries.machines_for(self.actor),
            initial={"allowance": USUAL_PERCENT},
        )
        status = 200
        try:
            view = queries.garment_sewing(self.actor, garment_id, **form.chosen(USUAL_PERCENT))
        except Refused as exc:
            form.add_error("allowance", str(exc))
            view, status = queries.garment_sewing(self.actor, garment_id), 400
        return self.page(
            "fitting/garment/seams.html",
            view=view,
            needs=view.needs,
            garment=view.garment,
            client=view.garment.client,
            form=form,
            unit=self.actor.unit,
            step_cautions=cautions_for(step=["machine_sewing"]),
            may_measure=view.is_open,
            may_try=self.actor.may(Right.KEEP_SEAMS),
            status=400 if form.errors else status,
        )


class SeamLength(FittingPage):
    """How long one seam is, on which cloth, in which colours."""

    right = Right.KEEP_GARMENTS

    def get(
        self, request: HttpRequest, garment_id: UUID, seam_id: UUID, form: SeamLengthForm | None = None
    ) -> HttpResponse:
        seam = queries.garment_seam(self.actor, garment_id, seam_id)
        if form is None:
            form = self._form(
                seam,
                initial={
                    "length_mm": as_typed(seam.length_mm, self.actor.unit),
                    "times": seam.times,
                    "cloth_id": str(seam.cloth_id or ""),
                    "needle_colour": seam.needle_colour,
                    "under_colour": seam.under_colour,
                },
            )
        return self.page(
            "fitting/garment/seam_length.html",
            seam=seam,
            garment=queries.garment_of(self.actor, garment_id),
            form=form,
            status=400 if form.errors else 200,
        )

    def post(self, request: HttpRequest, garment_id: UUID, seam_id: UUID) -> HttpResponse:
        seam = queries.garment_seam(self.actor, garment_id, seam_id)
        form = self._form(seam, request.POST)
        if form.is_valid():
            kept = self.attempt(form, services.measure_seam, garment_id, seam_id, facts=form.cleaned_data)
            if kept is not None:
                return self.done(f"“{seam.place}” is kept.", "fitting:garment-sewing", garment_id)
        return self.get(request, garment_id, seam_id, form)

    def _form(self, seam: Any, data: Any = None, **options: Any) -> SeamLengthForm:
        version = seam.version
        under = version.under_thread or version.needle_thread
        return SeamLengthForm(
            data,
            unit=self.actor.unit,
            cloths=queries.cloths_for(self.actor, version.recipe.structure),
            needle_colours=[row["colour"] for row in version.needle_thread.colours],
            under_colours=[row["colour"] for row in under.colours],
            **options,
        )


class AskSampleSheet(FittingPage):
    right = Right.KEEP_GARMENTS

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        job = services.ask_garment_sheet(self.actor, garment_id)
        return self.done("The sample sheet is being made.", "platform:job", job.pk)
