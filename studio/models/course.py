"""A course and who is in it: a student is a client enrolled in a course."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class Course(EditableModel):
    """A class that meets to sew; its set says what each student is measured for."""

    name = models.CharField(max_length=120)
    starts = models.DateField(null=True, blank=True)
    ends = models.DateField(null=True, blank=True)
    measure_set = models.CharField(max_length=64)
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("course"),
            models.UniqueConstraint(fields=["studio", "name"], name="course_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Enrolment(TenantModel):
    """A student's place in a course; leaving keeps the row."""

    course = reference("studio.Course", related_name="enrolments")
    client = reference("studio.Client", related_name="enrolments")
    joined_at = models.DateTimeField(auto_now_add=True)
    left_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("enrolment", refers_to=["course", "client"]),
            models.UniqueConstraint(fields=["studio", "course", "client"], name="enrolment_once"),
        ]
