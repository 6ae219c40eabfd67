"""The printed lay: its scale measured on the rasterised PDF."""

import subprocess
from datetime import UTC, datetime

import numpy as np
import pytest
from matplotlib.image import imread

from fitting.calc.drafts import draft
from fitting.calc.lay import LayCloth, lay
from fitting.calc.outline import along_grain, lay_piece, opened, outline_data
from fitting.figures.lay_strip import lying, strip_figure
from fitting.reports.lay import SHAPE, render_lay_sheet, scale_for
from studio.figures import palette
from studio.reports.pdf import CannotRender

DPI = 150


def snapshot(*, width: float = 1400.0, times: int = 1, unit: str = "cm") -> dict:
    """A skirt on cloth, as the page freezes it."""
    drafted = draft("skirt", {"waist": 700, "hip": 960})
    outlines = {piece.name: opened(along_grain(piece.outline)) for piece in drafted}
    pieces = [
        lay_piece(piece.outline, key=piece.name, name=piece.name, cut=piece.cut * times) for piece in drafted
    ]
    found = lay(pieces, LayCloth(width, "nap"), seconds=0)
    return {
        "shape": SHAPE,
        "studio": "Halyard Street Sewing School",
        "made_at": datetime(2026, 11, 25, tzinfo=UTC).isoformat(),
        "made_on": "25 November 2026",
        "name": "Panel skirt on needlecord",
        "cloth": "Needlecord",
        "way": "One way",
        "unit": unit,
        "folded": False,
        "width": width,
        "length": found.length,
        "facts": [("Lay length", "1.20 m")],
        "why": "Every arrow points the same way.",
        "pieces": [
            {"key": one.key, "name": one.name, "count": one.count, "laid": one.count} for one in pieces
        ],
        "placements": [
            {"key": one.key, "mirrored": one.mirrored, "x": one.x, "y": one.y, "turn": one.turn}
            for one in found.placements
        ],
        "outlines": {key: outline_data(one) for key, one in outlines.items()},
        "lay_pieces": {
            one.key: {
                "count": one.count,
                "mirrored": one.mirrored,
                "fold": one.fold,
                "shape": one.shape,
                "grain_change": 0.0,
                "bias": False,
            }
            for one in pieces
        },
    }


def colour_box(picture: np.ndarray, colour: str) -> tuple[int, int, int, int]:
    """Left, top, right, bottom in pixels of everything in this colour."""
    wanted = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)])
    pixels = np.round(picture[:, :, :3] * 255) if picture.max() <= 1 else picture[:, :, :3]
    rows, columns = np.nonzero(np.abs(pixels - wanted).max(axis=2) <= 1)
    return int(columns.min()), int(rows.min()), int(columns.max()) + 1, int(rows.max()) + 1


def test_the_printed_scale_is_what_it_says(tmp_path):
    given = snapshot()
    sheet = render_lay_sheet(given)
    (tmp_path / "lay.pdf").write_bytes(sheet.pdf)
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-f", "1", "-l", "1", "-png", tmp_path / "lay.pdf", tmp_path / "page"], check=True
    )  # fmt: skip
    picture = imread(next(tmp_path.glob("page*.png")))
    left, top, right, bottom = colour_box(picture, palette.PAPER)  # the cloth itself
    mm = 25.4 / DPI * sheet.scale
    assert (right - left) * mm == pytest.approx(given["length"], abs=3 * mm)
    assert (bottom - top) * mm == pytest.approx(given["width"], abs=3 * mm)
    assert sheet.scale == 10  # 1400 mm of cloth in 151 mm of paper, rulers too
    assert sheet.pages == 1


def test_a_long_lay_goes_over_pages_at_one_scale():
    long = snapshot(width=800, times=8)
    assert long["length"] > 3000
    sheet = render_lay_sheet(long)
    assert sheet.pages >= 2
    with pytest.raises(CannotRender, match="too large"):
        scale_for(90_000, 1400)


def test_the_strip_shows_every_piece_its_arrow_and_rulers_in_both_units():
    given = snapshot()
    drafted = {piece.name: piece for piece in draft("skirt", {"waist": 700, "hip": 960})}
    pieces = {name: lay_piece(one.outline, key=name, name=name, cut=one.cut) for name, one in drafted.items()}
    from fitting.calc.lay_rules import Placement

    shown = [
        lying(
            i,
            pieces[row["key"]],
            opened(along_grain(drafted[row["key"]].outline)),
            Placement(**row),
            folded=False,
        )
        for i, row in enumerate(given["placements"])
    ]
    for unit, step in (("cm", 100.0), ("in", 101.6)):
        svg = strip_figure(
            shown,
            length=given["length"],
            width=1400,
            unit=unit,
            folded=False,
            title="Lay",
            description="A lay",
        )
        marks = int(given["length"] // step) + 1 + int(1400 // step) + 1
        assert svg.count('class="ruler"') == marks
        assert svg.count('class="lying"') == len(shown)
        assert "mirrored" in svg
        assert "style=" not in svg
    with pytest.raises(ValueError, match="'cm' or 'in'"):
        strip_figure(shown, length=1, width=1, unit="ell", folded=False, title="", description="")
