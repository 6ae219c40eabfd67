"""Ease rules and fit plans over the API."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

import django_filters
from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import paper_plan_serializers as shapes
from fitting.api.paper_views import query_parameter as _query
from fitting.queries.cutting_sheets import sheet_file, sheets_of
from fitting.queries.ease_rules import all_ease_sets, set_rules
from fitting.queries.plan_view import view_of
from fitting.queries.plans import plan_get, plan_list, plan_row
from fitting.services.cutting_sheets import ask_cutting_sheet
from fitting.services.ease import drop_ease_rule, follow_ease_set, set_ease_rule, write_ease_set
from fitting.services.plan_acts import look_at_overrules, overrule_plan, tick_line
from fitting.services.plans import approve_plan, make_plan
from studio.platform.api.base import HouseView
from studio.platform.errors import NotHere
from studio.platform.rights import Right


class FitPlanFilter(django_filters.FilterSet):
    client = django_filters.UUIDFilter(field_name="client_id")
    pattern = django_filters.UUIDFilter(field_name="pattern_id")
    state = django_filters.CharFilter()


class EaseSets(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="ease_sets_list",
        summary="The sets of ease rules, with their sources",
        responses={200: shapes.EaseSetsOut},
    )
    def get(self, request: Request) -> Response:
        return Response(shapes.EaseSetsOut({"results": all_ease_sets(self.actor)}).data)

    @extend_schema(
        operation_id="ease_sets_write",
        summary="Begin an ease set of the studio's own",
        request=shapes.EaseSetIn,
        responses={201: shapes.EaseRulesOut},
    )
    def post(self, request: Request) -> Response:
        made = write_ease_set(self.actor, **self.typed(shapes.EaseSetIn))
        return self.created(_rules(self, str(made.pk)), reverse("ease-set-read", args=[str(made.pk)]), made)


class EaseSetFollowed(HouseView):
    rights = {"PUT": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="ease_sets_follow",
        summary="Say which set the studio's plans follow from now on",
        request=shapes.FollowIn,
        responses={200: shapes.EaseSetsOut},
    )
    def put(self, request: Request) -> Response:
        follow_ease_set(self.actor, **self.typed(shapes.FollowIn))
        return Response(shapes.EaseSetsOut({"results": all_ease_sets(self.actor)}).data)


class EaseSetRead(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="ease_sets_read",
        summary="One set with its rules",
        responses={200: shapes.EaseRulesOut},
    )
    def get(self, request: Request, code: str) -> Response:
        return Response(_rules(self, code))

    @extend_schema(
        operation_id="ease_sets_set_rule",
        summary="Write a rule into a set of the studio's own, in place of one for the same case",
        request=shapes.EaseRuleIn,
        responses={200: shapes.EaseRulesOut},
    )
    def post(self, request: Request, code: str) -> Response:
        set_ease_rule(self.actor, _own(code), **self.typed(shapes.EaseRuleIn))
        return Response(_rules(self, code))


class EaseRuleRead(HouseView):
    rights = {"DELETE": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="ease_sets_drop_rule",
        summary="Take a rule out of a set of the studio's own",
        responses={204: None},
    )
    def delete(self, request: Request, code: str, rule_id: UUID) -> Response:
        drop_ease_rule(self.actor, _own(code), rule_id)
        return Response(status=204)


def _own(code: str) -> UUID:
    try:
        return UUID(code)
    except ValueError:
        raise NotHere("ease set") from None


def _rules(view: HouseView, code: str) -> Any:
    found, rules, _ = set_rules(view.actor, code)
    return shapes.EaseRulesOut({**asdict(found), "results": rules}).data


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
            with_estimates=given["with_estimates"],
            growing_months=given["growing_months"],
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


class FitPlanOverrules(HouseView):
    rights = {"PUT": Right.KEEP_PAPER, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="fit_plans_overrule",
        summary="Let these overrules, and no others, be in force on a draft",
        request=shapes.OverrulesIn,
        responses={
            200: shapes.FitPlanOut,
            409: OpenApiResponse(description="The plan is no draft any more."),
        },
    )
    def put(self, request: Request, plan_id: UUID) -> Response:
        overrule_plan(
            self.actor,
            plan_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.OverrulesIn),
        )
        return _plan(self, plan_id)

    @extend_schema(
        operation_id="fit_plans_look_at_overrules",
        summary="What would follow from these overrules; nothing is kept",
        request=shapes.OverrulesIn,
        responses={200: shapes.FitPlanOut},
    )
    def post(self, request: Request, plan_id: UUID) -> Response:
        row = plan_row(self.actor, plan_id)
        given = self.typed(shapes.OverrulesIn)["given"]
        return Response(shapes.FitPlanOut(view_of(row, result=look_at_overrules(row, given))).data)


class FitPlanTicks(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="fit_plans_tick",
        summary="Say that a line of an approved plan was carried to the paper",
        request=shapes.TickIn,
        responses={
            200: shapes.FitPlanOut,
            409: OpenApiResponse(description="The plan is not approved."),
        },
    )
    def post(self, request: Request, plan_id: UUID) -> Response:
        tick_line(self.actor, plan_id, **self.typed(shapes.TickIn))
        return _plan(self, plan_id)


class FitPlanSheets(HouseView):
    rights = {"GET": Right.READ_FIT_PLANS, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="fit_plans_sheets",
        summary="The cutting table's sheets of a plan",
        responses={200: shapes.CuttingSheetsOut},
    )
    def get(self, request: Request, plan_id: UUID) -> Response:
        plan_row(self.actor, plan_id)
        return Response(shapes.CuttingSheetsOut({"results": sheets_of(self.actor, plan_id)}).data)

    @extend_schema(
        operation_id="fit_plans_ask_sheet",
        summary="Ask for the one-page sheet of an approved plan; it is drawn in the background",
        request=None,
        responses={
            202: shapes.CuttingSheetsOut,
            409: OpenApiResponse(description="The plan is not approved."),
        },
    )
    def post(self, request: Request, plan_id: UUID) -> Response:
        ask_cutting_sheet(self.actor, plan_id)
        return Response(shapes.CuttingSheetsOut({"results": sheets_of(self.actor, plan_id)}).data, status=202)


class FitPlanSheetPdf(HouseView):
    rights = {"GET": Right.READ_FIT_PLANS}

    @extend_schema(
        operation_id="fit_plans_sheet_pdf",
        summary="A sheet as PDF",
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, plan_id: UUID, sheet_id: UUID) -> HttpResponse:
        file = sheet_file(self.actor, plan_id, sheet_id)
        response = HttpResponse(file.content, content_type="application/pdf")
        response["ETag"] = f'"{file.sha256}"'
        return response


def _plan(view: HouseView, plan_id: UUID) -> Response:
    plan = plan_get(view.actor, plan_id)
    return Response(shapes.FitPlanOut(plan).data, headers={"ETag": f'"{plan.version}"'})
