from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.spraying.degree_days import Cutoff, Method, degree_days, fill_gaps, sum_degree_days

METHODS: list[Method] = ["average", "average_lifted", "triangle", "sine"]
CUTOFFS: list[Cutoff] = ["horizontal", "vertical", "intermediate"]

temperature = st.floats(-30, 50).map(lambda x: round(x, 2))
pairs = st.tuples(temperature, temperature).map(lambda p: (min(p), max(p)))
method = st.sampled_from(METHODS)
cutoff = st.sampled_from(CUTOFFS)


@given(pairs, method, cutoff)
def test_never_below_zero_nor_above_the_uncut_day(pair: tuple[float, float], how: Method, cut: Cutoff) -> None:
    cut_day = degree_days(*pair, 10, 30, how, cut)
    assert 0 <= cut_day <= degree_days(*pair, 10, method=how) + 1e-9


@given(pairs, method)
def test_horizontal_never_passes_the_span_of_the_thresholds(pair: tuple[float, float], how: Method) -> None:
    assert degree_days(*pair, 10, 30, how) <= 20 + 1e-9


@given(pairs, st.floats(0.1, 10))
def test_a_warmer_day_has_no_fewer(pair: tuple[float, float], more: float) -> None:
    warmer = (pair[0] + more, pair[1] + more)
    for how in METHODS:
        assert degree_days(*warmer, 10, 30, how) >= degree_days(*pair, 10, 30, how) - 1e-9


@given(pairs, method, cutoff)
def test_fahrenheit_and_celsius_agree(pair: tuple[float, float], how: Method, cut: Cutoff) -> None:
    """Degree-days turn by 5/9 alone."""
    low, high = (t * 9 / 5 + 32 for t in pair)
    assert degree_days(low, high, 50, 86, how, cut) * 5 / 9 == pytest.approx(
        degree_days(*pair, 10, 30, how, cut), abs=1e-5
    )


@given(st.floats(10, 20), st.floats(20, 30))
def test_all_methods_agree_between_the_thresholds(low: float, high: float) -> None:
    days = [degree_days(low, high, 10, 30, how) for how in METHODS]
    assert days == pytest.approx([(low + high) / 2 - 10] * len(METHODS), abs=1e-9)


@pytest.mark.parametrize("how", METHODS)
def test_a_day_without_swing(how: Method) -> None:
    assert degree_days(20, 20, 10, 30, how) == 10
    assert degree_days(5, 5, 10, 30, how) == 0
    assert degree_days(40, 40, 10, 30, how, "horizontal") == 20


def test_crossed_temperatures_are_refused() -> None:
    with pytest.raises(ValueError, match="above the highest"):
        degree_days(20, 10, 5)
    with pytest.raises(ValueError, match="upper threshold"):
        degree_days(10, 20, 30, 20)


def test_short_gaps_are_filled_in_a_straight_line() -> None:
    filled = fill_gaps([(10, 20), None, None, (16, 26), None])
    assert filled[:4] == [(10, 20), (12, 22), (14, 24), (16, 26)]
    assert filled[4] is None


def test_a_long_gap_leaves_the_sum_incomplete() -> None:
    found = sum_degree_days([(10, 20), None, None, None, None, (10, 20)], 10)
    assert (found.missing, found.filled, found.complete) == (4, 0, False)
    assert found.total == 10
    short = sum_degree_days([(10, 20), None, (10, 20)], 10)
    assert (short.missing, short.filled, short.complete, short.total) == (0, 1, True, 15)
