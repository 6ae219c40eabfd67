"""The demo's sewing table: the starting library, and a topstitching that was sewn in three ways before it was taken."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal as D
from uuid import UUID

from django.utils import timezone

from seamlab.queries import supplies
from seamlab.services import comparisons, seams
from seamlab.services.library import take_in_library
from seamlab.services.settings import RecipeSettings
from studio.platform.rights import Actor

QUESTION = "Topstitching on the teal twill: one row, a triple stitch, or three ends through one needle?"


@dataclass(frozen=True)
class Way:
    """One way of sewing the same seam, and what its sample showed."""

    name: str
    length: str
    passes: int
    ends: int
    needle: int
    seconds: str
    above: str  # mm of thread unpicked from 100 mm
    below: str
    after: str
    smoothness: str
    note: str = ""


WAYS = (
    Way("Topstitch, one row", "3", 1, 1, 80, "9", "128", "127", "199.5", "4.5"),
    Way("Topstitch, triple stitch", "3", 3, 1, 80, "26", "371", "368", "198", "4", "Hard to unpick."),
    Way(
        "Topstitch, three ends in one needle",
        "3.5",
        1,
        3,
        110,
        "11",
        "384",
        "124",
        "199",
        "4.5",
        "Shows well.",
    ),
)


def lay(instructor: Actor, *, cloth: UUID, machine: UUID, thread: UUID) -> None:
    """Take the library in, sew the three samples, lay them side by side and take one."""
    take_in_library(instructor)
    needles = {(row.metric, row.point): row.pk for row in supplies.needle_list(instructor)}
    trials = []
    for day, way in enumerate(WAYS, 12):
        version = seams.write_recipe(
            instructor,
            name=way.name,
            purpose="topstitch",
            seam_class="5",
            structure="woven",
            layers_low=2,
            layers_high=4,
            settings=RecipeSettings(
                stitch_type="301",
                stitch_length_mm=D(way.length),
                passes=way.passes,
                needle_thread_id=thread,
                needle_thread_ends=way.ends,
                needle_id=needles.get((way.needle, "round")) or needles[80, "round"],
                tension="needle thread a little tighter" if way.ends > 1 else "even",
                foot="straight foot with an edge guide",
                pressing="Press flat from the wrong side",
                allowance_mm=D(6),
            ),
        )
        trials.append(
            seams.record_trial(
                instructor,
                version_id=version.pk,
                cloth_id=cloth,
                machine_id=machine,
                length_before_mm=D(200),
                length_after_mm=D(way.after),
                stretched_mm=D(206),
                pull_end="stopped",
                smoothness=D(way.smoothness),
                balance="even",
                skipped_stitches=0,
                needle_damage="none",
                sewing_seconds=D(way.seconds),
                unpicked_length_mm=D(100),
                needle_thread_mm=D(way.above),
                under_thread_mm=D(way.below),
                note=way.note,
                sewn_at=timezone.now() - timedelta(days=day),
            )
        )
    kept = comparisons.keep_comparison(
        instructor, question=QUESTION, trial_ids=[trial.pk for trial in trials]
    )
    comparisons.conclude_comparison(
        instructor,
        kept.pk,
        taken_id=trials[2].pk,
        words="It shows as well as the triple stitch in less than half the time, and can be unpicked.",
    )
