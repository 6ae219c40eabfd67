"""Pages of imports and exports of readings: uploading, columns, dry run, take-over, downloads."""

import csv
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django_htmx.http import HttpResponseClientRefresh

from studio.calc.transfer import FIELD_WORDS
from studio.calc.transfer_words import escape_cell
from studio.platform.errors import NotHere, Refused
from studio.platform.queries.jobs import as_read
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.platform.web.files import file_answer
from studio.queries import courses, transfer
from studio.services import transfer as services
from studio.services import transfer_export
from studio.web.transfer_forms import ColumnsForm, ExportForm, UploadForm

SHOWN_ROWS = 20
PROBLEMS_SHOWN = 50
COURSES_OFFERED = 200


class TransferPage(HousePage):
    right = Right.EXPORT_AND_ERASE


class Transfer(TransferPage):
    """What was imported and exported, and the ways to begin."""

    def get(self, request: HttpRequest, upload: UploadForm | None = None) -> HttpResponse:
        known = [(course.pk, course.name) for course in courses.course_list(self.actor)[:COURSES_OFFERED]]
        return self.page(
            "studio/transfer/transfer.html",
            imports=list(transfer.import_list(self.actor)[:SHOWN_ROWS]),
            exports=[
                (row, self._there(row)) for row in map(as_read, transfer.export_list(self.actor)[:SHOWN_ROWS])
            ],
            upload=upload or UploadForm(initial={"unit": self.actor.unit}, auto_id="upload_%s"),
            export=ExportForm(courses=known, auto_id="export_%s", initial={"of": "studio", "form": "csv"}),
            kept_days=transfer_export.KEPT_DAYS,
            status=400 if upload and upload.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = UploadForm(request.POST, request.FILES, auto_id="upload_%s")
        if form.is_valid():
            file = form.cleaned_data["file"]
            row = self.attempt(
                form,
                services.upload_readings,
                content=file.file,
                name=file.name,
                unit=form.cleaned_data["unit"],
            )
            if row is not None:
                return self.done(
                    "Uploaded. Now say what its columns hold.", "studio:transfer-columns", row.pk
                )
        return self.get(request, upload=form)

    def _there(self, row: Any) -> bool:
        try:
            transfer.export_file(self.actor, row.job.pk)
        except NotHere:
            return False
        return True


class AskExport(TransferPage):
    """Asked for on the transfer page (``of``), or on a client's page (``client``)."""

    def get(self, request: HttpRequest) -> HttpResponse:
        return redirect("studio:transfer")

    def post(self, request: HttpRequest) -> HttpResponse:
        what: dict[str, Any] = {}
        if "client" in request.POST:
            what["client_id"] = _uuid(request.POST["client"], "client")
        elif request.POST.get("of", "studio") != "studio":
            what["course_id"] = _uuid(request.POST["of"].removeprefix("course:"), "course")
        job = transfer_export.export_readings(self.actor, file_form=request.POST.get("form", "csv"), **what)
        return self.done("The table is being made.", "platform:job", job.pk)


class ExportFile(TransferPage):
    def get(self, request: HttpRequest, export_id: UUID) -> Any:
        file = transfer.export_file(self.actor, export_id)
        transfer_export.tell_download(self.actor, transfer.export_get(self.actor, export_id), file)
        return file_answer(file)


class Columns(TransferPage):
    def get(self, request: HttpRequest, import_id: UUID, form: ColumnsForm | None = None) -> HttpResponse:
        row = transfer.import_get(self.actor, import_id)
        if form is None:
            form = self._form(
                row, initial=ColumnsForm.initial_of(transfer.layout_of(row), row.mapping, row.version)
            )
        return self.page(
            "studio/transfer/columns.html",
            row=row,
            file=row.mapping["file"],
            form=form,
            columns=form.rows(transfer.examples_of(self.actor, row)),
            status=400 if form.errors else 200,
        )

    def post(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        row = transfer.import_get(self.actor, import_id)
        form = self._form(row, request.POST)
        if form.is_valid():
            chosen = form.chosen()
            if not form.errors and self.attempt(form, self._save, import_id, chosen) is not None:
                return self.done("The file is being looked at.", "studio:transfer-import", import_id)
        return self.get(request, import_id, form)

    def _form(self, row: Any, data: Any = None, **kwargs: Any) -> ColumnsForm:
        names = {code: found.name for code, found in transfer.measures_of(self.actor).items()}
        return ColumnsForm(data, heads=row.columns, measures=names, **kwargs)

    @staticmethod
    def _save(actor: Actor, import_id: UUID, chosen: dict[str, Any]) -> Any:
        """Keep the columns and ask for the dry run at once; refusals go beside the column that they are about."""
        try:
            services.map_columns(actor, import_id, **chosen)
            return services.check_readings(actor, import_id)
        except Refused as exc:
            reasons: dict[str, str] = {}
            for name, words in exc.reasons.items():
                kind, _, rest = name.partition(".")
                column = (
                    chosen["fields"].get(rest) if kind == "fields" else rest if kind == "measures" else None
                )
                field = f"column_{column}" if column else "" if kind in {"fields", "measures"} else name
                reasons[field] = f"{reasons[field]} {words}" if field in reasons else words
            raise Refused(reasons) from exc


class Import(TransferPage):
    """One import: how far it is, what the dry run found, and what can be done next."""

    def get(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        row = transfer.import_get(self.actor, import_id)
        work = as_read(row.job) if row.job else None
        if request.headers.get("HX-Request"):
            if work is None or work.ended:
                return HttpResponseClientRefresh()
            return self.page("platform/_job.html", row=work)
        start = _whole(request.GET.get("from", "0"))
        found = transfer.problems_of(self.actor, import_id, start, PROBLEMS_SHOWN)
        return self.page(
            "studio/transfer/import.html",
            row=row,
            work=work,
            working=work is not None and not work.ended,
            failed=work is not None and work.job.state in {"failed", "cancelled"},
            there=transfer.bytes_there(row),
            problems=[_shown(row, each) for each in found.problems],
            remarks=[_shown(row, each) for each in found.remarks],
            found=found,
            earlier=max(start - PROBLEMS_SHOWN, 0) if start else None,
            later=start + PROBLEMS_SHOWN if start + PROBLEMS_SHOWN < found.kept else None,
            unused_days=services.UNUSED_DAYS,
        )

    def post(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        if "discard" in request.POST:
            services.discard_import(self.actor, import_id)
            return self.done("Deleted.", "studio:transfer")
        if "take-over" in request.POST:
            services.take_over_readings(self.actor, import_id)
            return self.done("The readings are being taken over.", "studio:transfer-import", import_id)
        services.check_readings(self.actor, import_id)
        return self.done("The file is being looked at.", "studio:transfer-import", import_id)


class ProblemsFile(TransferPage):
    """The problems as a table to work through beside the file."""

    def get(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        row = transfer.import_get(self.actor, import_id)
        found = transfer.problems_of(self.actor, import_id, 0, 10**6)
        response = HttpResponse(content_type="text/csv; charset=utf-8")
        response["Content-Disposition"] = 'attachment; filename="problems.csv"'
        response["Cache-Control"] = "no-store"
        response.write("\ufeff")
        writer = csv.writer(response)
        writer.writerow(["Row", "Column", "Problem"])
        for each in found.problems:
            number, column, reason = _shown(row, each)
            writer.writerow([number, escape_cell(column), escape_cell(reason)])
        return response


def _shown(row: Any, problem: dict[str, Any]) -> tuple[int, str, str]:
    """(row, the column's head or what the field is called, the sentence)."""
    column = problem["column"]
    if 1 <= column <= len(row.columns):
        return problem["row"], row.columns[column - 1], problem["reason"]
    return problem["row"], FIELD_WORDS.get(problem["field"], ""), problem["reason"]


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 8 else 0


def _uuid(text: str, noun: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise NotHere(noun) from None
