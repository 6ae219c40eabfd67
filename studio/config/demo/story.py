"""The demo's story: the invented studio goes through the whole job, each step one act of the product's own services."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal as D
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from fitting.models import FitReport, Garment
from fitting.services import fittings, garments, plans, reports
from fitting.services.appointments import agree_fitting
from fitting.services.seams import measure_seam
from fitting.services.told import Told
from seamlab.services import cloth as cloth_services
from seamlab.services import seams, supplies
from seamlab.services.settings import RecipeSettings
from studio.config.demo import class_day, counter, lays, paper, sewing_table
from studio.config.demo import scenario as told
from studio.config.demo.scenario import Fabric, Person, Seam, cm
from studio.config.demo.shelf import stock
from studio.models import Client
from studio.platform.actors import as_actor
from studio.platform.database.doors import memberships_of
from studio.platform.database.scope import studio_scope
from studio.platform.models import User
from studio.platform.rights import Actor
from studio.platform.services import people
from studio.services.clients import record_client
from studio.services.measuring import TypedReading, record_measuring


@dataclass(frozen=True)
class Demo:
    """What the story left behind."""

    owner: Actor
    instructor: Actor
    garment_id: UUID
    report_id: UUID
    job_id: UUID


@dataclass(frozen=True)
class Shelf:
    """Ids by name of what the seam lab holds."""

    cloths: dict[str, UUID]
    threads: dict[str, UUID]
    needles: dict[tuple[int, str], UUID]
    machines: dict[str, UUID]


def found_earlier() -> Demo | None:
    """The demo of an earlier run, or None."""
    actors = {}
    for _, email in (told.OWNER, told.INSTRUCTOR):
        user = User.objects.filter(email=email).first()
        if user is None:
            return None
        mine = memberships_of(user.pk)
        if not mine:
            return None
        actors[email] = as_actor(mine[0], user.pk)
    owner, instructor = actors.values()
    with studio_scope(owner.studio_id):
        report = FitReport.objects.filter(garment__words=told.SKIRT_WORDS).order_by("-number").first()
        if report is None:
            return None
        return Demo(owner, instructor, report.garment_id, report.pk, report.job_id)


def tell() -> Demo:
    """Tell the whole story in one transaction: the demo is there entirely or not at all."""
    with transaction.atomic():
        owner = people.found_studio(
            studio_name=told.STUDIO, name=told.OWNER[0], email=told.OWNER[1], password=told.PASSWORD
        )
        instructor = _join(owner, told.INSTRUCTOR, "instructor")
        second = _join(owner, class_day.SECOND_INSTRUCTOR, "instructor")
        clerk = _join(owner, told.CLERK, "clerk")
        with studio_scope(owner.studio_id):
            leocadia = record_person(instructor, told.LEOCADIA)
            for person in told.OTHERS:
                record_person(instructor, person)
            class_day.hold_class(instructor, second, record_person)
            class_day.hold_standardisation_day(instructor, second)
            shelf = _shelf(instructor)
            versions = {seam.name: _seam(instructor, seam, shelf) for seam in told.SEAMS}
            sewing_table.lay(
                instructor,
                cloth=shelf.cloths[told.TEAL_TWILL.name],
                machine=shelf.machines[told.CLASS_MACHINE],
                thread=shelf.threads[told.THREADS[0][0]],
            )
            stock(
                instructor,
                cloths=shelf.cloths,
                threads=shelf.threads,
                machine=shelf.machines[told.CLASS_MACHINE],
            )
            papers = paper.papers(instructor)
            lays.lay_out(
                instructor,
                papers=papers,
                cloth=shelf.cloths[told.TEAL_TWILL.name],
                pattern="Tapered trousers",
            )
            _last_year(instructor, leocadia, papers["Straight skirt"])
            counter.stand(clerk, instructor, known=leocadia.pk)
            _trousers(instructor, shelf, papers["Tapered trousers"])
            return _skirt(owner, instructor, leocadia, papers["Straight skirt"], shelf, versions)


def _ago(days: int, hour: int = 10) -> datetime:
    return (timezone.now() - timedelta(days=days)).replace(hour=hour, minute=0, second=0, microsecond=0)


def _join(owner: Actor, who: tuple[str, str], role: str) -> Actor:
    name, email = who
    with studio_scope(owner.studio_id):
        invitation = people.invite_member(owner, name=name, email=email, role=role)
    return people.accept_invitation(
        owner.studio_id, invitation.pk, lambda _: people.checked_account(email, told.PASSWORD, name)
    )


def record_person(instructor: Actor, person: Person) -> Client:
    """A client with her consent and her measurings, each reading as typed."""
    client = record_client(
        instructor,
        name=person.name,
        telephone=person.telephone,
        email=person.email,
        born=date(*person.born) if person.born else None,
        unit=person.unit,
        body_model=person.body_model,
        guardian_name=person.guardian,
        guardian_email=person.guardian_email,
        notes=person.notes,
        consent_by=person.guardian or person.name,
        consent_by_guardian=bool(person.guardian),
    )
    for taken in person.measurings:
        record_measuring(
            instructor,
            client_id=client.pk,
            measured_at=_ago(taken.days_ago),
            readings=[
                TypedReading(measure, text, take)
                for measure, texts in taken.readings.items()
                for take, text in enumerate(texts, start=1)
            ],
            over=taken.over,
            notes=taken.notes,
            guardian_present=taken.guardian_present,
            tape="fibreglass, class box",
        )
    return client


def _shelf(instructor: Actor) -> Shelf:
    threads = {
        name: supplies.record_thread(
            instructor,
            name=name,
            fibre=fibre,
            construction=construction,
            size=D(tex),
            extension_percent=D(extension),
            strength_n=D(strength),
            colours=colours,
        ).pk
        for name, fibre, construction, tex, extension, strength, colours in told.THREADS
    }
    needles = {
        (size, point): supplies.record_needle(instructor, size=size, point=point, what_for=use).pk
        for size, point, use in told.NEEDLES
    }
    machines = {
        name: supplies.record_machine(
            instructor,
            name=name,
            stitch_types=stitches,
            largest_width_mm=D(width),
            stitches_per_minute=speed,
            notes=notes,
        ).pk
        for name, stitches, width, speed, notes in told.MACHINES
    }
    return Shelf(
        {fabric.name: _fabric(instructor, fabric) for fabric in told.FABRICS}, threads, needles, machines
    )


def _fabric(instructor: Actor, fabric: Fabric) -> UUID:
    made = cloth_services.record_cloth(
        instructor,
        name=fabric.name,
        structure=fabric.structure,
        construction=fabric.construction,
        fibres=[{"fibre": fibre, "percent": percent} for fibre, percent in fabric.fibres],
        weight_gsm=D(fabric.weight_gsm),
        thickness_mm=D(fabric.thickness_mm),
        width_mm=cm(fabric.width_cm),
        usable_width_mm=cm(fabric.usable_cm),
        direction=fabric.direction,
        drape=fabric.drape,
        care=fabric.care,
    )
    for way, (relaxed, stretched, released) in fabric.stretch.items():
        cloth_services.test_stretch(
            instructor,
            made.pk,
            way=way,
            relaxed_mm=D(relaxed),
            stretched_mm=D(stretched),
            released_mm=D(released),
        )
    for way, (before, after) in fabric.wash.items():
        cloth_services.test_wash(instructor, made.pk, way=way, before_mm=D(before), after_mm=D(after))
    return made.pk


def _seam(instructor: Actor, seam: Seam, shelf: Shelf) -> UUID:
    version = seams.write_recipe(
        instructor,
        name=seam.name,
        purpose=seam.purpose,
        seam_class=seam.seam_class,
        structure=seam.structure,
        settings=RecipeSettings(
            stitch_type=seam.stitch_type,
            stitch_length_mm=D(seam.length),
            stitch_width_mm=D(seam.width),
            passes=seam.passes,
            needle_thread_id=shelf.threads[seam.thread],
            under_thread_id=shelf.threads[seam.thread],
            needle_id=shelf.needles[seam.needle],
            tension=seam.tension,
            foot=seam.foot,
            stabiliser=seam.stabiliser,
            pressing=seam.pressing,
        ),
    )
    for trial in seam.trials:
        _trial(instructor, version.pk, trial, shelf)
    return version.pk


def _trial(instructor: Actor, version_id: UUID, trial: dict[str, Any], shelf: Shelf) -> None:
    seams.record_trial(
        instructor,
        version_id=version_id,
        cloth_id=shelf.cloths[trial["cloth"]],
        machine_id=shelf.machines[told.CLASS_MACHINE],
        direction=trial.get("way", "lengthwise"),
        length_before_mm=D(trial["before"]),
        length_after_mm=D(trial["after"]),
        stretched_mm=D(trial["stretched"]),
        pull_end=trial["end"],
        smoothness=D(trial["smoothness"]),
        balance="even",
        skipped_stitches=0,
        needle_damage="none",
        sewn_at=_ago(trial["days_ago"], hour=14),
    )


def _last_year(instructor: Actor, client: Client, pattern_id: UUID) -> None:
    """A garment of last year, so that the clerk has a past fit to find."""
    garment = garments.open_garment(
        instructor, client_id=client.pk, kind="skirt", words=told.LAST_YEAR_WORDS, pattern_id=pattern_id
    )
    plan = plans.make_plan(instructor, client_id=client.pk, pattern_id=pattern_id, garment_id=garment.pk)
    plans.approve_plan(instructor, plan.pk)
    session = fittings.hold_session(
        instructor, garment.pk, kind="baste", held_at=_ago(380), worn="flat shoes"
    )
    fittings.note_fit(
        instructor,
        session.pk,
        place="waist",
        seen="She asks for a little more room when seated",
        decision="let_out",
        amount_mm=cm("0.5"),
        decided="From the side seams",
    )
    fittings.sign_off(instructor, session.pk, client_agreed=True)
    _pass_by(instructor, garment.pk, "Made before this book was kept; entered from the old card.")
    garments.hand_over(instructor, garment.pk)


def _pass_by(instructor: Actor, garment_id: UUID, reason: str) -> None:
    for checkpoint in ("body_measured", "paper_altered", "cloth_known", "lay_and_grain", "seams_proven",
                       "basted_and_fitted", "sewn"):  # fmt: skip
        garments.answer_checkpoint(
            instructor, garment_id, checkpoint=checkpoint, answer="passed_by", reason=reason
        )


def _trousers(instructor: Actor, shelf: Shelf, pattern_id: UUID) -> None:
    """Another client's trousers, planned and waiting for their cloth to be cut."""
    client = Client.objects.get(name=told.OTHERS[0].name)
    garment = garments.open_garment(
        instructor,
        client_id=client.pk,
        kind="trousers",
        words="grey flannel trousers",
        pattern_id=pattern_id,
        cloth_id=shelf.cloths["Grey wool flannel"],
        due=(timezone.now() + timedelta(days=9)).date(),
    )
    plans.make_plan(instructor, client_id=client.pk, pattern_id=pattern_id, garment_id=garment.pk)
    agree_fitting(
        instructor,
        garment.pk,
        kind="baste",
        starts_at=_ago(-2, hour=15),
        fitter_id=instructor.member_id,
        note="Brings the shoes.",
    )


def _skirt(
    owner: Actor, instructor: Actor, client: Client, pattern_id: UUID, shelf: Shelf, versions: dict[str, UUID]
) -> Demo:
    """The main job from intake to the client's report."""
    garment: Garment = garments.open_garment(
        instructor,
        client_id=client.pk,
        kind="skirt",
        words=told.SKIRT_WORDS,
        pattern_id=pattern_id,
        cloth_id=shelf.cloths[told.TEAL_TWILL.name],
        due=(timezone.now() + timedelta(days=6)).date(),
    )
    plan = plans.make_plan(instructor, client_id=client.pk, pattern_id=pattern_id, garment_id=garment.pk)
    plans.approve_plan(instructor, plan.pk)
    for place, recipe, length, times in (
        ("side seams", told.JOIN_WOVEN, "58", 2),
        ("hem", "Turned hem, medium woven", "112", 1),
    ):
        seam = garments.choose_seam(instructor, garment.pk, place=place, version_id=versions[recipe])
        measure_seam(
            instructor,
            garment.pk,
            seam.pk,
            facts={"length_mm": cm(length), "times": times, "needle_colour": "teal", "under_colour": "teal"},
        )
    lays.lay_garment(instructor, garment.pk)
    for checkpoint in ("body_measured", "paper_altered", "cloth_known", "lay_and_grain", "seams_proven"):
        garments.answer_checkpoint(instructor, garment.pk, checkpoint=checkpoint, answer="done")
    session = fittings.hold_session(
        instructor, garment.pk, kind="baste", held_at=_ago(1, hour=15), worn="flat shoes, thin blouse"
    )
    for note in told.SKIRT_NOTES:
        fittings.note_fit(
            instructor,
            session.pk,
            place=note.place,
            seen=note.seen,
            decision=note.decision,
            amount_mm=cm(note.amount_cm) if note.amount_cm else None,
            decided=note.decided,
            told=Told(sign=note.sign, change=note.change, seam=note.seam),
        )
    fittings.sign_off(instructor, session.pk, client_agreed=True)
    garments.answer_checkpoint(instructor, garment.pk, checkpoint="basted_and_fitted", answer="done")
    report = reports.ask_report(instructor, garment.pk)
    return Demo(owner, instructor, garment.pk, report.pk, report.job_id)
