"""Invented clients and measurings for this wing's tests."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from studio.services import clients
from studio.services.measuring import TypedReading, record_measuring

BASIC = {
    "height": "168.5",
    "neck_base_girth": "38",
    "chest_girth": "88",
    "bust_girth": "94.5",
    "waist_girth": "76",
    "hip_girth": "102,5 cm",
    "back_waist_length": "41",
    "inside_leg": "78",
    "arm_length": "59.5",
    "upper_arm_girth": "29",
    "wrist_girth": "16.2",
    "shoulder_length": "12.5",
}


def a_client(actor: Any, name: str = "Olia Duarte", **facts: Any) -> Any:
    """A grown-up client who has consented, unless told otherwise."""
    return clients.record_client(actor, name=name, **{"consent_by": name, **facts})


def readings(typed: Mapping[str, str | tuple[str, ...]]) -> list[TypedReading]:
    """{"waist_girth": ("76", "76.4")} -> its takes in order."""
    return [
        TypedReading(code, text, take)
        for code, texts in typed.items()
        for take, text in enumerate((texts,) if isinstance(texts, str) else texts, start=1)
    ]


def measured(actor: Any, client: Any, typed: Mapping[str, Any] | None = None, **facts: Any) -> Any:
    """A measuring of a day ago, unless told otherwise."""
    when: datetime = facts.pop("measured_at", None) or timezone.now() - timedelta(days=1)
    return record_measuring(
        actor, client_id=client.pk, measured_at=when, readings=readings(typed or BASIC), **facts
    )
