"""Patterns, ease sets and fit plans over the API."""

from typing import Any
from uuid import UUID

import django_filters
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import paper_serializers as shapes
from fitting.queries.ease_rules import chosen_set, ease_sets
from fitting.queries.patterns import pattern_get, pattern_list
from fitting.queries.plans import plan_get, plan_list
from fitting.services.patterns import change_pattern, record_pattern
from fitting.services.plans import approve_plan, make_plan
from studio.platform.api.base import HouseView
from studio.platform.rights import Right


def _query(name: str, words: str, kind: Any = OpenApiTypes.STR) -> OpenApiParameter:
    return OpenApiParameter(name, kind, OpenApiParameter.QUERY, description=words)


class PatternFilter(django_filters.FilterSet):
    kind = django_filters.CharFilter()
    closeness = django_filters.CharFilter()
    structure = django_filters.CharFilter()
    words = django_filters.CharFilter(field_name="name", lookup_expr="icontains")


class FitPlanFilter(django_filters.FilterSet):
    client = django_filters.UUIDFilter(field_name="client_id")
    pattern = django_filters.UUIDFilter(field_name="pattern_id")
    state = django_filters.CharFilter()


class Patterns(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}
    filterset_class = PatternFilter

    @extend_schema(
        operation_id="patterns_list",
        summary="Patterns, newest first",
        filters=False,
        parameters=[
            _query("kind", shapes.KIND_HELP),
            _query("closeness", shapes.CLOSENESS_HELP),
            _query("structure", "woven or knit"),
            _query("words", "letters of the name"),
        ],
        responses=shapes.PatternOut(many=True),
    )
    def get(self, request: Request) -> Response:
        return self.page_of(pattern_list(self.actor), shapes.PatternOut)

    @extend_schema(
        operation_id="patterns_record",
        summary="Record a pattern with its run of sizes",
        request=shapes.PatternIn,
        responses={201: shapes.PatternOut},
    )
    def post(self, request: Request) -> Response:
        made = record_pattern(self.actor, **self.typed(shapes.PatternIn))
        pattern = pattern_get(self.actor, made.pk)
        return self.created(
            shapes.PatternOut(pattern).data, reverse("pattern-read", args=[pattern.pk]), pattern
        )


class PatternRead(HouseView):
    rights = {"GET": Right.READ_PAPER, "PATCH": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="patterns_read", summary="One pattern with its sizes", responses={200: shapes.PatternOut}
    )
    def get(self, request: Request, pattern_id: UUID) -> Response:
        return self._answer_with(pattern_id)

    @extend_schema(
        operation_id="patterns_change",
        summary="Change a pattern's name or notes (its sizes stay, since plans were made from them)",
        request=shapes.PatternChange,
        responses={200: shapes.PatternOut},
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
        return Response(shapes.PatternOut(pattern).data, headers={"ETag": f'"{pattern.version}"'})


class EaseSets(HouseView):
    rights = {"GET": Right.READ_PAPER}

    @extend_schema(
        operation_id="ease_sets_list",
        summary="The sets of ease rules, with their sources",
        responses={200: shapes.EaseSetsOut},
    )
    def get(self, request: Request) -> Response:
        return Response(shapes.EaseSetsOut({"results": ease_sets(chosen_set(self.actor))}).data)


class FitPlans(HouseView):
    rights = {"GET": Right.READ_FIT_PLANS, "POST": Right.KEEP_PAPER}
    filterset_class = FitPlanFilter

    @extend_schema(
        operation_id="fit_plans_list",
        summary="Fit plans, newest first",
        filters=False,
        parameters=[
            _query("client", "of this client", OpenApiTypes.UUID),
            _query("pattern", "from this pattern", OpenApiTypes.UUID),
            _query("state", "draft, approved or replaced"),
        ],
        responses=shapes.FitPlanLine(many=True),
    )
    def get(self, request: Request) -> Response:
        return self.page_of(plan_list(self.actor), shapes.FitPlanLine)

    @extend_schema(
        operation_id="fit_plans_make",
        summary="Set a pattern against a client's newest readings",
        request=shapes.FitPlanIn,
        responses={201: shapes.FitPlanOut},
    )
    def post(self, request: Request) -> Response:
        given = self.typed(shapes.FitPlanIn)
        made = make_plan(
            self.actor,
            client_id=given["client"],
            pattern_id=given["pattern"],
            garment_id=given.get("garment"),
            ease_set=given["ease_set"],
        )
        plan = plan_get(self.actor, made.pk)
        return self.created(shapes.FitPlanOut(plan).data, reverse("fit-plan-read", args=[plan.id]), made)


class FitPlanRead(HouseView):
    rights = {"GET": Right.READ_FIT_PLANS}

    @extend_schema(operation_id="fit_plans_read", summary="One fit plan", responses={200: shapes.FitPlanOut})
    def get(self, request: Request, plan_id: UUID) -> Response:
        plan = plan_get(self.actor, plan_id)
        return Response(shapes.FitPlanOut(plan).data, headers={"ETag": f'"{plan.version}"'})


class FitPlanApproval(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="fit_plans_approve",
        summary="Approve a draft for the paper",
        request=None,
        responses={
            200: shapes.FitPlanOut,
            409: OpenApiResponse(description="The plan is no draft any more."),
        },
    )
    def post(self, request: Request, plan_id: UUID) -> Response:
        approve_plan(self.actor, plan_id)
        plan = plan_get(self.actor, plan_id)
        return Response(shapes.FitPlanOut(plan).data, headers={"ETag": f'"{plan.version}"'})
