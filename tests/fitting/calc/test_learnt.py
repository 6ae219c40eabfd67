"""A habit from several changes; the interval against a general statistics library, and a handbook's example."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fitting.calc.ease import learned_ease
from fitting.calc.learnt import habit


@given(st.lists(st.floats(-80, 80), min_size=2, max_size=30))
def test_the_interval_is_that_of_the_library(changes: list[float]) -> None:
    found = habit(changes)
    if found is None:
        assert all(abs(change) < 2 for change in changes)
        return
    told = stats.ttest_1samp(changes, 0).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((told.low, told.high), abs=1e-6, nan_ok=True)


def test_the_textbook_interval_of_ten_changes() -> None:
    """Student (1908), Biometrika 6:1-25, the additional hours of sleep: mean 1.58 h with SD 1.23 h, n = 10.

    The data stand in every statistics package as `sleep`; the 95 % interval of the mean is 0.70 to 2.46.
    """
    found = habit([10 * hours for hours in (1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4)])
    assert found is not None
    assert found.mean == pytest.approx(15.8)
    assert (found.low, found.high) == pytest.approx((7.0, 24.6), abs=0.05)
    assert (found.times, found.n) == (9, 10)
    assert found.always
    assert found.beyond_chance


def test_what_is_no_habit() -> None:
    assert habit([0.4, -1.1, 0.0]) is None
    once = habit([12.0])
    assert once is not None
    assert not once.always
    assert (once.low, once.high) == (None, None)
    torn = habit([10.0, -10.0, 8.0, -9.0])
    assert torn is not None
    assert not torn.always
    assert not torn.beyond_chance


@pytest.mark.parametrize(
    ("changes", "confidence", "sentence"),
    [([], 0.95, "no changes"), ([1.0, float("nan")], 0.95, "Change"), ([5.0, 5.0], 1.0, "between 0 and 1")],
)
def test_bad_input(changes: list[float], confidence: float, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        habit(changes, confidence)


@given(
    st.floats(0, 120),
    st.floats(1, 30),
    st.lists(st.floats(-20, 200), min_size=1, max_size=8),
    st.floats(1, 30),
)
def test_learned_ease_is_the_normal_posterior_on_a_grid(
    mean: float, sd: float, accepted: list[float], accepted_sd: float
) -> None:
    """Prior times likelihood by a general library's normal densities, summed over a grid."""
    import numpy as np

    found = learned_ease(mean, sd, accepted, accepted_sd)
    grid = np.linspace(found.mean - 12 * found.sd, found.mean + 12 * found.sd, 4001)
    log = stats.norm.logpdf(grid, mean, sd)
    for value in accepted:
        log = log + stats.norm.logpdf(value, grid, accepted_sd)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    middle = float((grid * weight).sum())
    assert middle == pytest.approx(found.mean, abs=1e-3 * found.sd + 1e-6)
    assert float(np.sqrt((((grid - middle) ** 2) * weight).sum())) == pytest.approx(found.sd, rel=1e-3)
