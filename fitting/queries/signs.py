"""The table of signs, read once, and what a sign may mean in the fitter's own unit."""

import json
from functools import cache
from importlib.resources import files
from typing import Any

from fitting.calc.signs import Change, GeneralRule, Sign, SignRule, SignTable


@cache
def sign_table() -> SignTable:
    """`fitting/data/signs.json` as typed values."""
    found = json.loads(files("fitting").joinpath("data/signs.json").read_text(encoding="utf-8"))
    return SignTable(
        signs={row["code"]: Sign(**_tuples(row, "directions")) for row in found["seen"]},
        directions=found["directions"],
        changes={row["code"]: Change(**row) for row in found["changes"]},
        rules=tuple(SignRule(**_tuples(row, "places", "garments")) for row in found["rules"]),
        general={row["seen"]: GeneralRule(**row) for row in found["general"]},
        near=found["near"],
    )


def _tuples(row: dict[str, Any], *names: str) -> dict[str, Any]:
    return {key: tuple(value) if key in names else value for key, value in row.items()}
