"""Body charts, and charts and patterns as files, over the API."""

import io
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import paper_chart_serializers as shapes
from fitting.queries.charts import chart_get, chart_list, sourced_charts
from fitting.queries.paper_transfer import MEDIA_TYPES, paper_file
from fitting.services.charts import change_chart, record_chart, take_chart
from fitting.services.paper_transfer import read_paper_file, take_over_paper, try_paper
from studio.platform.api.base import HouseView
from studio.platform.errors import Refused
from studio.platform.rights import Right


class Charts(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="body_charts_list", summary="Body charts, by name", responses=shapes.ChartOut(many=True)
    )
    def get(self, request: Request) -> Response:
        return self.page_of(chart_list(self.actor), shapes.ChartOut)

    @extend_schema(
        operation_id="body_charts_record",
        summary="Record a body chart",
        request=shapes.ChartIn,
        responses={201: shapes.ChartOut},
    )
    def post(self, request: Request) -> Response:
        return _made(self, record_chart(self.actor, **self.typed(shapes.ChartIn)).pk)


class SourcedCharts(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="body_charts_sourced",
        summary="Charts with a source that can be taken over",
        responses={200: shapes.SourcedChartsOut},
    )
    def get(self, request: Request) -> Response:
        return Response(shapes.SourcedChartsOut({"results": list(sourced_charts().values())}).data)

    @extend_schema(
        operation_id="body_charts_take",
        summary="Take a chart with a source over",
        request=shapes.TakeChartIn,
        responses={201: shapes.ChartOut},
    )
    def post(self, request: Request) -> Response:
        return _made(self, take_chart(self.actor, **self.typed(shapes.TakeChartIn)).pk)


class ChartRead(HouseView):
    rights = {"GET": Right.READ_PAPER, "PATCH": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="body_charts_read", summary="One body chart", responses={200: shapes.ChartOut}
    )
    def get(self, request: Request, chart_id: UUID) -> Response:
        return self._answer_with(chart_id)

    @extend_schema(
        operation_id="body_charts_change",
        summary="Change a chart's name or notes (its figures stay, since patterns rest on them)",
        request=shapes.ChartChange,
        responses={200: shapes.ChartOut},
    )
    def patch(self, request: Request, chart_id: UUID) -> Response:
        given = self.typed(shapes.ChartChange)
        change_chart(self.actor, chart_id, expected_version=self.expected_version(), **given)
        return self._answer_with(chart_id)

    def _answer_with(self, chart_id: UUID) -> Response:
        chart = chart_get(self.actor, chart_id)
        return Response(shapes.ChartOut(chart).data, headers={"ETag": f'"{chart.version}"'})


class PaperFiles(HouseView):
    rights = {"POST": Right.KEEP_PAPER}
    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="paper_files_take_over",
        summary="Look through a file of charts or patterns, or take it over",
        request=shapes.PaperFileIn,
        responses={200: shapes.PaperFoundOut},
    )
    def post(self, request: Request) -> Response:
        given = self.typed(shapes.PaperFileIn)
        read = read_paper_file(io.BytesIO(given["file"].read()))
        act = try_paper if given["dry_run"] else take_over_paper
        found = act(self.actor, read)
        return Response(
            shapes.PaperFoundOut(
                {
                    "what": found.what,
                    "names": found.names,
                    "problems": found.problems,
                    "taken_over": not given["dry_run"],
                }
            ).data
        )


class PaperFileRead(HouseView):
    rights = {"GET": Right.READ_PAPER}

    @extend_schema(
        operation_id="paper_files_read",
        summary="All charts or patterns as a table",
        parameters=[
            OpenApiParameter("form", OpenApiTypes.STR, OpenApiParameter.QUERY, description="csv or xlsx")
        ],
        responses={(200, "text/csv"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, what: str) -> HttpResponse:
        form = request.query_params.get("form", "csv")
        if what not in {"charts", "patterns"} or form not in MEDIA_TYPES:
            raise Refused({"form": "Ask for charts or patterns, as csv or xlsx."})
        response = HttpResponse(paper_file(self.actor, what, form), content_type=MEDIA_TYPES[form])
        response["Content-Disposition"] = f'attachment; filename="{what}.{form}"'
        return response


def _made(view: HouseView, chart_id: UUID) -> Response:
    chart = chart_get(view.actor, chart_id)
    return view.created(shapes.ChartOut(chart).data, reverse("body-chart-read", args=[chart.pk]), chart)
