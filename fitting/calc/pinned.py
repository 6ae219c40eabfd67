"""What was pinned at a try-on of a finished garment against the allowance that is really inside it. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import SupportsFloat

from fitting.calc import inputs
from fitting.calc.alteration import let_out_limit, share

EDGES_OF_SEAM = 2
"""A seam joins two edges, and each gives what is spare on its own side."""


@dataclass(frozen=True)
class Reach:
    """Whether the cloth that is there is enough: ``most`` in all, ``each`` at an edge, and the sentence to say."""

    enough: bool
    most: float
    each: float
    words: str


def reach_of(
    amount: SupportsFloat,
    allowance: SupportsFloat,
    keep: SupportsFloat,
    edges: int,
    say: Callable[[float], str] = inputs.say_mm,
) -> Reach:
    """Set an amount to let out or to lengthen against the allowance measured inside.

    ``amount`` is the change in all; ``allowance`` what lies inside at each edge, ``keep`` the least to leave there,
    ``edges`` how many edges share the change (a seam has two, a hem one). Raises ValueError naming what is
    impossible. Rule: edges * (allowance - keep), see ``let_out_limit``.
    """
    asked = inputs.positive("Amount", amount)
    there, left = inputs.length("Allowance", allowance), inputs.length("Allowance to keep", keep)
    most = let_out_limit(there, left, edges)
    each = share(asked, edges)
    where = "" if edges == 1 else " at each edge"
    in_all = "" if edges == 1 else f", over {edges} edges {say(most)} in all"
    inside = f"{say(there)} lie inside{where} and {say(left)} must stay: {say(max(0.0, there - left))} can go{where}"
    if asked <= most + inputs.HAIR:
        return Reach(True, most, each, f"It reaches: {inside}{in_all}; {say(each)}{where} is wanted.")
    return Reach(False, most, each, f"It does not reach: {inside}{in_all}, and {say(asked)} is wanted.")
