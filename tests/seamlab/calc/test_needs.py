"""Thread and colours of a piece of work, against published worked examples (textile teaching pages; thread makers)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlab.calc.needs import (
    ALLOWANCE,
    Factors,
    SeamLine,
    from_geometry,
    from_ratio,
    from_sample,
    needle_share,
    thread_needs,
    whole_reels,
)
from seamlab.calc.seam import sewing_time
from seamlab.calc.thread import consumption

GREY, MOSS = ("Spun 27", "grey"), ("Spun 27", "moss")


def line(key="a", length=100.0, times=1, needle=GREY, under=MOSS, factors=None):
    return SeamLine(key, length, times, needle, under, factors)


def test_a_chainstitch_by_its_unpicked_sample():
    """Published (a textile teaching page): 401, 15 cm unpicked give 19.5 cm needle and 62.0 cm looper thread; a seam of
    100 cm takes 130 + 410 = 540 cm, with 15 % 621 cm. It rounds its factor 4.133 to 4.1; unrounded: 543.33, 624.83.
    """
    factors = from_sample(unpicked=15, needle=19.5, under=62.0)
    assert (factors.needle, factors.basis) == (pytest.approx(1.3), "sample")
    looper, needle = thread_needs([line(factors=factors)], 0.15)
    assert (needle.thread, looper.thread) == (GREY, MOSS)
    assert needle.sewn == pytest.approx(130)
    assert looper.sewn == pytest.approx(410, rel=0.01)
    assert needle.sewn + looper.sewn == pytest.approx(543.33, abs=0.01)
    assert needle.needed + looper.needed == pytest.approx(621, rel=0.007)
    assert needle.needed + looper.needed == pytest.approx(624.83, abs=0.01)


def test_a_lockstitch_by_its_published_ratio():
    """Published (a thread maker's guide): 301 at 1:2.5, half and half; 220 cm take 550 cm: needle 275, bobbin 275."""
    factors = from_ratio(2.5, passes=1, ends=1, needle_share=0.5)
    needle, bobbin = thread_needs([line(length=220, factors=factors)], 0)
    assert (needle.sewn, bobbin.sewn) == (275, 275)
    (both,) = thread_needs([line(length=220, factors=factors, under=GREY)], 0)
    assert both.sewn == 550, "one colour above and below is one need"


@pytest.mark.parametrize(
    ("stitch", "thickness", "density", "width", "ratio"),
    [
        ("101", 0.005, 9, 0, 3.09),  # published, in/in
        ("504", 0.02, 12, 0.2, 15.56),  # computed from the published form 5 + 4 S (W + T)
    ],
)
def test_geometry_keeps_the_published_total(stitch, thickness, density, width, ratio):
    factors = from_geometry(
        stitch,
        thickness=thickness,
        stitch_length=1 / density,
        width=width,
        passes=1,
        ends=1,
        needle_share=0.2,
    )
    assert factors.total == pytest.approx(ratio, abs=0.005)
    assert factors.needle == pytest.approx(0.2 * ratio, abs=0.005)


def test_three_ends_take_the_needle_thread_three_times_and_three_passes_everything():
    plain = from_geometry(
        "301", thickness=1.0, stitch_length=2.5, width=0, passes=1, ends=1, needle_share=0.5
    )
    thick = from_geometry(
        "301", thickness=1.0, stitch_length=2.5, width=0, passes=1, ends=3, needle_share=0.5
    )
    triple = from_geometry(
        "301", thickness=1.0, stitch_length=2.5, width=0, passes=3, ends=1, needle_share=0.5
    )
    assert (thick.needle, thick.under) == (pytest.approx(3 * plain.needle), pytest.approx(plain.under))
    assert triple.total == pytest.approx(3 * plain.total)
    assert sewing_time(1000, 2.5, 800, 3) == pytest.approx(3 * sewing_time(1000, 2.5, 800))


def test_what_is_not_known_is_named_and_not_counted():
    factors = from_ratio(2.5, passes=1, ends=1, needle_share=0.5)
    known = line("side", factors=factors, under=GREY)
    found = {need.thread: need for need in thread_needs([known, line("hem", needle=GREY, under=MOSS)], 0)}
    assert (found[GREY].sewn, found[GREY].seams, found[GREY].lacking) == (250, ("side",), ("hem",))
    assert (found[MOSS].sewn, found[MOSS].seams, found[MOSS].lacking) == (0, (), ("hem",))
    assert from_sample(unpicked=100, needle=130) is None
    assert from_sample(unpicked=100, needle=330, one_thread=True) == Factors(3.3, 0.0, "sample")


@given(
    st.lists(
        st.tuples(st.floats(1, 5000), st.integers(1, 4), st.floats(1, 20), st.booleans()),
        min_size=1,
        max_size=12,
    ),
    st.floats(0, 1),
)
def test_needs_add_up_whatever_the_colours(rows, allowance):
    lines = [
        line(
            str(i),
            length,
            times,
            MOSS if moss else GREY,
            GREY,
            from_ratio(ratio, passes=1, ends=1, needle_share=0.5),
        )
        for i, (length, times, ratio, moss) in enumerate(rows)
    ]
    needed = sum(need.needed for need in thread_needs(lines, allowance))
    assert needed == pytest.approx(
        sum(length * times * ratio for length, times, ratio, _ in rows) * (1 + allowance)
    )


def test_bad_input_is_refused_in_a_sentence():
    with pytest.raises(ValueError, match="allowance must be a share"):
        thread_needs([line()], 15)
    with pytest.raises(ValueError, match="stands twice"):
        thread_needs([line(), line()])
    with pytest.raises(ValueError, match="length of a"):
        thread_needs([line(length=0.0)])
    with pytest.raises(ValueError, match="no geometry"):
        from_geometry("315", thickness=1, stitch_length=2, width=4, passes=1, ends=1, needle_share=0.5)


def test_reels_and_shares():
    assert (whole_reels(500, 500), whole_reels(501, 500), whole_reels(0, 500)) == (1, 2, 0)
    assert whole_reels(0.1 + 0.2, 0.3) == 1
    assert needle_share({"needle": 25, "looper": 75}) == 0.25
    assert needle_share(None) == 0.5
    assert 0.10 <= ALLOWANCE <= 0.20, "the published range"
    assert consumption("304", 1.0, 0.4, 3.0) > consumption("301", 1.0, 0.4)
