"""Pieces read from SVG and from DXF in the open exchange form: lengths kept, every doubt asked."""

import io

import ezdxf
import pytest
from shapely import Polygon

from fitting.calc.exchange import open_doubts, settled
from fitting.calc.exchange_dxf import read_dxf
from fitting.calc.exchange_svg import read_svg
from fitting.calc.outline import along_grain, lay_piece

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="800mm" viewBox="0 0 5000 8000">'
SKIRT = f"""{HEAD}
<defs><marker id="tip"><path d="M0 0L9 3L0 6Z"/></marker></defs>
<g transform="translate(1000 500)"><title>Skirt front</title>
  <path class="cut" d="M0 0 L2000 0 C2300 1000 2500 1500 2500 2000 L2500 6000 H0 Z"/>
  <path class="seam" d="M0 150 L1850 150 L2350 2000 V5700 H0 Z"/>
  <line class="grain" x1="600" y1="1500" x2="600" y2="5500" marker-end="url(#tip)"/>
  <line class="fold" x1="0" y1="0" x2="0" y2="6000"/>
  <circle class="notch" cx="2500" cy="2000" r="10"/>
  <circle class="drill" cx="1000" cy="1200" r="10"/>
</g></svg>"""


def answered(found, **answers):
    return settled(found, {doubt.code: answers[doubt.code.partition(":")[0]] for doubt in found.doubts})


def test_an_svg_piece_keeps_its_measures():
    found = read_svg(SKIRT.encode())
    assert [doubt.code for doubt in found.doubts] == ["cut:0"]
    (piece,) = answered(found, cut="1")
    assert (piece.name, piece.cut) == ("Skirt front", 1)
    left, low, right, high = Polygon(piece.outline.cut).bounds
    assert (right - left, high - low) == pytest.approx((250, 600))
    assert Polygon(piece.outline.cut).area == pytest.approx(
        # Own sum: the straight parts, and under the cubic its exact integral x dy.
        200 * 200 + 250 * 400 + _under_cubic([(200, 0), (230, 100), (250, 150), (250, 200)], 200),
        rel=2e-4,
    )
    assert piece.outline.arrow == "one"
    laid = lay_piece(piece.outline, key="a", name="Skirt front", cut=1)
    assert laid.area == pytest.approx(2 * Polygon(piece.outline.cut).area)
    # Upside down is seen: the arrow points to the hem, which comes to lie at greater x.
    turned = along_grain(piece.outline)
    assert turned.notches[0][0] == pytest.approx(200)


def _under_cubic(points, less: float) -> float:
    """Area between a cubic and x = `less` by a fine sum of its parametric form."""
    total, n = 0.0, 20000
    for i in range(n):
        t = (i + 0.5) / n
        b = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x = sum(w * p[0] for w, p in zip(b, points, strict=True))
        d = (
            3 * (1 - t) ** 2 * (points[1][1] - points[0][1])
            + 6 * (1 - t) * t * (points[2][1] - points[1][1])
            + 3 * t * t * (points[3][1] - points[2][1])
        )
        total += (x - less) * d / n
    return total


def test_every_doubt_about_a_bare_svg_is_asked():
    bare = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 90"><g id="Yoke">'
        '<path d="M0 0 H80 V40 H0"/><path d="M5 5 h9 v9 h-9 z"/><path class="pleat" d="M1 1 L9 9"/></g></svg>'
    )
    found = read_svg(bare.encode())
    kinds = [doubt.code for doubt in found.doubts]
    assert kinds == ["unit", "layer:pleat", "open:0", "hole:0", "grain:0", "arrow:0", "cut:0"]
    assert "Yoke is open" in found.doubts[2].words
    with pytest.raises(ValueError, match="not answered yet: The file does not say its unit"):
        settled(found, {})
    answers = {
        "unit": "cm", "layer:pleat": "inner", "open:0": "close", "hole:0": "inner", "grain:0": "across",
        "arrow:0": "start", "cut:0": "pair",
    }  # fmt: skip
    (piece,) = settled(found, answers)
    assert Polygon(piece.outline.cut).area == pytest.approx(800 * 400)
    assert len(piece.outline.inner) == 2
    assert piece.outline.mirrored
    (ax, _), (bx, _) = piece.outline.grain or ((0, 0), (0, 0))
    assert bx < ax  # the beginning leads
    assert open_doubts(found, answers) == ()
    assert [doubt.code for doubt in open_doubts(found, {"unit": "in", "grain:0": "leave"})] == ["layer:pleat"]
    with pytest.raises(ValueError, match="left out"):
        settled(found, answers | {"grain:0": "leave"})


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not an SVG drawing that can be read"),
        (b"<html/>", "its first element is another one"),
        (HEAD.encode() + b"</svg>", "no piece in it"),
        (b'<!DOCTYPE x [<!ENTITY a "b">]><svg>&a;</svg>', "not an SVG drawing that can be read"),
        (HEAD.encode() + b'<path d="M0 0 L1e400 0 L5 5Z"/></svg>', "without a place"),
    ],
)
def test_what_is_no_drawing_is_refused(data, words):
    with pytest.raises(ValueError, match=words):
        read_svg(data)


def test_a_bow_can_only_be_left_out():
    bow = HEAD + '<g id="Bow"><path class="cut" d="M0 0 L900 900 L900 0 L0 900 Z"/></g></svg>'
    found = read_svg(bow.encode())
    assert [(doubt.code, len(doubt.choices)) for doubt in found.doubts] == [("outline:0", 1)]
    assert "crosses or touches itself" in found.doubts[0].words


def dxf(*, unit: str = "UNITS: METRIC", heads: bool = True, extra: str = "", open_: bool = False) -> bytes:
    doc = ezdxf.new("R12")
    if unit:
        doc.modelspace().add_text(unit)
    block = doc.blocks.new("P1")
    for text in ("PIECE NAME: Back yoke", "SIZE: 12", "QUANTITY: 1,1"):
        block.add_text(text, dxfattribs={"layer": "1"})
    corners = [(0, 0), (400, 0), (400, 180), (0, 220)]
    block.add_polyline2d(corners, close=not open_, dxfattribs={"layer": "1"})
    block.add_polyline2d([(15, 15), (385, 15), (385, 166), (15, 203)], close=True, dxfattribs={"layer": "14"})
    block.add_line((200, 20), (200, 150), dxfattribs={"layer": "7"})
    if heads:
        block.add_line((200, 150), (195, 140), dxfattribs={"layer": "7"})
    block.add_point((400, 90), dxfattribs={"layer": "4"})
    block.add_point((100, 90), dxfattribs={"layer": "13"})
    block.add_point((0, 0), dxfattribs={"layer": "2"})
    if extra:
        block.add_line((0, 0), (9, 9), dxfattribs={"layer": extra})
    doc.modelspace().add_blockref("P1", (0, 0))
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


def test_a_dxf_piece_is_read_by_its_layers():
    found = read_dxf(dxf())
    assert found.doubts == ()
    (piece,) = settled(found, {})
    assert (piece.name, piece.size, piece.cut) == ("Back yoke", "12", 2)
    assert piece.outline.mirrored
    assert Polygon(piece.outline.cut).area == pytest.approx(400 * 200)
    assert Polygon(piece.outline.seam).area == pytest.approx(370 * (151 + 188) / 2)
    assert piece.outline.grain == ((200, 20), (200, 150))
    assert piece.outline.arrow == "one"
    assert (piece.outline.notches, piece.outline.drills) == (((400, 90),), ((100, 90),))
    inches = settled(read_dxf(dxf(unit="UNITS: ENGLISH")), {})[0]
    assert Polygon(inches.outline.cut).area == pytest.approx(400 * 200 * 25.4**2)


def test_every_doubt_about_a_dxf_is_asked():
    found = read_dxf(dxf(unit="", heads=False, extra="99", open_=True))
    assert [doubt.code for doubt in found.doubts] == ["unit", "layer:99", "open:0", "arrow:0"]
    assert "the largest piece is 40.0 cm long" in found.doubts[0].choices[0][1]
    assert "always the top of the drawing first" in found.doubts[3].choices[1][1]


def test_what_is_no_dxf_is_refused():
    for data in (b"", b"%PDF-1.7", b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n garbage", b"\x00" * 400):
        with pytest.raises(ValueError, match="DXF"):
            read_dxf(data)
    plain = ezdxf.new("R12")
    plain.modelspace().add_line((0, 0), (5, 5))
    out = io.StringIO()
    plain.write(out)
    with pytest.raises(ValueError, match="no garment piece in it"):
        read_dxf(out.getvalue().encode())
