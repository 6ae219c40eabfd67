"""What every operation of the OpenAPI document has in common."""

from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

PROBLEM = {
    "type": "object",
    "description": "RFC 9457 problem details.",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "example": "urn:studio-record:problem:refused"},
        "title": {"type": "string", "example": "Something given can't be used"},
        "status": {"type": "integer", "example": 400},
        "detail": {
            "type": "string",
            "example": "Waist girth: 790.0 cm is longer than a tape can read on a person.",
        },
        "request_id": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "reason"],
                "properties": {"field": {"type": "string"}, "reason": {"type": "string"}},
            },
        },
    },
}


class HouseSchema(AutoSchema):
    """Adds the headers that the base view reads; only what is listed comes in pages, not what was made."""

    def _get_paginator(self) -> Any:
        return super()._get_paginator() if self.method == "GET" else None

    def get_override_parameters(self) -> list[Any]:
        found: list[Any] = list(super().get_override_parameters())
        if self.method == "POST":
            found.append(
                OpenApiParameter(
                    "Idempotency-Key",
                    OpenApiTypes.STR,
                    OpenApiParameter.HEADER,
                    description="Any text that is new for each thing to create; sent again, it gives the same answer.",
                )
            )
        if self.method in {"PATCH", "PUT"}:
            found.append(
                OpenApiParameter(
                    "If-Match",
                    OpenApiTypes.STR,
                    OpenApiParameter.HEADER,
                    required=True,
                    description="The ETag that was read; 412 if somebody else changed the thing since.",
                )
            )
        return found


def describe_problems(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """Every operation may answer with a problem: say so once for all."""
    result.setdefault("components", {}).setdefault("schemas", {})["Problem"] = PROBLEM
    answer = {
        "description": "A problem (RFC 9457)",
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    for path in result.get("paths", {}).values():
        for operation in path.values():
            if isinstance(operation, dict) and "responses" in operation:
                operation["responses"].setdefault("default", answer)
    return result
