"""What a stored fit plan says, as typed values; the rows hold it as JSON. Lengths in mm."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fitting.models import FitPlan
from fitting.queries.paper_zones import zone_name


@dataclass(frozen=True)
class PlannedZone:
    """One measure of the plan: what the sewn garment should measure there, and the ease that was wanted."""

    zone: str
    kind: str  # "length", "width" or "detail"
    size: str
    body: float
    paper: float
    finished: float
    changed: bool
    ease_before: float
    ease_after: float
    low: float
    target: float
    high: float
    source: str
    verdict: str
    error: float

    @property
    def words(self) -> str:
        return zone_name(self.zone)


@dataclass(frozen=True)
class PlannedAlteration:
    """One thing to do on the paper; ``total`` and ``per_edge`` are positive where the garment grows."""

    order: int
    kind: str
    zone: str
    total: float
    edges: int
    per_edge: float
    method: str

    @property
    def words(self) -> str:
        return zone_name(self.zone)

    @property
    def change(self) -> str:
        """What is done, in the trade's word."""
        if self.kind == "length":
            return "lengthen" if self.total > 0 else "shorten"
        return "let out" if self.total > 0 else "take in"


@dataclass(frozen=True)
class Planned:
    """A plan as the rest of the wing needs it."""

    number: int
    approved: bool
    sizes: tuple[tuple[str, str], ...]  # (zone, size)
    zones: tuple[PlannedZone, ...]
    alterations: tuple[PlannedAlteration, ...]
    blends: tuple[str, ...]
    measures: tuple[str, ...]  # codes of the body measures that went in

    def zone(self, code: str) -> PlannedZone | None:
        return next((found for found in self.zones if found.zone == code), None)


def read_plan(plan: FitPlan) -> Planned:
    """The stored inputs and result of a plan; what an older plan did not know is left out."""
    inputs: Mapping[str, Any] = plan.inputs or {}
    result: Mapping[str, Any] = plan.result or {}
    errors = inputs.get("errors") or {}
    return Planned(
        number=plan.number,
        approved=plan.state == FitPlan.State.APPROVED,
        sizes=tuple((row["zone"], row["size"]) for row in (result.get("sizes") or {}).get("zones", ())),
        zones=tuple(_zone(row, errors) for row in result.get("outcomes", ())),
        alterations=tuple(
            PlannedAlteration(
                order=int(row["order"]),
                kind=row["kind"],
                zone=row["zone"],
                total=float(row["total"]),
                edges=int(row["edges"]),
                per_edge=float(row["per_edge"]),
                method=row.get("method", ""),
            )
            for row in result.get("alterations", ())
        ),
        blends=tuple(row["text"] for row in result.get("blends", ())),
        measures=tuple(dict.fromkeys(row["measure"] for row in (inputs.get("body") or {}).values())),
    )


def _zone(row: Mapping[str, Any], errors: Mapping[str, Any]) -> PlannedZone:
    return PlannedZone(
        zone=row["zone"],
        kind=row["kind"],
        size=row["size"],
        body=float(row["body"]),
        paper=float(row["paper"]),
        finished=float(row["finished"]),
        changed=abs(float(row["finished"]) - float(row["paper"])) > 0.05,
        ease_before=float(row["ease_before"]),
        ease_after=float(row["ease_after"]),
        low=float(row["low"]),
        target=float(row["target"]),
        high=float(row["high"]),
        source=row["source"],
        verdict=row["after"],
        error=float(errors.get(row["zone"]) or 0),
    )
