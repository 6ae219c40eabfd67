"""The garment and its way: seams, checkpoints, fitting sessions, notes, accepted ease."""

from django.db import models

from fitting.models.paper import GarmentKind
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class Garment(EditableModel):
    """One thing being made or altered for one client."""

    class State(models.TextChoices):
        OPEN = "open", "In work"
        HANDED_OVER = "handed_over", "Handed over"
        GIVEN_UP = "given_up", "Given up"

    client = reference("studio.Client", related_name="garments")
    kind = models.CharField(max_length=16, choices=GarmentKind.choices)
    words = models.CharField(max_length=160)  # what the clerk will look for: "teal trousers"
    pattern = reference("fitting.Pattern", null=True, blank=True)
    cloth = reference("seamlab.Cloth", null=True, blank=True)
    plan = reference("fitting.FitPlan", null=True, blank=True)
    for_child = models.BooleanField(default=False)
    ready_made = models.BooleanField(default=False)  # bought, and only altered here: tickets lead its way
    due = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=16, choices=State.choices, default=State.OPEN)
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        constraints = tenant_rules("garment", refers_to=["client", "pattern", "cloth", "plan"])
        indexes = [
            models.Index(fields=["studio", "client", "-created_at"], name="garment_of_client"),
            models.Index(fields=["studio", "state", "due"], name="garment_by_due"),
            models.Index(fields=["studio", "created_at"], name="garment_by_day"),
        ]

    def __str__(self) -> str:
        return self.words


class GarmentSeam(TenantModel):
    """Which proven recipe sews which seam of a garment, how long it is, and in which colours."""

    garment = reference("fitting.Garment", related_name="seams")
    place = models.CharField(max_length=80)  # "side seams"
    version = reference("seamlab.SeamRecipeVersion")
    cloth = reference("seamlab.Cloth", null=True, blank=True)  # where it is not the garment's own: a lining
    length_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)  # of one
    times = models.PositiveSmallIntegerField(default=1)  # two side seams: 2
    needle_colour = models.CharField(max_length=60, blank=True)
    under_colour = models.CharField(max_length=60, blank=True)  # none: as the needle thread
    chosen_by = reference("platform.Member")
    chosen_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            *tenant_rules("garmentseam", refers_to=["garment", "version", "cloth", "chosen_by"]),
            models.UniqueConstraint(fields=["studio", "garment", "place"], name="garmentseam_place_once"),
        ]


class CheckpointAnswer(TenantModel):
    """Somebody answered a checkpoint: done, or gone past with a written reason. The newest answer holds."""

    class Answer(models.TextChoices):
        DONE = "done", "Done"
        PASSED_BY = "passed_by", "Gone past, with a reason"
        REOPENED = "reopened", "Open again"

    garment = reference("fitting.Garment", related_name="answers")
    checkpoint = models.CharField(max_length=32)
    answer = models.CharField(max_length=12, choices=Answer.choices)
    reason = models.CharField(max_length=400, blank=True)
    missing = models.JSONField(default=list, blank=True)  # what was still missing when it was gone past
    answered_by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            *tenant_rules("checkpoint", refers_to=["garment", "answered_by"], append_only=True),
            models.CheckConstraint(
                condition=~models.Q(answer="passed_by") | ~models.Q(reason=""), name="passing_by_has_reason"
            ),
        ]
        indexes = [models.Index(fields=["studio", "garment", "checkpoint", "-at"], name="checkpoint_newest")]


class FittingSession(TenantModel):
    """A try-on."""

    class Kind(models.TextChoices):
        PAPER = "paper", "Paper"
        TOILE = "toile", "Toile"
        BASTE = "baste", "Basted"
        FINAL = "final", "Final"

    garment = reference("fitting.Garment", related_name="sessions")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    held_at = models.DateTimeField()
    fitted_by = reference("platform.Member")
    worn = models.CharField(max_length=160, blank=True)  # shoes and underlayers
    posture = models.CharField(max_length=80, blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "fitting session"
        constraints = tenant_rules("session", refers_to=["garment", "fitted_by"], append_only=True)
        indexes = [
            models.Index(fields=["studio", "garment", "-held_at"], name="session_newest"),
            models.Index(fields=["studio", "held_at"], name="session_by_day"),
        ]


class FitNote(TenantModel):
    """What was seen, where, and what was decided. A later decision is a new note that supersedes."""

    class Decision(models.TextChoices):
        LEAVE = "leave", "Leave as it is"
        TAKE_IN = "take_in", "Take in"
        LET_OUT = "let_out", "Let out"
        LENGTHEN = "lengthen", "Lengthen"
        SHORTEN = "shorten", "Shorten"
        RESHAPE = "reshape", "Reshape the seam"
        OPEN = "open", "Not decided yet"

    session = reference("fitting.FittingSession", related_name="notes")
    place = models.CharField(max_length=32)  # a zone: waist, hip, ...
    side = models.CharField(
        max_length=8, choices=[("left", "left"), ("right", "right"), ("both", "both")], default="both"
    )
    seen = models.CharField(max_length=400)
    # What stands in the table of signs, and where it was tapped on the figure (shares of its width and height).
    sign = models.CharField(max_length=24, blank=True)
    direction = models.CharField(max_length=16, blank=True)
    view = models.CharField(
        max_length=8, choices=[("front", "front"), ("back", "back"), ("side", "side")], blank=True
    )
    mark_x = models.DecimalField(max_digits=5, decimal_places=4, null=True, blank=True)
    mark_y = models.DecimalField(max_digits=5, decimal_places=4, null=True, blank=True)
    pinched_mm = models.DecimalField(  # the cloth taken up, or let go, until the sign was gone
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    change = models.CharField(max_length=40, blank=True)  # of the table of signs: what is done on the paper
    piece = models.CharField(max_length=80, blank=True)
    seam = models.CharField(max_length=80, blank=True)
    decision = models.CharField(max_length=12, choices=Decision.choices)
    amount_mm = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )  # in all, round the body
    decided = models.CharField(max_length=400, blank=True)
    supersedes = reference("fitting.FitNote", null=True, blank=True)
    noted_by = reference("platform.Member")
    noted_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "fit note"
        constraints = [
            *tenant_rules("fitnote", refers_to=["session", "supersedes", "noted_by"], append_only=True),
            models.UniqueConstraint(fields=["studio", "supersedes"], name="fitnote_superseded_once"),
        ]


class FitPhoto(TenantModel):
    """A photograph of what a note tells; taken only with the consent to photographs. Taken away for good, or kept."""

    note = reference("fitting.FitNote", related_name="photos")
    client = reference("studio.Client")
    file = reference("platform.StoredFile")
    taken_by = reference("platform.Member")
    taken_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "fit photograph"
        constraints = tenant_rules("fitphoto", refers_to=["note", "client", "file", "taken_by"])
        indexes = [models.Index(fields=["studio", "note"], name="fitphoto_of_note")]


class SignOff(TenantModel):
    """The fitter signs a session off: nothing in it is open any more."""

    session = reference("fitting.FittingSession", related_name="sign_offs")
    signed_by = reference("platform.Member")
    signed_at = models.DateTimeField(auto_now_add=True)
    client_agreed = models.BooleanField(default=False)
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        verbose_name = "sign-off"
        constraints = [
            *tenant_rules("signoff", refers_to=["session", "signed_by"], append_only=True),
            models.UniqueConstraint(fields=["studio", "session"], name="signoff_once"),
        ]


class ClientAgreement(TenantModel):
    """The client's own word on a signed-off fitting: who, when, and what was read then, frozen. Kept as written."""

    session = reference("fitting.FittingSession", related_name="agreements")
    name = models.CharField(max_length=120)  # typed by whoever agrees
    by_guardian = models.BooleanField(default=False)
    agreed = models.JSONField()  # what stood on the page: see services/agreement.py
    witness = reference("platform.Member")  # who was signed in at the tablet
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "client's agreement"
        constraints = [
            *tenant_rules("clientagreement", refers_to=["session", "witness"], append_only=True),
            models.UniqueConstraint(fields=["studio", "session"], name="clientagreement_once"),
        ]


class AcceptedEase(TenantModel):
    """The ease with which a client was content, by zone, as it was when the fitting was signed off."""

    client = reference("studio.Client")
    garment = reference("fitting.Garment")
    session = reference("fitting.FittingSession")
    kind = models.CharField(max_length=16, choices=GarmentKind.choices)
    zone = models.CharField(max_length=32)
    ease_mm = models.DecimalField(max_digits=10, decimal_places=4)
    rule_low_mm = models.DecimalField(max_digits=10, decimal_places=4)
    rule_high_mm = models.DecimalField(max_digits=10, decimal_places=4)
    rule_source = models.CharField(max_length=200)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "accepted ease"
        constraints = [
            *tenant_rules("acceptedease", refers_to=["client", "garment", "session"], append_only=True),
            models.UniqueConstraint(fields=["studio", "session", "zone"], name="acceptedease_once"),
        ]
        indexes = [models.Index(fields=["studio", "client", "kind", "zone"], name="acceptedease_of_client")]
