"""How well cloth is used: `python -m tests.bench.lay instance.json [more.json ...] [--seconds 60] [--one-way]`.

Reads strip packing instances in the common JSON form (name, items with demand, allowed_orientations and shape,
strip_height) from wherever they lie, lays each with the product's own search, checks it with Shapely, and prints the
density beside the best known one. Best known lengths: Gardeyn et al., arXiv 2509.13329, Table 3.
"""

import argparse
import json
import resource
import sys
from dataclasses import replace
from pathlib import Path
from time import perf_counter

from shapely import Polygon

from fitting.calc.lay import lay_both_ways
from fitting.calc.lay_check import check_lay
from fitting.calc.lay_rules import TWO_WAY, LayCloth, LayPiece, Placement, normal_turn
from fitting.calc.lay_solver import SolverItem, Task, pack

BEST_LENGTH = {
    "albano": 9692.056,
    "dagli": 56.087,
    "jakobs1": 10.980,
    "jakobs2": 22.000,
    "mao": 1696.802,
    "marques": 75.176,
    "shirts": 59.393,
    "swim": 5541.653,
    "trousers": 235.172,
    "shapes0": 57.012,
    "shapes1": 52.002,
}


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def items_of(instance: dict, one_way: bool) -> list[SolverItem]:
    found = []
    for number, item in enumerate(instance["items"]):
        shape = item["shape"]
        points = shape["data"] if isinstance(shape, dict) else shape
        points = points["outer"] if isinstance(points, dict) else points
        ring = [(float(x), float(y)) for x, y in points]
        ring = ring[:-1] if ring[0] == ring[-1] else ring
        turns = [0.0] if one_way else [float(turn) for turn in item.get("allowed_orientations") or [0.0]]
        found.append(SolverItem(str(item.get("id", number)), ring, int(item["demand"]), turns))
    return found


def wrongs(
    items: list[SolverItem], height: float, placed: list[tuple[str, float, float, float]]
) -> list[str]:
    """What Shapely finds wrong, in units scaled so that the strip is 1500 mm wide."""
    scale = 1500 / height
    by_key = {item.key: item for item in items}
    # Turns of any set are allowed by giving every placement its own shape, turned already; its turn is checked here.
    pieces, placements, bad = [], [], []
    for number, (key, x, y, turn) in enumerate(placed):
        turned = normal_turn(turn)
        if all(abs((turned - allowed + 180) % 360 - 180) > 1e-3 for allowed in by_key[key].turns):
            bad.append(f"{key} is turned by {turned}")
        ring = tuple((a * scale, b * scale) for a, b in by_key[key].shape)
        pieces.append(LayPiece(str(number), key, ring, grain_change=turned))
        placements.append(Placement(str(number), False, x * scale, y * scale, turned))
    left = min(x for one, piece in zip(placements, pieces, strict=True) for x, _ in _at(piece, one))
    placements = [replace(one, x=one.x - left) for one in placements]
    return bad + [problem.words for problem in check_lay(pieces, LayCloth(1500, "not_known"), placements)]


def _at(piece: LayPiece, one: Placement):
    from fitting.calc.lay_rules import laid

    return laid(piece, one)


def _cpu() -> float:
    """Processor time of ended children: on a busy machine the clock alone says little."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def both_ways(path: Path, seconds: int) -> None:
    """As a studio asks for it: both directions side by side, the half turns allowed by the cloth."""
    instance = json.loads(path.read_text())
    items, height = items_of(instance, False), float(instance["strip_height"])
    if any(set(item.turns) - {0.0, 180.0} for item in items):
        tell(f"{instance['name']}: turns pieces by other than half turns, which no cloth allows; left out")
        return
    scale = 1500 / height
    pieces = [
        LayPiece(str(n), item.key, tuple((x * scale, y * scale) for x, y in item.shape), count=item.count)
        for n, item in enumerate(items)
    ]
    found = lay_both_ways(pieces, LayCloth(1500, TWO_WAY), seconds=seconds, early=False)
    tell(
        f"{instance['name']}: two-way {found.two_way.density:.2f} %, one-way {found.one_way.density:.2f} %, "
        f"the price of one way {100 * found.price_of_one_way / found.two_way.length:.1f} % more cloth"
    )


def bench(path: Path, seconds: int, one_way: bool) -> None:
    instance = json.loads(path.read_text())
    items, height = items_of(instance, one_way), float(instance["strip_height"])
    area = sum(Polygon(item.shape).area * item.count for item in items)
    started, before = perf_counter(), _cpu()
    found = pack([Task(items, height, workers=2)], seconds=seconds, seed=1, early=False, tell=None)[0]
    took, cpu = perf_counter() - started, _cpu() - before
    wrong = wrongs(items, height, list(found.placed))
    density = 100 * area / (height * found.length)
    best = BEST_LENGTH.get(instance["name"].lower().removesuffix(".json"))
    beside = ""
    if best and not one_way:
        record = 100 * area / (height * best)
        beside = f"; best known {record:.2f} %, {record - density:.2f} points more"
    tell(
        f"{instance['name']}: {sum(item.count for item in items)} pieces, length {found.length:.3f}, "
        f"density {density:.2f} % in {took:.0f} s "
        f"({cpu:.0f} s of processor){beside}; {len(wrong)} things wrong"
    )
    for line in wrong[:5]:
        tell(f"  {line}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--one-way", action="store_true", help="no half turns, whatever the instance allows")
    parser.add_argument("--both-ways", action="store_true", help="both directions at once, as a studio asks")
    given = parser.parse_args()
    for path in given.files:
        if given.both_ways:
            both_ways(path, given.seconds)
            continue
        bench(path, given.seconds, given.one_way)


if __name__ == "__main__":
    main()
