"""What every drawing must satisfy, whichever it is."""

import xml.etree.ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"
NASTY = "Ann <b> & \"Co\" 'x' ]]> \x0b \ud800 ½"


def read(svg: str) -> ET.Element:
    """Parse the drawing and check what page and PDF both need of it."""
    root = ET.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
    assert width > 0
    assert height > 0
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text
    assert root[1].text
    for element in root.iter():
        # A strict content policy forbids style attributes; an id would clash when two drawings share a page.
        assert not {"style", "class", "id"} & set(element.attrib)
        assert element.tag.removeprefix(SVG) in {
            "svg",
            "title",
            "desc",
            "g",
            "path",
            "rect",
            "circle",
            "text",
        }
        for name, value in element.attrib.items():
            assert "nan" not in value, name
            assert "inf" not in value, name
    return root


def words(root: ET.Element) -> str:
    return " ".join(t.text or "" for t in root.iter(f"{SVG}text"))


def crossing(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> bool:
    """Whether two straight pieces properly cross."""

    def turn(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < -1e-6 and turn(c, d, a) * turn(c, d, b) < -1e-6


def overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    """Whether two boxes (left, top, right, bottom) share more than an edge."""
    return a[0] < b[2] - 0.01 and b[0] < a[2] - 0.01 and a[1] < b[3] - 0.01 and b[1] < a[3] - 0.01
