from studio.models.choices import StudioMeasure, StudioSet
from studio.models.client import Client, ClientSearch, Consent
from studio.models.course import Course, Enrolment
from studio.models.looking import Look
from studio.models.measuring import Measuring, Reading
from studio.models.transfer import ReadingImport
from studio.models.trust import StandardisationDay, StandardisationReading, TapingHabit

__all__ = [
    "Client",
    "ClientSearch",
    "Consent",
    "Course",
    "Enrolment",
    "Look",
    "Measuring",
    "Reading",
    "ReadingImport",
    "StandardisationDay",
    "StandardisationReading",
    "StudioMeasure",
    "StudioSet",
    "TapingHabit",
]
