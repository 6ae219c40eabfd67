"""Simple drafts of our own: outlines in every size from a pattern's size table.

They are plain teaching drafts: straight lines, and curves as cubic arcs. Every proportion of them is common
practice, no source. All measures are finished garment measures in mm. A draft is drawn on its seam lines with y up
and the hem down, then the seam allowance is put round it (the fold has none).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from fitting.calc import inputs
from fitting.calc.draft_lower import draft_skirt, draft_trousers
from fitting.calc.draft_parts import Drafted, Measures, Plan, with_allowance
from fitting.calc.draft_upper import draft_bodice, draft_shirt, draft_tshirt
from fitting.calc.outline import Edge, Outline, edge_length

HEM_MM = 30.0


@dataclass(frozen=True)
class Seam:
    """Two sides that are sewn together, each (piece, edge, walked backwards), and how much the first may be
    longer, mm.
    """

    name: str
    first: tuple[tuple[str, str, bool], ...]
    second: tuple[tuple[str, str, bool], ...]
    ease_least: float = 0.0
    ease_most: float = 0.0


DRAFTED_KINDS = ("skirt", "trousers", "bodice", "shirt", "tshirt")

_ARMHOLE = (("Front", "armhole", False), ("Back", "armhole", True))

_FITTED = (
    Seam("Shoulder", (("Back", "shoulder", False),), (("Front", "shoulder", False),)),
    Seam("Side seam", (("Front", "side", False),), (("Back", "side", False),)),
    Seam("Sleeve and armhole", (("Sleeve", "cap", False),), _ARMHOLE, 15.0, 45.0),
)

SEAMS: Mapping[str, tuple[Seam, ...]] = {
    "skirt": (Seam("Side seam", (("Front", "side", False),), (("Back", "side", False),)),),
    "trousers": (
        Seam("Side seam", (("Front", "side", False),), (("Back", "side", False),)),
        # The back is drafted a little shorter and stretched (common practice, no source).
        Seam("Inside leg", (("Front", "inside leg", False),), (("Back", "inside leg", False),), 0.0, 10.0),
    ),
    **dict.fromkeys(("bodice", "dress", "jacket"), _FITTED),
    "shirt": (
        Seam("Shoulder", (("Back", "shoulder", False),), (("Front", "shoulder", False),)),
        Seam("Side seam", (("Front", "side", False),), (("Back", "side", False),)),
        Seam("Sleeve and armhole", (("Sleeve", "cap", False),), _ARMHOLE, 0.0, 15.0),
    ),
    "tshirt": (
        Seam("Shoulder", (("Back", "shoulder", False),), (("Front", "shoulder", False),)),
        Seam("Side seam", (("Front", "side", False),), (("Back", "side", False),)),
        Seam("Sleeve and armhole", (("Sleeve", "cap", False),), _ARMHOLE, 0.0, 8.0),
    ),
}


def draft(
    kind: str, measures: Mapping[str, float], *, seam_allowance: float = 15.0, hem: float = HEM_MM
) -> tuple[Drafted, ...]:
    """The pieces of a garment of this kind in one size.

    `measures` maps the codes of paper measures to mm, finished; what is not there follows from the rest. Raises
    ValueError for a kind without a draft, a measure that it needs and lacks, or measures that don't go together.
    """
    makers: dict[str, Callable[[Measures], list[Plan]]] = {
        "skirt": draft_skirt,
        "trousers": draft_trousers,
        "bodice": draft_bodice,
        "shirt": draft_shirt,
        "tshirt": draft_tshirt,
    }
    if kind not in makers:
        raise ValueError(f"There is no draft for {kind!r}; drafted are {', '.join(DRAFTED_KINDS)}.")
    allowance = inputs.length("The seam allowance", seam_allowance)
    plans = makers[kind](Measures(measures))
    return tuple(with_allowance(plan, allowance, inputs.length("The hem", hem)) for plan in plans)


def seam_edges(pieces: Mapping[str, Outline], side: Sequence[tuple[str, str, bool]]) -> list[Edge]:
    """The edges of one side of a seam, with the piece in their name; ValueError for one that is not there."""
    found = []
    for piece, name, backwards in side:
        edge = (
            next((edge for edge in pieces[piece].edges if edge.name == name), None)
            if piece in pieces
            else None
        )
        if edge is None:
            raise ValueError(f"There is no edge {name!r} on a piece {piece!r}.")
        words = f"{piece} {name}".lower().capitalize()
        if backwards:
            long = edge_length(edge)
            edge = Edge(name, edge.points[::-1], tuple(long - notch for notch in reversed(edge.notches)))
        found.append(Edge(words, edge.points, edge.notches))
    return found


__all__ = ["DRAFTED_KINDS", "SEAMS", "Drafted", "Seam", "draft", "edge_length", "seam_edges"]
