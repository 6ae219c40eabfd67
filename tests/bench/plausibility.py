"""How well slips are caught, and how often an honest reading is flagged: `python -m tests.bench.plausibility`.

People held out of the fit: 10 folds of 'bdims' (Heinz et al. 2003); means, covariances, threshold and tail come
from the nine training folds alone. People taped by others: the 252 men of 'fat' (faraway, Penrose et al. 1985),
judged by the shipped model, with offsets learned on other men of the same data.

A slip counts as flagged only if the very reading that slipped is flagged, and as `named` if what was
meant is among the suggestions. All rates are of readings.
"""

import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache

import faraway.datasets.fat
import numpy as np

from studio.calc.plausibility import check, learn_offsets
from studio.calc.plausibility_model import CODES, HEIGHT, SEXES, WEIGHT, BodyModel
from tests.bench.fit_body_model import adults, fit, folds

FOLDS = 10
SEED = 424242
BANDS = (0.0, 18.5, 22.0, 25.0, 27.5, 30.0, 35.0, 100.0)
FAT_COLUMNS = {
    "height": "height",
    "weight": "weight",
    "chest_girth": "chest",
    "abdomen_girth": "abdom",
    "hip_girth": "hip",
    "thigh_girth": "thigh",
    "knee_girth": "knee",
    "ankle_girth": "ankle",
    "upper_arm_girth": "biceps",
    "forearm_girth": "forearm",
    "wrist_girth": "wrist",
}
FAT_UNITS = {"height": 25.4, "weight": 0.45359237}

Person = dict[str, float]
Slip = Callable[[str, float], list[float]]


class Held:
    """A person held out of the fit, and the models fitted without this person."""

    def __init__(self, sex: str, readings: Person, models: Mapping[str, BodyModel]) -> None:
        self.sex, self.readings, self.models = sex, readings, models


@cache
def held_out(seed: int = SEED) -> tuple[Held, ...]:
    """Return everybody of 'bdims', each with models fitted to the other nine folds."""
    data = {sex: adults(sex) for sex in SEXES}
    fold_of = {sex: folds(len(each), FOLDS, seed) for sex, each in data.items()}
    people = []
    for fold in range(FOLDS):
        models = fit({sex: each[fold_of[sex] != fold] for sex, each in data.items()})
        for sex, each in data.items():
            people += [Held(sex, person(row), models) for row in each[fold_of[sex] == fold]]
    return tuple(people)


def person(row: Iterable[float]) -> Person:
    """Return a row of the 14 dimensions as readings by code."""
    return {code: float(value) for code, value in zip(CODES, row, strict=True)}


@cache
def taped_by_others() -> tuple[Person, ...]:
    """Return the men of 'fat' in mm and kg, without the one whose height (29.5 in) is a slip of the data."""
    table = faraway.datasets.fat.load()
    table = table[table["height"] > 50]
    columns = {code: table[name].to_numpy(dtype=float) for code, name in FAT_COLUMNS.items()}
    return tuple(
        {code: float(values[row] * FAT_UNITS.get(code, 10.0)) for code, values in columns.items()}
        for row in range(len(table))
    )


def digits_swapped(code: str, value: float) -> list[float]:
    """Tens and units exchanged, in cm or kg; nothing where they are equal."""
    unit = 1 if code == "weight" else 10
    whole = int(value / unit + 1e-9)
    tens, units = whole // 10 % 10, whole % 10
    return [] if tens == units else [value + unit * 9 * (units - tens)]


def inches_for_cm(code: str, value: float) -> list[float]:
    """The figure in inches, to a tenth, typed as centimetres."""
    return [] if code == "weight" else [round(value / 25.4, 1) * 10]


def ten_cm(code: str, value: float) -> list[float]:
    """Ten centimetres more, and ten less."""
    return [] if code == "weight" else [value + 100, value - 100]


def ten_kg(code: str, value: float) -> list[float]:
    """Ten kilograms more, and ten less."""
    return [value + 10, value - 10] if code == "weight" else []


def factor_ten(code: str, value: float) -> list[float]:
    """The decimal point moved either way."""
    return [value * 10, value / 10]


SLIPS: dict[str, Slip] = {
    "tens and units swapped": digits_swapped,
    "inches for centimetres": inches_for_cm,
    "wrong by 10 cm": ten_cm,
    "wrong by 10 kg": ten_kg,
    "factor of ten": factor_ten,
}


class Rate:
    """Counts of hits among trials."""

    def __init__(self) -> None:
        self.hits = self.trials = 0

    def add(self, hits: int, trials: int = 1) -> None:
        """Count `hits` among `trials` more."""
        self.hits += hits
        self.trials += trials

    def __str__(self) -> str:
        """Show percent and count."""
        return f"{100 * self.share:7.2f} %  ({self.hits} of {self.trials})"

    @property
    def share(self) -> float:
        """Return hits per trial, 0 where nothing was tried."""
        return self.hits / self.trials if self.trials else 0.0


def false_flags(people: Iterable[Held], *, sex_known: bool = True) -> Rate:
    """Return how many honest readings of people held out are flagged, all 14 dimensions known."""
    rate = Rate()
    for each in people:
        found = check(each.readings, each.sex if sex_known else None, models=each.models, suggest=False)
        rate.add(len(found), len(each.readings))
    return rate


def detection(people: Iterable[Held], slip: Slip, *, sex_known: bool = True) -> tuple[Rate, dict[str, Rate]]:
    """Return how many slips are flagged, overall and by measure, one slip at a time."""
    rate = Rate()
    by_code: dict[str, Rate] = defaultdict(Rate)
    for each in people:
        sex = each.sex if sex_known else None
        for code, wrong in _slipped(each.readings, slip):
            found = check({**each.readings, code: wrong}, sex, models=each.models, suggest=False)
            hit = any(flag.code == code for flag in found)
            rate.add(hit)
            by_code[code].add(hit)
    return rate, by_code


def naming(people: Iterable[Held], slip: Slip) -> tuple[Rate, Rate]:
    """Return how many of the flagged slips have what was meant among the suggestions, and as the first."""
    among, first = Rate(), Rate()
    for each in people:
        for code, wrong in _slipped(each.readings, slip):
            found = check({**each.readings, code: wrong}, each.sex, models=each.models)
            for flag in found:
                if flag.code == code:
                    near = [abs(s.value / each.readings[code] - 1) < 0.005 for s in flag.suggestions]
                    among.add(any(near))
                    first.add(near[:1] == [True])
    return among, first


def swapped_fields(people: Iterable[Held]) -> dict[str, Rate]:
    """Return how often two readings that changed places are both flagged."""
    rates: dict[str, Rate] = defaultdict(Rate)
    for each in people:
        for one, other in (("waist_girth", "hip_girth"), ("height", "weight")):
            wrong = dict(each.readings)
            # The figures change places: 172 cm is typed as 172 kg.
            scale = 10.0 if other == "weight" else 1.0
            wrong[one], wrong[other] = each.readings[other] * scale, each.readings[one] / scale
            flagged = {flag.code for flag in check(wrong, each.sex, models=each.models, suggest=False)}
            rates[f"{one} and {other}"].add({one, other} <= flagged)
    return rates


def by_dimensions_known(people: Iterable[Held], sizes: Iterable[int]) -> dict[int, tuple[Rate, Rate]]:
    """Return, by how many dimensions are known (drawn at random), false flags and slips of 10 cm flagged."""
    draw = np.random.default_rng(SEED)
    rates: dict[int, tuple[Rate, Rate]] = {size: (Rate(), Rate()) for size in sizes}
    for each in people:
        for size, (honest, slipped) in rates.items():
            codes = [CODES[place] for place in sorted(draw.permutation(len(CODES))[:size])]
            known = {code: each.readings[code] for code in codes}
            honest.add(len(check(known, each.sex, models=each.models, suggest=False)), size)
            lengths = [code for code in codes if code != "weight"]
            code = lengths[int(draw.integers(len(lengths)))]
            wrong = known[code] + (100 if draw.random() < 0.5 else -100)
            found = check({**known, code: wrong}, each.sex, models=each.models, suggest=False)
            slipped.add(any(flag.code == code for flag in found))
    return rates


def by_band(people: Iterable[Held]) -> dict[str, tuple[int, Rate, Rate]]:
    """Return by BMI band: people, false flags with 14 dimensions known, and with 4 drawn at random."""
    draw = np.random.default_rng(SEED)
    result: dict[str, tuple[int, Rate, Rate]] = {}
    for each in people:
        few = {CODES[place]: each.readings[CODES[place]] for place in draw.permutation(len(CODES))[:4]}
        count, full, four = result.get(band := _band(each.readings), (0, Rate(), Rate()))
        full.add(len(check(each.readings, each.sex, models=each.models, suggest=False)), len(CODES))
        four.add(len(check(few, each.sex, models=each.models, suggest=False)), len(few))
        result[band] = (count + 1, full, four)
    return dict(sorted(result.items()))


def studio_elsewhere(learned_from: int, draws: int = 20) -> tuple[Rate, dict[str, Rate], Rate]:
    """Judge men taped by others with offsets learned on `learned_from` other men of the same data.

    Returns false flags overall and by BMI band, and the digit swaps flagged; 0 learned from: no offsets.
    """
    men = taped_by_others()
    draw = np.random.default_rng(SEED)
    rate, swaps = Rate(), Rate()
    bands: dict[str, Rate] = defaultdict(Rate)
    for _ in range(draws if learned_from else 1):
        order = draw.permutation(len(men))
        offsets = learn_offsets([men[place] for place in order[:learned_from]], "male")
        for place in order[learned_from:]:
            found = check(men[place], "male", offsets=offsets, suggest=False)
            rate.add(len(found), len(men[place]))
            bands[_band(men[place])].add(len(found), len(men[place]))
        for place in order[learned_from : learned_from + 20]:
            for code, wrong in _slipped(men[place], digits_swapped):
                found = check({**men[place], code: wrong}, "male", offsets=offsets, suggest=False)
                swaps.add(any(flag.code == code for flag in found))
    return rate, dict(sorted(bands.items())), swaps


def _slipped(readings: Person, slip: Slip) -> Iterator[tuple[str, float]]:
    for code, value in readings.items():
        for wrong in slip(code, value):
            if wrong > 0:
                yield code, wrong


def _band(readings: Person) -> str:
    bmi = readings[CODES[WEIGHT]] / (readings[CODES[HEIGHT]] / 1000) ** 2
    place = int(np.searchsorted(np.array(BANDS), bmi, side="right")) - 1
    return f"{BANDS[place]:4.1f} to {BANDS[place + 1]:5.1f}"


def main() -> None:
    """Print all tables."""
    say = sys.stdout.write
    people = held_out()
    say("People held out of the fit (10 folds), all 14 dimensions known\n")
    thresholds = sorted({each.models["female"].threshold for each in people})
    say(f"  thresholds of the folds               {thresholds}\n")
    say(f"  honest readings flagged, sex known    {false_flags(people)}\n")
    say(f"  honest readings flagged, sex unknown  {false_flags(people, sex_known=False)}\n")
    tables = {}
    for name, slip in SLIPS.items():
        rate, tables[name] = detection(people, slip)
        say(f"  {name:36}  {rate}\n")
    for name in ("tens and units swapped", "wrong by 10 cm"):
        say(f"  {name + ', sex unknown':36}  {detection(people[::4], SLIPS[name], sex_known=False)[0]}\n")
    for name, rate in swapped_fields(people).items():
        say(f"  {name + ' swapped':36}  {rate}\n")
    say("\nFlagged by measure, percent\n")
    say(f"  {'':18}{'digits':>8}{'inches':>8}{'10 cm':>8}\n")
    for code in CODES:
        cells = [tables[name].get(code) for name in list(SLIPS)[:3]]
        say(f"  {code:18}" + "".join(f"{100 * c.share:8.1f}" if c else f"{'-':>8}" for c in cells) + "\n")
    say("\nWhat was meant, among the suggestions / as the first, of flagged slips (every 8th person)\n")
    for name, slip in SLIPS.items():
        among, first = naming(people[::8], slip)
        say(f"  {name:36}  {among}  {first}\n")
    say("\nBy number of dimensions known: honest readings flagged, slips of 10 cm flagged\n")
    for size, (honest, slipped) in by_dimensions_known(people, (2, 3, 4, 6, 8, 11, 14)).items():
        say(f"  {size:2}  {honest}  {slipped}\n")
    say("\nBy BMI band: people, honest readings flagged with 14 known, with 4 known\n")
    for band, (count, full, four) in by_band(people).items():
        say(f"  {band}  {count:4}  {full}  {four}\n")
    say("\nMen taped by others ('fat', 11 dimensions): honest readings flagged, digit swaps flagged\n")
    for count in (0, 5, 10, 20, 50):
        rate, bands, swaps = studio_elsewhere(count)
        say(f"  offsets from {count:2} men  {rate}  {swaps}\n")
        if count in (0, 20):
            for band, each in bands.items():
                say(f"      BMI {band}  {each}\n")
    shifts = ", ".join(f"{code} {mm:+.1f}" for code, mm in learn_offsets(taped_by_others(), "male").items())
    say(f"  offsets from all men (mm, kg): {shifts}\n")


if __name__ == "__main__":
    main()
