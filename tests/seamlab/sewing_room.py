"""An invented sewing room for the tests of this wing: cloths, supplies, a machine, recipes."""

from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from seamlab.services import cloth as cloth_services
from seamlab.services import seams, supplies
from studio.platform.rights import Actor

LONG_AGO = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)


def cloth(actor: Actor, name: str = "Teal twill", **facts: Any) -> Any:
    given = {
        "structure": "woven",
        "fibres": [{"fibre": "wool", "percent": 80}, {"fibre": "polyamide", "percent": 20}],
        "weight_gsm": Decimal(240),
        "thickness_mm": Decimal("0.55"),
        "width_mm": Decimal(1500),
        "usable_width_mm": Decimal(1460),
        "direction": "not_known",
    }
    return cloth_services.record_cloth(actor, name=name, **(given | facts))


def jersey(actor: Actor, name: str = "Moss jersey", **facts: Any) -> Any:
    """A knit that stretches 30 % lengthwise and 50 % crosswise, tested."""
    found = cloth(
        actor,
        name,
        **(
            {
                "structure": "knit",
                "fibres": [{"fibre": "viscose", "percent": 94}, {"fibre": "elastane", "percent": 6}],
                "weight_gsm": Decimal(220),
                "thickness_mm": Decimal("0.7"),
            }
            | facts
        ),
    )
    for way, stretched in (("lengthwise", 130), ("crosswise", 150)):
        cloth_services.test_stretch(
            actor,
            found.pk,
            way=way,
            relaxed_mm=Decimal(100),
            stretched_mm=Decimal(stretched),
            released_mm=Decimal(102),
            tested_at=LONG_AGO,
        )
    return found


@dataclass
class Room:
    """What stands on the shelf."""

    actor: Actor
    thread: Any
    needle: Any
    ball_needle: Any
    machine: Any

    def settings(self, **given: Any) -> seams.RecipeSettings:
        facts = {
            "stitch_type": "301",
            "stitch_length_mm": Decimal("2.5"),
            "needle_thread_id": self.thread.pk,
            "needle_id": self.needle.pk,
        }
        return seams.RecipeSettings(**(facts | given))

    def recipe(self, name: str = "Plain seam", *, settings: Any = None, **given: Any) -> Any:
        facts = {
            "purpose": "join",
            "seam_class": "1",
            "structure": "woven",
            "layers_low": 2,
            "layers_high": 2,
        }
        return seams.write_recipe(
            self.actor, name=name, settings=settings or self.settings(), **(facts | given)
        )

    def zigzag(self, name: str = "Jersey seam", *, width: str = "2.5", **given: Any) -> Any:
        settings = self.settings(
            stitch_type="304",
            stitch_width_mm=Decimal(width),
            needle_id=self.ball_needle.pk,
        )
        return self.recipe(name, settings=settings, **({"structure": "knit"} | given))

    def trial(self, version: Any, cloth: Any, **given: Any) -> Any:
        """A sample on which everything was looked at and is well, unless ``given`` says otherwise."""
        facts = {
            "machine_id": self.machine.pk,
            "length_before_mm": Decimal(200),
            "length_after_mm": Decimal(200),
            "stretched_mm": Decimal(300),
            "pull_end": "stopped",
            "smoothness": Decimal("4.5"),
            "balance": "even",
            "skipped_stitches": 0,
            "needle_damage": "none",
            "sewn_at": LONG_AGO,
        }
        return seams.record_trial(self.actor, version_id=version.pk, cloth_id=cloth.pk, **(facts | given))


def room(actor: Actor) -> Room:
    return Room(
        actor,
        thread=supplies.record_thread(
            actor,
            name="Grey all-purpose",
            fibre="polyester",
            construction="spun",
            size=Decimal(27),
            extension_percent=Decimal(16),
        ),
        needle=supplies.record_needle(actor, size=80, point="round"),
        ball_needle=supplies.record_needle(actor, size=11, numbering="number", point="medium_ball"),
        machine=supplies.record_machine(
            actor,
            name="Table three",
            stitch_types=["301", "304"],
            largest_width_mm=Decimal(7),
            stitches_per_minute=850,
        ),
    )
