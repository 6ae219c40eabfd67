"""Where one studio tapes: how its readings of a group of people differ from the fitted people's, measure by measure.

Two teams disagree on the same-named girth by up to 2.5 conditional standard deviations, by where exactly they tape
it. A shift that is learnt from the studio's own people keeps the model from flagging its habit.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from studio.calc.plausibility_model import CODES, HEIGHT, WEIGHT, Array, BodyModel, selection_spread


def learn_shifts(model: BodyModel, people: Sequence[Mapping[int, float]]) -> dict[int, float]:
    """Return by place in `CODES` the shift in logarithms at which a group was taped, shrunk toward none.

    `people` map places to logarithms. Model of the group: mean + height and stoutness of the group (free, so
    that a group of stout people is no shift) + shift, with the shift of each girth normal around none in
    units of its own conditional SD. The spread of shifts is the one that makes the group's data most likely
    (empirical Bayes). People far out weigh little, so that a slip in the records does not pass for a habit.
    """
    size = len(CODES)
    own = 1 / np.diag(np.linalg.inv(model.covariance))
    # A scale and a measuring rod have no landmark to miss, only clothes: a quarter of the freedom.
    own[[HEIGHT, WEIGHT]] /= 16
    seen = sorted({place for person in people for place in person})
    if not seen:
        return {}
    group = selection_spread(model.covariance)[np.ix_(seen, seen)]
    rows = []
    for person in people:
        known = sorted(person)
        rows.append((known, np.array([person[place] for place in known]) - model.mean[known]))
    centre = np.zeros(size)
    shift: Array = np.zeros(len(seen))
    for _ in range(10):
        precision, pull = np.zeros((size, size)), np.zeros(size)
        for known, off in rows:
            inverse = model.precision_of(tuple(known)) if len(known) > 1 else None
            if inverse is None:
                inverse = np.array([[1 / model.wide[known[0], known[0]]]])
            away = off - centre[known]
            weight = (model.domain.tail + len(known)) / (model.domain.tail + away @ inverse @ away)
            precision[np.ix_(known, known)] += weight * inverse
            pull[known] += weight * inverse @ off
        precision, pull = precision[np.ix_(seen, seen)], pull[seen]
        noise = np.linalg.inv(precision)
        found = noise @ pull
        spreads = [
            (_log_density(found, group + tau**2 * np.diag(own[seen]) + noise), tau)
            for tau in np.linspace(0.1, 4.0, 40)
        ]
        tau = max(spreads)[1]
        prior = tau**2 * np.diag(own[seen])
        inverse = np.linalg.inv(group + prior + noise)
        shift = prior @ inverse @ found
        centre = np.zeros(size)
        centre[seen] = (group + prior) @ inverse @ found
    return {place: float(value) for place, value in zip(seen, shift, strict=True)}


def _log_density(value: Array, covariance: Array) -> float:
    _, size = np.linalg.slogdet(covariance)
    return -0.5 * float(value @ np.linalg.solve(covariance, value) + size)
