"""Pages on which cloth, supplies, recipes and trials come in as tables and go out."""

import csv
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django_htmx.http import HttpResponseClientRefresh

from seamlab.queries import transfer
from seamlab.queries.transfer_tables import TABLES, by_code
from seamlab.services import transfer as services
from seamlab.services import transfer_export
from seamlab.web.base import KeepingPage
from seamlab.web.transfer_forms import ALL, ExportForm, UploadForm
from studio.calc.transfer_words import escape_cell
from studio.platform.queries.jobs import as_read
from studio.platform.web.files import file_answer

SHOWN_ROWS = 20
PROBLEMS_SHOWN = 100


class Transfer(KeepingPage):
    """What was brought in and taken out, and the ways to begin."""

    def get(
        self, request: HttpRequest, upload: UploadForm | None = None, export: ExportForm | None = None
    ) -> HttpResponse:
        jobs = list(transfer.export_list(self.actor)[:SHOWN_ROWS])
        kept = transfer.files_of(jobs)
        bad = bool((upload and upload.errors) or (export and export.errors))
        return self.page(
            "seamlab/transfer/transfer.html",
            imports=transfer.import_list(self.actor, SHOWN_ROWS),
            exports=[(as_read(job), _title(job.arguments.get("table", "")), job.pk in kept) for job in jobs],
            upload=upload or UploadForm(auto_id="upload_%s"),
            export=export or ExportForm(auto_id="export_%s", initial={"form": "xlsx"}),
            tables=TABLES,
            kept_days=services.KEPT_DAYS,
            status=400 if bad else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = UploadForm(request.POST, request.FILES, auto_id="upload_%s")
        if form.is_valid():
            file = form.cleaned_data["file"]
            found = self.attempt(
                form,
                services.upload_library,
                content=file.file,
                name=file.name,
                table=form.cleaned_data["table"],
            )
            if found is not None:
                words = (
                    "The file is being looked at." if found.state == "working" else "The file was looked at."
                )
                return self.done(f"{words} Nothing of it is kept yet.", "seamlab:transfer-import", found.id)
        return self.get(request, upload=form)


class AskExport(Transfer):
    def post(self, request: HttpRequest) -> HttpResponse:
        form = ExportForm(request.POST, auto_id="export_%s")
        if form.is_valid():
            chosen = form.cleaned_data
            job = self.attempt(
                form,
                transfer_export.export_library,
                file_form=chosen["form"],
                table=chosen["table"].replace(ALL, ""),
            )
            if job is not None:
                return self.done("The table is being made.", "platform:job", job.pk)
        return self.get(request, export=form)


class ExportFile(KeepingPage):
    def get(self, request: HttpRequest, export_id: UUID) -> Any:
        return file_answer(transfer.export_file(self.actor, export_id))


class Import(KeepingPage):
    """One file: what the dry run found, and what can be done next."""

    def get(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        found = transfer.import_get(self.actor, import_id)
        work = as_read(found.newest)
        if request.headers.get("HX-Request"):
            if work.ended:
                return HttpResponseClientRefresh()
            return self.page("platform/_job.html", row=work)
        return self.page(
            "seamlab/transfer/import.html",
            found=found,
            work=work,
            problems=found.problems[:PROBLEMS_SHOWN],
            kept_days=services.KEPT_DAYS,
        )

    def post(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        if "discard" in request.POST:
            services.discard_import(self.actor, import_id)
            return self.done("Deleted.", "seamlab:transfer")
        found = services.take_over_library(self.actor, import_id)
        words = "It is being taken over." if found.state == "working" else "Taken over."
        return self.done(words, "seamlab:transfer-import", import_id)


class ProblemsFile(KeepingPage):
    """The problems as a table to work through beside the file."""

    def get(self, request: HttpRequest, import_id: UUID) -> HttpResponse:
        found = transfer.import_get(self.actor, import_id)
        response = HttpResponse(content_type="text/csv; charset=utf-8")
        response["Content-Disposition"] = 'attachment; filename="problems.csv"'
        response["Cache-Control"] = "no-store"
        response.write("\ufeff")
        writer = csv.writer(response)
        writer.writerow(["Table", "Row", "Column", "Problem"])
        for each in found.problems:
            writer.writerow(
                [each["title"], each["row"], escape_cell(each["column"]), escape_cell(each["reason"])]
            )
        return response


def _title(code: str) -> str:
    return by_code()[code].title if code in by_code() else "Everything"
