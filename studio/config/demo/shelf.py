"""What lies on the invented studio's shelf: bolts and cuts, pictures of cloth, a laboratory report, machines in
service.

The swatches are drawn here, thread by thread: the demo brings no photographs.
"""

import io
from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal as D
from typing import Any
from uuid import UUID

import numpy as np
from django.utils import timezone
from PIL import Image

from seamlab.services import bolts, machines, pictures, supplies
from seamlab.services.cloth import change_cloth
from seamlab.services.laboratory import record_lab_figures
from studio.platform.rights import Actor

TEAL, CALICO, JERSEY, FLANNEL = (
    "Teal wool twill",
    "Unbleached cotton calico",
    "Plum cotton-elastane jersey",
    "Grey wool flannel",
)
KINDS = {
    TEAL: ("suiting", "teal"),
    CALICO: ("calico", "unbleached"),
    JERSEY: ("single_jersey", "plum"),
    FLANNEL: ("flannel", "mid grey"),
}
BOLTS: list[tuple[str, str, str, str, str, list[tuple[str, str]]]] = [
    # cloth, label, metres, dye lot, place, cuts (metres, what for)
    (
        TEAL,
        "T-1",
        "14.5",
        "7A",
        "Rail 2, left",
        [("1.2", "straight skirt"), ("0.4", "samples for the class")],
    ),
    (TEAL, "T-2", "6.2", "7C", "Rail 2, right", []),
    (
        CALICO,
        "C-1",
        "50",
        "",
        "Under the table",
        [("3.6", "toiles, Tuesday class"), ("2.8", "toiles, evening class")],
    ),
    (JERSEY, "J-1", "9", "22", "Shelf by the window", [("1.1", "T-shirt samples")]),
    (FLANNEL, "F-1", "4.3", "3", "Rail 1", [("1.4", "tapered trousers")]),
]
# As a laboratory with the simple test set might report a firm twill; invented.
REPORT = [
    ("bias_extension", "", "2.8"),
    ("extension_5", "lengthwise", "0.4"), ("extension_5", "crosswise", "0.7"),
    ("extension_20", "lengthwise", "1.1"), ("extension_20", "crosswise", "1.9"),
    ("bending_face", "lengthwise", "17.2"), ("bending_back", "lengthwise", "16.4"),
    ("bending_face", "crosswise", "14.9"), ("bending_back", "crosswise", "14.3"),
    ("thickness_2", "", "0.71"), ("thickness_100", "", "0.54"),
]  # fmt: skip
FEET = ["all-purpose foot", "zip foot", "blind hem foot", "walking foot"]


def stock(
    instructor: Actor, *, cloths: Mapping[str, UUID], threads: Mapping[str, UUID], machine: UUID
) -> None:
    """Furnish the shelf of the demo; the scope is open."""
    for name, (kind, colour) in KINDS.items():
        change_cloth(instructor, cloths[name], changes={"kind": kind, "colour": colour})
        pictures.add_cloth_photo(
            instructor, cloths[name], picture=swatch(kind), note="drawn for this demonstration"
        )
    for cloth, label, metres, lot, place, cuts in BOLTS:
        bolt = bolts.record_bolt(
            instructor,
            cloth_id=cloths[cloth],
            label=label,
            length_mm=D(metres) * 1000,
            dye_lot=lot,
            place=place,
        )
        for length, reason in cuts:
            bolts.cut_bolt(instructor, bolt.pk, length_mm=D(length) * 1000, reason=reason)
    record_lab_figures(
        instructor,
        cloths[TEAL],
        figures=[{"quantity": quantity, "way": way, "value": value} for quantity, way, value in REPORT],
        method="Textile department, simple test set",
        tested_on=_days_ago(60),
    )
    machines.change_machine(instructor, machine, changes={"feeds": ["drop", "free"], "feet": FEET})
    machines.record_service(
        instructor,
        machine,
        serviced_on=_days_ago(210),
        done_by="Visiting mechanic",
        note="Cleaned, oiled, belt renewed",
    )
    first = next(iter(threads.values()))
    supplies.change_thread(
        instructor,
        first,
        changes={
            "colours": [{"colour": "teal", "reels": 2}, {"colour": "grey", "reels": 3}, {"colour": "black", "reels": 6},
                        {"colour": "plum", "reels": 1}],
            "reel_length_m": D(500),
        },
    )  # fmt: skip


def _days_ago(days: int) -> date:
    return timezone.localdate() - timedelta(days=days)


def swatch(kind: str, size: int = 720) -> bytes:
    """A drawn swatch as JPEG: a twill's diagonals, a plain weave's squares, a jersey's columns, a brushed face."""
    y, x = np.mgrid[0:size, 0:size].astype(float)
    grain = np.random.default_rng(7).normal(0.0, 1.0, (size, size))
    colour: Any
    if kind == "suiting":
        colour, light = (31, 92, 94), 0.13 * np.sin((x + y) / 3.2) + 0.04 * grain
    elif kind == "calico":
        colour, light = (226, 216, 190), 0.06 * np.sin(x / 2.6) * np.sin(y / 2.6) + 0.03 * grain
    elif kind == "single_jersey":
        turn = np.abs((x % 14) - 7) * 1.1
        colour, light = (
            (104, 44, 84),
            0.14 * np.sin((y + turn) / 2.4) + 0.08 * np.cos(x * np.pi / 7) + 0.03 * grain,
        )
    else:
        soft = (grain + np.roll(grain, 1, 0) + np.roll(grain, 2, 0) + np.roll(grain, 3, 0)) / 2
        colour, light = (112, 114, 116), 0.09 * soft + 0.03 * np.sin((x + y) / 5)
    shade = 1.0 + light[..., None] - 0.1 * (y / size)[..., None]
    drawn = np.clip(np.array(colour)[None, None, :] * shade, 0, 255).astype("uint8")
    kept = io.BytesIO()
    Image.fromarray(drawn).save(kept, "JPEG", quality=90)
    return kept.getvalue()
