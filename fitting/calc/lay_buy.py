"""How much cloth to buy for a lay, and whether a bolt or a remnant reaches. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from fitting.calc import inputs

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Step:
    """One step of the sum: what it is, what it adds (mm), and the length after it (mm)."""

    words: str
    added: float
    length: float


@dataclass(frozen=True)
class Buy:
    """The length to buy and how it came about."""

    length: float
    steps: tuple[Step, ...]
    notes: tuple[str, ...]


def length_to_buy(
    lay_length: float,
    *,
    change_percent: float | None = None,
    washed_first: bool = False,
    repeat: float | None = None,
    matched: int = 0,
    end_allowance: float = 0.0,
    cutting_unit: float = 100.0,
    say: Callable[[float], str] = inputs.say_mm,
) -> Buy:
    """The length to ask for, step by step.

    In this order: the lay; the shrinkage still to come (`change_percent` lengthwise, signed, smaller is
    negative) if the cloth is bought unwashed and cut after its wash; for a cloth with a lengthwise `repeat` one
    repeat for each of `matched` pieces that lie one above the other and are matched by hand, then up to whole
    repeats; the `end_allowance` for squaring both ends (in all); up to the shop's `cutting_unit`. Dividing, not
    adding, undoes a shrinkage. Raises ValueError for an impossible figure.

    Source of repeat times number stacked, and of rounding up to whole repeats: home-furnishing and fabric shop
    notes; the rest is common practice, no source.
    """
    length = inputs.positive("The length of the lay", lay_length)
    steps = [Step("The lay as it is drawn", length, length)]
    notes: list[str] = []

    def grow(words: str, to: float) -> None:
        nonlocal length
        steps.append(Step(words, to - length, to))
        length = to

    if change_percent is not None:
        change = inputs.number("The change by washing (percent)", change_percent)
        if change <= -100:
            raise ValueError(f"The change by washing must be more than -100 percent, not {change:g}.")
        if not washed_first and change < 0:
            notes.append(
                f"The cloth is cut before it is washed: the garment itself will become {-change:g} % shorter "
                "in its first wash."
            )
        elif change < 0:
            grow(f"It shrinks by {-change:g} % in its wash before it is cut", length / (1 + change / 100))
    elif washed_first:
        notes.append("Nobody has tested how much this cloth shrinks: nothing is added for its wash.")
    matched = _whole_or_none("How many matched pieces lie above each other", matched)
    if repeat is not None:
        each = inputs.positive("The lengthwise repeat", repeat)
        if matched:
            times = "one repeat" if matched == 1 else f"{matched} repeats"
            grow(f"For matching by hand: {times} of {say(each)}", length + matched * each)
        whole = _up_to(length, each)
        if whole > length:
            grow(f"Up to whole repeats of {say(each)}", whole)
    elif matched:
        raise ValueError("Matching needs the lengthwise repeat of the cloth; measure it first.")
    end = inputs.length("The end allowance", end_allowance)
    if end:
        grow("For squaring the ends", length + end)
    unit = inputs.positive("The cutting unit", cutting_unit)
    asked = _up_to(length, unit)
    if asked > length:
        grow(f"Up to the next {say(unit)}, as the shop cuts", asked)
    return Buy(length, tuple(steps), tuple(notes))


def usable_after_wash(usable_width: float, change_percent: float | None, washed_first: bool) -> float:
    """The usable width that is left on the table: narrower if the cloth is washed before it is cut."""
    width = inputs.positive("The usable width", usable_width)
    if change_percent is None or not washed_first or change_percent >= 0:
        return width
    if change_percent <= -100:
        raise ValueError(f"The change by washing must be more than -100 percent, not {change_percent:g}.")
    return width * (1 + inputs.number("The change by washing (percent)", change_percent) / 100)


def whats_left(available: float, needed: float) -> float:
    """What a bolt keeps after `needed` is cut off it, mm; negative: so much is missing."""
    return inputs.length("What lies on the bolt", available) - inputs.positive("The length needed", needed)


def _up_to(length: float, unit: float) -> float:
    ratio = length / unit
    return math.ceil(ratio - _ROUNDING * max(1.0, ratio)) * unit


def _whole_or_none(words: str, value: int) -> int:
    if isinstance(value, bool) or value != int(value) or value < 0:
        raise ValueError(f"{words} must be a whole number of 0 or more, not {value!r}.")
    return int(value)
