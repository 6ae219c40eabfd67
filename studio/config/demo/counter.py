"""The demo's counter: invented prices, and garments that came to be altered. Everybody and every figure is made up."""

from datetime import timedelta
from decimal import Decimal as D
from uuid import UUID

from django.utils import timezone

from fitting.services import prices, ticket_acts, tickets
from fitting.services.tickets import NewClient, WantedJob
from studio.config.demo.scenario import cm
from studio.platform.rights import Actor

# (job, kind of garment, what tells it apart, price in cents)
PRICES = (
    ("shorten_hem", "trousers", "", 1400),
    ("shorten_hem", "skirt", "by machine", 1600),
    ("shorten_hem", "skirt", "by hand", 2400),
    ("lengthen_hem", "", "", 1700),
    ("take_in", "", "", 2100),
    ("let_out", "", "", 2300),
    ("taper_leg", "trousers", "", 2000),
    ("shorten_sleeve", "jacket", "lined", 3200),
    ("replace_zip", "", "", 1900),
    ("mend_seam", "", "", 800),
    ("buttons", "", "each", 150),
    ("press", "", "", 600),
)


def stand(clerk: Actor, instructor: Actor, *, known: UUID) -> None:
    """A price list and four tickets: one of a client whom the school knows, one overdue, one for a child, one ready."""
    prices.choose_currency(instructor, currency="EUR")
    for job, kind, words, minor in PRICES:
        prices.set_price(instructor, job=job, kind=kind, words=words, minor=minor)
    today = timezone.localdate(timezone=clerk.zone)
    tickets.take_in(
        clerk,
        client_id=known,
        words="plum velvet jacket",
        kind="jacket",
        jobs=[
            WantedJob("let_out", "side seams, from the armhole down", cm("3"), cm("1.5"), cm("0.7"), 4),
            WantedJob("shorten_sleeve", "both, at the wrist", cm("1.5"), price_minor=3200),
        ],
        due=today + timedelta(days=6),
        deposit_minor=2000,
        deposit_way="card",
    )
    tickets.take_in(
        clerk,
        new_client=NewClient("ليلى الحداد", "+44 20 7946 0358"),
        words="small yellow raincoat with a hood cord",
        kind="jacket",
        for_child=True,
        jobs=[WantedJob("replace_zip"), WantedJob("buttons", "two, at the collar", price_minor=300)],
        due=today + timedelta(days=2),
        note="The grandmother fetches it.",
    )
    hem = tickets.take_in(
        clerk,
        new_client=NewClient("Anneliese von der Rothenburg-Falkenhausen", "anneliese@post.example"),
        words="checked wool trousers",
        kind="trousers",
        jobs=[WantedJob("shorten_hem", "left leg 2 cm, right leg 1.5 cm", D(20))],
        due=today,
    )
    ticket_acts.move_ticket(clerk, hem.pk, state="in_work")
    seam = tickets.take_in(
        clerk,
        new_client=NewClient("Ikechi Brandão", "+44 20 7946 0417"),
        words="linen shirt",
        kind="shirt",
        jobs=[WantedJob("mend_seam", "left shoulder")],
        due=today + timedelta(days=1),
    )
    for row in seam.jobs.all():
        tickets.settle_job(clerk, seam.pk, row.pk, state="done")
    ticket_acts.move_ticket(clerk, seam.pk, state="ready")
