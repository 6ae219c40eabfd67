"""A studio with a real row behind every address: the demo's story, and by the product's services what it lacks."""

import io
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from PIL import Image

from fitting import models as fitting
from fitting.queries.tickets import slip_code
from fitting.services import (
    appointments,
    class_reports,
    cutting_sheets,
    ease,
    fit_photos,
    lay_sheets,
    lay_table,
    outlines,
    reports,
)
from fitting.services import ticket_slips as slips
from seamlab import models as seamlab
from seamlab.queries.sample_sheets import trial_code
from seamlab.services import sample_sheets, trials
from seamlab.services import transfer as library
from seamlab.services import transfer_export as library_export
from studio import models as studio
from studio.config.demo import scenario, story
from studio.platform import links
from studio.platform.actors import as_actor
from studio.platform.database.doors import memberships_of
from studio.platform.database.scope import studio_scope
from studio.platform.jobs import run_job
from studio.platform.models import Job, Member, Passkey, User
from studio.platform.rights import Actor
from studio.platform.services import people
from studio.services import choices, client_copy, clients, sheets, transfer, transfer_export
from tests.conftest import House

YOKE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="800mm" viewBox="0 0 5000 8000">
<g><title>Yoke</title><path class="cut" d="M0 0 L2000 0 L2500 6000 H0 Z"/></g></svg>"""
READINGS = b"Client,Born,Date,Measure,Value,Unit\nOlia Duarte,1990-02-03,2026-05-04,waist_girth,76,cm\n"
CLOTHS = b"name,structure,weight_gsm,width_mm\nBlue poplin,woven,120,1500\n"


@dataclass
class FullHouse:
    """One studio whose every address leads somewhere. ``ids`` maps what an address names to the row's id or code."""

    house: House
    ids: dict[str, str] = field(default_factory=dict)
    tokens: dict[str, str] = field(default_factory=dict)


def furnish() -> FullHouse:
    """Tell the demo's story and add what no address may be without. About six seconds."""
    told = story.tell()
    clerk = _actor(scenario.CLERK[1])
    full = FullHouse(House(told.owner, told.instructor, clerk))
    run_job(told.owner.studio_id, told.job_id)
    with studio_scope(told.owner.studio_id):
        made = _add(full, told)
        waiting = list(Job.objects.filter(state="waiting").values_list("pk", flat=True))
    for job in waiting:
        run_job(told.owner.studio_id, job)
    with studio_scope(told.owner.studio_id):
        made["job"] = fitting.TicketSlip.objects.get(
            pk=made["slip"]
        ).job_id  # work that everybody here may ask for
        full.ids = {name: str(value) for name, value in (_rows(told) | made | _files(made)).items()}
        for actor in (told.owner, told.instructor, clerk):
            full.tokens[actor.role] = people.make_token(actor, name="a program")[1]
    return full


def _actor(email: str) -> Actor:
    user = User.objects.get(email=email)
    return as_actor(memberships_of(user.pk)[0], user.pk)


def picture() -> bytes:
    drawn = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(drawn, "PNG")
    return drawn.getvalue()


def _add(full: FullHouse, told: Any) -> dict[str, Any]:
    """What the story leaves out, by name; what is drawn by a job waits for it."""
    owner, teacher = told.owner, told.instructor
    garment = fitting.Garment.objects.get(pk=told.garment_id)
    note = fitting.FitNote.objects.filter(session__garment=garment).order_by("id")[0]
    clients.record_consent(
        teacher,
        garment.client_id,
        kind="photograph",
        given=True,
        given_by=garment.client.name,
    )
    papered = fitting.Garment.objects.exclude(pattern=None).order_by("id")[0]
    own_set = ease.write_ease_set(teacher, title="Ours", copy_of="")
    rule = ease.set_ease_rule(
        teacher,
        own_set.pk,
        kind="skirt",
        zone="waist",
        closeness="fitted",
        structure="woven",
        low_mm=Decimal(10),
        target_mm=Decimal(20),
        high_mm=Decimal(30),
        source="our own trials",
    )
    lay = fitting.LayPlan.objects.order_by("-pk")[0]
    trial = seamlab.SeamTrial.objects.order_by("id")[0]
    link = reports.make_link(owner, told.report_id, days=30)
    feed = appointments.make_feed(owner)
    invitation = people.invite_member(owner, name="Rune", email="rune@halyard.example", role="clerk")
    ticket = fitting.TicketPayment.objects.order_by("id")[0].ticket
    signed_link = links.sign("report", owner.studio_id, link.link.pk)
    assert link.address.endswith(f"/fit/{signed_link}/")
    course = studio.Course.objects.order_by("id")[0]
    choices.add_measure(
        teacher,
        name="Shoulder drop",
        kind="length",
        instruction="From the neck point level down to the shoulder point.",
        technical_error=3.0,
        range_adult=(5.0, 120.0),
        range_child=(2.0, 90.0),
    )
    return {
        "fit_photo": fit_photos.add_fit_photo(teacher, note.pk, picture=picture()).pk,
        "note": note.pk,
        "batch": class_reports.ask_reports(teacher, [garment.pk]).id,
        "trial_photo": trials.add_trial_photo(teacher, trial.pk, picture=picture()).pk,
        "trial": trial.pk,
        "drawing": outlines.take_drawing(teacher, papered.pattern_id, name="yoke.svg", data=YOKE).pk,
        "ease_set": own_set.pk,
        "rule": rule.pk,
        "remnant": lay_table.keep_remnant(
            teacher, cloth_id=lay.cloth_id, length_mm=Decimal(700), width_mm=Decimal(400)
        ).pk,
        "slip": slips.ask_slip(full.house.clerk, ticket.pk).pk,
        "ticket": ticket.pk,
        "slip_code": slip_code(ticket),
        "sample_code": trial_code(trial.pk),
        "cutting_sheet": cutting_sheets.ask_cutting_sheet(teacher, garment.plan_id).pk,
        "lay_sheet": lay_sheets.ask_lay_sheet(teacher, lay.pk).pk,
        "plan": garment.plan_id,
        "course": course.pk,
        "class_sheet_job": sheets.ask_sheet(owner, course.pk).pk,
        "sample_sheet": sample_sheets.ask_cloth_sheet(teacher, lay.cloth_id, purpose="join").pk,
        "reading_import": transfer.upload_readings(
            owner, content=io.BytesIO(READINGS), name="old.csv", unit="cm"
        ).pk,
        "reading_export": transfer_export.export_readings(owner).pk,
        "table_import": library.upload_library(teacher, content=io.BytesIO(CLOTHS), name="cloth.csv").id,
        "table_export": library_export.export_library(teacher).pk,
        "link": link.link.pk,
        "feed": feed.pk,
        "signed link": signed_link,
        "signed feed": links.sign("calendar", owner.studio_id, feed.pk),
        "signed invitation": links.sign("join", owner.studio_id, invitation.pk),
        "client_copy_job": client_copy.ask_copy(owner, garment.client_id).pk,
        "own_measure": "own_shoulder_drop",
        "own_set": studio.StudioSet.objects.order_by("id")[0].code,
    }


def _rows(told: Any) -> dict[str, Any]:
    """Rows of the story itself."""

    def some(model: Any, **facts: Any) -> Any:
        found = model.objects.filter(**facts).order_by("-pk").first()
        assert found is not None, f"the story leaves no {model.__name__} {facts}"
        return found

    garment = fitting.Garment.objects.get(pk=told.garment_id)
    payment = fitting.TicketPayment.objects.order_by("id")[0]
    enrolment = some(studio.Enrolment)
    drawn = some(fitting.PieceOutline, piece__pattern_id=garment.pattern_id)
    return {
        "member": some(Member, role="clerk").pk,
        "client": garment.client_id,
        "student": enrolment.client_id,
        "measuring": some(studio.Measuring, client_id=garment.client_id).pk,
        "reading": some(studio.Reading, measuring__client_id=garment.client_id).pk,
        "day": some(studio.StandardisationDay).pk,
        "day_reading": some(studio.StandardisationReading).pk,
        "cloth": garment.cloth_id,
        "bolt": some(seamlab.Bolt).pk,
        "cloth_photo": some(seamlab.ClothPhoto).pk,
        "machine": some(seamlab.Machine).pk,
        "thread": some(seamlab.Thread).pk,
        "needle": some(seamlab.Needle).pk,
        "comparison": some(seamlab.SeamComparison).pk,
        "recipe": some(seamlab.SeamTrial).version.recipe_id,
        "version": some(seamlab.SeamTrial).version_id,
        "appointment": some(fitting.Appointment).pk,
        "passkey": Passkey.objects.create(
            user_id=told.owner.user_id, name="telephone", credential_id=b"no key", public_key=b"none"
        ).pk,
        "pattern": drawn.piece.pattern_id,
        "piece": drawn.piece_id,
        "outline": drawn.pk,
        "chart": some(fitting.BodyChart).pk,
        "lay": some(fitting.LayPlan).pk,
        "lay_key": some(fitting.LayPlan).pieces[0]["key"],
        "garment": garment.pk,
        "seam": some(fitting.GarmentSeam, garment=garment).pk,
        "session": some(fitting.FittingSession, garment=garment).pk,
        "report": told.report_id,
        "payment": payment.pk,
        "ticket_job": some(fitting.TicketJob, ticket_id=payment.ticket_id).pk,
        "price": some(fitting.Price).pk,
    }


def _files(made: dict[str, Any]) -> dict[str, Any]:
    """What the jobs drew."""
    drawn = {"class_sheet": "class_sheet_job", "client_copy": "client_copy_job"}
    return {name: Job.objects.get(pk=made[job]).result["file"] for name, job in drawn.items()}
