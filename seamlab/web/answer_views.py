"""Answers first: which seam for this cloth; the starting library; the stitches."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from seamlab.queries import cloth as cloth_queries
from seamlab.queries import seams, supplies
from seamlab.queries.library import library, library_page
from seamlab.queries.tables import stitch_types
from seamlab.services.library import take_in_library
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.drawings import stitch_drawing
from seamlab.web.seam_forms import SeamSearchForm
from studio.platform.errors import NotHere

MOST = 40
EXAMPLE_LENGTH, EXAMPLE_WIDTH = 2.5, 4.0


class Answers(SeamPage):
    """For a cloth, a purpose and a machine: what is proven, why, and what was left out."""

    def get(self, request: HttpRequest) -> HttpResponse:
        form = SeamSearchForm(request.GET if "cloth" in request.GET else None)
        form.fields["cloth"].offer((row.pk, row.name) for row in cloth_queries.cloth_list(self.actor))  # type: ignore[attr-defined]
        form.fields["machine"].offer((row.pk, row.name) for row in supplies.machine_list(self.actor))  # type: ignore[attr-defined]
        asked = form.cleaned_data if form.is_valid() else {}
        return self.page("seamlab/answers.html", form=form, question=form, **self._answered(asked))

    def _answered(self, asked: dict[str, Any]) -> dict[str, Any]:
        if not asked.get("cloth"):
            return {"found": None}
        found = seams.answers_for(
            self.actor,
            asked["cloth"],
            purpose=asked.get("purpose") or "join",
            layers=asked.get("layers") or 2,
            machine_id=asked.get("machine"),
            runs=asked.get("runs") or "",
            most=MOST if "all" in self.request.GET else seams.MOST_ANSWERS,
        )
        query = self.request.GET.copy()
        query["all"] = "yes"
        return {
            "found": found,
            "cloth": cloth_queries.cloth_get(self.actor, asked["cloth"]),
            "answers": [
                (answer, stitch_drawing(answer.stitch_type, answer.stitch_length_mm, answer.stitch_width_mm))
                for answer in found.answers
            ],
            "all_query": query.urlencode(),
        }


class LibraryPage(SeamPage):
    """What the library holds by kinds of cloth, and how it stands in this studio."""

    def get(self, request: HttpRequest) -> HttpResponse:
        kind = request.GET.get("kind", "")
        return self.page(
            "seamlab/library.html", kind=kind, about=library().about, **library_page(self.actor, kind)
        )


class TakeInLibrary(KeepingPage):
    def post(self, request: HttpRequest) -> HttpResponse:
        taken = take_in_library(self.actor)
        if not taken.recipes:
            return self.done("The whole library is here already.", "seamlab:library")
        words = (
            f"{taken.recipes} recipes are taken in, with {taken.threads} threads and {taken.needles} needles that were "
            "missing. All of them are untested here until a sample passes."
        )
        return self.done(words, "seamlab:library")


class Stitches(SeamPage):
    """Every stitch type with its drawing."""

    def get(self, request: HttpRequest, code: str = "") -> HttpResponse:
        known = stitch_types()
        if code and code not in known:
            raise NotHere("stitch")
        shown = [known[code]] if code else list(known.values())
        drawings = [(row, stitch_drawing(row.code, EXAMPLE_LENGTH, EXAMPLE_WIDTH)) for row in shown]  # type: ignore[arg-type]
        return self.page("seamlab/stitches.html", drawings=drawings, one=bool(code))
