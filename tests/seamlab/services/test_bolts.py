"""Two people cut the same bolt at the same moment."""

from decimal import Decimal
from threading import Barrier, Thread
from typing import Any

from django.db import connections

from seamlab.queries import bolts as queries
from seamlab.services import bolts
from studio.platform.errors import Refused
from tests.conftest import found_house, real_transactions
from tests.seamlab import sewing_room


@real_transactions
def test_no_metre_is_cut_twice():
    house = found_house("Thimble Row")
    with house.scope():
        cloth = sewing_room.cloth(house.instructor)
        bolt = bolts.record_bolt(house.instructor, cloth_id=cloth.pk, label="T-1", length_mm=Decimal(10_000))
    start, told = Barrier(4), []

    def cut(metres: int) -> None:
        try:
            start.wait(10)
            with house.scope():
                record: Any = bolts.cut_bolt(
                    house.instructor, bolt.pk, length_mm=Decimal(metres * 1000), reason=f"piece of {metres} m"
                )
            told.append((record.number, record.remaining_mm))
        except Refused as exc:
            told.append(exc.reasons["length_mm"])
        finally:
            connections.close_all()

    threads = [Thread(target=cut, args=(4,)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    kept = sorted(row for row in told if isinstance(row, tuple))
    assert kept == [(1, Decimal(6000)), (2, Decimal(2000))]
    assert [row for row in told if isinstance(row, str)] == [
        "Only 2 m remain on T-1: 4 m can't be cut off. If more lies there, count the bolt again first."
    ] * 2
    with house.scope():
        assert queries.bolt_get(house.instructor, bolt.pk).remaining_mm == Decimal(2000)
