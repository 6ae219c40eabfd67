"""Whom an address is about, as far as this wing's parts of addresses name somebody."""

from uuid import UUID

from studio.models import Client, Enrolment, Measuring, Reading
from studio.platform.registries import Subject


def _client(client_id: UUID) -> list[UUID]:
    return list(Client.objects.filter(pk=client_id, erased_at=None).values_list("pk", flat=True))


def _measuring(measuring_id: UUID) -> list[UUID]:
    return list(Measuring.objects.filter(pk=measuring_id).values_list("client_id", flat=True))


def _reading(reading_id: UUID) -> list[UUID]:
    return list(Reading.objects.filter(pk=reading_id).values_list("client_id", flat=True))


def _course(course_id: UUID) -> list[UUID]:
    places = Enrolment.objects.filter(course_id=course_id, client__erased_at=None)
    return list(places.values_list("client_id", flat=True))


SUBJECTS_HERE = {
    "client_id": Subject("the client's pages", _client),
    "measuring_id": Subject("a measuring", _measuring),
    "reading_id": Subject("a reading", _reading),
    "course_id": Subject("a class", _course),
}
