"""The page of what a seam is sewn with."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from seamlab.queries import supplies as queries
from seamlab.queries.tables import stitch_types
from seamlab.services import supplies as services
from seamlab.web.base import SeamPage
from seamlab.web.supply_forms import MachineForm, NeedleForm, ThreadForm
from studio.platform.errors import Refused
from studio.platform.rights import Right

KINDS: dict[str, tuple[type[Any], Any]] = {
    "thread": (ThreadForm, services.record_thread),
    "needle": (NeedleForm, services.record_needle),
    "machine": (MachineForm, services.record_machine),
}


class Supplies(SeamPage):
    """Threads with every numbering, needles with both numbers, machines with their stitches; and forms to add."""

    rights = {"POST": Right.KEEP_SEAMS}

    def get(self, request: HttpRequest, sent: dict[str, Any] | None = None) -> HttpResponse:
        forms = {what: form(auto_id=f"{what}_%s") for what, (form, _) in KINDS.items()} | (sent or {})
        known = stitch_types()
        return self.page(
            "seamlab/supplies.html",
            threads=[
                (row, queries.thread_sizes(row.tex, "tex")[1:]) for row in queries.thread_list(self.actor)
            ],
            numberings=list(queries.SYSTEM_WORDS)[1:],
            needles=[(row, queries.needle_words(row)) for row in queries.needle_list(self.actor)],
            machines=[
                (row, [known[code].words for code in row.stitch_types if code in known])
                for row in queries.machine_list(self.actor)
            ],
            forms=forms,
            opened=next(iter(sent), "") if sent else request.GET.get("add", ""),
            status=400 if sent else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        what = request.POST.get("what", "")
        if what not in KINDS:
            raise Refused("Choose what to add: a thread, a needle or a machine.")
        form_class, act = KINDS[what]
        form = form_class(request.POST, auto_id=f"{what}_%s")
        if form.is_valid():
            made = self.attempt(form, act, **form.facts())
            if made:
                return self.done(f"Added: {made}.", "seamlab:supplies")
        return self.get(request, {what: form})
