"""Patterns over the API."""

from typing import Any
from uuid import UUID

import django_filters
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import paper_serializers as shapes
from fitting.queries.patterns import pattern_get, pattern_list
from fitting.services.patterns import change_pattern, record_pattern
from studio.platform.api.base import HouseView
from studio.platform.rights import Right


def query_parameter(name: str, words: str, kind: Any = OpenApiTypes.STR) -> OpenApiParameter:
    return OpenApiParameter(name, kind, OpenApiParameter.QUERY, description=words)


class PatternFilter(django_filters.FilterSet):
    kind = django_filters.CharFilter()
    closeness = django_filters.CharFilter()
    structure = django_filters.CharFilter()
    words = django_filters.CharFilter(field_name="name", lookup_expr="icontains")


class Patterns(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}
    filterset_class = PatternFilter

    @extend_schema(
        operation_id="patterns_list",
        summary="Patterns, newest first",
        filters=False,
        parameters=[
            query_parameter("kind", shapes.KIND_HELP),
            query_parameter("closeness", shapes.CLOSENESS_HELP),
            query_parameter("structure", "woven or knit"),
            query_parameter("words", "letters of the name"),
        ],
        responses=shapes.PatternOut(many=True),
    )
    def get(self, request: Request) -> Response:
        return self.page_of(pattern_list(self.actor), shapes.PatternOut)

    @extend_schema(
        operation_id="patterns_record",
        summary="Record a pattern with its run of sizes",
        request=shapes.PatternIn,
        responses={201: shapes.PatternWithPieces},
    )
    def post(self, request: Request) -> Response:
        made = record_pattern(self.actor, **self.typed(shapes.PatternIn))
        pattern = pattern_get(self.actor, made.pk)
        return self.created(
            shapes.PatternWithPieces(pattern).data, reverse("pattern-read", args=[pattern.pk]), pattern
        )


class PatternRead(HouseView):
    rights = {"GET": Right.READ_PAPER, "PATCH": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="patterns_read",
        summary="One pattern with its sizes",
        responses={200: shapes.PatternWithPieces},
    )
    def get(self, request: Request, pattern_id: UUID) -> Response:
        return self._answer_with(pattern_id)

    @extend_schema(
        operation_id="patterns_change",
        summary="Change a pattern's name or notes (its sizes stay, since plans were made from them)",
        request=shapes.PatternChange,
        responses={200: shapes.PatternWithPieces},
    )
    def patch(self, request: Request, pattern_id: UUID) -> Response:
        change_pattern(
            self.actor,
            pattern_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.PatternChange),
        )
        return self._answer_with(pattern_id)

    def _answer_with(self, pattern_id: UUID) -> Response:
        pattern = pattern_get(self.actor, pattern_id)
        return Response(shapes.PatternWithPieces(pattern).data, headers={"ETag": f'"{pattern.version}"'})
