"""The solver's own process: reads one task from standard input, tells every better lay on standard output.

It runs apart so that a panic of the solver, or an end put to it, harms nobody else; it imports nothing of the
house and is started by its path. Task and answers are lines of JSON:

    {"width", "seconds", "seed", "workers", "early", "patience", "items": [{"id", "count", "turns", "shape"}]}
    {"length", "placed": [[id, x, y, turn], ...]}          a lay that keeps every rule of the task
    {"done": true}                                         the lay told just before is the answer

When its standard input closes, its parent is gone and it ends.
"""

import json
import os
import sys
import threading
from typing import Any

import spyrrow

LOOK_EVERY_SECONDS = 0.2


def main() -> None:
    task = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    os.nice(task["patience"])
    items = [
        spyrrow.Item(item["id"], [(x, y) for x, y in item["shape"]], item["count"], item["turns"])
        for item in task["items"]
    ]
    instance = spyrrow.StripPackingInstance("lay", task["width"], items)
    # Most of the time looks for a shorter lay, the rest presses the best one together; no time: the first lay.
    explore = round(task["seconds"] * 0.8)
    config = spyrrow.StripPackingConfig(
        early_termination=task["early"],
        total_computation_time=None,
        exploration_time=explore,
        compression_time=task["seconds"] - explore,
        num_workers=task["workers"],
        seed=task["seed"],
    )
    reports = spyrrow.ProgressQueue()
    best = [float("inf")]
    ended = threading.Event()
    watcher = threading.Thread(target=_watch, args=(reports, best, ended), daemon=True)
    watcher.start()
    try:
        solution = instance.solve(config, reports)
    finally:
        ended.set()
        watcher.join()
    best[0] = float("inf")  # the last answer stands, whatever was told on the way
    _tell(solution, best)
    _say({"done": True})


def _watch(reports: spyrrow.ProgressQueue, best: list[float], ended: threading.Event) -> None:
    feasible = ("ExplFeas", "CmprFeas", "Final")
    while not ended.wait(LOOK_EVERY_SECONDS):
        found = [solution for kind, solution in reports.drain() if str(kind).rpartition(".")[2] in feasible]
        if found:
            _tell(min(found, key=lambda solution: solution.width), best)


def _tell(solution: spyrrow.StripPackingSolution, best: list[float]) -> None:
    if solution.width >= best[0]:
        return
    best[0] = solution.width
    placed = [
        [item.id, item.translation[0], item.translation[1], item.rotation] for item in solution.placed_items
    ]
    _say({"length": solution.width, "placed": placed})


def _say(message: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


def _end_with_parent() -> None:
    while sys.stdin.readline():
        pass
    os._exit(1)


if __name__ == "__main__":
    main()
