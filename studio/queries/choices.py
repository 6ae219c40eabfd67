"""The measures and sets of one studio: the shipped catalogue and its own, less what it hides.

Its own stand in the database in the shape of ``studio/data/measures.json`` and are read by the same reader.
A hidden measure is no longer offered; readings that were taken of it keep their name (``known_measures``).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from studio.models import StudioMeasure, StudioSet
from studio.platform.errors import Conflict, NotHere
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import (
    Catalogue,
    CatalogueMeasure,
    MeasureSet,
    catalogue,
    read_measure,
    read_set,
)

OWN = "own_"  # begins every code of a studio's own, so that a later catalogue can't meet it


@dataclass(frozen=True)
class MeasureChoice:
    """A measure as the studio has chosen about it; ``own`` is its row where the studio made it itself."""

    measure: CatalogueMeasure
    hidden: bool
    own: bool
    in_sets: tuple[str, ...]  # names of the offered sets that ask for it


@dataclass(frozen=True)
class SetChoice:
    """A set; ``row`` is there where the studio made it itself, or hides one of the catalogue."""

    set: MeasureSet
    hidden: bool
    row: StudioSet | None

    @property
    def own(self) -> bool:
        return self.set.code.startswith(OWN)


def measures_for(actor: Actor) -> Catalogue:
    """What this studio measures: the catalogue and its own, without hidden measures and sets. Two queries.

    A hidden measure leaves the sets that asked for it; a set of which nothing is left goes.
    """
    actor.need(Right.FIND_CLIENTS)
    rows = _measure_rows()
    known, hidden = _merged(rows), _hidden(rows)
    offered = {code: found for code, found in known.items() if code not in hidden}
    chosen = {code: less(found, hidden) for code, (found, gone, _) in _sets(known).items() if not gone}
    return Catalogue(
        catalogue().version,
        MappingProxyType(offered),
        MappingProxyType({code: found for code, found in chosen.items() if found.measures}),
    )


def known_measures(actor: Actor) -> Mapping[str, CatalogueMeasure]:
    """Every measure that a reading of this studio may be of, the hidden among them, in walking order. One
    query.
    """
    actor.need(Right.FIND_CLIENTS)
    return _merged(_measure_rows())


def set_for(actor: Actor, code: str) -> tuple[MeasureSet, Mapping[str, CatalogueMeasure]]:
    """A set by its code, also a hidden one (a course goes on with what it began with), and the measures.

    Its hidden measures are left out. Two queries. Raises NotHere, and Conflict where nothing is left of it.
    """
    actor.need(Right.FIND_CLIENTS)
    return set_in_scope(code)


def set_in_scope(code: str) -> tuple[MeasureSet, Mapping[str, CatalogueMeasure]]:
    """The same for work that no member asks for at the moment: a job in its studio's scope."""
    rows = _measure_rows()
    known = _merged(rows)
    found = _sets(known).get(code)
    if found is None:
        raise NotHere("set of measures")
    chosen = less(found[0], _hidden(rows))
    if not chosen.measures:
        raise Conflict(
            f"Every measure of the set {chosen.name} is hidden: show one again, or choose another set."
        )
    return chosen, known


def measure_choices(actor: Actor) -> list[MeasureChoice]:
    """All measures with what the studio chose about them, in walking order. Two queries."""
    actor.need(Right.FIND_CLIENTS)
    rows = _measure_rows()
    known, hidden = _merged(rows), _hidden(rows)
    offered = [found for found, gone, _ in _sets(known).values() if not gone]
    return [
        MeasureChoice(
            found,
            code in hidden,
            code.startswith(OWN),
            tuple(each.name for each in offered if code in each.measures),
        )
        for code, found in known.items()
    ]


def measure_choice(actor: Actor, code: str) -> MeasureChoice:
    """One measure with what the studio chose about it; raises NotHere."""
    for choice in measure_choices(actor):
        if choice.measure.code == code:
            return choice
    raise NotHere("measure")


def set_choices(actor: Actor) -> list[SetChoice]:
    """All sets, the studio's own last, the hidden among them. Two queries."""
    actor.need(Right.FIND_CLIENTS)
    return [SetChoice(*found) for found in _sets(_merged(_measure_rows())).values()]


def set_choice(actor: Actor, code: str) -> SetChoice:
    """One set, hidden or not; raises NotHere."""
    for choice in set_choices(actor):
        if choice.set.code == code:
            return choice
    raise NotHere("set of measures")


def less(chosen: MeasureSet, hidden: Iterable[str]) -> MeasureSet:
    """The set without the measures that are hidden."""
    gone = frozenset(hidden)
    if gone.isdisjoint(chosen.measures):
        return chosen
    kept = tuple(code for code in chosen.measures if code not in gone)
    return MeasureSet(chosen.code, chosen.name, kept, chosen.repeat - gone)


def _measure_rows() -> list[StudioMeasure]:
    return list(StudioMeasure.objects.order_by("id"))


def _hidden(rows: Iterable[StudioMeasure]) -> frozenset[str]:
    return frozenset(row.code for row in rows if row.hidden)


def _merged(rows: Iterable[StudioMeasure]) -> Mapping[str, CatalogueMeasure]:
    shipped = catalogue().measures
    own = [read_measure(row.facts) for row in rows if row.facts is not None]
    if not own:
        return shipped
    ordered = sorted([*shipped.values(), *own], key=lambda each: each.order)
    return MappingProxyType({each.code: each for each in ordered})


def _sets(
    known: Mapping[str, CatalogueMeasure],
) -> dict[str, tuple[MeasureSet, bool, StudioSet | None]]:
    """By code: the set, whether it is hidden, and the studio's row about it."""
    rows = {row.code: row for row in StudioSet.objects.order_by("name", "id")}
    found: dict[str, tuple[MeasureSet, bool, StudioSet | None]] = {
        code: (shipped, code in rows and rows[code].hidden, rows.get(code))
        for code, shipped in catalogue().sets.items()
    }
    for code, row in rows.items():
        if code not in found:
            raw = {"code": code, "name": row.name, "measures": row.measures, "repeat": row.repeat}
            found[code] = (read_set(raw, known), row.hidden, row)
    return found
