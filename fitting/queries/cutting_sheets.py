"""The cutting table's sheets of a plan, and what stands on one."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage

from fitting.models import CuttingSheet
from fitting.queries.cautions import cautions_for
from fitting.queries.paper_zones import zone_name
from fitting.queries.plan_shapes import PlanView
from fitting.queries.reports import ReportFile
from studio.platform.errors import NotHere
from studio.platform.models import Studio
from studio.platform.rights import Actor, Right
from studio.platform.services.files import read_file

SHEET_JOB = "cutting_sheet"
SHAPE = 1  # counts the shapes that a snapshot has had; the renderer must know each


@dataclass(frozen=True)
class SheetLine:
    """One sheet that was asked for; ``ready`` once it can be opened."""

    id: UUID
    job_id: UUID
    asked_by: str
    asked_at: datetime
    ready: bool


def sheets_of(actor: Actor, plan_id: UUID) -> list[SheetLine]:
    """The sheets of a plan, newest first. One query."""
    actor.need(Right.READ_FIT_PLANS)
    rows = CuttingSheet.objects.filter(plan_id=plan_id).select_related("asked_by").order_by("-id")
    return [
        SheetLine(row.pk, row.job_id, row.asked_by.name, row.asked_at, row.file_id is not None)
        for row in rows
    ]


def sheet_file(actor: Actor, plan_id: UUID, sheet_id: UUID) -> ReportFile:
    """The drawn sheet; raises NotHere for one that is no sheet of this plan or not drawn yet."""
    actor.need(Right.READ_FIT_PLANS)
    row = CuttingSheet.objects.filter(pk=sheet_id, plan_id=plan_id).select_related("file").first()
    if row is None or row.file is None or not default_storage.exists(row.file.key):
        raise NotHere("cutting sheet")
    return ReportFile(name=row.file.name, content=read_file(row.file), sha256=row.file.sha256)


def sheet_snapshot(plan: PlanView, *, studio: Studio, made_at: datetime, child: bool) -> dict[str, Any]:
    """Everything on the sheet as plain data. No figure of the body is in it: paper lies about on tables."""
    cautions = cautions_for(step=["cutting"])
    return {
        "shape": SHAPE,
        "language": "en",
        "studio": studio.name,
        "studio_colour": studio.colour,
        "client": plan.client_name,
        "pattern": plan.pattern_name,
        "garment": plan.garment_words,
        "kind": plan.kind,
        "kind_words": plan.kind_words,
        "plan": plan.number,
        "approved": f"{plan.approved_at:%-d %B %Y} by {plan.approved_by}" if plan.approved_at else "",
        "made_at": made_at.replace(microsecond=0).isoformat(),
        "made_on": f"{made_at:%-d %B %Y}",
        "seam_allowance": (
            f"{plan.seam_allowance}, already on the paper"
            if plan.has_allowance
            else "none on the paper: add it when you cut"
        ),
        "rounding": plan.rounding,
        "sizes": [{"zone": zone_name(zone), "size": size} for zone, size in plan.sizes.items()],
        "blends": [one.words for one in plan.blend_lines],
        "alterations": [
            {
                "number": one.number,
                "zone": one.zone,
                "kind": one.kind,
                "change": one.change,
                "title": one.title,
                "per_edge_words": one.per_edge_words,
                "total": one.total if one.edges > 1 else "",
                "shares": [f"{share.piece} {share.total}" for share in one.shares]
                if len(one.shares) > 1
                else [],
                "method": one.method,
                "result": one.result,
                "by_hand": one.by_hand,
            }
            for one in plan.alterations
        ],
        "walks": [notice.words for notice in plan.notices if notice.code == "walk"],
        "warnings": [
            notice.words
            for notice in plan.notices
            if notice.code
            in {"grade_step", "take_in", "dart", "estimated", "measure_again", "chart", "cloth"}
        ],
        "overrules": [f"{one.words}: {one.reason} ({one.by})" for one in plan.overrules],
        "cautions": [{"title": one.title, "text": one.text} for one in cautions],
        "child": child,
    }
