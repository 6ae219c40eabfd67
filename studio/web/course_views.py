"""Pages of courses: who is in them, the class grid that several instructors fill at once, the blank sheet."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.exceptions import NON_FIELD_ERRORS
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone

from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.queries.jobs import as_read
from studio.platform.registries import COURSE_PAGES
from studio.platform.rights import Actor, Right
from studio.platform.services.files import read_file
from studio.platform.web.base import HousePage
from studio.queries import choices, clients, courses, plausibility, sheets
from studio.services import class_day
from studio.services import courses as course_services
from studio.services import sheets as sheet_services
from studio.web.class_forms import CourseForm, LineForm, OccasionForm, SheetForm

SHEETS_SHOWN = 5


class Courses(HousePage):
    right = Right.FIND_CLIENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        known = {each.set.code: each.set.name for each in choices.set_choices(self.actor)}
        found = courses.course_list(self.actor)
        return self.page(
            "studio/class/courses.html",
            courses=[(course, known.get(course.measure_set, course.measure_set)) for course in found],
            may=_may(self.actor),
        )


class NewCourse(HousePage):
    right = Right.KEEP_CLIENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        form = self._form(initial={"starts": timezone.localdate()})
        return self.page("studio/class/edit_course.html", form=form)

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST)
        if form.is_valid():
            facts = {key: value for key, value in form.cleaned_data.items() if key != "version"}
            if course := self.attempt(form, course_services.open_course, **facts):
                return self.done("The course is open: enrol its students.", "studio:course", course.pk)
        return self.page("studio/class/edit_course.html", form=form, status=400)

    def _form(self, data: Any = None, **kwargs: Any) -> CourseForm:
        return CourseForm(data, sets=list(choices.measures_for(self.actor).sets.values()), **kwargs)


class EditCourse(HousePage):
    right = Right.KEEP_CLIENTS

    def get(self, request: HttpRequest, course_id: UUID) -> HttpResponse:
        course = courses.course_get(self.actor, course_id)
        form = self._form(course, initial={name: getattr(course, name) for name in CourseForm.base_fields})
        return self.page("studio/class/edit_course.html", form=form, course=course)

    def post(self, request: HttpRequest, course_id: UUID) -> HttpResponse:
        course = courses.course_get(self.actor, course_id)
        form = self._form(course, request.POST)
        if form.is_valid():
            facts = dict(form.cleaned_data)
            version = facts.pop("version")
            if self.attempt(
                form, course_services.change_course, course_id, expected_version=version, **facts
            ):
                return self.done("Saved.", "studio:course", course_id)
        return self.page("studio/class/edit_course.html", form=form, course=course, status=400)

    def _form(self, course: Any, data: Any = None, **kwargs: Any) -> CourseForm:
        """The sets that are offered, and the one that the course has."""
        every = choices.set_choices(self.actor)
        sets = [each.set for each in every if not each.hidden or each.set.code == course.measure_set]
        return CourseForm(data, sets=sets, **kwargs)


class Course(HousePage):
    right = Right.FIND_CLIENTS

    def get(self, request: HttpRequest, course_id: UUID) -> HttpResponse:
        words = request.GET.get("words", "").strip()
        if words and request.headers.get("HX-Request"):
            return self._found(course_id, words)
        return self.course_page(course_id, SheetForm(), words)

    def course_page(
        self, course_id: UUID, form: SheetForm, words: str = "", status: int = 200
    ) -> HttpResponse:
        may = _may(self.actor)
        course = courses.course_get(self.actor, course_id)
        context: dict[str, Any] = {"course": course, "may": may, "words": words, "form": form}
        context["further"] = [entry for entry in COURSE_PAGES if self.actor.may(entry.right)]
        if may["read"]:
            try:
                grid = courses.class_grid(self.actor, course_id)
            except Conflict as exc:
                context["amiss"] = str(exc)
            else:
                context |= {"grid": grid, "rows": grid.rows, "set_name": grid.chosen.name}
        if "rows" not in context:
            context["places"] = list(courses.student_list(self.actor, course_id))
        if may["measure"]:
            made = sheets.sheet_list(self.actor, course_id)[:SHEETS_SHOWN]
            context["sheets"] = [as_read(job) for job in made]
        if words:
            context |= self._hits(course_id, words)
        return self.page("studio/class/course.html", status=status, **context)

    def _found(self, course_id: UUID, words: str) -> HttpResponse:
        course = courses.course_get(self.actor, course_id)
        return self.page("studio/class/_to_enrol.html", course=course, **self._hits(course_id, words))

    def _hits(self, course_id: UUID, words: str) -> dict[str, Any]:
        here = {place.client_id for place in courses.student_list(self.actor, course_id)}
        names = {found.client_id: found.name for found in clients.find_clients(self.actor, words)}
        return {"words": words, "hits": [(pk, name, pk in here) for pk, name in names.items()]}


class Enrol(HousePage):
    right = Right.KEEP_CLIENTS

    def post(self, request: HttpRequest, course_id: UUID, client_id: UUID) -> HttpResponse:
        place = course_services.enrol(self.actor, course_id, client_id=client_id)
        return self.done(f"{place.client.name} is in the course.", "studio:course", course_id)


class Leave(HousePage):
    right = Right.KEEP_CLIENTS

    def post(self, request: HttpRequest, course_id: UUID, client_id: UUID) -> HttpResponse:
        place = course_services.leave(self.actor, course_id, client_id=client_id)
        return self.done(
            f"{place.client.name} has left the course; what was measured stays.", "studio:course", course_id
        )


@dataclass(frozen=True)
class Line:
    """A student's line as it is drawn: what was typed and what is wrong with it stay in their cells."""

    row: courses.StudentRow
    cells: list[dict[str, Any]]
    guardian: str
    errors: dict[str, str]
    saved: str
    unsaved: bool  # something was typed that is not saved yet


class ClassDay(HousePage):
    """The roster grid of one day."""

    right = Right.READ_READINGS

    def get(self, request: HttpRequest, course_id: UUID, client_id: UUID | None = None) -> HttpResponse:
        occasion = self.occasion(request.GET)
        grid = courses.class_grid(self.actor, course_id, day=occasion.cleaned_data["day"])
        return self._grid(grid, occasion)

    def occasion(self, given: Any) -> OccasionForm:
        form = OccasionForm.of(given, today=timezone.localdate(), unit=self.actor.unit)
        if not form.is_valid():
            raise NotHere("class day")
        return form

    def _grid(
        self,
        grid: courses.ClassGrid,
        occasion: OccasionForm,
        client_id: UUID | None = None,
        form: LineForm | None = None,
        status: int = 200,
    ) -> HttpResponse:
        lines = [
            self._line(row, occasion.cleaned_data, form if row.client.pk == client_id else None, None)
            for row in grid.rows
        ]
        return self.page(
            "studio/class/class_day.html", status=status, lines=lines, **self._around(grid, occasion)
        )

    def _around(self, grid: courses.ClassGrid, occasion: OccasionForm) -> dict[str, Any]:
        return {
            "grid": grid,
            "course": grid.course,
            "occasion": occasion,
            "said": occasion.cleaned_data,
            "today": timezone.localdate(),
            "actor_id": self.actor.member_id,
            "heads": [
                (found, found.typed_in(occasion.cleaned_data["unit"]), found.code in grid.chosen.repeat)
                for found in grid.measures
            ],
        }

    @staticmethod
    def _line(
        row: courses.StudentRow,
        said: dict[str, Any],
        form: LineForm | None,
        filled: class_day.Filled | None,
    ) -> Line:
        # A template can't name "__all__".
        errors = {
            "whole" if field == NON_FIELD_ERRORS else field: " ".join(map(str, words))
            for field, words in (form.errors.items() if form else ())
        }
        typed = form.data if form else {}
        cells = [
            {
                "cell": cell,
                "words": said_in(cell, said["unit"]),
                "typed": typed.get(f"cell_{cell.measure.code}", ""),
                "seen": typed.get(f"seen_{cell.measure.code}", cell.seen),
                "error": errors.get(f"cell_{cell.measure.code}", ""),
                "flag": form.flags.get(cell.measure.code) if form else None,
                "kept": typed.get(f"kept_{cell.measure.code}", ""),
            }
            for cell in row.cells
        ]
        saved = ""
        if filled:
            parts = [
                f"{len(filled.first)} saved" if filled.first else "",
                f"{len(filled.further)} beside an earlier take" if filled.further else "",
                "saved before" if filled.there_before else "",
            ]
            saved = ", ".join(part for part in parts if part).capitalize()
        return Line(
            row,
            cells,
            typed.get("guardian_present", row.client.guardian_name),
            errors,
            saved,
            form is not None,
        )


class ClassLine(ClassDay):
    """One student's line of the grid, as it is saved."""

    rights = {"GET": Right.READ_READINGS, "POST": Right.RECORD_MEASURING}

    def post(self, request: HttpRequest, course_id: UUID, client_id: UUID) -> HttpResponse:
        """Save one student's line; htmx gets the line alone, a browser without it the whole page."""
        occasion = self.occasion(request.POST)
        said = occasion.cleaned_data
        grid = courses.class_grid(self.actor, course_id, day=said["day"])
        row = grid.row_of(client_id)
        typed = LineForm.with_meant(request.POST.dict())
        form = LineForm(typed, codes=grid.chosen.measures)
        filled = None
        if form.is_valid() and not self._to_look_again(row, form, said) and "meant" not in typed:
            filled = self.attempt(form, self._fill, course_id, client_id, form, said)
        if filled:
            grid = courses.class_grid(self.actor, course_id, day=said["day"])
        if request.headers.get("HX-Request"):
            line = self._line(grid.row_of(client_id), said, None if filled else form, filled)
            return self.page("studio/class/_line.html", line=line, **self._around(grid, occasion))
        if filled:
            return HttpResponseRedirect(
                reverse("studio:class-day", args=[course_id])
                + f"?day={said['day']}&unit={said['unit']}&over={said['over']}"
            )
        return self._grid(grid, occasion, client_id, form, status=400)

    def _to_look_again(self, row: courses.StudentRow, form: LineForm, said: dict[str, Any]) -> bool:
        typed = [(cell.measure, cell.typed) for cell in form.cells()]
        return form.look_again(
            plausibility.judge_line(self.actor, row, typed=typed, unit=said["unit"], day=said["day"])
        )

    @staticmethod
    def _fill(
        actor: Actor, course_id: UUID, client_id: UUID, form: LineForm, said: dict[str, Any]
    ) -> class_day.Filled:
        """What is refused comes back under the form's own field names."""
        try:
            return class_day.fill_cells(
                actor,
                course_id,
                client_id,
                cells=form.cells(),
                guardian_present=form.cleaned_data["guardian_present"],
                **said,
            )
        except Refused as exc:
            found: dict[str, str] = {}
            for field, words in exc.reasons.items():
                name = field.replace("cells.", "cell_", 1)
                known = name if name in form.fields else ""
                found[known] = f"{found[known]} {words}" if known in found else words
            raise Refused(found) from exc


class ClassChanges(HousePage):
    """What changed in the grid since the page was drawn: the page sends the marks that it has."""

    right = Right.READ_READINGS

    def get(self, request: HttpRequest, course_id: UUID) -> HttpResponse:
        occasion = OccasionForm.of(request.GET, today=timezone.localdate(), unit=self.actor.unit)
        if not occasion.is_valid():
            raise NotHere("class day")
        said = occasion.cleaned_data
        grid = courses.class_grid(self.actor, course_id, day=said["day"])
        have = set(request.GET.getlist("have"))
        changed = [row for row in grid.rows if row.mark not in have]
        others = grid.roster_mark not in have
        if not changed and not others:
            return HttpResponse(status=204)
        return self.page(
            "studio/class/_changed.html",
            rows=[(row, [(cell, said_in(cell, said["unit"])) for cell in row.cells]) for row in changed],
            others=others,
            said=said,
        )


class AskSheet(Course):
    right = Right.RECORD_MEASURING

    def post(self, request: HttpRequest, course_id: UUID) -> HttpResponse:
        form = SheetForm(request.POST)
        if form.is_valid():
            job = self.attempt(form, sheet_services.ask_sheet, course_id, **form.cleaned_data)
            if job:
                return self.done("The sheet is being drawn.", "studio:sheet", course_id, job.pk)
        return self.course_page(course_id, form, status=400)


class Sheet(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, course_id: UUID, job_id: UUID) -> HttpResponse:
        job = sheets.sheet_get(self.actor, course_id, job_id)
        course = courses.course_get(self.actor, course_id)
        return self.page("studio/class/sheet.html", course=course, row=as_read(job))


class SheetPdf(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, course_id: UUID, file_id: UUID) -> HttpResponse:
        file = sheets.sheet_file(self.actor, course_id, file_id)
        response = HttpResponse(read_file(file), content_type=file.media_type)
        response["Content-Disposition"] = f'inline; filename="{file.name}"'
        response["Cache-Control"] = "private, no-store"
        return response


def said_in(cell: courses.Cell, unit: str) -> dict[str, Any]:
    """A cell's figure and takes in the unit of the page."""
    if cell.value is None:
        return {"value": "", "takes": []}
    return {
        "value": cell.measure.in_words(cell.value, unit),
        "takes": [(cell.measure.in_words(take.value, unit), take.by) for take in cell.takes],
        "by": ", ".join(dict.fromkeys(take.by for take in cell.takes)),
    }


def _may(actor: Actor) -> dict[str, bool]:
    return {
        "keep": actor.may(Right.KEEP_CLIENTS),
        "read": actor.may(Right.READ_READINGS),
        "measure": actor.may(Right.RECORD_MEASURING),
    }
