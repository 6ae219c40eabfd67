"""What rules a seam out, and the few changes for a knit.

Stretch bounds: zigzag geometry (path hypot(s, w), computed: 41.42 % at 1 by 1, 123.61 % at 2 by 1) and thread
elongation, (1 + a)(1 + e) - 1.
Needle ranges: the trade's table (common practice, no source).
"""

import pytest

from seamlab.calc.cloth import ClothFigures
from seamlab.calc.suits import (
    MachineFigures,
    SeamSettings,
    knit_changes,
    objections,
    seam_extension,
    stretch_asked,
)

JERSEY = ClothFigures("knit", 200, 0.25, 20, 50, key="jersey")
TWILL = ClothFigures("woven", 240, 0.5, 1, 2, key="twill")
MACHINE = MachineFigures("Table three", frozenset({"301", "304"}), 7)


def settings(**given):
    facts = {
        "stitch_type": "301",
        "stitch_length_mm": 2.5,
        "needle_tex": 27,
        "needle_extension_percent": 20,
        "needle_metric": 80,
        "needle_point": "light_ball",
    }
    return SeamSettings(**(facts | given))


def found(settings_, cloth=JERSEY, **given):
    return {(o.check, o.weight) for o in objections(settings_, cloth, **given)}


@pytest.mark.parametrize(
    ("width", "length", "extension", "low"),
    # w 1, p 1 gives 41.42 %; w 2, p 1 gives 123.61 %; with a thread of 20 %: (1 + a)(1 + e) - 1. A straight stitch
    # without thickness gets what its thread has: 20 against 65 % decides a jersey.
    [(1, 1, 0, 41.42), (2, 1, 0, 123.61), (1, 1, 20, 69.71), (0, 2.5, 20, 20), (0, 2.5, 65, 65)],
)
def test_how_far_a_seam_stretches(width, length, extension, low):
    reach = seam_extension(
        settings(
            stitch_type="304" if width else "301",
            stitch_length_mm=length,
            stitch_width_mm=width,
            needle_extension_percent=extension,
        ),
        0,
    )
    assert reach.low == pytest.approx(low, abs=0.01)
    assert reach.high == pytest.approx(low, abs=0.01)


def test_on_a_jersey_of_50_percent_a_thread_of_20_is_ruled_out_and_one_of_65_is_not():
    assert found(settings(needle_extension_percent=20)) == {("stretch", "rules out")}
    assert found(settings(needle_extension_percent=65)) == set()
    # The thread that gives less decides, above or below.
    assert found(settings(needle_extension_percent=65, under_extension_percent=20)) == {
        ("stretch", "rules out")
    }
    (only,) = objections(settings(), JERSEY)
    # two layers of 0.25 mm: low ((2.5 + 0.5) 1.2 - 0.5) / 2.5 - 1 = 24 %, high (2.5 + 0.5) 1.2 / 2.5 - 1 = 44 %.
    assert only.text == (
        "The cloth stretches 50 %, this seam about 24 to 44 % (estimate): its thread would break first."
    )


def test_without_a_thickness_the_upper_bound_is_none():
    unknown = ClothFigures("knit", 200, None, 20, 50, key="jersey")
    assert found(settings(), unknown) == {("stretch", "doubts")}


def test_only_the_way_the_seam_runs_asks_for_stretch():
    assert stretch_asked(JERSEY) == 50
    assert stretch_asked(JERSEY, "lengthwise") == 20
    assert found(settings(), runs="lengthwise") == set()  # 24 % follow 20 %
    assert found(settings(), runs="crosswise") == {("stretch", "rules out")}
    assert stretch_asked(TWILL) == 0  # 2 % is within a pull by hand
    assert stretch_asked(ClothFigures("knit", 200)) is None
    assert found(settings(), must_stretch=False) == set()


def test_thickness_leaves_it_open_and_what_has_no_model_is_not_ruled_out():
    thick = ClothFigures("knit", 300, 1.0, 0, 40, key="thick")
    # two layers of 1 mm: low ((2.5 + 2) 1.2 - 2) / 2.5 - 1 = 36 %, high (2.5 + 2) 1.2 / 2.5 - 1 = 116 %.
    (only,) = objections(settings(), thick)
    assert (only.check, only.weight) == ("stretch", "mind")  # the middle, 76 %, is beyond 40 %
    assert found(settings(), ClothFigures("knit", 300, 1.0, 0, 90, key="more")) == {("stretch", "doubts")}
    assert "about 36 to 116 %" in only.text
    assert found(settings(stitch_type="514", stitch_width_mm=6)) == set()
    assert found(settings(passes=3)) == set()
    assert found(settings(needle_extension_percent=None)) == set()


def test_a_machine_makes_what_it_makes_and_no_wider():
    wide = settings(stitch_type="304", stitch_width_mm=9, stitch_length_mm=2)
    assert found(wide, TWILL, machine=MACHINE) == {("machine", "rules out")}
    assert "at most 7 mm wide; this seam is 9 mm wide" in objections(wide, TWILL, machine=MACHINE)[0].text
    cover = settings(stitch_type="406", stitch_width_mm=5)
    assert objections(cover, TWILL, machine=MACHINE)[0].text == "Table three does not make stitch 406."
    assert found(settings(stitch_type="209", needle_metric=None), TWILL, machine=MACHINE) == set()


def test_a_pointed_needle_on_a_knit_and_a_heavy_ball_on_a_woven():
    elastic = {"needle_extension_percent": 65}
    for point in ("round", "sharp", "cutting"):
        assert found(settings(needle_point=point, **elastic)) == {("point", "rules out")}
    assert found(settings(needle_point="heavy_ball"), TWILL) == {("point", "mind")}
    assert found(settings(needle_point="round"), TWILL) == set()


@pytest.mark.parametrize(
    ("ends", "tex", "metric", "weight"),
    # 3 ends of tex 27 are tex 81 in one eye: 110 to 120. 2 of tex 30 are 60: 100 to 110.
    [
        (3, 27, 80, "rules out"),
        (3, 27, 110, None),
        (2, 30, 100, None),
        (2, 30, 120, "mind"),
        (1, 27, 100, "mind"),
    ],
)
def test_ends_through_one_needle_add_up(ends, tex, metric, weight):
    seen = objections(settings(ends=ends, needle_tex=tex, needle_metric=metric, needle_point="round"), TWILL)
    assert [o.weight for o in seen] == ([weight] if weight else [])
    if weight == "rules out":
        assert seen[0].text.startswith(
            "3 ends of tex 27 make tex 81 in one eye; needle 80 is finer than usual"
        )


def test_the_few_changes_for_a_knit_and_what_the_settings_say_of_them():
    plain = {c.key: c.suggested for c in knit_changes(settings(needle_point="round"))}
    assert plain == {
        "ball_point": "to do",
        "extensible_thread": "to do",
        "looser_tension": "to do",
        "stabiliser_under": "",
    }
    ready = knit_changes(
        settings(needle_extension_percent=65), tension="Looser above and below", stabiliser="tear-away strip"
    )
    assert {c.suggested for c in ready} == {"done"}
    assert {c.key: c.suggested for c in knit_changes(settings(needle_extension_percent=None))}[
        "extensible_thread"
    ] == ""


@pytest.mark.parametrize(
    "wrong", [{"stitch_length_mm": 0}, {"ends": 0}, {"needle_tex": -1}, {"stitch_width_mm": -1}]
)
def test_impossible_settings_are_refused(wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        settings(**wrong)
