"""Schematic pieces of the garments that reach below the hip in one: a dress and a jacket. Drawn by us, not to scale."""

from fitting.figures.pieces import Mark, Piece, corners, level, sleeve
from studio.figures.svg import Point

_DRESS_WAIST, _DRESS_END = 206.0, 380.0
_JACKET_WAIST, _JACKET_END = 206.0, 326.0


def _diamond(x: float, top: float, middle: float, end: float, half: float) -> tuple[Point, ...]:
    """A dart that opens at the waist and closes above and below it."""
    return ((x, top), (x + half, middle), (x, end), (x - half, middle), (x, top))


def _firm_corners(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The same points, each a corner."""
    return tuple(point for point in points for _ in range(2))


def _dress(name: str, neck: float, *, front: bool) -> Piece:
    waist, end = _DRESS_WAIST, _DRESS_END
    side: tuple[Point, ...] = (
        (116, 108),
        (108, 160),
        (104, waist),
        (116, waist + 42),
        (124, waist + 84),
        (130, end - 5),
    )
    armhole: tuple[Point, ...] = ((98, 20), (90, 58), (98, 92), (116, 108))
    neckline: tuple[Point, ...] = ((0, neck), (20, neck - 4), (36, neck * 0.45), (40, 0))
    dart = _diamond(56, 156 if front else 128, waist, waist + 62, 6)
    inner: list[tuple[Point, ...]] = [dart]
    marks = {
        "neck": Mark("seam", neckline),
        "shoulder": Mark("seam", ((40, 0), (98, 20))),
        "armhole": Mark("seam", armhole),
        "shoulder_to_waist": level(170, 0, 108),
        "waist_to_hip": level(waist + 30, 0, 113),
        "bust": Mark("side", ((116, 108), (113, 126), (110, 148))),
        "waist": Mark("side", ((107, 168), (104, waist - 12), (106, waist + 16))),
        "hip": Mark("side", ((117, waist + 46), (124, waist + 84), (126, waist + 118))),
        "hem": Mark("hem", ((0, end), (66, end), (130, end - 5))),
        "dart": Mark("seam", _firm_corners(dart)),
    }
    if front:
        inner.append(((115, 138), (70, 132), (114, 152)))
        marks["bust_adjustment"] = Mark("slash", ((56, waist), (56, 132), (92, 62)))
    return Piece(
        name=name,
        width=132,
        height=end,
        edge=corners(
            ((0, end), (0, neck)),
            neckline,
            ((40, 0), (98, 20)),
            armhole,
            side,
            (side[-1], (66, end), (0, end)),
        ),
        inner=tuple(inner),
        grain=(20, 92, 300),
        marks=marks,
    )


def _jacket_front() -> Piece:
    """Centre front lies inside the edge: the fronts lap over, and the lapel turns back along its roll line."""
    waist, end = _JACKET_WAIST, _JACKET_END
    side: tuple[Point, ...] = ((136, 112), (128, 160), (126, waist), (134, waist + 50), (140, end - 5))
    armhole: tuple[Point, ...] = ((118, 20), (108, 60), (116, 94), (136, 112))
    dart = _diamond(74, 136, waist, waist + 56, 5)
    return Piece(
        name="front",
        width=142,
        height=end,
        edge=corners(
            ((10, end), (10, 150)),
            ((10, 150), (2, 104), (4, 60)),
            ((4, 60), (34, 50)),
            ((34, 50), (60, 0)),
            ((60, 0), (118, 20)),
            armhole,
            side,
            (side[-1], (76, end), (10, end)),
        ),
        inner=(((10, 150), (56, 14)), dart),
        grain=(34, 120, 280),
        marks={
            "shoulder": Mark("seam", ((60, 0), (118, 20))),
            "armhole": Mark("seam", armhole),
            "shoulder_to_waist": level(172, 10, 130),
            "waist_to_hip": level(waist + 34, 10, 132),
            "bust": Mark("side", ((136, 112), (133, 130), (130, 150))),
            "waist": Mark("side", ((128, 168), (126, waist - 8), (127, waist + 18))),
            "hip": Mark("side", ((133, waist + 46), (138, waist + 84), (140, end - 8))),
            "bust_adjustment": Mark("slash", ((74, waist), (74, 128), (112, 66))),
            "hem": Mark("hem", ((10, end), (76, end), (140, end - 5))),
            "dart": Mark("seam", _firm_corners(dart)),
        },
    )


def _jacket_back() -> Piece:
    waist, end = _JACKET_WAIST, _JACKET_END
    side: tuple[Point, ...] = ((120, 110), (114, 160), (112, waist), (120, waist + 50), (126, end - 5))
    armhole: tuple[Point, ...] = ((104, 20), (95, 58), (102, 92), (120, 110))
    neckline: tuple[Point, ...] = ((0, 12), (24, 9), (42, 0))
    centre: tuple[Point, ...] = ((4, end), (8, waist), (0, 90), (0, 12))
    return Piece(
        name="back",
        width=128,
        height=end,
        edge=corners(centre, neckline, ((42, 0), (104, 20)), armhole, side, (side[-1], (66, end), (4, end))),
        inner=(),
        grain=(26, 92, 280),
        marks={
            "neck": Mark("seam", neckline),
            "shoulder": Mark("seam", ((42, 0), (104, 20))),
            "armhole": Mark("seam", armhole),
            "shoulder_to_waist": level(172, 3, 116),
            "waist_to_hip": level(waist + 34, 6, 118),
            "bust": Mark("side", ((120, 110), (118, 130), (116, 150))),
            "waist": Mark("side", ((114, 168), (112, waist - 8), (113, waist + 18))),
            "hip": Mark("side", ((119, waist + 46), (124, waist + 84), (126, end - 8))),
            "hem": Mark("hem", ((4, end), (66, end), (126, end - 5))),
        },
    )


DRESS = (_dress("front", 54, front=True), _dress("back", 14, front=False), sleeve(long=True))
JACKET = (_jacket_front(), _jacket_back(), sleeve(long=True))
