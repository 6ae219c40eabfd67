"""Testing a cloth by two or three tape readings: stretch and recovery, change by washing."""
# ruff: noqa: PT028 - test_stretch and test_wash test cloth, not code

from datetime import datetime
from decimal import Decimal
from uuid import UUID

from seamlab.calc.cloth import dimensional_change, recovery_percent, stretch_percent
from seamlab.models import Cloth, ClothTest
from seamlab.models.cloth import WAYS
from seamlab.services.checks import Checks, hundredths, moment, plain
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new

# Beyond these a unit was mixed up. Common practice, no source.
MOST_LENGTH_MM = Decimal(20_000)
LEAST_TEST_MM = Decimal(20)  # on a shorter mark one millimetre of the tape is already 5 %
MOST_STRETCH_PERCENT = 500.0
MOST_GROWTH_PERCENT = 100.0
MOST_SHRINKAGE_PERCENT = -80.0


def test_stretch(
    actor: Actor,
    cloth_id: UUID,
    *,
    way: str,
    relaxed_mm: Decimal,
    stretched_mm: Decimal,
    released_mm: Decimal | None = None,
    tested_at: datetime | None = None,
    note: str = "",
) -> ClothTest:
    """Add a stretch test: a marked length relaxed, pulled, and (if taped) let go again.

    Raises NotHere, and Refused naming way, relaxed_mm, stretched_mm, released_mm or tested_at.
    """
    actor.need(Right.KEEP_SEAMS)
    when = moment(tested_at, "tested_at")
    checks = Checks()
    checks.one_of("way", way, dict(WAYS), "The way")
    _check_lengths(
        checks,
        relaxed_mm=("Relaxed", relaxed_mm),
        stretched_mm=("Stretched", stretched_mm),
        released_mm=("Released", released_mm),
    )
    checks.done()
    checks.need(
        relaxed_mm >= LEAST_TEST_MM,
        "relaxed_mm",
        f"{plain(relaxed_mm)} mm is too short: mark {plain(LEAST_TEST_MM)} mm or more (100 mm is usual).",
    )
    checks.need(
        stretched_mm >= relaxed_mm,
        "stretched_mm",
        f"Stretched, {plain(stretched_mm)} mm, is shorter than relaxed, {plain(relaxed_mm)} mm: "
        "tape both again.",
    )
    if released_mm is not None:
        checks.need(
            released_mm <= stretched_mm,
            "released_mm",
            f"Released, {plain(released_mm)} mm, is longer than stretched, {plain(stretched_mm)} mm: "
            "tape both again.",
        )
    checks.done()
    percent = stretch_percent(float(relaxed_mm), float(stretched_mm))
    checks.need(
        percent <= MOST_STRETCH_PERCENT,
        "stretched_mm",
        f"That is {percent:.0f} % of stretch, more than any cloth gives: check the units of both lengths.",
    )
    checks.done()
    recovery = None
    if released_mm is not None and stretched_mm > relaxed_mm:
        recovery = hundredths(recovery_percent(float(relaxed_mm), float(stretched_mm), float(released_mm)))
    test = save_new(
        ClothTest(
            cloth_id=cloth_here(cloth_id),
            kind=ClothTest.Kind.STRETCH,
            way=way,
            before_mm=relaxed_mm,
            after_mm=stretched_mm,
            released_mm=released_mm,
            percent=hundredths(percent),
            recovery_percent=recovery,
            tested_by_id=actor.member_id,
            tested_at=when,
            note=note.strip(),
        )
    )
    record_act(actor, "test_stretch", test, cloth=str(cloth_id))
    return test


def test_wash(
    actor: Actor,
    cloth_id: UUID,
    *,
    way: str,
    before_mm: Decimal,
    after_mm: Decimal,
    tested_at: datetime | None = None,
    note: str = "",
) -> ClothTest:
    """Add a wash test: a marked length before and after washing and pressing as the garment will be.

    Raises NotHere, and Refused naming way, before_mm, after_mm or tested_at.
    """
    actor.need(Right.KEEP_SEAMS)
    when = moment(tested_at, "tested_at")
    checks = Checks()
    checks.one_of("way", way, dict(WAYS), "The way")
    _check_lengths(checks, before_mm=("Before", before_mm), after_mm=("After", after_mm))
    checks.done()
    checks.need(
        before_mm >= LEAST_TEST_MM,
        "before_mm",
        f"{plain(before_mm)} mm is too short: mark {plain(LEAST_TEST_MM)} mm or more (500 mm is usual).",
    )
    percent = dimensional_change(float(before_mm), float(after_mm))
    checks.need(
        MOST_SHRINKAGE_PERCENT <= percent <= MOST_GROWTH_PERCENT,
        "after_mm",
        f"That is a change of {percent:+.0f} %: check the units of both lengths.",
    )
    checks.done()
    test = save_new(
        ClothTest(
            cloth_id=cloth_here(cloth_id),
            kind=ClothTest.Kind.WASH,
            way=way,
            before_mm=before_mm,
            after_mm=after_mm,
            percent=hundredths(percent),
            tested_by_id=actor.member_id,
            tested_at=when,
            note=note.strip(),
        )
    )
    record_act(actor, "test_wash", test, cloth=str(cloth_id))
    return test


def cloth_here(cloth_id: UUID) -> UUID:
    """The id of a cloth of this studio; raises NotHere."""
    if not Cloth.objects.filter(pk=cloth_id).exists():
        raise NotHere("cloth")
    return cloth_id


def _check_lengths(checks: Checks, **lengths: tuple[str, Decimal | None]) -> None:
    for field, (words, value) in lengths.items():
        checks.positive(field, value, words, unit="mm", most=MOST_LENGTH_MM)
