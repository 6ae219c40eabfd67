"""Cloth against published figures. "hand" marks arithmetic done here from the stated definition."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlab.calc import cloth

lengths = st.floats(1, 5000)


@pytest.mark.parametrize(
    ("relaxed", "stretched", "percent"),
    # Four sewing-teaching pages agree on these worked examples (inches).
    [(4, 5, 25), (10, 14, 40), (4, 7, 75), (4, 10, 150)],
)
def test_stretch_of_published_examples(relaxed, stretched, percent):
    assert cloth.stretch_percent(relaxed, stretched) == pytest.approx(percent)


def test_stretch_refuses_a_length_that_shrank():
    with pytest.raises(ValueError, match=r"stretched \(90\) must not be shorter than relaxed \(100\)"):
        cloth.stretch_percent(100, 90)


@pytest.mark.parametrize(("released", "percent"), [(100, 100), (105, 75), (120, 0), (99, 105)])
def test_recovery_is_the_share_of_the_stretch_given_back(released, percent):  # hand: 100 -> 120 -> released
    assert cloth.recovery_percent(100, 120, released) == pytest.approx(percent)


@pytest.mark.parametrize("readings", [(100, 100, 100), (100, 90, 95), (100, 120, 121), (0, 10, 5)])
def test_recovery_refuses_impossible_readings(readings):
    with pytest.raises(ValueError, match="must"):
        cloth.recovery_percent(*readings)


def test_shrinkage_is_negative():
    # AATCC TM135-2018 section 9: final smaller than original is a negative change. 50.0 -> 48.5 is -3.0 %.
    assert cloth.dimensional_change(50.0, 48.5) == pytest.approx(-3.0)
    assert cloth.dimensional_change(48.5, 50.0) > 0


def test_cut_for_finished_divides():
    # hand: 97 / 0.97 = 100; adding 3 % would give 99.91 and a garment 0.9 mm in the metre short.
    assert cloth.cut_for_finished(97, -3) == pytest.approx(100)
    assert cloth.cut_for_finished(97, -3) != pytest.approx(97 * 1.03, rel=1e-4)


@given(finished=lengths, change=st.floats(-60, 60))
def test_cut_for_finished_undoes_the_change(finished, change):
    cut = cloth.cut_for_finished(finished, change)
    assert cut * (1 + change / 100) == pytest.approx(finished)
    assert cloth.dimensional_change(cut, finished) == pytest.approx(change, abs=1e-9)


def test_no_cloth_shrinks_to_nothing():
    with pytest.raises(ValueError, match="greater than -100"):
        cloth.cut_for_finished(50, -100)


@pytest.mark.parametrize(
    ("cut", "repeat", "length"),
    [
        (96, 27, 108),  # home-furnishing how-to: 96 / 27 = 3.56, so 4 repeats, 108 in
        (96 * 25.4, 27 * 25.4, 108 * 25.4),  # the same in mm
        (108, 27, 108),  # hand: already whole
        (0.9, 0.3, 0.9),  # hand: 0.9 / 0.3 is 3.0000000000000004 in floating point, not a fourth repeat
        (0, 27, 0),
    ],
)
def test_whole_repeats(cut, repeat, length):
    assert cloth.whole_repeats(cut, repeat) == pytest.approx(length)


@given(cut=lengths, repeat=st.floats(1, 500))
def test_whole_repeats_is_the_least_that_is_enough(cut, repeat):
    length = cloth.whole_repeats(cut, repeat)
    assert length >= cut * (1 - 1e-8)
    assert length < cut + repeat


def test_grain_angle():
    # hand: a 30-60-90 triangle; and 1 cm over 1 m is arcsin(0.01).
    assert cloth.grain_angle(600, 100, 1000) == pytest.approx(30)
    assert cloth.grain_angle(100, 600, 1000) == pytest.approx(-30)
    assert cloth.grain_angle(200, 200, 700) == 0
    assert cloth.grain_angle(210, 200, 1000) == pytest.approx(0.57297, abs=1e-5)


@pytest.mark.parametrize("readings", [(0, 800, 700), (-1, 0, 700), (10, 10, 0), (math.nan, 1, 2)])
def test_grain_angle_refuses_impossible_readings(readings):
    with pytest.raises(ValueError, match=r"tape both again|0 or more|greater than 0|finite"):
        cloth.grain_angle(*readings)


# Computed from the standard off-axis formula of plane orthotropic elasticity, E1 1000, E2 800, G 40, nu12 0.2
# (N/m).
OFF_AXIS = [
    (0, 1000),
    (15, 414.3151),
    (30, 190.3629),
    (45, 148.9758),
    (60, 185.9384),
    (75, 380.2096),
    (90, 800),
]


@pytest.mark.parametrize(("angle", "modulus"), OFF_AXIS)
def test_off_axis_modulus(angle, modulus):
    assert cloth.off_axis_modulus(angle, 1000, 800, 40, 0.2) == pytest.approx(modulus, abs=5e-5)


def test_bias_modulus_by_the_closed_form():
    # At 45 degrees the formula collapses to 4 / (1/E1 + 1/E2 + 1/G - 2 nu/E1).
    expected = 4 / (1 / 1000 + 1 / 800 + 1 / 40 - 2 * 0.2 / 1000)
    assert cloth.off_axis_modulus(45, 1000, 800, 40, 0.2) == pytest.approx(expected)


@given(
    warp=st.floats(1, 1e5), weft=st.floats(1, 1e5), shear=st.floats(0.1, 1e5), share=st.floats(-0.99, 0.99)
)
def test_off_axis_modulus_meets_the_thread_lines(warp, weft, shear, share):
    poisson = share * math.sqrt(warp / weft)
    assert cloth.off_axis_modulus(0, warp, weft, shear, poisson) == pytest.approx(warp)
    assert cloth.off_axis_modulus(90, warp, weft, shear, poisson) == pytest.approx(weft)
    assert cloth.off_axis_modulus(30, warp, weft, shear, poisson) > 0
    turned = cloth.off_axis_modulus(-30, warp, weft, shear, poisson)
    assert turned == pytest.approx(cloth.off_axis_modulus(150, warp, weft, shear, poisson))


def test_off_axis_refuses_a_cloth_that_gives_out_energy():
    with pytest.raises(ValueError, match="poisson must lie between"):
        cloth.off_axis_modulus(45, 100, 400, 10, 0.5)


@pytest.mark.parametrize(("extension", "rigidity"), [(1.5, 82.0), (3, 41.0), (5, 24.6), (8, 15.375)])
def test_shear_rigidity(extension, rigidity):
    # Arithmetic of 123 / EB5; the factor itself (FAST manual, De Boos & Tester 1994) is from memory: next
    # test.
    assert cloth.shear_rigidity(extension) == pytest.approx(rigidity)


def test_shear_factor_follows_from_the_mechanics_of_a_bias_strip():
    # A cloth with stiff threads and a soft shear, pulled on the bias by 5 gf/cm = 4.903 N/m (standard
    # gravity).
    shear = 40.0
    modulus = cloth.off_axis_modulus(45, 1e9, 1e9, shear, 0)
    extension = 100 * 4.90333 / modulus
    assert cloth.shear_rigidity(extension) == pytest.approx(shear, rel=0.005)


def test_bending_rigidity():
    # A student laboratory report on FAST: W 168, face 15.33 and back 14.67 (mean 15.00) give 5.56 uN.m.
    assert cloth.bending_rigidity(168, (15.33 + 14.67) / 2) == pytest.approx(5.56, abs=0.005)


def test_formability():
    # Arithmetic of the published form (from memory): E20 4.0, E5 1.5, B 5.56 give 0.9456 mm2.
    assert cloth.formability(1.5, 4.0, 5.56) == pytest.approx(0.9456, abs=5e-5)
    # hand: 14.7 N/m is 20 - 5 = 15 gf/cm in N/m (1 gf/cm = 0.980665 N/m).
    assert pytest.approx(14.7, abs=0.05) == 15 * 0.980665
    with pytest.raises(ValueError, match="extension_20_percent"):
        cloth.formability(4, 1.5, 5)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0, "5", None, True])
def test_bad_figures_are_refused_by_name(bad):
    with pytest.raises(ValueError, match="before must be"):
        cloth.dimensional_change(bad, 50)
    with pytest.raises(ValueError, match="repeat must be"):
        cloth.whole_repeats(10, bad)
    with pytest.raises(ValueError, match="weight_gsm must be"):
        cloth.ClothFigures("woven", bad)


def test_cloth_figures_refuse_an_unknown_structure():
    with pytest.raises(ValueError, match="structure must be 'woven' or 'knit', got 'felt'"):
        cloth.ClothFigures("felt", 200)
