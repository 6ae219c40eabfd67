"""``python -m tests.faults [--kills 200] [--seed 1] [--data folder]``: kills at random, then tells what was lost."""

import argparse
import json
import os
import shutil
import socket
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

CLIENTS = 8
PROGRAMS = 4


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1, help="the same seed makes the same choices")
    parser.add_argument("--data", type=Path, help="an empty folder to work in (default: a temporary one)")
    parser.add_argument(
        "--pause", type=float, nargs=2, default=(2.0, 9.0), help="seconds between kills, least and most"
    )
    parser.add_argument("--json", type=Path, help="write the figures there as well")
    given = parser.parse_args()
    data = Path(tempfile.mkdtemp(prefix="faults-")) if given.data is None else given.data.resolve()
    data.mkdir(parents=True, exist_ok=True)
    if (data / "postgres").exists():
        parser.error(f"{data} holds an installation already: choose an empty folder.")
    for name in [
        name for name in os.environ if name.startswith(("DATABASE_", "STUDIO_", "CELERY_", "SECRET_KEY"))
    ]:
        del os.environ[name]  # an installation of its own, whatever this shell works with
    os.environ |= {
        "STUDIO_DATA": str(data),
        "DJANGO_SETTINGS_MODULE": "studio.config.settings",
        "LOG_LEVEL": "ERROR",
    }
    import django

    django.setup()
    figures = run(data, kills=given.kills, seed=given.seed, pause=tuple(given.pause), say=say)
    print(table(figures))  # noqa: T201 - the command's answer
    if given.json:
        given.json.write_text(json.dumps(figures, indent=1))
    clean = not (figures["lost"] or figures["doubled"] or figures["wrong"] or figures["troubles"])
    if clean and given.data is None:
        shutil.rmtree(data, ignore_errors=True)
    else:
        say(f"What it left, with the log of serve, lies in {data}")
    return 0 if clean else 1


def say(words: str) -> None:
    print(time.strftime("%H:%M:%S"), words, file=sys.stderr, flush=True)  # noqa: T201 - how far it is


def set_up() -> tuple[Any, dict[str, str]]:
    """The invented studio with clients of the programs' own; returns (scene, token by program)."""
    from fitting.models import Garment, PatternSize
    from fitting.models.lay import LayPlan
    from studio.config.demo.story import tell
    from studio.models import Client
    from studio.platform.database.scope import studio_scope
    from studio.platform.services.people import make_token
    from studio.services.clients import record_client
    from tests.faults.programs import Scene

    demo = tell()
    with studio_scope(demo.owner.studio_id):
        made = [
            record_client(demo.instructor, name=name, consent_by=name)
            for name in (f"Invented Person {number:02d}" for number in range(CLIENTS))
        ]
        lay = LayPlan.objects.order_by("id").first()
        line = lay.lines.first()
        garments = [demo.garment_id]
        garments += (
            Garment.objects.exclude(pk=demo.garment_id)
            .filter(sessions__isnull=False)
            .values_list("pk", flat=True)
        )
        scene = Scene(
            clients=[str(row.pk) for row in made],
            shared=[str(row.pk) for row in made[:2]],
            garments=[str(pk) for pk in dict.fromkeys(garments)],
            cloth=str(lay.cloth_id),
            pattern=str(line.pattern_id),
            size=str(PatternSize.objects.get(pk=line.size_id).pk),
        )
        assert Client.objects.filter(pk__in=scene.shared, version=1).count() == len(scene.shared)
        # Owners may do everything; two of the programs share a member, so that keys of one meet those of the other.
        tokens = {f"program-{n}": make_token(demo.owner, name=f"program {n}")[1] for n in range(PROGRAMS)}
    return scene, tokens


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def run(
    data: Path, *, kills: int, seed: int, pause: tuple[float, float], say: Callable[[str], None]
) -> dict[str, Any]:
    """Set up, load, kill, wait, look; returns the figures of the table."""
    from django.db import connections

    from studio.config.demo import scenario
    from studio.config.opening import opened
    from tests.faults import checks
    from tests.faults.installation import Installation
    from tests.faults.killer import kill_at_random
    from tests.faults.programs import Caller, Ledger, Program, Reader

    started = time.monotonic()
    with opened():
        scene, tokens = set_up()
        before = checks.ids_before()
        connections.close_all()
    house = Installation(data, free_port())
    ledger, until, random = Ledger(), threading.Event(), Random(seed)
    try:
        house.start()
        if not house.answers(90):
            raise SystemExit(f"serve did not answer within 90 s; its words are in {data / 'serve.log'}")
        say(f"serve answers after {time.monotonic() - started:.0f} s; {kills} kills begin")
        threads: list[threading.Thread] = [
            Program(name, Caller(house.address, token, ledger), scene, Random(f"{seed} {name}"), until, 0.4)
            for name, token in tokens.items()
        ]
        threads.append(Reader(house.address, scenario.INSTRUCTOR[1], scenario.PASSWORD, ledger, until))
        for one in threads:
            one.start()
        begun = time.monotonic()
        killed = kill_at_random(house, kills, random, pause=pause, say=say)
        under_load = time.monotonic() - begun
        begun = time.monotonic()
        until.set()
        keeper = threading.Event()
        threading.Thread(target=_keep_up, args=(house, keeper), daemon=True).start()
        say("every kill is done; the programs finish what they have in hand")
        for one in threads:
            one.join(600)
            if one.is_alive():
                ledger.troubles.append(f"{one.name} did not come to an end")
        caller = Caller(house.address, tokens["program-0"], ledger)
        ended = _all_ended(ledger, caller, say)
        to_drain = time.monotonic() - begun
        drained = ended and _nothing_left(say)
        jobs = _jobs(before)
        found = checks.look(ledger, before)
        keeper.set()
        if not drained:
            found.wrong.append("jobs or messages were left after the time given")
    finally:
        until.set()
        house.stop()
    return {
        "killed": dict(killed), "seconds_under_load": round(under_load),
        "acknowledged": {kind: len(acts) for kind, acts in sorted(ledger.acts.items())},
        "counts": dict(sorted(ledger.counts.items())), "perhaps": len(ledger.perhaps),
        "jobs": jobs, "seconds_to_drain": round(to_drain, 1), "starts_of_serve": house.starts,
        "lost": found.lost, "doubled": found.doubled, "wrong": found.wrong, "troubles": ledger.troubles,
    }  # fmt: skip


def _keep_up(house: Any, done: threading.Event) -> None:
    while not done.wait(0.5):
        house.keep_up()


def _all_ended(ledger: Any, caller: Any, say: Callable[[str], None]) -> bool:
    """Wait until all jobs ended, trying failed ones again as a person would."""
    from tests.faults import checks

    with checks.connected() as reader:
        for _ in range(5):
            if not checks.wait_until_quiet(reader, 300):
                return False
            failed = checks.failed_jobs(reader)
            if not failed:
                return True
            for row in failed:
                say(f"job {row['kind']} failed after {row['attempts']} attempts: {row['error']}")
                ledger.count("jobs tried again by hand")
                caller.ask("POST", f"jobs/{row['id']}/retry/", {})
    return False


def _nothing_left(say: Callable[[str], None]) -> bool:
    """Let the messages that killed workers had fetched come back: they must change nothing, and the queue is empty."""
    from tests.faults import checks

    say("every job has ended; messages that killed workers had fetched are handed out again")
    checks.an_hour_passes()
    end = time.monotonic() + 120
    # The scheduler's own two messages come and go.
    while checks.messages() > 1 and time.monotonic() < end:
        time.sleep(0.3)
    with checks.connected() as reader:
        return checks.messages() <= 1 and checks.wait_until_quiet(reader, 60)


def _jobs(before: dict[str, set[str]]) -> dict[str, Any]:
    from tests.faults import checks

    with checks.connected() as reader:
        rows = reader.execute("select id, kind, state, attempts from platform_job").fetchall()
    fresh = [row for row in rows if str(row["id"]) not in before["platform_job"]]
    return {
        "asked for": len(fresh),
        "by state": dict(Counter(row["state"] for row in fresh)),
        "by attempts": dict(sorted(Counter(str(row["attempts"]) for row in fresh).items())),
    }


def table(figures: dict[str, Any]) -> str:
    """The figures in words, as Markdown."""
    killed, counts, acknowledged = figures["killed"], figures["counts"], figures["acknowledged"]
    lines = ["| killed by SIGKILL | times |", "|---|---|"]
    lines += [f"| {name} | {times} |" for name, times in sorted(killed.items(), key=lambda pair: -pair[1])]
    lines += [f"| **all** in {figures['seconds_under_load']} s | **{sum(killed.values())}** |", ""]
    lines += ["| | |", "|---|---|"]
    lines += [f"| acknowledged: {kind} | {times} |" for kind, times in acknowledged.items()]
    lines += [
        f"| acknowledged in all | {sum(acknowledged.values())} |",
        f"| asked again | {counts.get('asked again', 0)} |",
        f"| jobs asked for | {figures['jobs']['asked for']} |",
        f"| jobs by attempts | {figures['jobs']['by attempts']} |",
        f"| failed and tried again by hand | {counts.get('jobs tried again by hand', 0)} |",
        f"| seconds from the last kill until every job had ended | {figures['seconds_to_drain']} |",
        f"| lost | {len(figures['lost'])} |",
        f"| doubled | {len(figures['doubled'])} |",
        f"| otherwise wrong | {len(figures['wrong']) + len(figures['troubles'])} |",
    ]
    for name in ("lost", "doubled", "wrong", "troubles"):
        lines += [f"{name}: {words}" for words in figures[name][:40]]
    lines.append("counted: " + ", ".join(f"{name} {times}" for name, times in counts.items()))
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
