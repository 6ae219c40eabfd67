"""What every test may lean on: a real PostgreSQL prepared as the product prepares it, studios with their people.

``default`` is the app role, as in real use; ``owner`` creates and migrates. The database is made anew for each run
unless ``--reuse-db`` is given.
"""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.db import connections
from psycopg import sql

from studio.platform.database.scope import studio_scope
from studio.platform.rights import Actor


@pytest.fixture(scope="session")
def django_db_setup(request: pytest.FixtureRequest, django_db_blocker: Any) -> Iterator[None]:
    from studio.config.embedded import running
    from studio.config.prepare import prepare_database

    places = settings.DATABASE
    with running(places.embedded), django_db_blocker.unblock():
        if not request.config.getoption("--reuse-db"):
            with psycopg.connect(
                places.administrator.as_database("postgres").conninfo(), autocommit=True
            ) as admin:
                admin.execute(
                    sql.SQL("drop database if exists {} with (force)").format(sql.Identifier(places.name))
                )
        prepare_database()
        yield
        for connection in connections.all(initialized_only=True):
            connection.close()


# Real transactions: the tables are emptied afterwards by the owner role (the app role may not truncate).
real_transactions = pytest.mark.django_db(transaction=True, databases=["default", "owner"])


@dataclass(frozen=True)
class House:
    """A studio with one member in each role."""

    owner: Actor
    instructor: Actor
    clerk: Actor

    @property
    def studio_id(self) -> Any:
        return self.owner.studio_id

    def scope(self) -> Any:
        return studio_scope(self.studio_id)


PASSWORD = "a needle in the hay"


def found_house(name: str) -> House:
    """Found a studio through the real services and let an instructor and a clerk join."""
    from studio.platform.services import people

    slug = "".join(letter for letter in name.lower() if letter.isalnum())
    owner = people.found_studio(
        studio_name=name, name=f"Olga of {name}", email=f"owner@{slug}.example", password=PASSWORD
    )
    joined = {}
    for role in ("instructor", "clerk"):
        with studio_scope(owner.studio_id):
            invitation = people.invite_member(
                owner, name=role.title(), email=f"{role}@{slug}.example", role=role
            )
        joined[role] = people.accept_invitation(
            owner.studio_id,
            invitation.pk,
            lambda found: people.checked_account(found.email, PASSWORD, f"{found.name} of {name}"),
        )
    return House(owner, joined["instructor"], joined["clerk"])


@pytest.fixture
def house(db: Any) -> House:
    return found_house("Thimble Row")


@pytest.fixture
def other_house(db: Any) -> House:
    return found_house("Bobbin Lane")


@pytest.fixture
def in_house(house: House) -> Iterator[House]:
    """The house with its scope open, for tests of services and queries."""
    with house.scope():
        yield house


@pytest.fixture
def page(client: Any) -> Callable[[Actor], Any]:
    """A signed-in browser (Django's test client) for a member."""
    from studio.platform.actors import PROVED_AT, STUDIO_IN_SESSION
    from studio.platform.models import User

    def for_member(actor: Actor) -> Any:
        client.force_login(User.objects.get(pk=actor.user_id), backend=settings.AUTHENTICATION_BACKENDS[0])
        session = client.session
        session[STUDIO_IN_SESSION] = str(actor.studio_id)
        session[PROVED_AT] = int(time.time())  # as after a sign-in: nobody is asked once more
        session.save()
        return client

    return for_member


@pytest.fixture
def api() -> Callable[[Actor], Any]:
    """An API client that signs in with a token of this member."""
    from rest_framework.test import APIClient

    from studio.platform.services.people import make_token

    def for_member(actor: Actor) -> Any:
        with studio_scope(actor.studio_id):
            _, secret = make_token(actor, name="tests")
        found = APIClient()
        found.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
        return found

    return for_member
