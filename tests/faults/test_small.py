"""A few kills, seeded; the 200 are for whoever runs ``python -m tests.faults``."""

import json
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil
import pytest

from tests.faults.installation import ROOT, words_of
from tests.jobs.conftest import worker


@pytest.fixture
def a_folder():
    """Not pytest's own, whose parents are closed to the database's system user; and short, for its socket."""
    folder = Path(tempfile.mkdtemp(prefix="f"))
    folder.chmod(0o711)
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


@pytest.mark.slow
def test_a_few_kills_lose_nothing_and_double_nothing(a_folder):
    figures = a_folder / "figures.json"
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults", "--kills", "6", "--pause", "0.5", "2", "--seed", "3",
         "--data", str(a_folder), "--json", str(figures)],
        cwd=ROOT, capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    found = json.loads(figures.read_text())
    assert sum(found["killed"].values()) == 6
    assert sum(found["acknowledged"].values()) > 0
    assert (found["lost"], found["doubled"], found["wrong"], found["troubles"]) == ([], [], [], [])


@pytest.mark.django_db(transaction=True, databases=["default", "owner"])
def test_a_worker_whose_child_was_killed_ends_rather_than_look_alive():
    """The child that waits holds the lock of the pipe: whoever takes its place would wait for ever."""
    with worker("") as process:
        children: list[psutil.Process] = []
        end = time.monotonic() + 60
        while not children and time.monotonic() < end:
            time.sleep(0.2)
            children = [one for one in psutil.Process(process.pid).children() if "--queues" in words_of(one)]
        time.sleep(1)  # it takes the lock when it is ready for its first task
        children[0].kill()
        assert process.wait(30) == 70


def test_a_killed_database_is_started_again(a_folder):
    from studio.config.embedded import is_up, running, start_again_if_killed

    folder = a_folder / "postgres"
    with running(folder):
        assert not start_again_if_killed(folder)
        pid = int((folder / "postmaster.pid").read_text().splitlines()[0])
        psutil.Process(pid).kill()
        # As a power cut in the middle of a start leaves it: half written.
        (folder / "postmaster.pid").write_text(f"{pid}\n")
        for _ in range(100):
            if not is_up(folder):
                break
            time.sleep(0.1)
        assert start_again_if_killed(folder)
        assert is_up(folder)
    assert not is_up(folder)
