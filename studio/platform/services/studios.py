"""The studio's own name, address, units and colour."""

from typing import Any
from zoneinfo import available_timezones

from studio.platform.choices import LANGUAGES, UNITS
from studio.platform.colour import checked_colour
from studio.platform.errors import Refused
from studio.platform.models import Studio
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit

FIELDS = ("name", "address", "time_zone", "unit", "language", "colour")


def change_studio(actor: Actor, *, expected_version: int | None = None, **changes: Any) -> Studio:
    """Change what the studio says of itself: any of name, address, time_zone (IANA), unit (cm, in),
    language (of what clients read), colour (#rrggbb).

    What was issued keeps the name and colour that it had. Raises Stale, Refused naming each field and reason.
    """
    actor.need(Right.KEEP_STUDIO)
    reasons: dict[str, str] = {name: "There is no such setting." for name in changes if name not in FIELDS}
    given = {name: str(value).strip() for name, value in changes.items()}
    if given.get("name") == "":
        reasons["name"] = "Give the studio's name; it stands on every report."
    zone = given.get("time_zone")
    if zone is not None and zone not in available_timezones():
        reasons["time_zone"] = f"{zone!r} is not a time zone; write it like Europe/Lisbon."
    unit = given.get("unit")
    if unit is not None and unit not in dict(UNITS):
        reasons["unit"] = f"{unit!r} is not a unit; allowed are {', '.join(dict(UNITS))}."
    language = given.get("language")
    if language is not None and language not in dict(LANGUAGES):
        reasons["language"] = (
            f"Clients are written to in one of {', '.join(dict(LANGUAGES))} (got {language[:16]!r})."
        )
    if "colour" in given:
        try:
            given["colour"] = checked_colour(given["colour"])
        except ValueError as exc:
            reasons["colour"] = str(exc)
    if reasons:
        raise Refused(reasons)
    studio = lock_for_edit(Studio, actor.studio_id, expected_version)
    changed = save_edit(studio, given)
    if changed:
        record_act(actor, "change_studio", studio, changed=changed)
    return studio
