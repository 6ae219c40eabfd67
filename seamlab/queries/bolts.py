"""Reading bolts and what remains of them."""

from decimal import Decimal
from uuid import UUID

from django.db.models import DecimalField, F, OuterRef, Prefetch, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from seamlab.models import Bolt, BoltRecord
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

_LENGTH: "DecimalField[Decimal, Decimal]" = DecimalField(max_digits=10, decimal_places=4)


def bolt_list(actor: Actor, *, cloth_id: UUID | None = None, with_hidden: bool = False) -> "QuerySet[Bolt]":
    """Bolts by cloth and label, each with ``remaining_mm``; one query."""
    actor.need(Right.READ_SEAMS)
    found = _with_remaining().select_related("cloth").order_by("cloth__name", "label", "id")
    if cloth_id is not None:
        found = found.filter(cloth_id=cloth_id)
    return found if with_hidden else found.filter(is_hidden=False)


def bolt_get(actor: Actor, bolt_id: UUID) -> Bolt:
    """A bolt with ``remaining_mm`` and its records, newest first; two queries. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    records = BoltRecord.objects.select_related("recorded_by").order_by("-number")
    found: Bolt | None = (
        _with_remaining()
        .select_related("cloth")
        .prefetch_related(Prefetch("records", queryset=records))
        .filter(pk=bolt_id)
        .first()
    )
    if found is None:
        raise NotHere("bolt")
    return found


def bolt_records(actor: Actor, bolt_id: UUID) -> "QuerySet[BoltRecord]":
    """Every cut and count of a bolt of this studio, newest first. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    if not Bolt.objects.filter(pk=bolt_id).exists():
        raise NotHere("bolt")
    return BoltRecord.objects.filter(bolt_id=bolt_id).select_related("recorded_by").order_by("-id")


def remaining_of(bolt: Bolt) -> Decimal:
    """What remains of a bolt, mm; one query."""
    newest = (
        BoltRecord.objects.filter(bolt_id=bolt.pk).order_by("-number").values_list("remaining_mm", flat=True)
    )
    left: Decimal = next(iter(newest[:1]), bolt.length_at_start_mm)
    return left


def remaining_of_cloth(actor: Actor, cloth_id: UUID) -> Decimal:
    """What lies on all offered bolts of a cloth together, mm; one query."""
    total = bolt_list(actor, cloth_id=cloth_id).aggregate(total=Sum("remaining_mm"))["total"]
    return total or Decimal(0)


def _with_remaining() -> "QuerySet[Bolt]":
    newest = BoltRecord.objects.filter(bolt=OuterRef("pk")).order_by("-number").values("remaining_mm")[:1]
    found: QuerySet[Bolt] = Bolt.objects.annotate(
        remaining_mm=Coalesce(Subquery(newest), F("length_at_start_mm"), output_field=_LENGTH)
    )
    return found
