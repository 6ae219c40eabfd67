"""Ease: how much larger than the body a garment is, and how much it ought to be. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fitting.calc import inputs


class Verdict(StrEnum):
    """What the ease of one zone amounts to, the error of the tape considered."""

    WITHIN = "within"
    TOO_TIGHT = "too tight"
    TOO_LOOSE = "too loose"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True)
class EaseRule:
    """Least, wanted and most ease of one zone in mm (negative for knits that are cut smaller than the body).

    `source` says who states the rule, with the year where it is known; it is printed on the plan. `drawn` is
    the ease that paper known by its body chart alone is taken to hold, where that is not the target (a client
    who likes more, a child who grows).
    """

    low: float
    target: float
    high: float
    source: str = "source not stated"
    drawn: float | None = None

    def __post_init__(self) -> None:
        low = inputs.number("Ease rule: low", self.low)
        target = inputs.number("Ease rule: target", self.target)
        high = inputs.number("Ease rule: high", self.high)
        if not low <= target <= high:
            raise ValueError(
                f"Ease rule: the target must lie between low and high, not low {low:g}, target {target:g}, "
                f"high {high:g} mm."
            )

    @property
    def tolerance(self) -> float:
        """Half the width of the range, at least 1 mm so that a rule without width can still be compared."""
        return max((self.high - self.low) / 2, 1.0)

    @property
    def sd(self) -> float:
        """A quarter of the range's width: by convention the range holds about 95 % of what wearers like."""
        return (self.high - self.low) / 4


@dataclass(frozen=True)
class LearnedEase:
    """The ease that one client likes: mean and sd of the belief in mm, and how many garments it rests on."""

    mean: float
    sd: float
    n: int


def ease(finished: float, body: float) -> float:
    """Return finished minus body, in mm; negative where the garment is smaller than the body."""
    return inputs.positive("Finished measure", finished) - inputs.positive("Body measure", body)


def negative_ease_percent(finished: float, body: float) -> float:
    """Return by how many percent of the *body* the garment is smaller (negative where it is larger)."""
    return -100 * ease(finished, body) / body


def stretch_needed_percent(finished: float, body: float) -> float:
    """Return by how many percent of *itself* the garment must stretch to go round the body.

    Not the same number as `negative_ease_percent`: 900 mm of cloth on a body of 1000 mm is 10 % smaller than
    the body but must stretch by 11.1 %. Zero or less: no stretch is needed.
    """
    return -100 * ease(finished, body) / finished


def outside(amount: float, rule: EaseRule) -> float:
    """Return how far an ease lies outside its range in mm: negative too little, 0 in range."""
    if amount < rule.low - inputs.HAIR:
        return amount - rule.low
    if amount > rule.high + inputs.HAIR:
        return amount - rule.high
    return 0.0


def verdict(finished: float, body: float, rule: EaseRule, error: float = 0.0) -> Verdict:
    """Judge the ease of one zone; `error` is the 95 % half-width of its error in mm.

    Within if low <= ease <= high; too tight if even ease + error is below low; too loose if even ease - error
    is above high; otherwise the tape cannot tell.
    """
    amount = ease(finished, body)
    margin = inputs.length("Error of the ease", error)
    if outside(amount, rule) == 0:
        return Verdict.WITHIN
    if amount + margin < rule.low:
        return Verdict.TOO_TIGHT
    if amount - margin > rule.high:
        return Verdict.TOO_LOOSE
    return Verdict.CANNOT_TELL


def learned_ease(
    rule_mean: float, rule_sd: float, accepted: Sequence[float], accepted_sd: float
) -> LearnedEase:
    """Return what this client likes: the rule, shifted by the eases of garments that were accepted.

    Normal-normal posterior: the rule is the prior (`rule_mean`, `rule_sd`), each accepted ease one
    observation with standard deviation `accepted_sd`; all in mm. With no history it is the rule itself.
    Source: the conjugate normal model with known variance of any statistics text.
    """
    prior_mean = inputs.number("Rule mean", rule_mean)
    prior_sd = inputs.positive("Rule standard deviation", rule_sd)
    spread = inputs.positive("Standard deviation of an accepted ease", accepted_sd)
    values = [inputs.number("Accepted ease", value) for value in accepted]
    n = len(values)
    if n == 0:
        return LearnedEase(prior_mean, prior_sd, 0)
    # The ratio form stays finite where 1 / sd**2 would not.
    ratio = spread / prior_sd
    weight = n / (n + ratio * ratio)
    mean = prior_mean + weight * (math.fsum(values) / n - prior_mean)
    return LearnedEase(mean, spread / math.sqrt(n + ratio * ratio), n)
