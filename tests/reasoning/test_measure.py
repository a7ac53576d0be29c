from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.calibration import calibration_curve

from triage.reasoning.measure import calibration_error, judged, measure
from triage.reasoning.verdict import judge
from triage.reasoning.worked_cases import WorkedCase


@given(st.lists(st.tuples(st.floats(0.001, 0.999), st.booleans()), min_size=2, max_size=60))
def test_calibration_error_agrees_with_the_reference_curve(pairs: list[tuple[float, bool]]) -> None:
    """scikit-learn's calibration_curve gives the bins; weighted by size they give the error."""
    said = np.array([p for p, _ in pairs])
    true = np.array([t for _, t in pairs])
    if len(set(true)) < 2:
        return  # the reference wants both outcomes
    heights, means = calibration_curve(true, said, n_bins=10, strategy="uniform")
    edges = np.linspace(0, 1, 11)
    bins = np.searchsorted(edges[1:-1], said)
    sizes = np.array([np.mean(bins == b) for b in np.unique(bins)])
    reference = float((sizes * np.abs(heights - means)).sum())
    # The two put a value that lies on an edge into different bins.
    if np.abs(said[:, None] - edges).min() > 1e-9:
        assert calibration_error(said.tolist(), true.tolist()) == pytest.approx(reference, abs=1e-9)


def test_a_perfect_teller_has_no_gap() -> None:
    assert calibration_error([1.0, 1.0], [True, True]) == 0
    assert calibration_error([0.9, 0.9], [False, False]) == pytest.approx(0.9)


def test_measuring_counts_what_it_says(worked, engine, knowledge) -> None:
    group = [w for w in worked if w.half == "tune"][:12]
    given_all, by_interview = (
        measure([judged(w, engine, by_interview=way) for w in group], knowledge) for way in (False, True)
    )
    assert given_all.cases == by_interview.cases == 12
    assert 0 <= given_all.by_cause <= given_all.among_three <= 1
    assert given_all.questions == 0 < by_interview.questions <= knowledge.scale.most_questions


def test_unclear_is_right_only_where_too_little_is_told(worked, engine, knowledge) -> None:
    untold, verdict = next(
        (w, v)
        for w, v in ((w, judge(w.case, engine)) for w in worked if w.told == "too_little")
        if v.state == "unclear" and v.classes[0].id not in w.right_classes
    )

    def share(one: WorkedCase) -> float:
        return measure([judged(one, engine, by_interview=False)], knowledge).by_class

    assert share(untold) == 1
    told_more = replace(untold, told="in_part")
    assert share(told_more) == 0
    also = replace(told_more, right_classes=(*untold.right_classes, verdict.classes[0].id))
    assert share(also) == 1
