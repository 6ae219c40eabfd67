"""The client: a body that is measured, with her consent."""

from datetime import date

from django.db import models

from studio.platform.choices import LANGUAGES
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference

ADULT_YEARS = 18


class Client(EditableModel):
    """A customer or a student."""

    class BodyModel(models.TextChoices):
        """Which of the fitted models may judge her readings. Why one is left out is not asked and not kept."""

        BOTH = "both", "Women's and men's figures, where both agree"
        FEMALE = "female", "Women's figures"
        MALE = "male", "Men's figures"
        NONE = "none", "Own earlier figures alone"

    name = models.CharField(max_length=160)
    telephone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(max_length=254, blank=True)
    born = models.DateField(null=True, blank=True)
    unit = models.CharField(max_length=2, choices=[("cm", "centimetres"), ("in", "inches")], default="cm")
    language = models.CharField(  # of what she reads; empty: the studio's
        max_length=8, choices=LANGUAGES, blank=True, default="", db_default=""
    )
    guardian_name = models.CharField(max_length=160, blank=True)
    guardian_telephone = models.CharField(max_length=40, blank=True)
    guardian_email = models.EmailField(max_length=254, blank=True)
    body_model = models.CharField(
        max_length=8, choices=BodyModel.choices, default=BodyModel.BOTH, db_default="both"
    )
    figures_in_report = models.BooleanField(default=True)  # may body figures stand in what her link opens?
    notes = models.TextField(max_length=2000, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        constraints = tenant_rules("client")
        indexes = [models.Index(fields=["studio", "name"], name="client_by_name")]

    def __str__(self) -> str:
        return self.name

    def is_minor(self, today: date) -> bool:
        """Under 18 on this day; somebody whose birthday is not known counts as an adult."""
        if self.born is None:
            return False
        had_birthday = (today.month, today.day) >= (self.born.month, self.born.day)
        return today.year - self.born.year - (not had_birthday) < ADULT_YEARS


class Consent(TenantModel):
    """One answer to one question, kept for ever; the newest of its kind holds."""

    class Kind(models.TextChoices):
        MEASURE = "measure", "Being measured, and the figures kept"
        PHOTOGRAPH = "photograph", "Photographs"

    client = reference("studio.Client", related_name="consents")
    kind = models.CharField(max_length=16, choices=Kind.choices)
    given = models.BooleanField()  # False withdraws
    given_by = models.CharField(max_length=160)
    by_guardian = models.BooleanField(default=False)
    recorded_by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints = tenant_rules("consent", refers_to=["client", "recorded_by"], append_only=True)
        indexes = [models.Index(fields=["studio", "client", "kind", "-at"], name="consent_newest")]


class ClientSearch(TenantModel):
    """What a client can be found by: her name and telephone, words of her garments. Owned by role door, see doors."""

    client = reference("studio.Client")
    source = models.CharField(max_length=16)  # "client" or "garment"
    source_id = models.UUIDField()
    words = models.TextField()  # as it is shown
    folded = models.TextField()  # without accents and capitals, as it is searched
    digits = models.CharField(max_length=60, blank=True)
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "source", "source_id"], name="clientsearch_source_once"
            ),
            *tenant_rules("clientsearch", refers_to=["client"], owned_by_door=True),
        ]
