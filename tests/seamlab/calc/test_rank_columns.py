"""Trials in columns rank as the same trials one by one, whose posteriors test_evidence computes by hand."""

import random
from datetime import date

import numpy as np
import pytest

from seamlab.calc.cloth import ClothFigures
from seamlab.calc.evidence import VERDICTS, PastTrial, RecipeFigures, TrialColumns, rank, rank_columns

CLOTHS = [ClothFigures("woven", 200.0 + 40 * i, 0.5, None, 5.0, key=f"cloth {i}") for i in range(6)]
RECIPES = [RecipeFigures(f"recipe {i}", "join", 1, 2, 2) for i in range(9)]


def test_columns_rank_like_trials():
    chance = random.Random(7)
    rows = [
        (chance.randrange(9), chance.randrange(6), chance.choice([0, 0, 1, 2]), 739_000 + chance.randrange(400),
         chance.random() < 0.5)
        for _ in range(300)
    ]  # fmt: skip
    trials = [
        PastTrial(
            f"recipe {recipe}", CLOTHS[cloth], VERDICTS[verdict], date.fromordinal(day), "B" if other else "A"
        )
        for recipe, cloth, verdict, day, other in rows
    ]
    table = np.array(rows)
    columns = TrialColumns(table[:, 0], table[:, 1], table[:, 2], table[:, 3], table[:, 4].astype(bool))
    assert rank_columns(RECIPES, columns, CLOTHS, CLOTHS[2]) == rank(RECIPES, trials, CLOTHS[2], "A")


@pytest.mark.parametrize(
    ("cloth", "verdict", "words"),
    [(6, 0, "cloth of trials"), (0, 3, "verdict of trials"), (-1, 0, "cloth of trials")],
)
def test_places_outside_are_refused(cloth, verdict, words):
    one = np.array([0])
    columns = TrialColumns(one, np.array([cloth]), np.array([verdict]), one, one.astype(bool))
    with pytest.raises(ValueError, match=words):
        rank_columns(RECIPES, columns, CLOTHS, CLOTHS[0])
