"""Pages of what a seam is sewn with: the shelf, one thread, needle or machine, and conversion tables."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from seamlab.queries import conversions
from seamlab.queries import supplies as queries
from seamlab.queries.tables import stitch_types
from seamlab.services import supplies as services
from seamlab.web import supply_forms as shapes
from seamlab.web.base import KeepingPage, SeamPage
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Right


@dataclass(frozen=True)
class Kind:
    """How one kind of supply is added, read and changed."""

    words: str
    form: type[Any]
    change_form: type[Any]
    add: Callable[..., Any]
    change: Callable[..., Any]
    get: Callable[..., Any]


KINDS: dict[str, Kind] = {
    "thread": Kind(
        "thread",
        shapes.ThreadForm,
        shapes.ChangeThreadForm,
        services.record_thread,
        services.change_thread,
        queries.thread_get,
    ),
    "needle": Kind(
        "needle",
        shapes.NeedleForm,
        shapes.ChangeNeedleForm,
        services.record_needle,
        services.change_needle,
        queries.needle_get,
    ),
    "machine": Kind(
        "machine",
        shapes.MachineForm,
        shapes.ChangeMachineForm,
        services.record_machine,
        services.change_machine,
        queries.machine_with_services,
    ),
}


class Supplies(SeamPage):
    """Threads with every numbering, needles with both numbers, machines with their stitches; and forms to add."""

    rights = {"POST": Right.KEEP_SEAMS}

    def get(self, request: HttpRequest, sent: dict[str, Any] | None = None) -> HttpResponse:
        forms = {what: kind.form(auto_id=f"{what}_%s") for what, kind in KINDS.items()} | (sent or {})
        away = "away" in request.GET
        return self.page(
            "seamlab/supplies.html",
            threads=[
                (row, queries.thread_sizes(row.tex, "tex")[1:])
                for row in queries.thread_list(self.actor, with_hidden=away)
            ],
            numberings=list(queries.SYSTEM_WORDS)[1:],
            needles=[
                (row, queries.needle_words(row)) for row in queries.needle_list(self.actor, with_hidden=away)
            ],
            machines=[
                (row, _stitches(row), queries.feed_words(row))
                for row in queries.machine_list(self.actor, with_hidden=away)
            ],
            forms=forms,
            away=away,
            opened=next(iter(sent), "") if sent else request.GET.get("add", ""),
            status=400 if sent else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        what = request.POST.get("what", "")
        if what not in KINDS:
            raise Refused("Choose what to add: a thread, a needle or a machine.")
        form = KINDS[what].form(request.POST, auto_id=f"{what}_%s")
        if form.is_valid():
            made = self.attempt(form, KINDS[what].add, **form.facts())
            if made:
                return self.done(f"Added: {made}.", "seamlab:supplies")
        return self.get(request, {what: form})


class Supply(SeamPage):
    """One thread, needle or machine: what is known of it, and a form to change it."""

    rights = {"POST": Right.KEEP_SEAMS}

    def get(self, request: HttpRequest, what: str, supply_id: UUID) -> HttpResponse:
        row = _kind(what).get(self.actor, supply_id)
        return self._show(what, row, _kind(what).change_form(initial=_initial(what, row)))

    def post(self, request: HttpRequest, what: str, supply_id: UUID) -> HttpResponse:
        kind = _kind(what)
        form = kind.change_form(request.POST)
        if form.is_valid():
            changed = self.attempt(
                form,
                kind.change,
                supply_id,
                changes=form.facts(),
                expected_version=form.cleaned_data["version"],
            )
            if changed:
                return self.done(f"The {kind.words} is changed.", "seamlab:supply", what, supply_id)
        return self._show(what, kind.get(self.actor, supply_id), form, status=400)

    def _show(self, what: str, row: Any, form: Any, status: int = 200) -> HttpResponse:
        return self.page(
            "seamlab/supply.html",
            what=what,
            row=row,
            name=queries.needle_words(row) if what == "needle" else row.name,
            sizes=queries.thread_sizes(row.tex, "tex") if what == "thread" else [],
            stitches=_stitches(row) if what == "machine" else [],
            feeds=queries.feed_words(row) if what == "machine" else [],
            form=form,
            service_form=shapes.ServiceForm(auto_id="service_%s") if what == "machine" else None,
            status=status,
        )


class PutAwaySupply(KeepingPage):
    """Put a supply away, or take it out again."""

    def post(self, request: HttpRequest, what: str, supply_id: UUID) -> HttpResponse:
        kind = _kind(what)
        away = request.POST.get("away") == "yes"
        row = kind.change(self.actor, supply_id, changes={"is_hidden": away})
        words = (
            "is put away: it is no longer offered, and old recipes keep it" if away else "is offered again"
        )
        return self.done(f"{row} {words}.", "seamlab:supply", what, supply_id)


class ServiceMachine(KeepingPage):
    """Write down that a machine was serviced."""

    def post(self, request: HttpRequest, machine_id: UUID) -> HttpResponse:
        form = shapes.ServiceForm(request.POST, auto_id="service_%s")
        if form.is_valid():
            service = self.attempt(form, services.record_service, machine_id, **form.cleaned_data)
            if service:
                return self.done("The service is written down.", "seamlab:supply", "machine", machine_id)
        row = queries.machine_with_services(self.actor, machine_id)
        return self.page(
            "seamlab/supply.html",
            what="machine",
            row=row,
            name=row.name,
            stitches=_stitches(row),
            feeds=queries.feed_words(row),
            form=shapes.ChangeMachineForm(initial=_initial("machine", row)),
            service_form=form,
            status=400,
        )


class Tables(SeamPage):
    """Conversion tables, and one thread number in every system."""

    def get(self, request: HttpRequest) -> HttpResponse:
        form = shapes.ConvertForm(request.GET if "value" in request.GET else None)
        sizes: list[queries.ThreadSize] = []
        if form.is_valid():
            try:
                sizes = queries.thread_sizes(**form.cleaned_data)
            except Refused as exc:
                for field, reason in exc.reasons.items():
                    form.add_error(field or None, reason)
        return self.page(
            "seamlab/tables.html",
            form=form,
            sizes=sizes,
            threads=conversions.thread_table(),
            systems=conversions.tex_rows(),
            needles=conversions.needle_table(),
            needle_for_thread=conversions.needle_for_thread_table(),
            stitch_lengths=conversions.stitch_length_table(),
            weights=conversions.weight_table(),
            seam_classes=conversions.seam_class_table(),
            stitches=conversions.stitch_table(),
        )


def _kind(what: str) -> Kind:
    if what not in KINDS:
        raise NotHere("supply")
    return KINDS[what]


def _stitches(machine: Any) -> list[str]:
    known = stitch_types()
    return [known[code].words for code in machine.stitch_types if code in known]


def _initial(what: str, row: Any) -> dict[str, Any]:
    """What a form for changing a supply starts from."""
    given: dict[str, Any]
    names: tuple[str, ...]
    if what == "thread":
        names = ("name", "fibre", "construction", "extension_percent", "strength_n", "reel_length_m", "notes")
        given = {name: getattr(row, name) for name in names}
        given |= {"size": row.tex, "system": "tex", "colours": shapes.colours_typed(row.colours)}
    elif what == "needle":
        given = {name: getattr(row, name) for name in ("point", "blades", "what_for")}
        given |= {"size": row.metric, "numbering": "metric", "gauge_mm": row.gauge_mm or None}
    else:
        names = ("name", "stitch_types", "stitches_per_minute", "feeds", "notes")
        given = {name: getattr(row, name) for name in names}
        given |= {"largest_width_mm": row.largest_width_mm or None, "feet": "\n".join(row.feet)}
    return given | {"version": row.version}
