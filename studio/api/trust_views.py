"""Trust in the API: errors from repeats, standardisation days, histories, estimates, the standard figure."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from studio.api import trust_serializers as shapes
from studio.platform.api.base import HouseView
from studio.platform.api.serializers import JobOut, NothingIn
from studio.platform.errors import Refused
from studio.platform.rights import Right
from studio.queries import estimates, history, retention, standard_days, standard_figures, taping, trust
from studio.queries.choices import known_measures
from studio.services import retention as retention_services
from studio.services import trust as services
from studio.services.taping import learn_now


class TechnicalErrors(HouseView):
    serializer_class = shapes.ErrorUsedOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="technical_errors_list", responses=shapes.ErrorUsedOut(many=True))
    def get(self, request: Request) -> Response:
        """The technical error that the studio reckons with, measure by measure, and where each is from."""
        known = known_measures(self.actor)
        rows = [
            {
                "measure": code,
                "unit": known[code].unit,
                "value": used.value,
                "own": used.own,
                "pairs": used.pairs,
                "error_source": used.source,
            }
            for code, used in trust.technical_errors_for(self.actor, known).items()
        ]
        return Response(shapes.ErrorUsedOut(rows, many=True).data)


class Repeatability(HouseView):
    serializer_class = shapes.RepeatabilityOut
    pagination_class = None
    rights = {"GET": Right.RECORD_MEASURING}

    @extend_schema(
        operation_id="repeatability_get",
        responses=shapes.RepeatabilityOut,
        parameters=[
            OpenApiParameter("member", OpenApiTypes.UUID, description="Somebody else's: owners only.")
        ],
    )
    def get(self, request: Request) -> Response:
        """One's own repeatability against the studio's and the defaults."""
        found = trust.repeatability_of(self.actor, _uuid(request, "member"))
        return Response(shapes.RepeatabilityOut(found).data)


class MembersRepeatability(HouseView):
    serializer_class = shapes.MemberRepeatsOut
    pagination_class = None
    rights = {"GET": Right.KEEP_MEMBERS}

    @extend_schema(operation_id="repeatability_members", responses=shapes.MemberRepeatsOut(many=True))
    def get(self, request: Request) -> Response:
        """Everybody who has repeats, at a glance."""
        return Response(shapes.MemberRepeatsOut(trust.members_repeatability(self.actor), many=True).data)


class Taping(HouseView):
    serializer_class = shapes.TapingOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS, "POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="taping_get", responses=shapes.TapingOut)
    def get(self, request: Request) -> Response:
        """How this studio tapes beside the people of the body model, learnt from its own clients."""
        return Response(shapes.TapingOut(taping.habit_of(self.actor)).data)

    @extend_schema(operation_id="taping_learn", request=NothingIn, responses={202: JobOut})
    def post(self, request: Request) -> Response:
        """Learn it anew at once: a job. It is learnt anew by itself as measurings come in."""
        job = learn_now(self.actor)
        return Response(JobOut(job).data, status=202, headers={"Location": reverse("api-job", args=[job.pk])})


class StandardDays(HouseView):
    serializer_class = shapes.DayOut
    rights = {"GET": Right.RECORD_MEASURING, "POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="standard_days_list", responses=shapes.DayOut(many=True))
    def get(self, request: Request) -> Response:
        """Standardisation days, the last opened first."""
        return self.page_of(standard_days.day_list(self.actor), shapes.DayOut)

    @extend_schema(operation_id="standard_day_open", request=shapes.DayIn, responses={201: shapes.DayOut})
    def post(self, request: Request) -> Response:
        """Open a day on which several measurers tape the same volunteers."""
        day = services.open_day(self.actor, **self.typed(shapes.DayIn))
        return self.created(shapes.DayOut(day).data, reverse("api-standard-day", args=[day.pk]))


class StandardDay(HouseView):
    serializer_class = shapes.DayResultOut
    pagination_class = None
    rights = {"GET": Right.RECORD_MEASURING}

    @extend_schema(operation_id="standard_day_result", responses=shapes.DayResultOut)
    def get(self, request: Request, day_id: UUID) -> Response:
        """A day and what it has shown: errors within and between measurers, agreement with the reference."""
        return Response(shapes.DayResultOut(standard_days.day_result(self.actor, day_id)).data)


class DayReadings(HouseView):
    serializer_class = shapes.DayReadingOut
    rights = {"GET": Right.RECORD_MEASURING, "POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="standard_day_readings_list", responses=shapes.DayReadingOut(many=True))
    def get(self, request: Request, day_id: UUID) -> Response:
        """What was taped on a day, the last recorded first."""
        return self.page_of(standard_days.day_readings(self.actor, day_id), shapes.DayReadingOut)

    @extend_schema(
        operation_id="standard_day_readings_record",
        request=shapes.DayReadingsIn,
        responses={201: shapes.DayReadingOut(many=True)},
    )
    def post(self, request: Request, day_id: UUID) -> Response:
        """Keep what was taped, all or nothing."""
        given = self.typed(shapes.DayReadingsIn)
        readings = [services.DayReading(**reading) for reading in given.pop("readings")]
        rows = services.record_day_readings(self.actor, day_id, readings=readings, **given)
        return self.created(
            shapes.DayReadingOut(rows, many=True).data, reverse("api-standard-day", args=[day_id])
        )


class DayCorrection(HouseView):
    serializer_class = shapes.DayReadingOut
    rights = {"POST": Right.RECORD_MEASURING}

    @extend_schema(
        operation_id="standard_day_reading_correct",
        request=shapes.DayCorrectionIn,
        responses={201: shapes.DayReadingOut},
    )
    def post(self, request: Request, reading_id: UUID) -> Response:
        """Supersede a reading of a day, with a reason; the old one stays."""
        row = services.correct_day_reading(self.actor, reading_id, **self.typed(shapes.DayCorrectionIn))
        return self.created(
            shapes.DayReadingOut(row).data, reverse("api-standard-day-readings", args=[row.day_id])
        )


class Histories(HouseView):
    serializer_class = shapes.MeasureHistoryOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="client_history", responses=shapes.MeasureHistoryOut(many=True))
    def get(self, request: Request, client_id: UUID) -> Response:
        """Every measure of a client over time, each visit judged as one comparison."""
        found = history.history_of(self.actor, client_id)
        return Response(shapes.MeasureHistoryOut(list(found.measures.values()), many=True).data)


class History(HouseView):
    serializer_class = shapes.MeasureHistoryWithReadingsOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="client_measure_history", responses=shapes.MeasureHistoryWithReadingsOut)
    def get(self, request: Request, client_id: UUID, code: str) -> Response:
        """One measure over time with every reading, superseded ones too."""
        _, one = history.measure_history(self.actor, client_id, code)
        return Response(shapes.MeasureHistoryWithReadingsOut(one).data)


class Estimates(HouseView):
    serializer_class = shapes.EstimatesOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="client_estimates", responses=shapes.EstimatesOut)
    def get(self, request: Request, client_id: UUID) -> Response:
        """Measures that were not taken, estimated from those that were. They are kept nowhere."""
        found = estimates.estimates_of(self.actor, client_id)
        return Response(
            shapes.EstimatesOut(
                {
                    "missing": found.missing,
                    "known": found.known,
                    "words": found.words,
                    "basis": found.basis,
                }
            ).data
        )


class StandardFigure(HouseView):
    serializer_class = shapes.StandardFigureOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(
        operation_id="client_standard_figure",
        responses=shapes.StandardFigureOut,
        parameters=[
            OpenApiParameter("chart", str, description="Left out: the first."),
            OpenApiParameter("size", str, description="Left out: the nearest by bust, waist and hip."),
        ],
    )
    def get(self, request: Request, client_id: UUID) -> Response:
        """How a body differs from the figure of a size chart in height, torso, hip depth and cup."""
        found = standard_figures.standard_figure_of(
            self.actor,
            client_id,
            chart=request.query_params.get("chart", ""),
            size=request.query_params.get("size", ""),
        )
        return Response(shapes.StandardFigureOut(found).data)


class Keeping(HouseView):
    serializer_class = shapes.KeepingOut
    pagination_class = None
    rights = {"GET": Right.EXPORT_AND_ERASE, "PUT": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="keeping_get", responses=shapes.KeepingOut)
    def get(self, request: Request) -> Response:
        """For how long clients are kept after the last act."""
        return Response(shapes.KeepingOut(retention.keeping_of(self.actor)).data)

    @extend_schema(operation_id="keeping_set", request=shapes.KeepingIn, responses=shapes.KeepingOut)
    def put(self, request: Request) -> Response:
        """Set it. Nobody is erased by it."""
        retention_services.set_keep_months(self.actor, **self.typed(shapes.KeepingIn))
        return Response(shapes.KeepingOut(retention.keeping_of(self.actor)).data)


class AskedAbout(HouseView):
    serializer_class = shapes.AskedAboutOut
    pagination_class = None
    rights = {"GET": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="keeping_clients", responses=shapes.AskedAboutOut(many=True))
    def get(self, request: Request) -> Response:
        """Clients to decide about, at most 500 of each kind: due, consent withdrawn, of age since."""
        lists: list[tuple[str, Any]] = [
            ("withdrawn", retention.withdrawn_clients(self.actor)),
            ("due", retention.due_clients(self.actor, retention.keeping_of(self.actor))),
            ("of_age", retention.grown_up_clients(self.actor)),
        ]
        return Response(
            [
                row
                for why, clients in lists
                for row in shapes.AskedAboutOut(clients[:500], many=True, context={"why": why}).data
            ]
        )


class Keep(HouseView):
    serializer_class = shapes.KeptOut
    pagination_class = None
    rights = {"POST": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="client_keep", request=shapes.KeepIn, responses={201: shapes.KeptOut})
    def post(self, request: Request, client_id: UUID) -> Response:
        """Keep a client who is due or withdrew consent; it counts as an act."""
        client = retention_services.keep_client(self.actor, client_id, **self.typed(shapes.KeepIn))
        return self.created(shapes.KeptOut(client).data, reverse("api-client", args=[client.pk]))


def _uuid(request: Request, name: str) -> UUID | None:
    raw = request.query_params.get(name)
    try:
        return UUID(raw) if raw else None
    except ValueError:
        raise Refused({name: "This is not an id."}) from None
