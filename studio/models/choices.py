"""What a studio does with the catalogue: measures and sets of its own, and those that it does not use."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel


class StudioMeasure(EditableModel):
    """A measure of the studio's own (``facts`` as in studio/data/measures.json), or a catalogue measure it hides."""

    code = models.CharField(max_length=64)
    hidden = models.BooleanField(default=False)
    facts = models.JSONField(null=True, blank=True)  # null: the code is the catalogue's

    class Meta:
        constraints = [
            *tenant_rules("studiomeasure"),
            models.UniqueConstraint(fields=["studio", "code"], name="studiomeasure_code_once"),
        ]


class StudioSet(EditableModel):
    """A set of measures of the studio's own, in walking order; those in ``repeat`` are taken twice."""

    code = models.CharField(max_length=64)
    name = models.CharField(max_length=120)
    measures = models.JSONField(default=list)
    repeat = models.JSONField(default=list, blank=True)
    hidden = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *tenant_rules("studioset"),
            models.UniqueConstraint(fields=["studio", "code"], name="studioset_code_once"),
        ]
