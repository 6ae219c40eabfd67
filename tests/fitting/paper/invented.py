"""Invented people and paper, made by the real services."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from fitting.services.patterns import SizeGiven, record_pattern
from studio.services.clients import record_client
from studio.services.measuring import TypedReading, record_measuring

OLIA = {
    "waist_girth": "74 cm",
    "hip_girth": "103.5 cm",
    "bust_girth": "95 cm",
    "chest_girth": "87 cm",
    "back_waist_length": "42 cm",
}


def sizes(rows: dict[str, dict[str, float]]) -> list[SizeGiven]:
    """Sizes from centimetres."""
    return [
        SizeGiven(name, {code: Decimal(str(value)) * 10 for code, value in row.items()})
        for name, row in rows.items()
    ]


# Finished measures of an invented skirt: 4 cm from size to size (EN 13402-3 steps women's waist and hip so).
SKIRT = {
    "10": {"waist": 67.5, "hip": 98},
    "12": {"waist": 71.5, "hip": 102},
    "14": {"waist": 75.5, "hip": 106},
    "16": {"waist": 79.5, "hip": 110},
}


def skirt(actor: Any, name: str = "Panelled skirt", **changes: Any) -> Any:
    facts = {
        "kind": "skirt",
        "closeness": "fitted",
        "structure": "woven",
        "basis": "finished",
        "sizes": sizes(SKIRT),
    }
    return record_pattern(actor, name=name, **(facts | changes))


def client(actor: Any, name: str = "Olia Moreira", born: date | None = None, unit: str = "cm") -> Any:
    minor = born is not None and born.year > 2010
    return record_client(
        actor,
        name=name,
        born=born,
        unit=unit,
        guardian_name="Rosa Moreira" if minor else "",
        guardian_telephone="020 7946 0018" if minor else "",
        consent_by="Rosa Moreira" if minor else name,
        consent_by_guardian=minor,
    )


def measure(actor: Any, who: Any, typed: dict[str, str], at: datetime | None = None, takes: int = 1) -> Any:
    return record_measuring(
        actor,
        client_id=who.pk,
        measured_at=at or timezone.now() - timedelta(minutes=5),
        guardian_present="Rosa Moreira" if who.guardian_name else "",
        readings=[
            TypedReading(code, text, take) for code, text in typed.items() for take in range(1, takes + 1)
        ],
    )
