"""Pages on which a measuring is typed, looked at and corrected."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.queries import choices, clients, measuring, plausibility
from studio.services import measuring as measuring_services
from studio.web.forms import CorrectionForm, MeasuringForm, TakeForm

FIRST_SET = "basic_twelve"


class NewMeasuring(HousePage):
    """The grid of a set. ``?show=1`` draws it anew in another unit: what was typed stays, none is saved.

    What does not go together is shown for a second look before anything is recorded: typed anew, put right by the
    suggestion that is pressed, or kept with a word why.
    """

    right = Right.RECORD_MEASURING
    basis = ""

    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        client = self._client(client_id)
        form = MeasuringForm(
            **self._chosen(request),
            unit=client.unit,
            initial={
                "measured_at": timezone.localtime(),
                "unit": client.unit,
                "over": "close_clothing",
                "posture": "standing, relaxed",
            },
        )
        return self._grid(client, form)

    def post(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        client = self._client(client_id)
        unit = request.POST.get("unit", client.unit)
        if "show" in request.GET:
            form = MeasuringForm(**self._chosen(request), unit=unit)
            form.initial = form.typed_before(request.POST.dict())
            return self.page("studio/_readings.html", form=form)
        typed = request.POST.dict()
        chosen = self._chosen(request)
        if "meant" in typed:
            typed = MeasuringForm(**chosen, unit=unit).with_meant(typed)
        form = MeasuringForm(typed, **chosen, unit=unit)
        if form.is_valid() and not self._to_look_again(client_id, form) and "meant" not in typed:
            made = self.attempt(form, self._record, client_id, form)
            if made:
                return self.done("Recorded.", "studio:measuring", made.pk)
        return self._grid(client, form, status=400)

    def _to_look_again(self, client_id: UUID, form: MeasuringForm) -> bool:
        readings = [(each.measure, each.typed) for each in form.typed().values()]
        try:
            judged = plausibility.judge(
                self.actor, client_id, readings=readings, unit=form.cleaned_data["unit"]
            )
        except Refused:
            return False  # what can't be read is told by the recording itself
        self.basis = judged.basis
        return form.look_again(judged.flags)

    @staticmethod
    def _record(actor: Actor, client_id: UUID, typed_form: MeasuringForm) -> Any:
        """Record what the form says; what is refused comes back under the form's own field names."""
        typed = typed_form.typed()
        fields = {f"readings.{number}.typed": field for number, field in enumerate(typed)}
        facts = {
            name: value
            for name, value in typed_form.cleaned_data.items()
            if name in MeasuringForm.base_fields
        }
        try:
            return measuring_services.record_measuring(
                actor,
                client_id=client_id,
                readings=[
                    replace(each, kept_because=typed_form.kept(each.measure)) for each in typed.values()
                ],
                **facts,
            )
        except Refused as exc:
            raise Refused(
                {
                    "" if field == "readings" else fields.get(field, field): words
                    for field, words in exc.reasons.items()
                }
            ) from exc

    def _client(self, client_id: UUID) -> Any:
        client = clients.client_get(self.actor, client_id)
        if client.erased_at is not None:
            raise NotHere("client")
        return client

    def _chosen(self, request: HttpRequest) -> dict[str, Any]:
        """The set that is asked for; unasked the first that the studio has not hidden."""
        offered = self.offered = choices.measures_for(self.actor)
        asked = request.GET.get(
            "set", FIRST_SET if FIRST_SET in offered.sets else next(iter(offered.sets), "")
        )
        if asked not in offered.sets:
            raise NotHere("set of measures")
        return {"chosen": offered.sets[asked], "known": offered.measures}

    def _grid(self, client: Any, form: MeasuringForm, status: int = 200) -> HttpResponse:
        return self.page(
            "studio/new_measuring.html",
            status=status,
            client=client,
            minor=client.is_minor(timezone.localdate()),
            hindrance=clients.hindrance_of(self.actor, client),
            form=form,
            basis=self.basis,
            sets=self.offered.sets.values(),
        )


class Measuring(HousePage):
    rights = {"GET": Right.READ_READINGS, "POST": Right.RECORD_MEASURING}

    def get(self, request: HttpRequest, measuring_id: UUID, form: TakeForm | None = None) -> HttpResponse:
        taken = measuring.measuring_get(self.actor, measuring_id)
        client = taken.measuring.client
        wrong = form["measure"].value() if form else None
        return self.page(
            "studio/measuring.html",
            taken=taken,
            client=client,
            unit=client.unit,
            again=[
                (
                    found,
                    found.measure.typed_in(client.unit),
                    form
                    if form and wrong == found.measure.code
                    else TakeForm(
                        initial={"measure": found.measure.code}, auto_id=f"id_{found.measure.code}_%s"
                    ),
                )
                for found in taken.asks_again
            ],
            changes=measuring.changes_of(self.actor, client.pk, measuring_id),
            hindrance=clients.hindrance_of(self.actor, client),
            look_again=plausibility.flags_of_measuring(self.actor, taken),
            form=form,
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest, measuring_id: UUID) -> HttpResponse:
        form = TakeForm(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            if self.attempt(
                form,
                measuring_services.add_take,
                measuring_id,
                measure_code=given["measure"],
                typed=given["typed"],
            ):
                return self.done("Taped once more.", "studio:measuring", measuring_id)
        return self.get(request, measuring_id, form)


class CorrectReading(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, reading_id: UUID, form: CorrectionForm | None = None) -> HttpResponse:
        reading = measuring.reading_get(self.actor, reading_id)
        client = reading.measuring.client
        known = choices.known_measures(self.actor)[reading.measure]
        return self.page(
            "studio/correct_reading.html",
            reading=reading,
            client=client,
            measure=known,
            typed_in=known.typed_in(client.unit),
            form=form or CorrectionForm(),
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest, reading_id: UUID) -> HttpResponse:
        form = CorrectionForm(request.POST)
        if form.is_valid():
            new = self.attempt(form, measuring_services.correct_reading, reading_id, **form.cleaned_data)
            if new:
                return self.done(
                    "Corrected; the old reading stays beside it.", "studio:measuring", new.measuring_id
                )
        return self.get(request, reading_id, form)
