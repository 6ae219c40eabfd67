"""The OpenAPI document holds: every operation answers what it says, whatever is sent, and never with our fault.

Requests are made up from the document itself, half of them as it wants them and half not, with ids of a full house
so that they come as far as a service; whatever one changes is taken back. ``CONTRACT=40`` tries so many of each
kind for every operation, new ones each time (without it, the same few).
"""

import os
import re
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, connection, transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
)

from tests.access.full_house import FullHouse, furnish
from tests.access.locks import Order
from tests.access.routes import Route, every_route

pytestmark = pytest.mark.slow

MANY = int(os.environ.get("CONTRACT", "0"))
FEW = 4
CHECKS = (content_type_conformance, response_headers_conformance, response_schema_conformance)
TRYING = settings(
    max_examples=MANY or FEW,
    derandomize=not MANY,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def full(django_db_setup: None, django_db_blocker: Any) -> Iterator[FullHouse]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield furnish()
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def document(full: FullHouse) -> Iterator[Any]:
    # As Django's own test client does: a request's end must not close the connection that holds all this open.
    ends = (request_started, request_finished)
    for signal in ends:
        signal.disconnect(close_old_connections)
    yield schemathesis.openapi.from_wsgi("/api/v1/openapi.yaml", get_wsgi_application())
    for signal in ends:
        signal.connect(close_old_connections)


def with_real_rows(value: Any, full: FullHouse, named: str = "") -> Any:
    """A made-up body in which every id is one of the house's own, where its name tells of what."""
    if isinstance(value, dict):
        return {key: with_real_rows(part, full, str(key)) for key, part in value.items()}
    if isinstance(value, list):
        return [with_real_rows(part, full, named.removesuffix("s")) for part in value]
    if isinstance(value, str) and re.fullmatch(r"[0-9a-f-]{36}", value):
        return full.ids.get(named.removesuffix("_id"), value)
    return value


def amiss(case: Any, answer: Any) -> str:
    """What an answer has that the document does not say; "" for nothing."""
    kind = answer.headers.get("content-type", [""])[0]
    if answer.status_code >= 500:
        return f"{answer.status_code}: {answer.text[:200]}"
    if answer.status_code < 400 and str(answer.status_code) not in case.operation.responses.status_codes:
        return f"{answer.status_code} is not listed"
    if answer.status_code >= 400 and not kind.startswith("application/problem+json"):
        return f"{answer.status_code} comes as {kind}"
    try:
        case.validate_response(answer, checks=list(CHECKS))
    except FailureGroup as found:
        return f"{answer.status_code}: " + " ".join(str(one)[:400] for one in found.exceptions)
    return ""


def tried(
    operation: Any, route: Route, full: FullHouse, mode: GenerationMode, order: Order
) -> tuple[str, int]:
    """(what is amiss with the first answer that is, with its request; how many were answered well)."""
    told, well = "", 0

    @TRYING
    @given(case=operation.as_strategy(generation_mode=mode), own=st.booleans())
    def try_one(case: Any, own: bool) -> None:
        nonlocal told, well
        if mode == GenerationMode.POSITIVE or own:
            case.path_parameters = route.values(full.ids)
        if own:
            case.body = with_real_rows(case.body, full)
            case.headers = {**(case.headers or {}), "If-Match": '"1"'}
        order.begin()
        with transaction.atomic(), connection.execute_wrapper(order):
            answer = case.call(headers={"Authorization": f"Bearer {full.tokens['owner']}"})
            transaction.set_rollback(True)
        well += answer.status_code < 400
        if not told and (told := amiss(case, answer)):
            told += f"  [{case.method} {case.formatted_path} {case.query or ''} {case.body!r:.300}]"

    try_one()
    return told, well


@pytest.mark.parametrize(
    "mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["as wanted", "not as wanted"]
)
def test_every_operation_answers_as_the_document_says(
    full: FullHouse, document: Any, mode: GenerationMode
) -> None:
    routes = {route.path: route for route in every_route().values()}
    found, answered, order = [], set(), Order(by_act=False)
    for result in document.get_all_operations():
        operation = result.ok()
        route = routes[operation.path]
        try:
            told, well = tried(operation, route, full, mode, order)
        except Unsatisfiable:
            continue  # nothing can be sent that it would not want: it takes nothing
        if told:
            found.append(f"{operation.label}: {told}")
        if well:
            answered.add(operation.label)
    assert not found, "\n".join(found)
    order.need_no_circle()
    if mode == GenerationMode.POSITIVE:
        assert len(answered) > 80, (
            f"only {len(answered)} operations were answered well: the tries come nowhere"
        )
