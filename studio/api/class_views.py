"""Measures, sets, courses and the class grid in the API."""

from datetime import date
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from studio.api import class_serializers as shapes
from studio.platform.api.base import HouseView, etag
from studio.platform.errors import Refused
from studio.platform.rights import Right
from studio.platform.services.files import read_file
from studio.queries import choices, courses, sheets
from studio.services import choices as choice_services
from studio.services import class_day
from studio.services import courses as course_services
from studio.services import sheets as sheet_services

HIDDEN = OpenApiParameter("hidden", bool, description="true: the hidden ones as well.")
DAY = OpenApiParameter("day", OpenApiTypes.DATE, description="Left out: today.")


class Measures(HouseView):
    serializer_class = shapes.MeasureChoiceOut
    pagination_class = None
    rights = {"GET": Right.FIND_CLIENTS, "POST": Right.RECORD_MEASURING}

    @extend_schema(
        operation_id="measures_list", responses=shapes.MeasureChoiceOut(many=True), parameters=[HIDDEN]
    )
    def get(self, request: Request) -> Response:
        """What this studio measures: the catalogue and its own, how each is taken, how far it can be trusted."""
        found = choices.measure_choices(self.actor)
        if request.query_params.get("hidden") != "true":
            found = [each for each in found if not each.hidden]
        return Response(shapes.MeasureChoiceOut(found, many=True).data)

    @extend_schema(
        operation_id="measure_add", request=shapes.MeasureIn, responses={201: shapes.MeasureChoiceOut}
    )
    def post(self, request: Request) -> Response:
        """Add a measure of the studio's own. It is never changed or deleted, only hidden."""
        row = choice_services.add_measure(self.actor, **self.typed(shapes.MeasureIn))
        choice = choices.measure_choice(self.actor, row.code)
        return self.created(shapes.MeasureChoiceOut(choice).data, reverse("api-measure", args=[row.code]))


class Measure(HouseView):
    serializer_class = shapes.MeasureChoiceOut
    rights = {"GET": Right.FIND_CLIENTS, "PATCH": Right.RECORD_MEASURING}

    @extend_schema(operation_id="measure_get", responses=shapes.MeasureChoiceOut)
    def get(self, request: Request, code: str) -> Response:
        """One measure, hidden or not."""
        return Response(shapes.MeasureChoiceOut(choices.measure_choice(self.actor, code)).data)

    @extend_schema(operation_id="measure_hide", request=shapes.HiddenIn, responses=shapes.MeasureChoiceOut)
    def patch(self, request: Request, code: str) -> Response:
        """Hide a measure or offer it again. Readings that were taken of it stay."""
        hide = self.typed(shapes.HiddenIn)["hidden"]
        (choice_services.hide_measure if hide else choice_services.show_measure)(self.actor, code)
        return Response(shapes.MeasureChoiceOut(choices.measure_choice(self.actor, code)).data)


class MeasureSets(HouseView):
    serializer_class = shapes.SetChoiceOut
    pagination_class = None
    rights = {"GET": Right.FIND_CLIENTS, "POST": Right.RECORD_MEASURING}

    @extend_schema(
        operation_id="measure_sets_list", responses=shapes.SetChoiceOut(many=True), parameters=[HIDDEN]
    )
    def get(self, request: Request) -> Response:
        """Measures that are taken together."""
        if request.query_params.get("hidden") == "true":
            found = choices.set_choices(self.actor)
        else:
            offered = choices.measures_for(self.actor).sets.values()
            found = [choices.SetChoice(each, False, None) for each in offered]
        return Response(shapes.SetChoiceOut(found, many=True).data)

    @extend_schema(operation_id="measure_set_add", request=shapes.SetIn, responses={201: shapes.SetChoiceOut})
    def post(self, request: Request) -> Response:
        """Add a set of the studio's own."""
        row = choice_services.add_set(self.actor, **self.typed(shapes.SetIn))
        choice = choices.set_choice(self.actor, row.code)
        return self.created(
            shapes.SetChoiceOut(choice).data, reverse("api-measure-set", args=[row.code]), row
        )


class MeasureSet(HouseView):
    serializer_class = shapes.SetChoiceOut
    rights = {"GET": Right.FIND_CLIENTS, "PATCH": Right.RECORD_MEASURING}

    @extend_schema(operation_id="measure_set_get", responses=shapes.SetChoiceOut)
    def get(self, request: Request, code: str) -> Response:
        """One set, hidden or not; one of the studio's own with the ETag that a change needs."""
        return self._answer_with(code)

    @extend_schema(
        operation_id="measure_set_change", request=shapes.SetChangeIn, responses=shapes.SetChoiceOut
    )
    def patch(self, request: Request, code: str) -> Response:
        """Change a set of the studio's own (If-Match), or hide any set and offer it again."""
        given = self.typed(shapes.SetChangeIn)
        hidden = given.pop("hidden", None)
        if given:
            choice_services.change_set(self.actor, code, expected_version=self.expected_version(), **given)
        if hidden is not None:
            (choice_services.hide_set if hidden else choice_services.show_set)(self.actor, code)
        return self._answer_with(code)

    def _answer_with(self, code: str) -> Response:
        choice = choices.set_choice(self.actor, code)
        headers = {"ETag": etag(choice.row)} if choice.row else {}
        return Response(shapes.SetChoiceOut(choice).data, headers=headers)


class Courses(HouseView):
    serializer_class = shapes.CourseOut
    rights = {"GET": Right.FIND_CLIENTS, "POST": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="courses_list", responses=shapes.CourseOut(many=True))
    def get(self, request: Request) -> Response:
        """Courses, the last opened first."""
        return self.page_of(courses.course_list(self.actor), shapes.CourseOut)

    @extend_schema(operation_id="course_open", request=shapes.CourseIn, responses={201: shapes.CourseOut})
    def post(self, request: Request) -> Response:
        """Open a course."""
        row = course_services.open_course(self.actor, **self.typed(shapes.CourseIn))
        course = courses.course_get(self.actor, row.pk)
        return self.created(shapes.CourseOut(course).data, reverse("api-course", args=[row.pk]), row)


class Course(HouseView):
    serializer_class = shapes.CourseOut
    rights = {"GET": Right.FIND_CLIENTS, "PATCH": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="course_get", responses=shapes.CourseOut)
    def get(self, request: Request, course_id: UUID) -> Response:
        """One course, with the ETag that a change needs."""
        course = courses.course_get(self.actor, course_id)
        return Response(shapes.CourseOut(course).data, headers={"ETag": etag(course)})

    @extend_schema(operation_id="course_change", request=shapes.CourseFactsIn, responses=shapes.CourseOut)
    def patch(self, request: Request, course_id: UUID) -> Response:
        """Change what is given and nothing else."""
        course_services.change_course(
            self.actor,
            course_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.CourseFactsIn),
        )
        course = courses.course_get(self.actor, course_id)
        return Response(shapes.CourseOut(course).data, headers={"ETag": etag(course)})


class Students(HouseView):
    serializer_class = shapes.StudentOut
    rights = {"GET": Right.FIND_CLIENTS, "POST": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="students_list", responses=shapes.StudentOut(many=True))
    def get(self, request: Request, course_id: UUID) -> Response:
        """Who is in a course."""
        return self.page_of(courses.student_list(self.actor, course_id), shapes.StudentOut)

    @extend_schema(operation_id="student_enrol", request=shapes.StudentIn, responses={201: shapes.StudentOut})
    def post(self, request: Request, course_id: UUID) -> Response:
        """Give a client a place in the course."""
        client_id = self.typed(shapes.StudentIn)["client"]
        place = course_services.enrol(self.actor, course_id, client_id=client_id)
        return self.created(
            shapes.StudentOut(place).data, reverse("api-course-student", args=[course_id, client_id])
        )


class Student(HouseView):
    serializer_class = shapes.StudentOut
    rights = {"DELETE": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="student_leave", request=None, responses={204: None})
    def delete(self, request: Request, course_id: UUID, client_id: UUID) -> Response:
        """End a place in the course; what was measured stays."""
        course_services.leave(self.actor, course_id, client_id=client_id)
        return Response(status=204)


class Grid(HouseView):
    serializer_class = shapes.GridOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS, "POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="class_grid_get", responses=shapes.GridOut, parameters=[DAY])
    def get(self, request: Request, course_id: UUID) -> Response:
        """Students by measures on a day: what was read, by whom, and who still lacks what."""
        grid = courses.class_grid(self.actor, course_id, day=self._day(request))
        return Response(shapes.GridOut(grid).data)

    @extend_schema(operation_id="class_line_fill", request=shapes.LineIn, responses={201: shapes.LineOut})
    def post(self, request: Request, course_id: UUID) -> Response:
        """Save what one instructor typed into one student's line; nothing that is there is overwritten."""
        given = self.typed(shapes.LineIn)
        cells = [class_day.TypedCell(**cell) for cell in given.pop("cells")]
        filled = class_day.fill_cells(self.actor, course_id, given.pop("client"), cells=cells, **given)
        return self.created(shapes.LineOut(filled).data, reverse("api-course-grid", args=[course_id]))

    @staticmethod
    def _day(request: Request) -> date | None:
        raw = request.query_params.get("day")
        try:
            return date.fromisoformat(raw) if raw else None
        except ValueError:
            raise Refused({"day": "This is not a day such as 2026-05-04."}) from None


class Sheets(HouseView):
    serializer_class = shapes.SheetOut
    rights = {"GET": Right.RECORD_MEASURING, "POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="sheets_list", responses=shapes.SheetOut(many=True))
    def get(self, request: Request, course_id: UUID) -> Response:
        """Blank sheets that were asked for, the newest first."""
        return self.page_of(sheets.sheet_list(self.actor, course_id), shapes.SheetOut)

    @extend_schema(operation_id="sheet_ask", request=shapes.SheetIn, responses={201: shapes.SheetOut})
    def post(self, request: Request, course_id: UUID) -> Response:
        """Ask for the blank sheet; it is drawn in the background."""
        job = sheet_services.ask_sheet(self.actor, course_id, **self.typed(shapes.SheetIn))
        return self.created(shapes.SheetOut(job).data, reverse("api-job", args=[job.pk]))


class SheetPdf(HouseView):
    pagination_class = None
    rights = {"GET": Right.RECORD_MEASURING}

    @extend_schema(operation_id="sheet_pdf", responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    def get(self, request: Request, course_id: UUID, file_id: UUID) -> Any:
        """The PDF of a sheet."""
        file = sheets.sheet_file(self.actor, course_id, file_id)
        response = HttpResponse(read_file(file), content_type=file.media_type)
        response["Content-Disposition"] = f'inline; filename="{file.name}"'
        response["Cache-Control"] = "private, no-store"
        return response
