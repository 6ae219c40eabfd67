"""Alterations of finished garments: tickets, jobs, payments, what happened, slips; and the price list."""

from django.core.validators import MaxValueValidator
from django.db import models

from fitting.calc.money import MOST_MINOR
from fitting.models.kinds import GarmentKind
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference

FIRST_NUMBER = 1001


class Counter(EditableModel):
    """What holds at a studio's counter: its currency, and the last number that was given to a ticket."""

    currency = models.CharField(max_length=3, blank=True)  # of ISO 4217; empty until somebody chooses it
    last_number = models.PositiveIntegerField(default=FIRST_NUMBER - 1, editable=False)

    class Meta:
        constraints = [
            *tenant_rules("counter"),
            models.UniqueConstraint(fields=["studio"], name="counter_once_per_studio"),
        ]


class Price(EditableModel):
    """One line of the studio's own price list, in the smallest unit of its currency."""

    job = models.CharField(max_length=24)  # a code of data/jobs.json
    kind = models.CharField(max_length=16, choices=GarmentKind.choices, blank=True)  # empty: any garment
    words = models.CharField(max_length=80, blank=True)  # what tells it from another: "by hand"
    minor = models.PositiveIntegerField(validators=[MaxValueValidator(MOST_MINOR)])
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [
            *tenant_rules("price"),
            models.UniqueConstraint(fields=["studio", "job", "kind", "words"], name="price_line_once"),
        ]


class Ticket(EditableModel):
    """The shop's work order for one garment; a garment may have several, one after another."""

    class State(models.TextChoices):
        TAKEN_IN = "taken_in", "Taken in"
        IN_WORK = "in_work", "In work"
        READY = "ready", "Ready"
        HANDED_OVER = "handed_over", "Handed over"
        GIVEN_UP = "given_up", "Given up"

    garment = reference("fitting.Garment", related_name="tickets")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=12, choices=State.choices, default=State.TAKEN_IN)
    due = models.DateField(null=True, blank=True)
    currency = models.CharField(max_length=3)
    note = models.CharField(max_length=400, blank=True)
    taken_in_by = reference("platform.Member")

    class Meta:
        constraints = [
            *tenant_rules("ticket", refers_to=["garment", "taken_in_by"]),
            models.UniqueConstraint(fields=["studio", "number"], name="ticket_number_once"),
        ]
        indexes = [
            models.Index(fields=["studio", "state", "due"], name="ticket_by_due"),
            models.Index(fields=["studio", "garment"], name="ticket_of_garment"),
        ]


class TicketJob(TenantModel):
    """One thing that is wanted: what, where, how much was pinned, what lies inside, the price that was agreed."""

    class State(models.TextChoices):
        TO_DO = "to_do", "To do"
        DONE = "done", "Done"
        LEFT_OUT = "left_out", "Left out"

    ticket = reference("fitting.Ticket", related_name="jobs")
    place = models.PositiveSmallIntegerField()
    job = models.CharField(max_length=24)
    where = models.CharField(max_length=120, blank=True)  # "left leg, to the crease of the instep"
    amount_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)  # pinned, in all
    allowance_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)  # at each edge
    keep_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    edges = models.PositiveSmallIntegerField(null=True, blank=True)
    price_minor = models.PositiveIntegerField(validators=[MaxValueValidator(MOST_MINOR)])
    state = models.CharField(max_length=8, choices=State.choices, default=State.TO_DO)
    reason = models.CharField(max_length=200, blank=True)  # why it was left out

    class Meta:
        verbose_name = "job of a ticket"
        constraints = [
            *tenant_rules("ticketjob", refers_to=["ticket"]),
            models.UniqueConstraint(fields=["studio", "ticket", "place"], name="ticketjob_place_once"),
        ]


class TicketEvent(TenantModel):
    """What happened to a ticket, in order; kept as it was written."""

    class What(models.TextChoices):
        STATE = "state", "State"
        JOB = "job", "Job"
        CHANGED = "changed", "Changed"
        TOLD_BY_EMAIL = "told_by_email", "Told by email"
        TOLD_BY_TELEPHONE = "told_by_telephone", "Told by telephone"

    ticket = reference("fitting.Ticket", related_name="events")
    what = models.CharField(max_length=20, choices=What.choices)
    state = models.CharField(max_length=12, choices=Ticket.State.choices)  # of the ticket, afterwards
    words = models.CharField(max_length=400, blank=True)
    by = reference("platform.Member", null=True, blank=True)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "event of a ticket"
        constraints = tenant_rules("ticketevent", refers_to=["ticket", "by"], append_only=True)
        indexes = [models.Index(fields=["studio", "ticket", "at"], name="ticketevent_of_ticket")]


class TicketPayment(TenantModel):
    """Money that was taken, or (less than nothing) given back. Never edited: a mistake gets a counter row."""

    class Way(models.TextChoices):
        CASH = "cash", "Cash"
        CARD = "card", "Card"
        TRANSFER = "transfer", "Bank transfer"
        OTHER = "other", "Another way"

    ticket = reference("fitting.Ticket", related_name="payments")
    minor = models.IntegerField()
    way = models.CharField(max_length=8, choices=Way.choices)
    deposit = models.BooleanField(default=False)
    corrects = reference("fitting.TicketPayment", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    taken_by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "payment"
        constraints = [
            *tenant_rules("ticketpayment", refers_to=["ticket", "corrects", "taken_by"], append_only=True),
            models.UniqueConstraint(fields=["studio", "corrects"], name="ticketpayment_corrected_once"),
            models.CheckConstraint(condition=~models.Q(minor=0), name="ticketpayment_is_something"),
        ]
        indexes = [models.Index(fields=["studio", "ticket", "at"], name="ticketpayment_of_ticket")]


class TicketSlip(TenantModel):
    """Claim slip and work ticket as they were printed: a frozen snapshot, and the PDF with its SHA-256."""

    ticket = reference("fitting.Ticket", related_name="slips")
    client = reference("studio.Client")
    number = models.PositiveSmallIntegerField()
    snapshot = models.JSONField()
    job = reference("platform.Job")
    file = reference("platform.StoredFile", null=True, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    pages = models.PositiveSmallIntegerField(null=True, blank=True)
    rendered_with = models.JSONField(default=dict, blank=True)
    asked_by = reference("platform.Member")
    asked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "slip"
        constraints = [
            *tenant_rules("ticketslip", refers_to=["ticket", "client", "job", "file", "asked_by"]),
            models.UniqueConstraint(fields=["studio", "ticket", "number"], name="ticketslip_number_once"),
        ]
