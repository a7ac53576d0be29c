"""The arrays: what a weight is, on knowledge small enough to reckon by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge
from triage.reasoning.tallies import Tally
from triage.reasoning.weights import NATS_PER_DECIBAN, compile_weights


def test_a_deciban_is_a_tenth_of_a_factor_of_ten() -> None:
    assert math.isclose(math.exp(10 * NATS_PER_DECIBAN), 10)


def test_only_a_sign_that_no_sheet_shows_often_moves_something_else(engine, knowledge) -> None:
    """Then as far as the word "often" would; what happens by chance as well never does."""
    weights, often = engine.weights, knowledge.scale.frequency["often"]
    assert weights.causes[-1] == SOMETHING_ELSE
    moved = 0
    for name, table in weights.cues.items():
        for row, value in enumerate(table.values):
            up = table.given[row, -1] > table.stated[row, -1]
            moved += up
            assert (table.seen[row, -1] > 0) == up
            if knowledge.cues[name].silent(value) == "neutral" or table.stated[row, :-1].max() > often:
                assert not up, (name, value)
    assert 0 < moved < 60


def test_a_sign_left_without_its_sheet_points_past_the_others(knowledge) -> None:
    """Without the sheet of the earwig its tick speaks for something without a sheet more than for any that has one."""
    sheets = {cause: sheet for cause, sheet in knowledge.sheets.items() if cause != "earwig"}
    for kit, past in ((knowledge, False), (knowledge.model_copy(update={"sheets": sheets}), True)):
        table = compile_weights(kit).cues["creature"]
        seen = table.seen[table.row("earwig")]
        assert (seen[-1] > seen[:-1].max()) == past


def test_single_answers_share_one_whole(engine, knowledge) -> None:
    """Before the mixing with the background, which itself sums to about one."""
    for name, cue in knowledge.cues.items():
        if cue.several:
            continue
        given_ = engine.weights.cues[name].given[:, :-1]
        told = [i for i, sheet in enumerate(knowledge.sheets.values()) if name in sheet.cues]
        assert (np.abs(given_[:, told].sum(axis=0) - 1) < 0.1).all(), name


WORDS = ("almost_always", "usually", "often", "sometimes", "rarely", "never")


def with_relatives(knowledge: Knowledge, **relatives: float) -> Knowledge:
    kept = {"listed": 0.0, "silent": 0.0, "background": 1.0, **relatives}
    scale = knowledge.scale.model_copy(update={"relatives": kept, "observer_error": 0.0})
    return knowledge.model_copy(update={"scale": scale})


def without_tallies(knowledge: Knowledge) -> Knowledge:
    sheets = {
        cause: sheet.model_copy(update={"tally": {}, "tally_on": {}}) for cause, sheet in knowledge.sheets.items()
    }
    return knowledge.model_copy(update={"sheets": sheets})


def test_a_word_moves_belief_the_way_it_says(knowledge) -> None:
    """Whatever a sheet calls almost always speaks for it more than what it calls rarely: every sheet, by its words."""
    alone = compile_weights(with_relatives(without_tallies(knowledge)))
    for cue_name, table in alone.cues.items():
        if not knowledge.cues[cue_name].several:
            continue
        for row, value in enumerate(table.values):
            by_word: dict[str, list[float]] = {}
            for column, sheet in enumerate(knowledge.sheets.values()):
                word = sheet.cues.get(cue_name, {}).get(value)
                if word:
                    by_word.setdefault(word, []).append(float(table.seen[row, column]))
            means = [by_word[word][0] for word in WORDS if word in by_word]
            assert means == sorted(means, reverse=True), (cue_name, value)


@pytest.mark.parametrize(("cause", "cue"), [("slug", "trace"), ("early_blight", "pattern"), ("aster_yellows", "event")])
def test_a_stronger_word_speaks_louder(knowledge, cause: str, cue: str) -> None:
    """One and the same answer of one sheet, with each word in turn."""
    value = next(iter(knowledge.sheets[cause].cues[cue]))
    told = []
    for word in WORDS:
        sheet = knowledge.sheets[cause]
        cues = {**sheet.cues, cue: {**sheet.cues[cue], value: word}}
        sheets = {**knowledge.sheets, cause: sheet.model_copy(update={"cues": cues})}
        weights = compile_weights(knowledge.model_copy(update={"sheets": sheets}))
        told.append(weights.cues[cue].seen[weights.cues[cue].row(value), weights.index(cause)])
    assert told == sorted(told, reverse=True)
    assert told[0] > max(0, told[-1])


def test_a_silent_sheet_is_drawn_to_the_mean_of_the_others_of_its_class(knowledge) -> None:
    """Reckoned by hand for one answer: the others' chances, weighed by how common they are, and the background."""
    cue, value = "pattern", "stunting"
    one = next(k for k, s in knowledge.sheets.items() if s.cues.get(cue) and value not in s.cues[cue])
    alone = with_relatives(knowledge)
    own = compile_weights(alone).cues[cue]
    row = own.row(value)
    column = list(knowledge.sheets).index(one)
    top = below = 0.0
    for number, (cause, sheet) in enumerate(knowledge.sheets.items()):
        if cause != one and knowledge.class_of(cause) == knowledge.class_of(one) and cue in sheet.cues:
            common = knowledge.scale.commonness[sheet.commonness]
            top, below = top + common * own.given[row, number], below + common
    background = own.given[row, -1]
    mean = (top + 2 * background) / (below + 2)
    half_way = compile_weights(with_relatives(knowledge, silent=0.5, background=2.0)).cues[cue]
    assert half_way.given[row, column] == pytest.approx((own.given[row, column] + mean) / 2)


def test_what_is_asked_often_weighs_more_and_the_sum_stays(knowledge) -> None:
    """On one crop: twice the questions, twice to the power asked_power; all shares together as before."""
    crop, often, seldom = "tomato", "early_blight", "late_blight"
    scale = knowledge.scale
    even = knowledge.model_copy(update={"asked_per_thousand": {crop: {often: 10.0, seldom: 10.0}}})
    odd = knowledge.model_copy(update={"asked_per_thousand": {crop: {often: 40.0, seldom: 10.0}}})
    plain, flat, tilted = (
        compile_weights(k).before for k in (knowledge.model_copy(update={"asked_per_thousand": {}}), even, odd)
    )
    one, two = (list(knowledge.sheets).index(cause) for cause in (often, seldom))
    assert flat.on_crop[crop] == pytest.approx(plain.on_crop[crop])
    ratio = tilted.on_crop[crop][one] / tilted.on_crop[crop][two]
    assert ratio == pytest.approx(4**scale.asked_power * plain.on_crop[crop][one] / plain.on_crop[crop][two])
    for before in (flat, tilted):
        assert before.common @ before.on_crop[crop] == pytest.approx(plain.common @ plain.on_crop[crop])
    assert tilted.on_crop["potato"] == pytest.approx(plain.on_crop["potato"])


def test_on_a_crop_without_an_entry_causes_of_many_families_lead(knowledge) -> None:
    def before(power: float):
        scale = knowledge.scale.model_copy(update={"breadth_power": power})
        plain = knowledge.model_copy(update={"scale": scale, "asked_per_thousand": {}})
        return compile_weights(plain).before.on_crop

    broad, narrow, on_any = (
        list(knowledge.sheets).index(c) for c in ("two_spotted_spider_mite", "allium_rust", "slug")
    )
    assert "any" in knowledge.sheets["slug"].crops
    even, tilted = before(0.0), before(0.5)
    assert even["other"][broad] == even["other"][narrow] == knowledge.scale.host["low"]
    assert tilted["other"][broad] > 1.5 * tilted["other"][narrow] > 0
    assert tilted["other"][on_any] == even["other"][on_any]
    assert tilted["tomato"] == pytest.approx(even["tomato"])


def test_nobody_is_kin_to_itself(knowledge) -> None:
    """A class of one sheet has only the background to lean on."""
    slug = {"slug": knowledge.sheets["slug"], "early_blight": knowledge.sheets["early_blight"]}
    two = with_relatives(knowledge.model_copy(update={"sheets": slug, "patterns": []}), listed=1.0, silent=1.0)
    for table in compile_weights(two).cues.values():
        assert np.allclose(table.seen[:, :-1], 0)


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


def told_on(knowledge: Knowledge, by_group: dict[str, dict[str, Tally]]) -> Knowledge:
    """The knowledge in which only the slug has tallies: ten growers of any crop, and these by groups of crops."""
    sheets = dict(without_tallies(knowledge).sheets)
    ten = {"pattern": Tally(asked=10, ticks={"ragged_holes": 8})}
    sheets["slug"] = sheets["slug"].model_copy(update={"tally": ten, "tally_on": by_group})
    return knowledge.model_copy(update={"sheets": sheets})


def test_growers_of_a_group_of_crops_are_heard_on_these_crops_alone(knowledge) -> None:
    """By hand: (5 p + 8 + 2) / (5 + 10 + 30) of the growers of berries tick holes, where p is what the word says."""
    kit = told_on(knowledge, {"strawberry": {"pattern": Tally(asked=30, ticks={"ragged_holes": 2})}})
    kit = kit.model_copy(update={"scale": kit.scale.model_copy(update={"words_count_as": 5.0, "untold": 1.0})})
    weights = compile_weights(with_relatives(kit))
    word = kit.scale.frequency[kit.sheets["slug"].cues["pattern"]["ragged_holes"]]
    for crop, growers, ticks in (("lettuce", 10, 8), ("strawberry", 40, 10), (None, 10, 8)):
        table = weights.on(crop).cues["pattern"]
        stated = table.stated[table.row("ragged_holes"), weights.index("slug")]
        assert stated == pytest.approx((5 * word + ticks) / (5 + growers))


def test_crops_without_growers_of_their_own_share_one_compiling(knowledge) -> None:
    weights = compile_weights(told_on(knowledge, {"okra": {"pattern": Tally(asked=1, ticks={"ragged_holes": 1})}}))
    assert weights.on("lettuce") is weights.on(None) is weights
    assert weights.on("okra") is weights.on("okra") is not weights
    assert weights.on("okra").on("okra") is weights.on("okra")  # nothing is added twice
