"""The belief against reference libraries: scikit-learn's naive Bayes and SciPy's entropy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.special import softmax  # type: ignore[import-untyped]
from scipy.stats import entropy as scipy_entropy
from sklearn.naive_bayes import BernoulliNB, CategoricalNB

from triage.reasoning.belief import believe, prior
from triage.reasoning.case import Case, Tick
from triage.reasoning.findings import fire
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.questions import after_each, entropy, information_gain
from triage.reasoning.weights import Weights, compile_weights


@pytest.fixture(scope="module")
def undamped(knowledge) -> tuple[Knowledge, Weights]:
    """The words of the real sheets, read as a plain naive Bayes: nothing damped or shared, no observer error, no
    rules, no tallies, no relatives, each sheet by itself."""
    scale = knowledge.scale.model_copy(
        update={
            "observer_error": 0.0,
            "shared_power": 0.0,
            "told": {"power": 1e-300, "usual": 1.0, "fewest": 1.0},
            "kin": 1e-300,
            "damping": dict.fromkeys(knowledge.scale.damping, 1.0),
            "unticked": {"almost_always": 1.0, "otherwise": 1.0},
            "neutral": knowledge.scale.unlisted,
            "relatives": {"listed": 0.0, "silent": 0.0, "background": 1.0},
        }
    )
    sheets = {
        cause: sheet.model_copy(update={"tally": {}, "tally_on": {}}) for cause, sheet in knowledge.sheets.items()
    }
    plain = knowledge.model_copy(update={"sheets": sheets, "scale": scale, "patterns": [], "contradictions": []})
    return plain, compile_weights(plain)


def _stated(knowledge: Knowledge, cue: str) -> np.ndarray:
    """P(answer | cause) straight from the words of the sheets: causes down, answers across."""
    scale = knowledge.scale
    values = list(knowledge.cues[cue].answers)
    rows = []
    for sheet in knowledge.sheets.values():
        words = sheet.cues.get(cue)
        if words is None:
            continue
        row = []
        for value in values:
            like = knowledge.cues[cue].answers[value].like
            word = words.get(value) or (words.get(like) if like else None)
            row.append(scale.frequency[word] if word else scale.unlisted)
        rows.append(row)
    return np.array(rows)


def _among_known(case: Case, knowledge: Knowledge, weights: Weights) -> np.ndarray:
    """Our belief over the causes with a sheet, `something_else` left aside as the reference has none."""
    p = believe(case, fire(case, knowledge), knowledge, weights).p[:-1]
    return p / p.sum()


def _log_prior(case: Case, knowledge: Knowledge, weights: Weights) -> np.ndarray:
    p = prior(case, knowledge, weights)[:-1]
    return np.log(p / p.sum())


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_tick_lists_agree_with_bernoulli_naive_bayes(undamped, data: st.DataObject) -> None:
    knowledge, weights = undamped
    values = list(knowledge.cues["pattern"].answers)
    ticked = data.draw(st.lists(st.sampled_from(values), min_size=1, max_size=5, unique=True))
    case = Case(crop="tomato", months=(7,), answers={"pattern": tuple(Tick(value) for value in ticked)})
    chance = _stated(knowledge, "pattern")
    reference = BernoulliNB()
    reference.classes_ = np.arange(len(chance))
    reference.n_features_in_ = len(values)
    reference.feature_log_prob_ = np.log(chance)
    reference.class_log_prior_ = _log_prior(case, knowledge, weights)
    told = np.array([[value in ticked for value in values]], dtype=float)
    assert np.abs(reference.predict_proba(told)[0] - _among_known(case, knowledge, weights)).max() < 1e-9


@pytest.mark.parametrize("value", ["clean", "affected"])
def test_single_choices_agree_with_categorical_naive_bayes(undamped, value: str) -> None:
    knowledge, weights = undamped
    cue = "new_growth"
    values = list(knowledge.cues[cue].answers)
    case = Case(crop="bean", months=(8,), answers={cue: (Tick(value),)})
    chance = _stated(knowledge, cue)
    chance = chance / chance.sum(axis=1, keepdims=True)
    reference = CategoricalNB()
    reference.classes_ = np.arange(len(chance))
    reference.n_features_in_ = 1
    reference.n_categories_ = np.array([len(values)])
    reference.class_count_ = np.ones(len(chance))
    reference.feature_log_prob_ = [np.log(chance)]
    told = [i for i, sheet in enumerate(knowledge.sheets.values()) if cue in sheet.cues]
    prior_of_these = np.exp(_log_prior(case, knowledge, weights)[told])
    reference.class_log_prior_ = np.log(prior_of_these / prior_of_these.sum())
    ours = _among_known(case, knowledge, weights)[told]
    theirs = reference.predict_proba([[values.index(value)]])[0]
    assert np.abs(theirs - ours / ours.sum()).max() < 1e-9


positive = st.floats(1e-6, 1.0)


@given(arrays(float, st.integers(2, 30), elements=positive))
def test_entropy_agrees_with_scipy(raw: np.ndarray) -> None:
    p = raw / raw.sum()
    assert float(entropy(p)) == pytest.approx(float(scipy_entropy(p)), abs=1e-9)


@given(arrays(float, st.tuples(st.integers(2, 8), st.integers(2, 20)), elements=st.floats(-300, 300)))
def test_scaling_logarithms_agrees_with_scipy(logs: np.ndarray) -> None:
    p, entropies = after_each(logs)
    assert p == pytest.approx(softmax(logs, axis=1), abs=1e-12)
    assert entropies == pytest.approx(scipy_entropy(softmax(logs, axis=1), axis=1), abs=1e-9)


@given(arrays(float, st.tuples(st.integers(2, 8), st.integers(2, 20)), elements=positive))
def test_information_gain_is_the_mutual_information(raw: np.ndarray) -> None:
    """For any joint distribution of answer and cause: H(cause) + H(answer) - H(both), by SciPy."""
    joint = raw / raw.sum()
    answers, causes = joint.sum(axis=1), joint.sum(axis=0)
    ours = information_gain(causes, answers, joint / answers[:, None])
    reference = scipy_entropy(causes) + scipy_entropy(answers) - scipy_entropy(joint.ravel())
    assert ours == pytest.approx(float(reference), abs=1e-9)
