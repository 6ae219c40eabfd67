"""What stands on a slip, as plain data: the client's part and the bench's part. No figure of a body is in it."""

from datetime import datetime
from typing import Any

from fitting.models import TicketJob
from fitting.queries.tickets import TicketView, slip_code
from studio.platform import links
from studio.platform.models import Studio

# What is printed of the bench's cautions, so that a ticket stays one page; all of them stand on its page.
PRINTED = {"baste_needles", "cut_final", "sew_broken_needle", "press_iron"}
SHAPE = 1  # counts the shapes that a snapshot has had; the renderer must know each


def slip_snapshot(view: TicketView, studio: Studio, *, number: int, made_at: datetime) -> dict[str, Any]:
    """Everything on a slip, frozen. The code on it names studio and ticket alone, signed."""
    ticket, garment = view.ticket, view.ticket.garment
    return {
        "shape": SHAPE,
        "language": "en",
        "studio": studio.name,
        "studio_colour": studio.colour,
        "studio_address": studio.address,
        "number": view.number,
        "slip": number,
        "code": links.address("fitting:slip-code", slip_code(ticket)),
        "client": garment.client.name,
        "garment": garment.words,
        "kind": garment.get_kind_display(),
        "for_child": garment.for_child,
        "taken_in": f"{ticket.created_at.astimezone(made_at.tzinfo):%-d %B %Y} by {ticket.taken_in_by.name}",
        "due": f"{ticket.due:%A, %-d %B %Y}" if ticket.due else "",
        "note": ticket.note,
        "jobs": [
            {
                "name": line.name,
                "where": line.row.where,
                "amount": line.amount,
                "amount_words": line.kind.amount if line.kind else "",
                "allowance": line.allowance,
                "keep": line.keep,
                "reach": line.reach.words if line.reach else "",
                "look": line.kind.look if line.kind else "",
                "price": line.price,
                "state": line.row.get_state_display().lower()
                if line.row.state != TicketJob.State.TO_DO
                else "",
                "left_out": line.row.state == TicketJob.State.LEFT_OUT,
                "reason": line.row.reason,
            }
            for line in view.jobs
        ],
        "total": view.sums.total_text,
        "paid": view.sums.paid_text if view.sums.paid else "",
        "owed": view.sums.owed_text if view.sums.owed >= 0 else "",
        "to_give_back": view.sums.owed_text if view.sums.owed < 0 else "",
        "cautions": [{"title": one.title, "text": one.text} for one in view.cautions if one.code in PRINTED],
        "wearer_cautions": [{"title": one.title, "text": one.text} for one in view.wearer_cautions],
        "made_at": made_at.replace(microsecond=0).isoformat(),
        "made_on": f"{made_at:%-d %B %Y, %H:%M}",
    }
