"""The studio's own repeats, against published standardisation tests.

Heights of 10 children taken twice by two of 11 observers, cm: a real nutrition-survey standardisation test, shipped
in an open R package (data GPL-3; only the few figures that are checked stand here).
"""

import math

import pytest

from studio.calc.error import technical_error
from studio.calc.repeats import (
    as_first_read,
    between_measurers,
    error_of_pairs,
    middle,
    relative_to_expected,
    slip_limit,
    without_slips,
)

SUPERVISOR = [
    (102.0, 102.3), (94.8, 94.3), (97.2, 97.2), (93.1, 93.2), (99.6, 99.1),
    (98.9, 98.3), (83.5, 83.5), (98.0, 98.0), (95.1, 92.9), (94.7, 94.2),
]  # fmt: skip
OBSERVER = [
    (101.3, 101.8), (94.4, 94.3), (96.5, 96.8), (92.4, 93.0), (99.3, 99.4),
    (98.1, 19.2), (83.9, 14.1), (98.0, 97.8), (94.4, 94.4), (94.4, 93.9),
]  # fmt: skip
HEIGHT_LIMIT = slip_limit(0.5)  # cm; the working default of a height


def test_the_sum_of_squares_gives_the_published_error():
    total = sum((a - b) ** 2 for a, b in SUPERVISOR)
    assert total == pytest.approx(6.05)
    assert error_of_pairs(total, 10) == pytest.approx(0.55)  # the published figure, exactly
    assert error_of_pairs(total, 10) == pytest.approx(technical_error(SUPERVISOR))


def test_gross_slips_are_set_aside_before_an_error_is_quoted():
    kept, aside = without_slips(OBSERVER, HEIGHT_LIMIT)
    assert aside == [5, 6]  # 98.1 / 19.2 and 83.9 / 14.1, the two slips of the published data
    assert technical_error(OBSERVER) == pytest.approx(23.5566, abs=5e-5)
    assert technical_error(kept) == pytest.approx(0.2513, abs=1e-4)  # as printed; unrounded 0.251247


def test_an_honest_pair_that_lies_far_apart_stays():
    # 95.1 / 92.9 belongs to the published 0.55 cm
    assert without_slips(SUPERVISOR, HEIGHT_LIMIT) == ([list(pair) for pair in SUPERVISOR], [])


def test_the_limit_is_six_deviations_of_an_honest_difference():
    assert slip_limit(8) == pytest.approx(6 * 2**0.5 * 8)
    assert slip_limit(3, 4) == pytest.approx(6 * 2**0.5 * 5)
    for wrong in (0, -1, float("nan"), float("inf")):
        with pytest.raises(ValueError, match="above 0"):
            slip_limit(wrong)


def test_a_correction_counts_only_where_it_clears_a_slip():
    assert as_first_read(790, 970, 68) == 970  # digits swapped
    assert as_first_read(762, 768, 68) == 762  # brought nearer to the other take: the first reading stays
    assert as_first_read(762, None, 68) == 762


def test_one_measurers_error_over_all_measures():
    # Twice what is reckoned with everywhere: waist 16 of 8 mm, wrist 6 of 3 mm; d^2 sums to 2 N TEM^2.
    parts = [(2 * 10 * 16.0**2, 10, 8.0), (2 * 30 * 6.0**2, 30, 3.0)]
    assert relative_to_expected(parts) == pytest.approx(2)
    with pytest.raises(ValueError, match="above 0"):
        relative_to_expected([(1.0, 1, 0.0)])
    with pytest.raises(ValueError, match="At least one pair"):
        relative_to_expected([])


def test_impossible_sums_are_refused():
    for total, pairs in ((-1.0, 3), (float("nan"), 3), (1.0, 0)):
        with pytest.raises(ValueError, match=r"pair is needed|0 or more"):
            error_of_pairs(total, pairs)


def test_the_figure_of_several_takes():
    assert middle([760, 764]) == 762
    assert middle([760, 764, 850]) == 764
    with pytest.raises(ValueError, match="no take"):
        middle([])


def test_between_measurers_by_a_published_table_and_by_hand() -> None:
    # Ulijaszek & Kerr 1999, BJN 82:165-177, worked table of 10 people x 4 observers: the column of squared deviations
    # adds up to 0.0002815 m^2, the inter-observer technical error is sqrt(0.0002815 / 30) = 0.00306 m.
    assert between_measurers(281.5, 30, 0.0) == pytest.approx(3.063, abs=0.001)
    # By hand: variance 9 + 16 = 25 for one taping by any of them, of which 16 is each one's own.
    assert between_measurers(25.0 * 40, 40, 16.0) == pytest.approx(3.0)
    # Measurers who agree better than their own error lets expect do not differ.
    assert between_measurers(10.0 * 40, 40, 16.0) == 0.0
    for wrong in ((1.0, 0, 0.0), (1.0, True, 0.0), (-1.0, 3, 0.0), (1.0, 3, -1.0), (math.nan, 3, 0.0)):
        with pytest.raises(ValueError, match=r"must be|needed"):
            between_measurers(*wrong)
