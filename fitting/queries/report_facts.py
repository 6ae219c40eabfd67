"""The facts of a new fit report: gathered from the record, said in the client's language and unit."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from fitting.models import Appointment, FitPhoto, Garment, GarmentSeam, LayPlan
from fitting.queries.care import care_of
from fitting.queries.cautions import cautions_of_garment
from fitting.queries.checkpoints import next_of, states
from fitting.queries.fit_photos import may_be_photographed, photos_of
from fitting.queries.fittings import PLACES, NoteView, SessionView, sessions_of
from fitting.queries.garments import SeamView, facts_of, seams_of
from fitting.queries.learnt import Learnt, client_learnt
from fitting.queries.paper_zones import paper_zones, zone_name
from fitting.queries.plan_text import say_in
from fitting.queries.planned import Planned, PlannedAlteration, read_plan
from fitting.queries.report_seams import seam_fact
from fitting.queries.signs import sign_table
from fitting.reports.snapshot import (
    MOST_PHOTOS,
    AlterationFact,
    CautionFact,
    FittingFact,
    MeasureFact,
    NoteFact,
    PhotoFact,
    ReportFacts,
    UsualFact,
    ZoneFact,
)
from fitting.reports.voice import LOCALES, Voice, capital
from seamlab.models import Cloth
from studio.calc.units import format_length
from studio.models import Client
from studio.platform.errors import Refused
from studio.platform.models import Studio
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right

SIDES = {"left": "{place}, left", "right": "{place}, right"}


def nothing_to_report(garment: Garment, sessions: list[SessionView]) -> str:
    """Why there is nothing to report for this garment yet; "" where there is something."""
    if garment.plan_id is not None or any(session.sign_off for session in sessions):
        return ""
    return (
        "There is nothing to report for this garment yet: it has neither a fit plan nor a signed-off fitting."
    )


def language_of(client: Client, studio: Studio) -> str:
    """The language that a client reads: her own, else the studio's."""
    return str(client.language or studio.language)


def report_facts(
    actor: Actor,
    garment: Garment,
    *,
    number: int,
    corrects: int | None,
    now: datetime,
    language: str | None = None,
    photos: Iterable[UUID] = (),
) -> ReportFacts:
    """Everything that a report of this garment tells as of now (see reports.snapshot).

    ``language`` is the client's where none is given, ``photos`` are the photographs chosen for it. Raises Refused
    (language: not known; photos: not of this garment, or not allowed).
    """
    actor.need(Right.ISSUE_REPORTS)
    client: Client = garment.client
    studio: Studio = studio_get(actor)
    voice = Voice(_known(language) if language else language_of(client, studio), client.unit)
    zone = actor.zone
    planned = read_plan(garment.plan) if garment.plan else None
    seams = seams_of(garment)
    sessions = sessions_of([garment.pk])[::-1]
    found = states(facts_of([garment], {garment.pk: seams})[garment.pk])
    waits_for = next_of(found)
    measured_on, measures = (
        _measures(actor, garment, planned, voice) if client.figures_in_report else ("", ())
    )
    versions = {
        row.pk: row
        for row in GarmentSeam.objects.filter(garment=garment).select_related(
            "cloth", "version__recipe", "version__needle", "version__needle_thread", "version__under_thread"
        )
    }
    return ReportFacts(
        studio_name=studio.name,
        studio_address=studio.address,
        studio_colour=studio.colour,
        client_name=client.name,
        language=voice.language,
        unit=client.unit,
        with_figures=client.figures_in_report,
        is_child=garment.for_child,
        garment_words=garment.words,
        garment_kind=garment.kind,
        garment_kind_words=voice.name(garment.get_kind_display(), "kind"),
        pattern=garment.pattern.name if garment.pattern else "",
        cloth=garment.cloth.name if garment.cloth else "",
        due=voice.day(garment.due) if garment.due else "",
        number=number,
        issued_at=now.astimezone(zone),
        corrects=corrects,
        measured_on=measured_on,
        measures=measures,
        sizes=_sizes(planned, voice) if planned else (),
        blends=blends_in(garment.plan.result, voice) if garment.plan else (),
        zones=zones_in(planned, voice) if planned and client.figures_in_report else (),
        alterations=alterations_in(planned.alterations, voice) if planned else (),
        is_planned=planned is not None,
        seams=tuple(
            seam_fact(seam, versions[seam.id].version, voice) for seam in seams if seam.id in versions
        ),
        care=_care(actor, garment, versions.values(), voice),
        fittings=tuple(_fitting(session, voice, actor) for session in sessions if session.sign_off),
        photos=_photos(actor, garment, sessions, tuple(photos), now, voice),
        usual=_usual(actor, garment, voice),
        cautions=tuple(
            CautionFact(
                voice(row.title, "caution"),
                voice(row.text, "caution"),
                tuple(voice(refer, "caution") for refer in row.refer),
            )
            for row in cautions_of_garment(for_child=garment.for_child, materials=_materials(seams))
        ),
        next_step=_next_step(
            actor,
            garment,
            voice,
            now,
            words=waits_for.checkpoint.next_step if waits_for else "",
            is_ready=waits_for is not None and waits_for.code == "handed_over",
        ),
        keep_months=studio.keep_months,
    )


def _known(language: str) -> str:
    if language not in LOCALES:
        raise Refused(
            {"language": f"A report is written in one of {', '.join(LOCALES)} (got {language[:16]!r})."}
        )
    return language


# --- the body and the paper ---------------------------------------------------------------------------------------


def _measures(
    actor: Actor, garment: Garment, planned: Planned | None, voice: Voice
) -> tuple[str, tuple[MeasureFact, ...]]:
    """The measures of this garment (those of its plan and those of its kind), weight never among them."""
    from studio.queries.catalogue import catalogue
    from studio.queries.measuring import body_of, changes_of

    body = body_of(actor, garment.client_id)
    if not body:
        return "", ()
    changes = {row.code: row for row in changes_of(actor, garment.client_id) if row.beyond}
    in_plan = set(planned.measures) if planned else set()
    rows = []
    for code, measure in catalogue().measures.items():
        known = body.get(code)
        if (
            known is None
            or measure.kind == "weight"
            or not (code in in_plan or garment.kind in measure.garments)
        ):
            continue
        change = changes.get(code)
        rows.append(
            MeasureFact(
                code=code,
                name=voice.name(measure.name, "measure"),
                text=voice.figure(measure.in_words(known.value, voice.unit)),
                change=voice.figure(measure.change_in_words(change.before, change.after, voice.unit))
                if change
                else "",
                figure=measure.figure,
                side=measure.side,
            )
        )
    newest = max(known.measured_at for known in body.values())
    return voice.day(newest.astimezone(actor.zone)), tuple(rows)


def zone_in(code: str, voice: Voice) -> str:
    """A zone of the paper in the client's words."""
    return voice.name(zone_name(code), "zone")


def _sizes(planned: Planned, voice: Voice) -> tuple[tuple[str, str], ...]:
    return tuple((zone_in(row.zone, voice), row.size) for row in planned.zones if row.kind == "width")


def blends_in(result: Any, voice: Voice) -> tuple[str, ...]:
    """Where the size changes between two zones, in the client's words."""
    return tuple(
        voice(
            "Between the {upper} and the {lower} the paper runs smoothly from size {upper_size} to size {lower_size}.",
            upper=zone_in_sentence(row["upper_zone"], voice),
            lower=zone_in_sentence(row["lower_zone"], voice),
            upper_size=row["upper_size"],
            lower_size=row["lower_size"],
        )
        for row in (result or {}).get("blends", ())
    )


def zone_in_sentence(code: str, voice: Voice) -> str:
    """A zone's name inside a sentence: English writes it small, German as it is."""
    name = zone_in(code, voice)
    return name.lower() if voice.language == "en" else name


def zones_in(planned: Planned, voice: Voice) -> tuple[ZoneFact, ...]:
    """The fit in each zone: figures in mm, texts as they are printed."""
    say = _lengths(voice)
    unit = f" {voice.unit_word()}"
    return tuple(
        ZoneFact(
            zone=zone_in(row.zone, voice),
            low=row.low,
            target=row.target,
            high=row.high,
            before=row.ease_before,
            after=row.ease_after if row.changed else None,
            error=row.error,
            verdict=row.verdict,
            body_text=say(row.body),
            range_text=voice(
                "{low} to {high}, aim {target}",
                low=say(row.low).removesuffix(unit),
                high=say(row.high),
                target=say(row.target),
            ),
            before_text=voice("{length}, ease {ease}", length=say(row.paper), ease=say(row.ease_before)),
            after_text=voice("{length}, ease {ease}", length=say(row.finished), ease=say(row.ease_after))
            if row.changed
            else "",
        )
        for row in planned.zones
    )


def alterations_in(rows: Iterable[PlannedAlteration], voice: Voice) -> tuple[AlterationFact, ...]:
    """What is done on the paper, in the order in which it is done."""
    say = _lengths(voice)
    found = []
    for number, row in enumerate(sorted(rows, key=lambda row: row.order), start=1):
        value = voice("{length} in all", length=say(abs(row.total)))
        if row.edges > 1:
            value = voice(
                "{length} in all, {each} at each of {count} edges",
                length=say(abs(row.total)),
                each=say(abs(row.per_edge)),
                count=row.edges,
            )
        found.append(
            AlterationFact(
                number=number,
                place=row.zone,
                change=row.change,
                label=f"{zone_in(row.zone, voice)}: {voice(row.change, 'change')}",
                value=value,
            )
        )
    return tuple(found)


def _lengths(voice: Voice) -> Any:
    say = say_in(voice.unit)
    return lambda mm: voice.figure(say(mm))


# --- fittings ---------------------------------------------------------------------------------------------------


def _fitting(session: SessionView, voice: Voice, actor: Actor) -> FittingFact:
    signed = session.sign_off
    assert signed is not None
    held, at = session.held_at.astimezone(actor.zone), signed.signed_at.astimezone(actor.zone)
    by = {"name": signed.signed_by.name, "day": voice.day(at)}
    return FittingFact(
        kind=voice.name(session.kind_words, "fitting"),
        held_on=voice.day(held),
        held_by=session.fitted_by,
        worn=session.worn,
        notes=tuple(_note(note, session, voice, actor) for note in session.notes),
        signed=voice("Signed off by {name} on {day}, with your agreement.", **by)
        if signed.client_agreed
        else voice("Signed off by {name} on {day}.", **by),
    )


def _note(note: NoteView, session: SessionView, voice: Voice, actor: Actor) -> NoteFact:
    decision = voice.name(note.decision_words, "decision")
    if note.amount_mm is not None:
        length = voice.figure(format_length(note.amount_mm, voice.unit))
        decision = voice("{decision} {length} in all", decision=decision, length=length)
    change = sign_table().changes.get(note.change)
    how = [
        *([voice(change.name, "sign")] if change else []),
        *(part for part in (note.piece, note.seam, note.decided) if part),
    ]
    noted = note.noted_at.astimezone(actor.zone)
    by = ""
    if note.noted_by != session.fitted_by or noted.date() != session.held_at.astimezone(actor.zone).date():
        by = voice("Decided by {name} on {day}.", name=note.noted_by, day=voice.day(noted))
    return NoteFact(where_in(note, voice), _seen(note, voice), decision, capital("; ".join(how)), by)


def where_in(note: NoteView, voice: Voice) -> str:
    """The place of a note with its side: "Waist, left"."""
    place = voice.name(PLACES.get(note.place, note.place), "place")
    return voice(SIDES[note.side], place=place) if note.side in SIDES else place


def _seen(note: NoteView, voice: Voice) -> str:
    """What was seen: the sign's name where it stands as the table says it, else as it was typed."""
    table = sign_table()
    sign = table.signs.get(note.sign)
    if sign is None:
        return note.seen
    direction = table.directions.get(note.direction, "")
    if note.seen != (f"{sign.name}, {direction}" if direction else sign.name):
        return note.seen
    said = voice(sign.name, "sign")
    return f"{said}, {voice(direction, 'sign')}" if direction else said


def _photos(
    actor: Actor,
    garment: Garment,
    sessions: Sequence[SessionView],
    chosen: tuple[UUID, ...],
    now: datetime,
    voice: Voice,
) -> tuple[PhotoFact, ...]:
    """Those photographs of the garment's fittings that were chosen, in the order of the fittings."""
    if not chosen:
        return ()
    if len(set(chosen)) > MOST_PHOTOS:
        raise Refused({"photos": f"A report holds {MOST_PHOTOS} photographs at most."})
    if not may_be_photographed(garment.client, now.astimezone(actor.zone).date()):
        raise Refused(
            {"photos": f"{garment.client.name}’s consent to photographs is not recorded: leave them out."}
        )
    found = [
        PhotoFact(
            photo=str(photo.pk),
            file=str(photo.file_id),
            sha256=photo.file.sha256,
            caption=f"{where_in(note, voice)}: {_seen(note, voice)}",
        )
        for note, photo in photos_with_notes(sessions)
        if photo.pk in chosen
    ]
    if len(found) < len(set(chosen)):
        raise Refused(
            {"photos": "A photograph that was chosen is not of a signed-off fitting of this garment."}
        )
    return tuple(found)


def offered_photos(actor: Actor, garment: Garment, today: date) -> tuple[list[tuple[str, str]], str]:
    """The photographs that a report of this garment may show, (id, what it shows); or none, and why."""
    actor.need(Right.ISSUE_REPORTS)
    found = photos_with_notes(sessions_of([garment.pk])[::-1])
    if found and not may_be_photographed(garment.client, today):
        return [], "Photographs were taken, but the consent to them is not recorded, so none can be shown."
    return [(str(photo.pk), f"{note.where}: {note.seen}") for note, photo in found], ""


def photos_with_notes(sessions: Iterable[SessionView]) -> list[tuple[NoteView, FitPhoto]]:
    """The photographs of signed-off fittings beside the notes that they show."""
    found = []
    for session in sessions:
        if session.sign_off is None:
            continue
        of = photos_of(session)
        found += [(note, photo) for note in session.notes for photo in of.get(note.id, ())]
    return found


# --- seams, care, habits, what comes next --------------------------------------------------------------------------


def _care(actor: Actor, garment: Garment, seams: Iterable[GarmentSeam], voice: Voice) -> tuple[Any, ...]:
    ids = [garment.cloth_id, *(seam.cloth_id for seam in seams)]
    wanted = list(dict.fromkeys(pk for pk in ids if pk))
    if not wanted:
        return ()
    rows = {row.pk: row for row in Cloth.objects.filter(pk__in=wanted).prefetch_related("tests")}
    washed = LayPlan.objects.filter(
        cloth_id__in=wanted, washed_first=True, chosen__isnull=False, lines__garment=garment
    ).values_list("cloth_id", flat=True)
    return care_of(actor, [rows[pk] for pk in wanted if pk in rows], voice, washed=washed)


def _usual(actor: Actor, garment: Garment, voice: Voice) -> tuple[UsualFact, ...]:
    """The changes that this client's garments usually need."""
    return tuple(_usual_fact(row, voice) for row in client_learnt(actor, garment.client_id, voice.unit))


def _usual_fact(row: Learnt, voice: Voice) -> UsualFact:
    zone = paper_zones().get(row.place)
    if zone is not None and zone.kind == "length":
        done = "lengthened" if row.habit.mean > 0 else "shortened"
    else:
        done = "let out" if row.habit.mean > 0 else "taken in"
    context = "place" if row.place in PLACES else "zone"
    words = voice(
        "{done} by {length} on average, in {times} of {garments} garments",
        done=voice(done, "usual"),
        length=voice.figure(format_length(abs(row.habit.mean), voice.unit)),
        times=row.habit.times,
        garments=row.habit.n,
    )
    return UsualFact(voice.name(row.place_words, context), words)


def _materials(seams: Iterable[SeamView]) -> set[str]:
    return {"elastic"} if any(seam.purpose == "elastic" for seam in seams) else set()


def _next_step(
    actor: Actor, garment: Garment, voice: Voice, now: datetime, *, words: str, is_ready: bool
) -> str:
    if garment.state == Garment.State.HANDED_OVER or not words:
        return voice("Your garment is with you. Tell us how it wears: the next one starts from what you say.")
    told = [voice(words, "next")]
    agreed = (
        Appointment.objects.filter(garment=garment, state=Appointment.State.AGREED, starts_at__gte=now)
        .order_by("starts_at")
        .first()
    )
    if agreed is not None:
        at = voice.day_and_time(agreed.starts_at.astimezone(actor.zone))
        told.append(voice("Your next fitting is agreed for {at}.", at=at))
    if garment.due is not None and not is_ready:
        told.append(voice("Your garment is to be ready by {day}.", day=voice.day(garment.due)))
    return " ".join(told)
