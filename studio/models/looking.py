"""Who looked at whom."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import TenantModel, reference


class Look(TenantModel):
    """A member opened something about a client: how often on one day. Kept for a while, then cleared."""

    client = reference("studio.Client")
    member = reference("platform.Member")
    what = models.CharField(
        max_length=32
    )  # which part of the address named her: "client_id", "garment_id", ...
    day = models.DateField()
    times = models.PositiveIntegerField(default=1)
    last_at = models.DateTimeField()

    class Meta:
        constraints = [
            *tenant_rules("look", refers_to=["client", "member"]),
            models.UniqueConstraint(
                fields=["studio", "client", "day", "member", "what"], name="look_once_a_day"
            ),
        ]
