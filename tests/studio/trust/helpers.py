"""Invented measurings with repeats, and measurers who join."""

from datetime import timedelta

from django.utils import timezone

from studio.platform.database.scope import studio_scope
from studio.platform.services import people
from tests.conftest import PASSWORD
from tests.studio.helpers import measured


def days_ago(days):
    return timezone.now() - timedelta(days=days)


def a_measurer(house, name):
    """One more instructor of this studio."""
    slug = "".join(letter for letter in name.lower() if letter.isalnum())
    email = f"{slug}@{house.studio_id.hex[-8:]}.example"
    with studio_scope(house.studio_id):
        invitation = people.invite_member(house.owner, name=name, email=email, role="instructor")
    return people.accept_invitation(
        house.studio_id, invitation.pk, lambda found: people.checked_account(found.email, PASSWORD, name)
    )


def cm(mm):
    return f"{mm / 10:.2f}"


def repeats(actor, client, measure, pairs, start=400):
    """One measuring for each pair of millimetres, a day apart."""
    return [
        measured(
            actor, client, {measure: tuple(cm(value) for value in pair)}, measured_at=days_ago(start - number)
        )
        for number, pair in enumerate(pairs)
    ]
