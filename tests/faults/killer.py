"""Who is killed, and when: a seeded choice among what runs."""

import time
from collections import Counter
from collections.abc import Callable
from random import Random

import psutil

from tests.faults.installation import Installation, kill, words_of

Victims = Callable[[Installation], list[psutil.Process]]


def _masters(*words: str) -> Victims:
    """The oldest process whose command line holds all the words: the one that ``serve`` started."""

    def find(house: Installation) -> list[psutil.Process]:
        found = [one for one in house.parts() if all(word in words_of(one) for word in words)]
        return sorted(found, key=lambda one: one.create_time())[:1]

    return find


def _children(*words: str) -> Victims:
    def find(house: Installation) -> list[psutil.Process]:
        found = [one for one in house.parts() if all(word in words_of(one) for word in words)]
        return sorted(found, key=lambda one: one.create_time())[1:]

    return find


def _backends(house: Installation) -> list[psutil.Process]:
    """Those that serve a connection; the server's own helpers are not among them."""
    return [one for one in house.database() if "studio_" in words_of(one)]


def _postmaster(house: Installation) -> list[psutil.Process]:
    found = house.postmaster()
    return [found] if found else []


def _everything(house: Installation) -> list[psutil.Process]:
    serve = [psutil.Process(house.process.pid)] if house.process and house.process.poll() is None else []
    return [*serve, *_postmaster(house), *house.parts(), *house.database()]


def _serve(house: Installation) -> list[psutil.Process]:
    return [psutil.Process(house.process.pid)] if house.process and house.process.poll() is None else []


# kind: (how often beside the others, whether all that are found are killed, who)
KINDS: dict[str, tuple[int, bool, Victims]] = {
    "web": (2, False, _masters("gunicorn")),
    "web child": (4, False, _children("gunicorn")),
    "worker": (2, False, _masters("--queues general")),
    "worker child": (4, False, _children("--queues general")),
    "reports worker": (2, False, _masters("--queues reports")),
    "reports worker child": (4, False, _children("--queues reports")),
    "scheduler": (2, False, _masters("celery", "beat")),
    "solver": (3, False, _masters("lay_child.py")),
    "database backend": (4, False, _backends),
    "database": (3, False, _postmaster),
    "serve": (1, False, _serve),
    "everything at once": (2, True, _everything),
}


def kill_at_random(
    house: Installation, kills: int, random: Random, *, pause: tuple[float, float], say: Callable[[str], None]
) -> Counter[str]:
    """Kill ``kills`` times with random pauses (seconds); returns how many of each kind died."""
    done: Counter[str] = Counter()
    names = list(KINDS)
    weights = [KINDS[name][0] for name in names]
    missed = 0
    while done.total() < kills:
        time.sleep(random.uniform(*pause))
        house.keep_up()
        name = random.choices(names, weights)[0]
        _, all_of_them, who = KINDS[name]
        victims = who(house)
        chosen = victims if all_of_them else [random.choice(victims)] if victims else []
        if not sum(kill(one) for one in chosen):  # a sum: every one of them is killed
            missed += 1
            if missed > 100 + 20 * kills:
                raise RuntimeError("There was hardly anything to kill: does the studio start at all?")
            continue
        done[name] += 1
        if done.total() % 10 == 0:
            say(f"{done.total()} of {kills} kills")
        house.keep_up()
    return done
