"""What a laboratory's figures mean, against the mechanics and published formulas; sources beside each check."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamlab.calc import laboratory as lab
from seamlab.calc.cloth import shear_rigidity

# Computed from the formula of plane orthotropic elasticity (standard mechanics) for E1 1000, E2 800, G 40 N/m, nu 0.2.
PUBLISHED = {0: 1000, 15: 414.3151, 30: 190.3629, 45: 148.9758, 60: 185.9384, 75: 380.2096, 90: 800}


def test_the_cloth_around_from_warp_to_weft():
    found = lab.around(lab.ThreadLines(1000, 800, 40, 0.2))
    assert {row.angle_deg: row.modulus for row in found} == pytest.approx(PUBLISHED, rel=1e-6)
    for row in found:  # a spring: pull over stiffness; 5 gf/cm is 4.9033 N/m
        assert row.give_percent == pytest.approx(490.33 / row.modulus, rel=1e-4)


@given(warp=st.floats(200, 20_000), weft=st.floats(200, 20_000), bias=st.floats(0.5, 15))
def test_a_stiff_cloth_gives_on_the_bias_what_the_bias_test_measured(warp, weft, bias):
    """The bias strip's own extension comes back from the shear rigidity made of it, less the threads' share.

    123 for 122.6 in the rule (De Boos & Tester 1994, from memory) is 0.4 %.
    """
    lines = lab.ThreadLines(warp, weft, shear_rigidity(bias), 0.0)
    threads = 100 * 4.90333 / 4 * (1 / warp + 1 / weft)
    assert lines.give_percent(45) - threads == pytest.approx(bias, rel=0.005)


def test_stiffness_of_a_strip_is_pull_over_strain():
    # 100 gf/cm is 98.0665 N/m (standard gravity 9.80665 m/s2); 2 % of strain.
    assert lab.modulus_from_extension(2.0) == pytest.approx(98.0665 / 0.02)
    assert lab.modulus_from_extension(2.0, 5) == pytest.approx(4.903325 / 0.02)


def test_bending_length_is_the_mean_of_face_and_back():
    # (15.33 + 14.67) / 2 = 15.00: student laboratory report on the wool test set.
    assert lab.mean_bending_length(15.33, 14.67) == pytest.approx(15.0)
    assert lab.mean_bending_length(None, 14.67) == 14.67
    assert lab.mean_bending_length(None, None) is None


def test_surface_thickness():
    # ST = T2 - T100: the same report's formula.
    assert lab.surface_thickness(0.9, 0.65) == pytest.approx(0.25)
    with pytest.raises(ValueError, match="cloth gets thinner"):
        lab.surface_thickness(0.6, 0.65)


def test_cover_of_a_published_cloth():
    """60 ends an inch of Ne 36 and 50 picks of Ne 25: K 10 and 10, cloth 16.4286 (Peirce 1937, Booth; from memory,
    arithmetic recomputed). In metric units 24 threads per cm of 20 tex: n sqrt(tex) / 10 = 10.7331."""
    warp = lab.yarn_cover(60 / 2.54, 590.54 / 36)
    weft = lab.yarn_cover(50 / 2.54, 590.54 / 25)
    assert (warp, weft) == (pytest.approx(10), pytest.approx(10))
    assert lab.cloth_cover(warp, weft) == pytest.approx(16.4286, abs=1e-4)
    metric = 24 * math.sqrt(20) / 10
    assert metric == pytest.approx(10.7331, abs=1e-4)
    assert lab.yarn_cover(24, 20) == pytest.approx(metric * 25.4 / math.sqrt(590.54))


def test_what_it_means_is_said_in_words():
    soft = " ".join(lab.bias_sentences(lab.ThreadLines(1000, 800, 40, 0.2)))
    assert "0.5 mm along the warp, 0.6 mm along the weft and 3.3 mm on the true bias" in soft
    assert "6.7 times as much as along the warp" in soft
    assert "common practice, no source" in soft
    even = " ".join(lab.bias_sentences(lab.ThreadLines(1000, 1000, 500, 0.0, poisson_assumed=True)))
    assert "hang before the hem" not in even
    assert "not measured and is taken as 0" in even
    knit = lab.ThreadLines(900, 90, 120, 0.0)
    assert lab.softest_angle(knit) == 90
    assert "on the bias it gives" not in " ".join(lab.bias_sentences(knit)).lower()


@pytest.mark.parametrize(
    "constants", [(0, 800, 40, 0), (1000, -1, 40, 0), (1000, 800, math.nan, 0), (100, 100, 40, 1)]
)
def test_impossible_cloths_are_refused(constants):
    with pytest.raises(ValueError, match="must"):
        lab.ThreadLines(*constants)


def test_steps_must_divide_a_right_angle():
    with pytest.raises(ValueError, match="must divide 90"):
        lab.around(lab.ThreadLines(1000, 800, 40), 7)
