"""The arrays: what a weight is, on knowledge small enough to reckon by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.reasoning.knowledge import SOMETHING_ELSE
from triage.reasoning.weights import NATS_PER_DECIBAN


def test_a_deciban_is_a_tenth_of_a_factor_of_ten() -> None:
    assert math.isclose(math.exp(10 * NATS_PER_DECIBAN), 10)


def test_something_else_is_moved_by_no_tick(engine) -> None:
    assert engine.weights.causes[-1] == SOMETHING_ELSE
    for table in engine.weights.cues.values():
        assert np.allclose(table.seen[:, -1], 0)
        assert np.allclose(table.unseen[:, -1], 0)


def test_single_answers_share_one_whole(engine, knowledge) -> None:
    """Before the mixing with the background, which itself sums to about one."""
    for name, cue in knowledge.cues.items():
        if cue.several:
            continue
        given_ = engine.weights.cues[name].given[:, :-1]
        told = [i for i, sheet in enumerate(knowledge.sheets.values()) if name in sheet.cues]
        assert (np.abs(given_[:, told].sum(axis=0) - 1) < 0.1).all(), name


def test_a_word_moves_belief_the_way_it_says(engine, knowledge) -> None:
    """Whatever a sheet calls almost always speaks for it more than what it calls rarely."""
    for cue_name, table in engine.weights.cues.items():
        if not knowledge.cues[cue_name].several:
            continue
        for row, value in enumerate(table.values):
            by_word: dict[str, list[float]] = {}
            for column, sheet in enumerate(knowledge.sheets.values()):
                word = sheet.cues.get(cue_name, {}).get(value)
                if word:
                    by_word.setdefault(word, []).append(float(table.seen[row, column]))
            order = ["almost_always", "usually", "often", "sometimes", "rarely", "never"]
            means = [by_word[word][0] for word in order if word in by_word]
            assert means == sorted(means, reverse=True), (cue_name, value)


@given(st.sampled_from(["pattern", "creature", "trace"]))
def test_looked_is_the_sum_of_what_was_not_ticked(engine, cue: str) -> None:
    table = engine.weights.cues[cue]
    assert np.allclose(table.looked, table.unseen.sum(axis=0))


def test_patterns_weigh_what_their_words_say(engine, knowledge) -> None:
    pattern = next(p for p in knowledge.patterns if p.supports and set(p.supports) <= set(knowledge.sheets))
    cause, word = next(iter(pattern.supports.items()))
    column = engine.weights.patterns[pattern.id]
    expected = knowledge.scale.strength_decibans[word] * NATS_PER_DECIBAN
    assert column[engine.weights.index(cause)] == pytest.approx(expected)
    assert column[-1] == 0
