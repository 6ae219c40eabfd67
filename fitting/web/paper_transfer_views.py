"""Pages that take charts and patterns over from a file, and hand them out as one.

Between the dry run and the take-over the rows travel in the page, signed and bound to member and studio: nothing is
kept of a file that nobody takes over.
"""

from typing import Any

from django import forms
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from fitting.queries.paper_transfer import MEDIA_TYPES, paper_file
from fitting.services.paper_transfer import (
    SHOWN_PROBLEMS,
    PaperFile,
    PaperFound,
    read_paper_file,
    rows_again,
    take_over_paper,
    try_paper,
)
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Right
from studio.platform.web.base import HousePage

SALT = "fitting.paper.transfer"
GOOD_FOR = 24 * 60 * 60  # seconds
MOST_SIGNED = 1_500_000  # letters in a page


class PaperUploadForm(forms.Form):
    file = forms.FileField(
        label="CSV file or XLSX workbook",
        help_text="At most 2 MB, charts or patterns; an export shows the columns. Nothing is kept yet.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )


class PaperTransfer(HousePage):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest) -> HttpResponse:
        return self._page(PaperUploadForm())

    def post(self, request: HttpRequest) -> HttpResponse:
        if "rows" in request.POST:
            return self._take_over(request.POST["rows"])
        form = PaperUploadForm(request.POST, request.FILES)
        if form.is_valid():
            try:
                given = read_paper_file(form.cleaned_data["file"].file)
                found = try_paper(self.actor, given)
                rows = "" if found.problems else self._signed(given)
            except Refused as exc:
                for reason in exc.reasons.values():
                    form.add_error("file", reason)
            else:
                return self._page(form, found=found, rows=rows, status=400 if found.problems else 200)
        return self._page(form, status=400)

    def _take_over(self, rows: str) -> HttpResponse:
        try:
            studio, member, what, heads, lines = signing.loads(rows, salt=SALT, max_age=GOOD_FOR)
            if (studio, member) != (str(self.actor.studio_id), str(self.actor.member_id)):
                raise signing.BadSignature
        except (signing.BadSignature, ValueError):
            return self._page(
                PaperUploadForm(), refused="This dry run is too old. Choose the file again.", status=400
            )
        try:
            found = take_over_paper(self.actor, rows_again(what, heads, lines))
        except Refused as exc:
            return self._page(PaperUploadForm(), refused=" ".join(exc.reasons.values()), status=400)
        route = "fitting:charts" if found.what == "charts" else "fitting:patterns"
        noun = found.what if len(found.names) > 1 else found.what[:-1]
        return self.done(f"{len(found.names)} {noun} taken over.", route)

    def _signed(self, given: PaperFile) -> str:
        rows: list[Any] = [
            str(self.actor.studio_id),
            str(self.actor.member_id),
            given.what,
            given.heads,
            given.rows,
        ]
        signed = signing.dumps(rows, salt=SALT, compress=True)
        if len(signed) > MOST_SIGNED:
            raise Refused({"file": "The file is too long for one page. Split it."})
        return signed

    def _page(
        self,
        form: PaperUploadForm,
        *,
        found: PaperFound | None = None,
        rows: str = "",
        refused: str = "",
        status: int = 200,
    ) -> HttpResponse:
        return self.page(
            "fitting/paper/transfer.html",
            form=form,
            found=found,
            problems=found.problems[:SHOWN_PROBLEMS] if found else (),
            rows=rows,
            refused=refused,
            may_keep=self.actor.may(Right.KEEP_PAPER),
            status=status,
        )


class PaperExport(HousePage):
    right = Right.READ_PAPER

    def get(self, request: HttpRequest, what: str, form: str) -> HttpResponse:
        if what not in {"charts", "patterns"} or form not in MEDIA_TYPES:
            raise NotHere("export")
        response = HttpResponse(paper_file(self.actor, what, form), content_type=MEDIA_TYPES[form])
        response["Content-Disposition"] = (
            f'attachment; filename="{what}-{timezone.localdate():%Y-%m-%d}.{form}"'
        )
        response["Cache-Control"] = "no-store"
        return response
