"""Every route of the URL map, tried by everybody who might knock.

Who may stands in the tables in ``tables/``, one line for a route and its methods. A route that is on none of them
fails the first test, so a new one is covered by adding its line. Everything else follows from the URL map.
"""

import re
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, reset_queries, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.platform.actors import PROVED_AT, STUDIO_IN_SESSION
from studio.platform.models import User
from studio.platform.models.base import new_id
from studio.platform.rights import Actor
from tests.access.full_house import FullHouse, furnish
from tests.access.routes import METHODS, ROLES, WHO, Route, access, every_route
from tests.conftest import House, found_house

pytestmark = pytest.mark.slow

# A GET that leads its own studio's owner nowhere, and why.
LEADS_NOWHERE = {
    "platform:setup": "the installation has its first owner",
    "platform:new-password": "nobody has asked for a new password",
}
# What a GET must ask to be answered, in the words of a row where {…} names one.
QUESTIONS = {
    "api-thread-sizes": "?value=40&system=tex",
    "api-proven-seams": "?purpose=join",
    "api-seam-answers": "?purpose=join",
    "api-knit-checklist": "?cloth={cloth}",
    "past-fits-find": "?words=leo",
    "ticket-found": "?words={slip_code}",
}


@pytest.fixture(scope="module")
def houses(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[FullHouse, House]]:
    """A full house and another studio, for all tests here; taken back at the end."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield furnish(), found_house("Bobbin Lane")
        transaction.set_rollback(True)


@pytest.fixture
def full(houses: tuple[FullHouse, House]) -> FullHouse:
    return houses[0]


@pytest.fixture
def stranger(houses: tuple[FullHouse, House]) -> House:
    """Another studio's people."""
    return houses[1]


def browser(actor: Actor | None) -> Client:
    """A browser in which this member is signed in, or nobody."""
    found = Client(raise_request_exception=False)
    if actor is not None:
        found.force_login(User.objects.get(pk=actor.user_id), backend=settings.AUTHENTICATION_BACKENDS[0])
        session = found.session
        session[STUDIO_IN_SESSION] = str(actor.studio_id)
        session[PROVED_AT] = int(time.time())  # nobody is asked once more
        session.save()
    return found


def ask(client: Client, route: Route, method: str, rows: dict[str, str], **headers: str) -> Any:
    """One request with an empty body; whatever it changes is taken back."""
    given: dict[str, Any] = {"headers": headers} if headers else {}
    if route.is_api and method in {"POST", "PUT", "PATCH"}:
        given |= {"data": "{}", "content_type": "application/json"}
    cookies = client.cookies.output(header="", sep=";")
    reset_queries()  # the log is a ring: a full one counts no more
    with transaction.atomic(), CaptureQueriesContext(connection) as asked:
        question = QUESTIONS.get(route.name, "").format(**rows) if method == "GET" else ""
        answer = client.generic(method, route.address(rows) + question, **given)
        # What is sent piece by piece is sent before the rows are taken back.
        answer.words = (answer.getvalue() if answer.streaming else answer.content).decode(errors="replace")
        transaction.set_rollback(True)
    answer.queries = len(asked)
    client.cookies.clear()  # a sign-out is taken back as well
    client.cookies.load(cookies)
    return answer


def every_request() -> Iterator[tuple[Route, str, str]]:
    """(route, method, who may) of everything that can be asked."""
    table = access()
    for route in every_route().values():
        for method in route.methods:
            yield route, method, table[route.name, method]


def to_sign_in(answer: Any) -> bool:
    return answer.status_code == 302 and answer["Location"].startswith("/sign-in/?next=")


def told(route: Route, method: str, answer: Any) -> str:
    return f"{route.name} {method}: {answer.status_code} {answer.get('Location', '')} {answer.words[:160]!r}"


def test_every_route_and_method_stands_in_a_table() -> None:
    found = {(route.name, method) for route in every_route().values() for method in route.methods}
    lacking, left_over = sorted(found - set(access())), sorted(set(access()) - found)
    assert not lacking, f"say in tests/access/tables/ who may use {lacking}"
    assert not left_over, f"there is no such route or method any more: {left_over}"


def test_the_full_house_has_a_row_for_every_part_of_an_address(full: FullHouse) -> None:
    named = {row for route in every_route().values() for row in route.rows()}
    assert not named - set(full.ids), "add a row to tests/access/full_house.py (or a line to routes.py)"


@pytest.mark.parametrize("role", ROLES)
def test_each_role_gets_what_the_table_says(full: FullHouse, role: str) -> None:
    client, amiss = browser(getattr(full.house, role)), []
    for route, method, who in every_request():
        answer = ask(client, route, method, full.ids)
        refused = answer.status_code in {401, 403} or to_sign_in(answer)
        if who in {"anybody", "key"}:
            # A signed-in clerk may not open a client's summary, which holds body figures.
            wrong = refused and not (role == "clerk" and route.name.startswith("fitting:client-link"))
        elif role in WHO[who]:
            wrong = refused
        else:
            wrong = answer.status_code != 403
        leads = answer.status_code in {200, 302} or route.name in LEADS_NOWHERE
        if wrong or answer.status_code >= 500 or (role == "owner" and method == "GET" and not leads):
            amiss.append(told(route, method, answer))
    assert not amiss, "\n".join(amiss)


def test_a_method_that_no_table_names_is_refused(full: FullHouse) -> None:
    client, amiss = browser(full.house.owner), []
    for route in every_route().values():
        for method in {*METHODS, "TRACE"} - set(route.methods):
            answer = ask(client, route, method, full.ids)
            if answer.status_code != 405:
                amiss.append(told(route, method, answer))
    assert not amiss, "\n".join(amiss)


def knock(full: FullHouse, client: Client, **headers: str) -> list[str]:
    """What somebody gets who should get nothing but what is open to anybody, and who is told to sign in."""
    amiss = []
    for route, method, who in every_request():
        if who in {"anybody", "key"}:
            continue
        answer = ask(client, route, method, full.ids, **headers)
        if not (answer.status_code == 401 if route.is_api else to_sign_in(answer)):
            amiss.append(told(route, method, answer))
    return amiss


def test_nobody_signed_in_gets_what_is_open_to_anybody_alone(full: FullHouse) -> None:
    assert not knock(full, browser(None))
    for route, method, who in every_request():
        if who in {"anybody", "key"}:
            answer = ask(browser(None), route, method, full.ids)
            assert answer.status_code in {200, 302, 400} or route.name in LEADS_NOWHERE, told(
                route, method, answer
            )


KEYS = ("signed link", "signed feed", "signed invitation", "slip_code")


@pytest.mark.parametrize("key", KEYS)
def test_a_key_for_one_thing_opens_nothing_else(full: FullHouse, key: str) -> None:
    """Whoever has opened a client's link, or sends any key as a token, is nobody everywhere else."""
    client = browser(None)
    if key == "signed link":
        opened = client.post(every_route()["fitting:client-link"].address(full.ids))
        assert opened.status_code == 200
        assert "What happens next" in opened.content.decode()
        assert not knock(full, client)
    if key in {"signed link", "signed feed"}:
        assert not knock(full, client, Authorization=f"Bearer {full.ids[key]}")
    for other in KEYS:
        for name in (
            "fitting:client-link",
            "fitting:client-link-pdf",
            "fitting:calendar-feed",
            "platform:join",
        ):
            route = every_route()[name]
            for method in route.methods:
                if route.rows() == {other} or route.rows() == {key}:
                    continue
                answer = ask(client, route, method, full.ids | dict.fromkeys(route.rows(), full.ids[key]))
                assert answer.status_code == 404, told(route, method, answer)


def test_a_key_that_was_changed_by_one_letter_opens_nothing(full: FullHouse) -> None:
    for name in ("fitting:client-link", "fitting:client-link-pdf", "fitting:calendar-feed", "platform:join"):
        route = every_route()[name]
        (row,) = route.rows()
        key = full.ids[row]
        for place in (0, len(key) // 2, len(key) - 2):
            changed = key[:place] + ("A" if key[place] != "A" else "B") + key[place + 1 :]
            for method in route.methods:
                answer = ask(browser(None), route, method, full.ids | {row: changed})
                assert answer.status_code == 404, told(route, method, answer)


def nobodys(rows: set[str], full: FullHouse) -> dict[str, str]:
    """Names of rows that never were, each as long as the real one."""
    found = {}
    for row in rows:
        real = full.ids[row]
        if row == "lay_key":  # the name of a piece within its lay
            found[row] = real
            continue
        found[row] = str(new_id()) if re.fullmatch(r"[0-9a-f-]{36}", real) else "f" * len(real)
    return found


def as_told(answer: Any, rows: dict[str, str]) -> tuple[int, str]:
    """Status and words without what differs from one request to the next."""
    words = answer.words
    for value in sorted((value for value in rows.values() if len(value) > 7), key=len, reverse=True):
        words = words.replace(value, "·").replace(value.replace("-", ""), "·")
    words = re.sub(r'csrfmiddlewaretoken" value="[^"]+|[0-9a-f]{32}', "·", words)
    where = answer.get("Location", "")
    for value in rows.values():
        where = where.replace(value, "·")
    return answer.status_code, where + re.sub(r"\"X-CSRFToken\": *\"[^\"]+|nonce=\"[^\"]+", "·", words)


def by_session(actor: Actor, full: FullHouse) -> tuple[Client, dict[str, str]]:
    return browser(actor), {}


def by_token(actor: Actor, full: FullHouse) -> tuple[Client, dict[str, str]]:
    from studio.platform.database.scope import studio_scope
    from studio.platform.services.people import make_token

    with studio_scope(actor.studio_id):
        return browser(None), {"Authorization": f"Bearer {make_token(actor, name='elsewhere')[1]}"}


@pytest.mark.parametrize("comes", [by_session, by_token])
def test_another_studios_looks_like_nobodys(
    full: FullHouse, stranger: House, comes: Callable[[Actor, FullHouse], tuple[Client, dict[str, str]]]
) -> None:
    """An owner elsewhere, who has every right at home, gets one answer for what is there and for what never was.

    As many queries go to the database for the one as for the other, so that the time taken tells nothing either.
    """
    client, headers = comes(stranger.owner, full)
    amiss = []
    for route, method, who in every_request():
        rows = route.rows()
        if not rows or who == "key" or (headers and not route.is_api):
            continue
        theirs = {row: full.ids[row] for row in rows}
        never = nobodys(rows, full)
        there = ask(client, route, method, full.ids, **headers)
        nowhere = ask(client, route, method, full.ids | never, **headers)
        same = as_told(there, theirs) == as_told(nowhere, never) and there.queries == nowhere.queries
        if not same or there.status_code in {200, 201, 204} or there.status_code >= 500:
            amiss.append(f"{told(route, method, there)} in {there.queries} queries, but for nobody's "
                         f"{nowhere.status_code} in {nowhere.queries}")  # fmt: skip
    assert not amiss, "\n".join(amiss)
