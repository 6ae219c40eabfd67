"""The figures of a body that a fit plan rests on: taken, worked out from two, or estimated, and named as such."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo
from math import hypot, sqrt

from fitting.queries.paper_zones import PaperZone, listed, sides_of
from studio.queries.estimates import EstimatedMeasure
from studio.queries.measuring import BodyMeasure
from studio.queries.trust import ErrorUsed

NORMAL_95 = 1.96
HIGH_BUST = "chest_girth"  # above the breast, where there is one (see the catalogue)
OLD_AFTER_DAYS = {False: 365, True: 92}  # adults, children; common practice, no source


@dataclass(frozen=True)
class Figure:
    """One figure in mm: ``half_width`` is its 95 % error, ``how`` says in words where it was not simply taken."""

    measure: str
    name: str
    value: float
    takes: int
    half_width: float
    error_source: str
    measured_at: datetime
    measured_by: str = ""
    measuring: str = ""
    readings: tuple[str, ...] = ()
    estimated: bool = False
    how: str = ""

    def on(self, zone: tzinfo) -> date:
        return self.measured_at.astimezone(zone).date()

    def is_old(self, today: date, zone: tzinfo, *, minor: bool) -> bool:
        return (today - self.on(zone)).days > OLD_AFTER_DAYS[minor]


def error_of(measure: BodyMeasure, technical_errors: Mapping[str, ErrorUsed]) -> float:
    """The 95 % half-width in mm of a measure's figure: 1.96 * technical error / sqrt(takes).

    The figure of three takes is their median, hardly surer than the mean of two, so a third is not counted.
    """
    return NORMAL_95 * technical_errors[measure.code].value / sqrt(min(measure.takes, 2))


def taken_figures(
    body: Mapping[str, BodyMeasure], technical_errors: Mapping[str, ErrorUsed]
) -> dict[str, Figure]:
    """What was taped, by the catalogue's code."""
    return {
        code: Figure(
            measure=code,
            name=one.name,
            value=float(one.value),
            takes=one.takes,
            half_width=error_of(one, technical_errors),
            error_source=technical_errors[code].source,
            measured_at=one.measured_at,
            measured_by=str(one.measured_by),
            measuring=str(one.measuring_id),
            readings=tuple(str(reading) for reading in one.reading_ids),
        )
        for code, one in body.items()
    }


def estimated_figures(missing: list[EstimatedMeasure], now: datetime) -> dict[str, Figure]:
    """What was not taped and is estimated from the rest, by the catalogue's code."""
    return {
        one.measure.code: Figure(
            measure=one.measure.code,
            name=one.measure.name,
            value=one.value,
            takes=0,
            half_width=(one.high - one.low) / 2,
            error_source="an estimate from the other figures of this body",
            measured_at=now,
            estimated=True,
            how="estimated from the other figures, not taped",
        )
        for one in missing
    }


def figure_for(zone: PaperZone, figures: Mapping[str, Figure]) -> Figure | None:
    """The figure that a measure of the paper is held against, or None where the body has none."""
    code = zone.served(figures)
    if code is None or any(other not in figures for other in zone.plus):
        return None
    found = figures[code]
    if not zone.plus:
        return found
    more, less = (figures[other] for other in zone.plus)
    oldest = min((found, more, less), key=lambda figure: figure.measured_at)
    return replace(
        found,
        value=found.value + more.value - less.value,
        half_width=hypot(found.half_width, more.half_width, less.half_width),
        measured_at=oldest.measured_at,
        readings=found.readings + more.readings + less.readings,
        estimated=any(figure.estimated for figure in (found, more, less)),
        how=f"worked out: {_lower(found.name)}, and the difference of {_lower(more.name)} and {_lower(less.name)}",
    )


def apart(code: str, figures: Mapping[str, Figure]) -> dict[str, Figure]:
    """The two sides of a measure by their codes, where they differ by more than the tape; else empty."""
    sides = sides_of(code)
    found = {zone.code: figure for zone in sides if (figure := figure_for(zone, figures))}
    if len(found) < 2:
        return {}
    (right, left) = found.values()
    beyond = abs(right.value - left.value) > hypot(right.half_width, left.half_width)
    # The same figure stands on both sides of a worked-out difference: what was taped apart decides.
    if sides[1].plus:
        more, less = (figures[other] for other in sides[1].plus)
        beyond = abs(more.value - less.value) > hypot(more.half_width, less.half_width)
    return found if beyond else {}


def old_words(
    measures: Mapping[str, Figure], today: date, zone: tzinfo, *, minor: bool
) -> tuple[Mapping[str, str], ...]:
    """Figures taken too long ago, those of one day told together."""
    months = "3 months" if minor else "12 months"
    by_day: dict[date, list[str]] = {}
    for code, one in measures.items():
        if one.is_old(today, zone, minor=minor):
            by_day.setdefault(one.on(zone), []).append(code)
    found = []
    for day, codes in by_day.items():
        names = listed(
            list(
                dict.fromkeys([measures[codes[0]].name, *(_lower(measures[code].name) for code in codes[1:])])
            )
        )
        were = "was" if len(codes) == 1 else "were"
        words = f"{names} {were} taken on {day:%-d %B %Y}, more than {months} ago. Tape again before drawing."
        found.append({"zone": codes[0] if len(codes) == 1 else "", "words": words})
    return tuple(found)


def _lower(name: str) -> str:
    return name[0].lower() + name[1:]
