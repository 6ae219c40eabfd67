"""A row of another studio that is named in a body or a question is answered like one that never was.

Every field of the OpenAPI document that holds an id is tried, in a body made up from the document with rows of one's
own in its other fields.
"""

import copy
import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection, models, reset_queries, transaction
from django.test.utils import CaptureQueriesContext
from drf_spectacular.generators import SchemaGenerator

from fitting import models as fitting
from seamlab import models as seamlab
from studio import models as studio
from studio.platform.database.scope import studio_scope
from studio.platform.models import Member, Studio, User
from studio.platform.models.base import new_id
from tests.access.full_house import FullHouse, furnish
from tests.access.routes import every_route
from tests.access.test_every_route import as_told, browser
from tests.conftest import found_house
from tests.isolation.conftest import fill

pytestmark = pytest.mark.slow

# What a field's name, without its "_id", names.
NAMED: dict[str, type[models.Model]] = {
    "garment": fitting.Garment, "fitter": Member, "cloth": seamlab.Cloth, "measuring": studio.Measuring,
    "machine": seamlab.Machine, "client": studio.Client, "size": fitting.PatternSize, "pattern": fitting.Pattern,
    "plan": fitting.FitPlan, "corrects": fitting.FitReport, "version": seamlab.SeamRecipeVersion,
    "remnant": fitting.Remnant, "measured_by": Member, "chart": fitting.BodyChart, "course": studio.Course,
    "lay": fitting.LayPlan, "member": Member, "comparison": seamlab.SeamComparison, "trials": seamlab.SeamTrial,
    "taken": seamlab.SeamTrial, "needle_thread": seamlab.Thread, "under_thread": seamlab.Thread,
    "needle": seamlab.Needle, "recipe": seamlab.SeamRecipe, "replaced_by": seamlab.SeamTrial,
    "reference_member": Member, "object": studio.Client,
    "bolt": seamlab.Bolt, "photos": fitting.FitPhoto, "garments": fitting.Garment,
}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """Where an id can be put: an operation, and the way to the field in its body (or its question)."""

    method: str
    path: str
    way: tuple[str, ...]
    body: Any  # a made-up one, or None for a question

    @property
    def model(self) -> type[models.Model]:
        name = next(part for part in reversed(self.way) if part != "[]").removesuffix("_id")
        assert name in NAMED, f"{self.method} {self.path}: say in NAMED what {name!r} names"
        return NAMED[name]

    def __str__(self) -> str:
        return f"{self.method.upper()} {self.path} {'.'.join(self.way)}"


@pytest.fixture(scope="module")
def houses(
    django_db_setup: None, django_db_blocker: Any
) -> Iterator[tuple[FullHouse, dict[type[models.Model], Any]]]:
    """A full house, and a row of every kind in another one."""
    with django_db_blocker.unblock(), transaction.atomic():
        full, other = furnish(), found_house("Bobbin Lane")
        with studio_scope(other.studio_id):
            member = Member.objects.get(pk=other.owner.member_id)
            made: dict[type[models.Model], Any] = {
                Member: member,
                User: member.user,
                Studio: Studio.objects.get(),
            }
            for model in NAMED.values():
                fill(model, made)
        yield full, made
        transaction.set_rollback(True)


class Document:
    """The OpenAPI document, with bodies made up from it."""

    def __init__(self, full: FullHouse) -> None:
        self.whole: Any = SchemaGenerator().get_schema(request=None, public=True)
        self.full = full

    def places(self) -> Iterator[Place]:
        for path, operations in self.whole["paths"].items():
            for method, operation in operations.items():
                for given in operation.get("parameters", ()):
                    if given["in"] == "query" and given["schema"].get("format") == "uuid":
                        yield Place(method, path, (given["name"],), None)
                schema = (
                    operation.get("requestBody", {})
                    .get("content", {})
                    .get("application/json", {})
                    .get("schema")
                )
                if schema:
                    body = self.example(schema)
                    for way in self.ids_in(schema):
                        yield Place(method, path, way, body)

    def plain(self, schema: Any) -> Any:
        while "$ref" in schema:
            schema = self.whole["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
        for word in ("allOf", "oneOf", "anyOf"):
            if word in schema:
                return {**schema, **self.plain(schema[word][0])}
        return schema

    def ids_in(self, schema: Any) -> Iterator[tuple[str, ...]]:
        schema = self.plain(schema)
        for name, part in schema.get("properties", {}).items():
            yield from ((name, *way) for way in self.ids_in(part))
        if schema.get("type") == "array":
            yield from (("[]", *way) for way in self.ids_in(schema["items"]))
        if schema.get("format") == "uuid":
            yield ()

    def example(self, schema: Any, name: str = "") -> Any:
        schema = self.plain(schema)
        if "properties" in schema:
            # Only what is wanted, and every id.
            wanted = set(schema.get("required", ())) | {way[0] for way in self.ids_in(schema)}
            return {
                key: self.example(part, key) for key, part in schema["properties"].items() if key in wanted
            }
        if schema.get("enum"):
            return next(value for value in schema["enum"] if value)
        kind, form = schema.get("type"), schema.get("format")
        if kind == "array":
            return [self.example(schema["items"], name.removesuffix("s"))] * max(1, schema.get("minItems", 1))
        if form == "uuid":
            return self.full.ids.get(name.removesuffix("_id"), str(new_id()))
        texts = {
            "date": "2026-06-01",
            "date-time": "2026-06-01T10:00:00Z",
            "decimal": "100",
            "email": "a@b.example",
        }
        if kind in {"integer", "number"}:
            return max(1, schema.get("minimum", 1))
        return True if kind == "boolean" else texts.get(form or "", "a word of ours")


def put(body: Any, way: tuple[str, ...], value: str) -> Any:
    """The body with this value at the end of the way."""
    head, *rest = way
    place: Any = 0 if head == "[]" else head
    if rest:
        put(body[place], tuple(rest), value)
    else:
        body[place] = value
    return body


def test_an_id_in_a_body_or_a_question_tells_nothing(houses: tuple[FullHouse, dict[Any, Any]]) -> None:
    full, elsewhere = houses
    client, document = browser(None), Document(full)
    routes = {route.path: route for route in every_route().values()}
    headers = {"Authorization": f"Bearer {full.tokens['owner']}", "If-Match": '"1"'}

    def ask(place: Place, value: str) -> tuple[Any, int]:
        address = routes[place.path].address(full.ids)
        reset_queries()
        with transaction.atomic(), CaptureQueriesContext(connection) as asked:
            if place.body is None:
                answer = client.get(f"{address}?{place.way[0]}={value}", headers=headers)
            else:
                body = put(copy.deepcopy(place.body), place.way, value)
                answer = client.generic(
                    place.method.upper(),
                    address,
                    json.dumps(body),
                    content_type="application/json",
                    headers=headers,
                )
            answer.words = answer.getvalue().decode()
            transaction.set_rollback(True)
        return as_told(answer, {"named": value}), len(asked)

    amiss, biting, tried = [], 0, 0
    for place in document.places():
        tried += 1
        own, never = full.ids.get(place.way[-1].removesuffix("_id")), str(new_id())
        theirs, nobodys = ask(place, str(elsewhere[place.model].pk)), ask(place, never)
        biting += own is not None and ask(place, own) != nobodys
        if theirs != nobodys or (place.body is not None and theirs[0][0] < 400):
            amiss.append(
                f"{place}: {theirs[0][0]} {theirs[0][1][:200]} in {theirs[1]} | {nobodys[0][0]} in {nobodys[1]}"
            )
    assert not amiss, "\n".join(amiss)
    assert biting > tried / 3, f"of {tried} fields only {biting} make a difference: the bodies come nowhere"
