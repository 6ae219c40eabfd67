"""A client's export is complete: every column of every row that leads to her, in all wings."""

import json
from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.db import connection, models
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fitting.jobs import finish_report
from fitting.models import CuttingSheet, LayLine, LayPlan, PatternSize, PlanOverrule, PlanTick
from fitting.reports.render import Rendered
from fitting.services.agreement import client_agrees
from fitting.services.appointments import agree_fitting
from fitting.services.fit_photos import add_fit_photo
from fitting.services.fittings import decide, note_fit, sign_off
from fitting.services.garments import answer_checkpoint, choose_seam
from fitting.services.prices import choose_currency
from fitting.services.reports import ask_report, make_link
from fitting.services.ticket_slips import ask_slip
from fitting.services.tickets import WantedJob, take_in
from studio.models import Client
from studio.platform.database.grants import tenant_models
from studio.platform.models import Erasure, Job, StoredFile
from studio.queries.plain import NOT_TOLD
from studio.services import courses
from studio.services.clients import export_client, record_consent
from studio.services.looking import keep_look
from tests.fitting.garment.conftest import Shop, fill
from tests.fitting.garment.test_tapped_notes import picture

NOT_ABOUT_A_CLIENT_WE_KNOW = {Erasure}  # there is one only after there is nothing to export


def live(shop: Shop, name: str) -> None:
    """Let a client have a row of every kind that can lead to one."""
    me = shop.instructor
    garment = shop.full_garment(for_child=True, notes="likes deep pockets")
    choose_seam(me, garment.pk, place="side seams", version_id=shop.version.pk)
    answer_checkpoint(me, garment.pk, checkpoint="cloth_known", answer="passed_by", reason="her own cloth")
    agree_fitting(me, garment.pk, kind="baste", starts_at=timezone.now() + timedelta(days=2))
    lay = LayPlan.objects.create(
        name="A lay",
        cloth=shop.cloth,
        direction="two_way",
        width_mm=1400,
        pieces=[],
        planned_by_id=me.member_id,
    )
    size = PatternSize.objects.filter(pattern=shop.pattern).first()
    LayLine.objects.create(lay=lay, pattern=shop.pattern, size=size, garment=garment)
    session = shop.baste(garment)
    note = note_fit(me, session.pk, place="waist", side="left", seen="gapes at the back")
    record_consent(me, shop.client.pk, kind="photograph", given=True, given_by=name)
    add_fit_photo(me, note.pk, picture=picture())
    decide(me, note.pk, decision="take_in", amount_mm=Decimal(8), decided="at the side seam")
    sign_off(me, session.pk, client_agreed=True, note="she wants to sit in it")
    client_agrees(me, session.pk, name=name)
    report = ask_report(me, garment.pk)
    finish_report(
        Job.objects.get(pk=report.job_id).arguments,
        {"issued": None},
        Rendered(b"%PDF-1.7", 1, {"renderer": "none"}),
    )
    make_link(shop.house.clerk, report.pk)
    PlanOverrule.objects.create(
        plan=shop.plan, what="amount", zone="hip", amount_mm=8, reason="likes room", by_id=me.member_id
    )
    PlanTick.objects.create(plan=shop.plan, line="alteration:hip", by_id=me.member_id)
    CuttingSheet.objects.create(
        plan=shop.plan, client=shop.client, snapshot={}, job_id=report.job_id, asked_by_id=me.member_id
    )
    choose_currency(me, currency="EUR")
    ticket = take_in(
        me, client_id=shop.client.pk, words=f"coat of {name}", kind="jacket", deposit_minor=100,
        jobs=[WantedJob("mend_seam", "left pocket", price_minor=800)],
    )  # fmt: skip
    ask_slip(me, ticket.pk)
    course = courses.open_course(me, name=f"Trousers for {name}", measure_set="trousers")
    courses.enrol(me, course.pk, client_id=shop.client.pk)
    keep_look(me, [shop.client.pk], "garment_id")


def paths(model: type[models.Model], seen: tuple[type[models.Model], ...] = ()) -> Iterator[str]:
    """The ways by which a row leads to a client: "session__garment__client_id"."""
    for field in model._meta.concrete_fields:
        to: Any = field.related_model
        if to is Client or (field.name == "client_id" and to is None):
            yield field.attname
        elif to not in (None, StoredFile, *seen, model):  # another's file, as an import's, is not hers
            yield from (f"{field.name}__{rest}" for rest in paths(to, (*seen, model)))


def rows_of(model: Any, client: Client) -> dict[str, Any]:
    if model is Client:
        return {str(client.pk): client}
    return {str(row.pk): row for path in paths(model) for row in model.objects.filter(**{path: client.pk})}


def told(data: Any) -> Iterator[dict[str, Any]]:
    """Every object of the export that has an id."""
    if isinstance(data, dict):
        if "id" in data:
            yield data
        for value in data.values():
            yield from told(value)
    elif isinstance(data, list):
        for value in data:
            yield from told(value)


def test_the_export_leaves_nothing_out(shop: Shop) -> None:
    live(shop, "Olia")
    bystander = fill(shop.house, "Noor Haddad")
    live(bystander, "Noor")
    export = json.loads(json.dumps(export_client(shop.house.owner, shop.client.pk)))
    found = {row["id"]: row for row in told(export)}
    about = [
        model
        for model in tenant_models()
        if (model is Client or any(paths(model))) and model not in NOT_ABOUT_A_CLIENT_WE_KNOW
    ]
    assert len(about) >= 18
    for model in about:
        rows = rows_of(model, shop.client)
        assert rows, f"give the client of this test a {model.__name__}"
        columns = {field.name for field in model._meta.concrete_fields} - NOT_TOLD
        for pk in rows:
            assert pk in found, f"{model.__name__} is not in the export"
            assert columns <= set(found[pk]), (model.__name__, columns - set(found[pk]))
    text = json.dumps(export)
    for words in (
        "she wants to sit in it",
        "side seams",
        "likes deep pockets",
        "her own cloth",
        "gapes at the back",
    ):
        assert words in text
    assert "Noor" not in text
    for other in (row for model in about for row in rows_of(model, bystander.client)):
        assert other not in found


def test_the_export_says_where_a_pdf_is_opened(shop: Shop, page: Any) -> None:
    live(shop, "Olia")
    [report] = export_client(shop.house.owner, shop.client.pk)["fitting"]["reports"]
    assert report["issued"]["sha256"] == StoredFile.objects.get(media_type="application/pdf").sha256
    path = "/" + report["pdf_address"].split("/", 3)[3]
    assert path == f"/reports/{report['id']}/pdf/"


def test_the_export_takes_as_many_queries_for_much_as_for_little(shop: Shop) -> None:
    live(shop, "Olia")
    counts = []
    for name in ("Olia again", "Olia once more"):
        with CaptureQueriesContext(connection) as queries:
            export_client(shop.house.owner, shop.client.pk)
        counts.append(len(queries))
        live(shop, name)
    assert counts[0] == counts[1]
