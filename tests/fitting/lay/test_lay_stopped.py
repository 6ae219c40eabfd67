"""A search that is stopped, or whose packer or worker is killed: nothing is half-saved, no process is left."""

import os
import signal
import time
from typing import Any

import psutil
import pytest

from fitting.models import LayDrawing, LayPlan
from fitting.services.lays import ask_lay
from studio.platform.models import Job
from studio.platform.services.jobs import cancel_job
from tests.conftest import found_house, real_transactions
from tests.fitting.lay.conftest import make_cloth, make_skirt
from tests.fitting.lay.test_lays import lines
from tests.jobs.conftest import kill, worker

pytestmark = [real_transactions, pytest.mark.slow]
SECONDS = 60


@pytest.fixture
def house(transactional_db: Any) -> Any:
    return found_house("Thimble Row")


@pytest.fixture
def asked(house: Any) -> LayPlan:
    """A lay whose search takes its time."""
    with house.scope():
        skirt = make_skirt(house.instructor)
        cloth = make_cloth(house.instructor, "Sail poplin", width=1370, direction="two_way")
        return ask_lay(house.instructor, cloth_id=cloth.pk, lines=lines(skirt), seconds=SECONDS)


def packers(process: Any) -> list[psutil.Process]:
    """The packer's processes below a worker."""
    try:
        below = psutil.Process(process.pid).children(recursive=True)
        return [one for one in below if "lay_child.py" in " ".join(one.cmdline())]
    except psutil.NoSuchProcess:
        return []


def wait_for(condition: Any, seconds: float = 60) -> Any:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = condition()
        if found:
            return found
        time.sleep(0.1)
    pytest.fail(f"it did not happen within {seconds} s")


def gone(processes: list[psutil.Process]) -> bool:
    return not any(one.is_running() and one.status() != psutil.STATUS_ZOMBIE for one in processes)


def state_of(house: Any, lay: LayPlan) -> tuple[str, int]:
    with house.scope():
        job = Job.objects.get(pk=lay.job_id)
        return job.state, LayDrawing.objects.filter(lay=lay).count()


def test_stopping_a_search_stops_its_packer_and_keeps_what_was_there(house: Any, asked: LayPlan) -> None:
    before = state_of(house, asked)[1]
    with worker("", app="studio.config.celery:app") as process:
        running = wait_for(lambda: packers(process))
        with house.scope():
            cancel_job(house.instructor, asked.job_id)
        wait_for(lambda: gone(running) and not packers(process), 15)
        assert process.poll() is None, "the worker goes on"
    assert state_of(house, asked) == ("cancelled", before)


def test_a_packer_that_is_killed_ends_the_search_and_leaves_nothing_by_halves(
    house: Any, asked: LayPlan
) -> None:
    before = state_of(house, asked)[1]
    with worker("", app="studio.config.celery:app") as process:
        for one in wait_for(lambda: len(packers(process)) == 2 and packers(process)):
            one.kill()
        wait_for(lambda: state_of(house, asked)[0] not in ("waiting", "working"))
        assert process.poll() is None, "the worker goes on"
    with house.scope():
        job = Job.objects.get(pk=asked.job_id)
    # What the packers had told before they died is a checked lay; where they had told none, it is a sentence.
    assert job.state == "done" or "stopped without an answer" in job.error
    assert state_of(house, asked)[1] == before + (2 if job.state == "done" else 0)


def test_a_killed_worker_takes_its_packers_along(house: Any, asked: LayPlan) -> None:
    before = state_of(house, asked)[1]
    with worker("", app="studio.config.celery:app") as process:
        running = wait_for(lambda: packers(process))
        os.killpg(process.pid, signal.SIGKILL)
        wait_for(lambda: gone(running), 15)
        kill(process)
    assert state_of(house, asked) == ("working", before), "its lease runs out, then another takes it up"
