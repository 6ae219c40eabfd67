"""An invented class for these tests."""

from collections.abc import Mapping
from typing import Any

from studio.services import courses
from studio.services.class_day import Filled, TypedCell, fill_cells
from tests.studio.helpers import a_client

OWN_MEASURE: dict[str, Any] = {
    "name": "Cuff depth",
    "kind": "length",
    "side": "left",
    "instruction": "From the wrist bone up the arm to where the cuff ends.",
    "technical_error": 3.0,
    "range_adult": (20.0, 200.0),
    "range_child": (10.0, 150.0),
    "garments": ["shirt"],
    "figure": {"view": "back", "kind": "line", "from": "elbow", "to": "wrist"},
    "after": "arm_length",
}


def a_course(house: Any, names: tuple[str, ...] = ("Ana Prado", "Bea Lund"), **facts: Any) -> Any:
    """A course for skirts with grown-up students who have consented."""
    course = courses.open_course(house.clerk, **{"name": "Skirts in spring", "measure_set": "skirt", **facts})
    for name in names:
        courses.enrol(house.clerk, course.pk, client_id=a_client(house.clerk, name).pk)
    return course


def students(course: Any) -> list[Any]:
    return [place.client for place in course.enrolments.select_related("client").order_by("client__name")]


def fill(actor: Any, course: Any, client: Any, typed: Mapping[str, str], **facts: Any) -> Filled:
    seen = facts.pop("seen", None)
    cells = [TypedCell(code, text, seen) for code, text in typed.items()]
    return fill_cells(actor, course.pk, client.pk, cells=cells, **facts)
