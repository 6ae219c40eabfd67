"""A worker that is killed in the middle of a take-over leaves nothing behind, and the next one does all of it once."""

import time

from studio.models import Client, Measuring, Reading, ReadingImport
from studio.platform.jobs import sweep
from tests.conftest import found_house, real_transactions
from tests.jobs.conftest import broker, kill, until, worker  # noqa: F401 - fixtures
from tests.studio.transfer.invented import LONG, as_csv, checked, mapped, new_clients, seen, uploaded

pytestmark = real_transactions
MANY = 40
STOPPING = "tests.studio.transfer.stopping_worker:app"


def counted(house):
    with house.scope():
        return Client.objects.count(), Measuring.objects.count(), Reading.objects.count()


def test_nothing_is_half_saved(transactional_db, broker, until, tmp_path):  # noqa: F811 - fixtures
    from studio.services import transfer

    house = found_house("Thimble Row")
    rows = [
        (f"Person {n}", "1980-01-01", "2026-05-04", code, "100", "cm", 1)
        for n in range(MANY)
        for code in ("hip_girth", "bust_girth")
    ]
    row = uploaded(house, as_csv(LONG, rows))
    mapped(house, row, **new_clients())
    row = checked(house, row)
    assert row.problem_count == 0
    with house.scope():
        job = transfer.take_over_readings(house.owner, row.pk).job
    reached = tmp_path / "reached"
    # The first worker stops for good after half of the readings are inserted, before the commit.
    with worker(broker, app=STOPPING, STOP_IN_TAKE_OVER=str(reached), JOB_LEASE_SECONDS="2") as first:
        end = time.monotonic() + 60
        while not reached.exists() and time.monotonic() < end:
            time.sleep(0.05)
        assert reached.read_text() == str(MANY)
        assert counted(house) == (0, 0, 0)
        kill(first)
    assert counted(house) == (0, 0, 0)
    assert seen(house, row).state == ReadingImport.State.CHECKED
    with worker(broker, JOB_LEASE_SECONDS="2"):
        end = time.monotonic() + 60
        while time.monotonic() < end and seen(house, row).state != ReadingImport.State.TAKEN_OVER:
            sweep()
            time.sleep(0.5)
        done = until(house.studio_id, job.pk, lambda found: found.state == "done")
    assert done.attempts == 2
    assert counted(house) == (MANY, MANY, 2 * MANY)
    with house.scope():
        assert Client.objects.values("name").distinct().count() == MANY
