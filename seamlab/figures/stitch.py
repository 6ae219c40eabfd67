"""Stitch types of ISO 4915 as drawings: from above, from below, and cut open to show how their threads hold.

Plain data in, SVG text out. The plan views keep the proportion of stitch length to width as far as there is room;
thickness is drawn freely. Threads are solid, hollow or striped and named beside the drawing, so colour is never
needed. How each stitch is built: ISO 4915 (from memory; a published stitch guide for 101, 103, 301, 304, 401).
"""

from collections.abc import Callable
from dataclasses import dataclass

from seamlab.calc.bounds import not_negative, positive
from seamlab.figures import stitch_cuts as cuts
from seamlab.figures import stitch_plans as plans
from seamlab.figures.stitch_threads import ADVANCE, PANEL_HEIGHT, Look, caption, legend
from studio.figures.svg import document, el

_MOST_WIDE, _LEAST_WIDE = 66.0, 16.0
_PANEL_STEP = PANEL_HEIGHT + 36

Plan = Callable[[float], list[str]]
Cut = Callable[[], list[str]]
Names = tuple[tuple[Look, str], ...]

_ONE: Names = (("needle", "needle thread"),)
_HAND: Names = (("needle", "hand thread"),)
_LOCK: Names = (("needle", "needle thread"), ("under", "bobbin thread"))
_CHAIN: Names = (("needle", "needle thread"), ("under", "looper thread"))
_COVER: Names = (("needle", "needle threads"), ("under", "looper thread"))
_TOPPED: Names = (*_COVER, ("third", "top cover thread"))
_EDGE3: Names = (("needle", "needle thread"), ("under", "lower looper"), ("third", "upper looper"))
_EDGE4: Names = (("needle", "needle threads"), ("under", "lower looper"), ("third", "upper looper"))
_ALONG, _ACROSS = "Cut along the seam", "Cut across the seam"


@dataclass(frozen=True)
class _Stitch:
    """What is drawn for one type: its name, both faces, the cut with its caption, the threads by name."""

    name: str
    above: Plan
    below: Plan
    cut: Cut
    cut_words: str
    threads: Names
    has_width: bool = False


def _edge(
    face: str,
    *,
    needles: int = 1,
    over: Look = "third",
    under: Look = "under",
    reach: int = 0,
    chain: bool = False,
) -> Plan:
    return lambda wide: plans.overedge(
        face, wide, needles=needles, over=over, under=under, reach=reach, chain=chain
    )


def _covering(rows: int, *, covered: bool, butted: bool = False) -> tuple[Plan, Plan, Cut]:
    return (
        lambda wide: plans.cover_above(rows, wide, covered=covered),
        lambda wide: plans.cover_below(rows, wide),
        lambda: cuts.cover(rows, covered=covered, butted=butted),
    )


def _zigzag(steps: int) -> tuple[Plan, Plan]:
    return (
        lambda wide: plans.zigzag("needle", wide, steps),
        lambda wide: plans.zigzag("under", wide, steps),
    )


def _line(look: Look) -> Plan:
    return lambda _wide: plans.straight(look)


_STITCH_TYPES: dict[str, _Stitch] = {
    "101": _Stitch(
        "single-thread chain stitch",
        _line("needle"),
        lambda _wide: plans.chain_below(),
        lambda: cuts.chain(looper=False),
        _ALONG,
        _ONE,
    ),
    "103": _Stitch(
        "single-thread blind chain stitch",
        lambda _wide: plans.blind_above(),
        lambda _wide: plans.blind_below(),
        cuts.blind,
        _ACROSS,
        _ONE,
    ),
    "107": _Stitch(
        "single-thread zigzag chain stitch",
        lambda wide: plans.zigzag("needle", wide),
        plans.chain_below,
        lambda: cuts.chain(looper=False),
        _ALONG,
        _ONE,
        has_width=True,
    ),
    "202": _Stitch(
        "backstitch by hand", _line("needle"), lambda _wide: plans.back_below(), cuts.back, _ALONG, _HAND
    ),
    "209": _Stitch(
        "running stitch by hand",
        lambda _wide: plans.running("needle"),
        lambda _wide: plans.running("needle", beneath=True),
        cuts.running,
        _ALONG,
        _HAND,
    ),
    "301": _Stitch("lockstitch", _line("needle"), _line("under"), cuts.lock, _ALONG, _LOCK),
    "304": _Stitch("zigzag lockstitch", *_zigzag(1), cuts.lock, _ALONG, _LOCK, has_width=True),
    "308": _Stitch(
        "zigzag lockstitch, two stitches to each side", *_zigzag(2), cuts.lock, _ALONG, _LOCK, has_width=True
    ),
    "315": _Stitch(
        "zigzag lockstitch, three stitches to each side",
        *_zigzag(3),
        cuts.lock,
        _ALONG,
        _LOCK,
        has_width=True,
    ),
    "401": _Stitch(
        "two-thread chain stitch",
        _line("needle"),
        lambda _wide: plans.double_chain_below(),
        lambda: cuts.chain(looper=True),
        _ALONG,
        _CHAIN,
    ),
    "406": _Stitch(
        "two-needle covering chain stitch", *_covering(2, covered=False), _ACROSS, _COVER, has_width=True
    ),
    "407": _Stitch(
        "three-needle covering chain stitch", *_covering(3, covered=False), _ACROSS, _COVER, has_width=True
    ),
    "503": _Stitch(
        "two-thread over-edge stitch",
        _edge("above", over="under", under="needle"),
        _edge("below", over="under", under="needle"),
        lambda: cuts.overedge(over="under", under="needle"),
        _ACROSS,
        _CHAIN,
        has_width=True,
    ),
    "504": _Stitch(
        "three-thread over-edge stitch",
        _edge("above"),
        _edge("below"),
        cuts.overedge,
        _ACROSS,
        _EDGE3,
        has_width=True,
    ),
    "512": _Stitch(
        "four-thread over-edge stitch (mock safety)",
        _edge("above", needles=2, reach=1),
        _edge("below", needles=2, reach=1),
        lambda: cuts.overedge(needles=2, reach=1),
        _ACROSS,
        _EDGE4,
        has_width=True,
    ),
    "514": _Stitch(
        "four-thread over-edge stitch",
        _edge("above", needles=2),
        _edge("below", needles=2),
        lambda: cuts.overedge(needles=2),
        _ACROSS,
        _EDGE4,
        has_width=True,
    ),
    "515": _Stitch(
        "safety stitch: 401 with 503",
        _edge("above", over="under", under="needle", chain=True),
        _edge("below", over="under", under="needle", chain=True),
        lambda: cuts.overedge(over="under", under="needle", chain_beside=True),
        _ACROSS,
        (("needle", "needle threads"), ("under", "two looper threads")),
        has_width=True,
    ),
    "516": _Stitch(
        "safety stitch: 401 with 504",
        _edge("above", chain=True),
        _edge("below", chain=True),
        lambda: cuts.overedge(chain_beside=True),
        _ACROSS,
        (("needle", "needle threads"), ("under", "looper threads"), ("third", "upper looper")),
        has_width=True,
    ),
    "602": _Stitch("two-needle cover stitch", *_covering(2, covered=True), _ACROSS, _TOPPED, has_width=True),
    "605": _Stitch(
        "three-needle cover stitch", *_covering(3, covered=True), _ACROSS, _TOPPED, has_width=True
    ),
    "607": _Stitch(
        "flat seaming stitch", *_covering(4, covered=True, butted=True), _ACROSS, _TOPPED, has_width=True
    ),
}
DRAWN: tuple[str, ...] = tuple(_STITCH_TYPES)


def stitch_figure(
    stitch_type: str | int, *, stitch_length_mm: float = 2.5, width_mm: float = 0.0, title: str = ""
) -> str:
    """SVG of a stitch type (`DRAWN` lists them), `stitch_length_mm` long and `width_mm` wide, in three views.

    Types without a width ignore `width_mm`. A title is made where none is given. Raises ValueError for a type
    without a drawing, a length that is not greater than 0, or a type with a width (304, 504, ...) and none given.
    """
    code = str(stitch_type)
    stitch = _STITCH_TYPES.get(code)
    if stitch is None:
        raise ValueError(f"stitch_type must be one of {', '.join(DRAWN)} to be drawn; got {stitch_type!r}.")
    length = positive("stitch_length_mm", stitch_length_mm)
    width = not_negative("width_mm", width_mm)
    if stitch.has_width and width == 0:
        raise ValueError(f"width_mm must be greater than 0 for stitch type {code}.")
    wide = max(_LEAST_WIDE, min(_MOST_WIDE, ADVANCE * width / length)) if stitch.has_width else 0.0
    size = f"{length:g} mm long" + (f", {width:g} mm wide" if stitch.has_width else "")
    return document(
        (0, 0, 400, 3 * _PANEL_STEP + 34),
        title or f"{code} {stitch.name}, {size}",
        f"The stitch {size}, from above, from below and cut open. "
        f"{', '.join(f'{name} {_LOOK_WORDS[look]}' for look, name in stitch.threads)}.",
        *_panel(0, f"From above: {size}", "stitch-above", stitch.above(wide)),
        *_panel(1, "From below", "stitch-below", stitch.below(wide)),
        *_panel(2, stitch.cut_words, "stitch-cut", stitch.cut()),
        *legend(3 * _PANEL_STEP + 12, stitch.threads),
    )


_LOOK_WORDS: dict[Look, str] = {"needle": "solid", "under": "hollow", "third": "striped"}


def _panel(place: int, words: str, name: str, parts: list[str]) -> list[str]:
    top = place * _PANEL_STEP
    return [
        caption(top + 16, words),
        el("g", *parts, class_=name, transform=f"translate(0 {top + 24:g})"),
    ]
