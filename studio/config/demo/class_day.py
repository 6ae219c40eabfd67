"""A class of the invented studio: eight students on one evening, two instructors, and a standardisation day."""

from collections.abc import Callable
from datetime import date, timedelta

from django.utils import timezone

from studio.config.demo.scenario import LEOCADIA, OTHERS, Person, Taken
from studio.models import Client
from studio.platform.rights import Actor
from studio.services.choices import add_set
from studio.services.courses import enrol, open_course
from studio.services.trust import DayReading, open_day, record_day_readings

SECOND_INSTRUCTOR = ("Mirela Dragomir", "mirela@halyard.example")
COURSE = "Thursday evening: first trousers"
SET = "First trousers"
TAKEN_TWICE = ("waist_girth", "hip_girth", "body_rise")
# In the walking order round the body; figures in cm, as typed. Somebody came late, somebody left early.
MEASURES = (
    "height", "waist_girth", "hip_girth", "waist_to_hip", "body_rise", "thigh_girth", "knee_girth",
    "outside_leg", "inside_leg",
)  # fmt: skip
STUDENTS = {
    "Aurelio Bastiaan": "178.5, 88/88.6, 101/101.3, 21.5, 26/26.3, 57, 38.5, 107.5, 82",
    "Tindra Okonkwo-Hale": "162, 76.5/76, 104.5/104.8, 20.5, 27.5/27.2, 62.5, 39, 101, 74",
    "Wilhelmina Cazacu": "171, 92.4/93, 112/111.6, 22, 29.5/29.8, 65, 42.5, 106, 77",
    "Roisin Featherstonehaugh": "168.5, 70/70.5, 95.5/95.5, 20, 25.5/25.2, 55.5",
    "Isandro Quill": "183, 81/81.4, 96.5/96.2",
    "Bettany Orimoto": "",
}


def hold_class(instructor: Actor, second: Actor, record: Callable[[Actor, Person], Client]) -> None:
    """The course with its students, who is measured and who is not yet, by both instructors."""
    own = add_set(instructor, name=SET, measures=MEASURES, repeat=TAKEN_TWICE)
    today = timezone.localdate()
    course = open_course(
        instructor,
        name=COURSE,
        measure_set=own.code,
        starts=today - timedelta(days=14),
        ends=today + timedelta(days=56),
        notes="Bring close clothing and the shoes the trousers are for.",
    )
    for number, (name, figures) in enumerate(STUDENTS.items()):
        by = second if number % 2 else instructor
        client = record(by, _student(name, figures, number))
        enrol(instructor, course.pk, client_id=client.pk)
    for earlier in (LEOCADIA, OTHERS[0]):
        enrol(instructor, course.pk, client_id=Client.objects.get(name=earlier.name).pk)


def _student(name: str, figures: str, number: int) -> Person:
    texts = [tuple(part.strip().split("/")) for part in figures.split(",") if part.strip()]
    readings = dict(zip(MEASURES, texts, strict=False))
    return Person(name=name, measurings=[Taken(14 - number % 2 * 7, readings)] if readings else [])


# What each hand reads beside the first take of the reference, in cm: volunteers A to E in turn.
DAY_FIGURES = {
    "waist_girth": (72.4, 81.0, 95.6, 68.8, 77.2),
    "hip_girth": (98.0, 104.6, 112.2, 94.4, 99.8),
    "arm_length": (57.6, 60.2, 58.8, 55.4, 61.0),
}
HANDS = {
    "first": ((0.0, 0.2), (0.0, -0.3), (0.0, 0.1), (0.0, 0.2), (0.0, -0.1)),
    "second": ((0.5, 0.3), (0.4, 0.8), (-0.1, 0.4), (0.6, 0.5), (0.2, 0.4)),
}
STEADINESS = {"waist_girth": 1.0, "hip_girth": 0.5, "arm_length": 1.4}  # how far the hands come apart there


def hold_standardisation_day(instructor: Actor, second: Actor) -> None:
    """Two hands, five volunteers, three measures, each taken twice."""
    people = [f"Volunteer {letter}" for letter in "ABCDE"]
    held: date = timezone.localdate() - timedelta(days=40)
    day = open_day(
        instructor,
        name="Before the autumn term",
        held_on=held,
        measures=list(DAY_FIGURES),
        people=people,
        reference_member_id=instructor.member_id,
    )
    record_day_readings(
        instructor,
        day.pk,
        readings=[
            DayReading(
                person,
                actor.member_id,
                measure,
                f"{figure + STEADINESS[measure] * HANDS[hand][place][take]:.1f}",
                take + 1,
            )
            for hand, actor in (("first", instructor), ("second", second))
            for measure, figures in DAY_FIGURES.items()
            for place, (person, figure) in enumerate(zip(people, figures, strict=True))
            for take in (0, 1)
        ],
        unit="cm",
    )
