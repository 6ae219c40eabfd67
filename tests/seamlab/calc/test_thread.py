"""Thread and needles against published figures; each source is named beside its check."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlab.calc import thread

# Several textile teaching pages agree (tex, dtex, denier, Nm, metric ticket, Nec, cotton ticket), to the digits
# printed.
TABLE = [
    (18, 180, 162, 55.56, 166.7, 32.81, 98.4),
    (24, 240, 216, 41.67, 125.0, 24.61, 73.8),
    (27, 270, 243, 37.04, 111.1, 21.87, 65.6),
    (30, 300, 270, 33.33, 100.0, 19.68, 59.1),
    (40, 400, 360, 25.00, 75.0, 14.76, 44.3),
    (60, 600, 540, 16.67, 50.0, 9.84, 29.5),
    (80, 800, 720, 12.50, 37.5, 7.38, 22.1),
]


@pytest.mark.parametrize("row", TABLE)
def test_numbering_systems(row):
    tex, dtex, denier, nm, ticket, nec, cotton_ticket = row
    assert thread.to_system(tex, "dtex") == pytest.approx(dtex)
    assert thread.to_system(tex, "denier") == pytest.approx(denier)
    assert thread.to_system(tex, "Nm") == pytest.approx(nm, abs=0.006)
    assert thread.to_system(tex, "metric ticket") == pytest.approx(ticket, abs=0.06)
    assert thread.to_system(tex, "Nec") == pytest.approx(nec, abs=0.006)
    assert thread.to_system(tex, "cotton ticket") == pytest.approx(cotton_ticket, abs=0.06)


@pytest.mark.parametrize(
    ("count", "plies", "ticket"),
    [(80, 2, 120), (80, 4, 60), (60, 1, 180), (60, 4, 45)],  # published examples, Nm
)
def test_plied_threads_to_ticket(count, plies, ticket):
    tex = thread.tex_from(count / plies, "Nm")
    assert thread.to_system(tex, "metric ticket") == pytest.approx(ticket)


def test_a_sold_ticket_is_a_label_and_not_the_value():
    # tex 27 is ticket 111.1, sold as 120 (several pages); the calculation must not round to it.
    assert thread.to_system(27, "metric ticket") == pytest.approx(111.11, abs=0.01)
    assert thread.tex_from(120, "metric ticket") == pytest.approx(25)


@given(value=st.floats(0.1, 5000), system=st.sampled_from(thread.SYSTEMS))
def test_numbering_round_trip(value, system):
    assert thread.to_system(thread.tex_from(value, system), system) == pytest.approx(value)


@given(thin=st.floats(1, 500), more=st.floats(1.01, 5))
def test_fixed_weight_numbers_fall_as_thread_gets_thicker(thin, more):
    for system in ("Nm", "Nec", "metric ticket", "cotton ticket"):
        assert thread.to_system(thin * more, system) < thread.to_system(thin, system)
    for system in ("tex", "dtex", "denier"):
        assert thread.to_system(thin * more, system) > thread.to_system(thin, system)


def test_unknown_system_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match=r"system must be one of tex, dtex, denier, Nm, Nec, metric ticket"):
        thread.tex_from(40, "grist")
    with pytest.raises(ValueError, match="value must be greater than 0"):
        thread.tex_from(0, "Nm")


@pytest.mark.parametrize(
    ("tex", "diameter"), [(18, 0.166), (27, 0.204), (30, 0.215), (40, 0.248), (60, 0.304), (80, 0.351)]
)
def test_thread_diameter_model(tex, diameter):
    # Computed from the stated model: polyester 1.38 g/cm3, packing 0.6, d = 0.03921 sqrt(tex) mm.
    assert thread.thread_diameter(tex) == pytest.approx(diameter, abs=0.0006)


def test_diameter_refuses_impossible_packing():
    with pytest.raises(ValueError, match="packing"):
        thread.thread_diameter(40, packing=1.2)


# Two trade pages agree on this table.
NEEDLES = [
    (8, 60),
    (9, 65),
    (10, 70),
    (11, 75),
    (12, 80),
    (13, 85),
    (14, 90),
    (15, 95),
    (16, 100),
    (17, 105),
    (18, 110),
    (19, 120),
]


@pytest.mark.parametrize(("number", "metric"), NEEDLES)
def test_needle_numbers(number, metric):
    assert thread.needle_metric(number) == metric
    assert thread.needle_number(metric) == number


@pytest.mark.parametrize("bad", [7, 20, 8.5, math.nan])
def test_needle_metric_refuses_others(bad):
    with pytest.raises(ValueError, match="number must be a whole number from 8 to 19"):
        thread.needle_metric(bad)


def test_needle_115_has_no_number():
    with pytest.raises(ValueError, match="got 115"):
        thread.needle_number(115)


@pytest.mark.parametrize(
    ("tex", "low", "high"),
    # Common practice, no source; the last two are two ends of tex 30 through one eye, and an end beyond the
    # table.
    [
        (18, 65, 75),
        (24, 65, 75),
        (27, 75, 90),
        (30, 75, 90),
        (40, 90, 100),
        (30 + 30, 100, 110),
        (90, 110, 120),
    ],
)
def test_needle_for_the_rows_of_the_table(tex, low, high):
    needle = thread.needle_for(tex)
    assert (needle.low, needle.high) == (low, high)
    assert "common practice" in needle.note


@pytest.mark.parametrize(
    ("tex", "low", "high"), [(25.5, 70, 85), (35, 85, 95), (50, 95, 105), (70, 105, 120)]
)
def test_needle_for_gaps_lies_between_the_rows_and_says_so(tex, low, high):
    # hand: halfway between the rows, rounded up to a size that is made (82.5 -> 85; 115 -> 120).
    needle = thread.needle_for(tex)
    assert (needle.low, needle.high) == (low, high)
    assert "nothing between" in needle.note


def test_needle_for_fine_thread_says_that_the_table_ends():
    assert "finer than" in thread.needle_for(12).note


@given(tex=st.floats(1, 200), more=st.floats(0, 50))
def test_thicker_thread_never_asks_for_a_finer_needle(tex, more):
    fine, coarse = thread.needle_for(tex), thread.needle_for(tex + more)
    assert fine.low <= coarse.low
    assert fine.high <= coarse.high
    assert fine.low < fine.high


def test_consumption_101():
    # Two textile teaching pages: T .005 in, S 9 per in: 3.09 in of thread per inch.
    assert thread.consumption("101", 0.005, 9) == pytest.approx(3.09)


def test_consumption_504_is_the_form_that_is_named():
    # T .02, S 12, W .2 (in): 13.56 by 3 + 4S(W+T), 15.56 by 5 + 4S(W+T). Both are published; the second is
    # taken.
    assert thread.consumption(504, 0.02, 12, 0.2) == pytest.approx(15.56)
    assert thread.OVEREDGE_FORM.startswith("5")


@given(t=st.floats(0.01, 5), s=st.floats(0.1, 2), w=st.floats(0.5, 8))
def test_safety_stitch_is_chain_and_overedge_side_by_side(t, s, w):
    # ISO 4915: 516 is 401 + 504; the published forms agree only with the chosen 504.
    apart = thread.consumption("401", t, s) + thread.consumption("504", t, s, w)
    assert thread.consumption("516", t, s, w) == pytest.approx(apart)


@pytest.mark.parametrize(
    ("code", "ratio"),
    # hand, from the published forms with T = 1, S = 0.4, W = 5: e.g. 406 is 7 + 2 x 0.4 x 6 = 11.8.
    [
        ("301", 2.8),
        ("401", 4.8),
        ("406", 11.8),
        ("407", 15.4),
        ("514", 15.4),
        ("516", 19.4),
        ("602", 19.6),
        ("605", 20.4),
        ("607", 23.2),
    ],
)
def test_published_geometry(code, ratio):
    width = 0 if code in ("301", "401") else 5
    assert thread.consumption(code, 1, 0.4, width) == pytest.approx(ratio)


def test_zigzag_geometry():
    # Own geometry, hand: S 0.4 per mm (advance 2.5), W 5: each stitch hypot(2.5, 5) = 5.5902, so 2 x 2.2361
    # per mm, plus 2 x 1 x 0.4 through the layers.
    assert thread.consumption("304", 1, 0.4, 5) == pytest.approx(2 * math.sqrt(5) + 0.8)
    assert thread.consumption("304", 1, 0.4, 0) == pytest.approx(thread.consumption("301", 1, 0.4))


def test_triple_stitch_takes_three_times_the_thread():
    assert thread.consumption("301", 0.6, 0.4, passes=3) == pytest.approx(
        3 * thread.consumption("301", 0.6, 0.4)
    )


@given(t=st.floats(0.01, 5), s=st.floats(0.1, 2), w=st.floats(0.5, 8), unit=st.sampled_from([25.4, 10, 0.1]))
def test_consumption_is_a_ratio_whatever_the_unit(t, s, w, unit):
    for code in ("304", "514"):
        here, there = (
            thread.consumption(code, t, s, w),
            thread.consumption(code, t / unit, s * unit, w / unit),
        )
        assert here == pytest.approx(there)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("209", 1, 0.4), "no geometry"),
        (("504", 1, 0.4), "width must be greater than 0"),
        (("301", 1, 0.4, 3), "width must be 0"),
        (("301", 1, 0), "stitches_per_length"),
        (("301", -1, 0.4), "thickness"),
        (("301", 1, 0.4, 0, 0), "passes"),
        (("301", 1, 0.4, 0, 1.5), "passes"),
    ],
)
def test_consumption_refuses(arguments, words):
    with pytest.raises(ValueError, match=words):
        thread.consumption(*arguments)


def test_consumption_from_a_sample():
    # Textile teaching page: 15 cm of 401 unpicked to 19.5 (needle) and 62.0 cm (looper), seam 100 cm. The
    # page rounds its factor 4.1333 to 4.1: 540 and, with 15 % waste, 621 cm; unrounded 543.33 and 624.83.
    unpicked = [19.5, 62.0]
    assert thread.sample_factors(unpicked, 15) == pytest.approx((1.3, 4.1333), abs=5e-5)
    assert thread.consumption_from_sample(unpicked, 15, 100) == pytest.approx(543.33, abs=0.005)
    assert thread.consumption_from_sample(unpicked, 15, 100, 0.15) == pytest.approx(624.83, abs=0.005)
    assert thread.consumption_from_sample(unpicked, 15, 100, 0.15) == pytest.approx(621, rel=0.007)


def test_consumption_from_the_published_lockstitch_ratio():
    # A thread maker's stitch guide: 301, ratio 2.5, half needle half bobbin: 220 cm take 550, 275 each.
    assert thread.consumption_from_sample([12.5, 12.5], 10, 220) == pytest.approx(550)
    assert [f * 220 for f in thread.sample_factors([12.5, 12.5], 10)] == pytest.approx([275, 275])


def test_sample_refuses_a_percent_and_an_empty_sample():
    with pytest.raises(ValueError, match=r"0\.15 for 15 %"):
        thread.consumption_from_sample([19.5], 15, 100, 15)
    with pytest.raises(ValueError, match="at least one thread"):
        thread.consumption_from_sample([], 15, 100)
    with pytest.raises(ValueError, match=r"unpicked_lengths\[1\]"):
        thread.consumption_from_sample([19.5, -1], 15, 100)
