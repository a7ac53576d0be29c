"""Drawn cases, their outcomes, and the figures made of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.reasoning.strategies import cases
from triage.reasoning.interview import play
from triage.reasoning.knowledge import Effect, Knowledge
from triage.reasoning.leave_out import leave_out, without
from triage.reasoning.separation import expected_evidence, inseparable_pairs
from triage.reasoning.signals import advice_of, state_of
from triage.reasoning.simulation import Observer, Outcome, draw_cases, play_fast, simulate, usual_observer
from triage.reasoning.simulation_report import reliability, report, sprays
from triage.reasoning.verdict import judge
from triage.reasoning.weights import compile_weights

TELLING = {
    "two_spotted_spider_mite": "pale_stippling",
    "slug": "ragged_holes",
    "bean_rust": "raised_pustules",
    "heat_stress": "wilting",
}
FAULTLESS = Observer(wrong=0, missed=0, unsure=0, unsure_if_wrong=0, cant_tell=(0, 0, 0, 0), silent=1)


def toy(knowledge: Knowledge, signs: dict[str, str]) -> Knowledge:
    """A few causes on one crop, each with one sign of its own and nothing else."""
    sheets = {
        cause: knowledge.sheets[cause].model_copy(
            update={
                "cues": {"pattern": {sign: "almost_always"}},
                "crops": {"bean": "high"},
                "commonness": "high",
                "season": list(range(1, 13)),
                "tally": {},
            }
        )
        for cause, sign in signs.items()
    }
    nothing: dict[str, object] = {"patterns": [], "contradictions": [], "asked_per_thousand": {}}
    return knowledge.model_copy(update={"sheets": sheets, **nothing})


@pytest.fixture(scope="module")
def small(knowledge) -> Knowledge:
    return toy(knowledge, TELLING)


def test_a_knowledge_that_tells_all_is_nearly_always_right(small) -> None:
    figures = report(simulate(small, 300, np.random.default_rng(3), observer=FAULTLESS))
    assert figures.overall.first > 0.97
    assert figures.overall.right_class > 0.97


def test_causes_with_one_and_the_same_sign_are_mixed_up_and_named(knowledge) -> None:
    # Each sheet by itself: drawn to the means of so small a knowledge, one sign alone would part nothing.
    alone = knowledge.scale.model_copy(update={"relatives": {"listed": 0.0, "silent": 0.0, "background": 1.0}})
    alike = toy(knowledge.model_copy(update={"scale": alone}), {**TELLING, "snail": "ragged_holes"})
    outcomes = simulate(alike, 300, np.random.default_rng(3), observer=FAULTLESS)
    assert report(outcomes).mixed[0].pair == ("slug", "snail")
    pairs = inseparable_pairs(alike, compile_weights(alike))
    assert [set(pair.causes) for pair in pairs] == [{"slug", "snail"}]
    assert pairs[0].decibans == pytest.approx(0, abs=1e-9)
    assert pairs[0].crops == ("bean",)
    assert inseparable_pairs(alike, compile_weights(alike), class_id="mollusc") == pairs
    assert inseparable_pairs(alike, compile_weights(alike), class_id="fungal") == ()


def test_one_seed_gives_one_outcome_with_any_number_of_workers(small) -> None:
    def run(seed: int, workers: int) -> object:
        return simulate(small, 80, np.random.default_rng(seed), workers=workers)

    assert run(5, 1) == run(5, 2)
    assert run(5, 1) != run(6, 1)


def test_progress_counts_every_case(small) -> None:
    for workers in (1, 2):
        done: list[int] = []
        simulate(small, 60, np.random.default_rng(1), workers=workers, progress=done.append)
        assert sum(done) == 60


def test_shares_sum_up(knowledge) -> None:
    outcomes = simulate(knowledge, 30, np.random.default_rng(2))
    figures = report(outcomes)
    assert figures.overall.cases == 30
    for rows in (figures.by_class, figures.by_cause):
        assert sum(row.cases for row in rows) == 30
        for share in ("right_class", "first", "top_three", "questions"):
            mean = sum(row.cases * getattr(row, share) for row in rows) / 30
            assert mean == pytest.approx(getattr(figures.overall, share))
        assert all(row.first <= row.top_three for row in rows)
    assert sum(b.cases for b in figures.class_reliability.bins) == 30
    assert sum(n for _, n in figures.question_counts) == 30
    assert sum(m.times for m in figures.mixed) == round(30 * (1 - figures.overall.first))
    assert figures.sprays.useless + figures.sprays.helpful == 30
    assert figures.sprays.wrong <= figures.sprays.useless
    assert figures.sprays.missed <= figures.sprays.helpful


def test_drawn_cases_fit_the_cues_and_the_crop(knowledge) -> None:
    drawn = draw_cases(knowledge, compile_weights(knowledge), 150, np.random.default_rng(9), "caterpillar")
    for each in drawn:
        sheet = knowledge.sheets[each.cause]
        assert sheet.class_id == "caterpillar"
        assert each.case.crop in sheet.crops or "any" in sheet.crops
        for name, ticks in each.case.answers.items():
            cue = knowledge.cues[name]
            assert {tick.value for tick in ticks} <= set(cue.answers)
            assert cue.several or len(ticks) <= 1
            if any(cue.answers[tick.value].alone for tick in ticks):
                assert len(ticks) == 1
        assert each.case.answers["pattern"]


def test_a_faultless_grower_ticks_only_what_the_sheet_or_its_tally_holds(knowledge) -> None:
    drawn = draw_cases(knowledge, compile_weights(knowledge), 150, np.random.default_rng(4), observer=FAULTLESS)
    for each in drawn:
        ticks = each.case.answers["pattern"]
        group = knowledge.crop_groups().get(each.case.crop)
        sheet = (knowledge.on_group(group) if group else knowledge).sheets[each.cause]
        listed = sheet.cues["pattern"]
        cue = knowledge.cues["pattern"]
        for tick in ticks:
            assert tick.sure
            named = tick.value in listed or cue.answers[tick.value].like in listed
            named = named or tick.value in sheet.tally["pattern"].ticks
            assert named or cue.silent(tick.value) == "neutral"


def test_a_class_without_causes_is_refused(small) -> None:
    with pytest.raises(ValueError, match="viral"):
        draw_cases(small, compile_weights(small), 1, np.random.default_rng(1), "viral")


def test_reliability_of_hand_made_figures() -> None:
    found = reliability([0.95, 0.95, 0.15, 1.0], [True, False, False, True])
    # By hand: the last bin says (0.95 + 0.95 + 1) / 3 and is right in 2 of 3; the second says 0.15, right in 0 of 1.
    assert found.error == pytest.approx(3 / 4 * abs(2.9 / 3 - 2 / 3) + 1 / 4 * 0.15)
    assert [b.cases for b in found.bins] == [0, 1, 0, 0, 0, 0, 0, 0, 0, 3]


def outcome(effect: Effect, worth: float, advice: str) -> Outcome:
    top = (("slug", 0.9), ("snail", 0.05), ("deer", 0.01))
    return Outcome("slug", "mollusc", "bean", ("pattern",), top, "mollusc", 0.95, 0.9, "likely", advice, effect, worth)


def test_sprays_are_counted_by_what_they_truly_do() -> None:
    found = sprays(
        [
            outcome(Effect.NO_USE, -1, "spray"),
            outcome(Effect.NO_USE, -1, "do_not_spray"),
            outcome(Effect.NO_USE, -1, "check_first"),
            outcome(Effect.MAKES_WORSE, -1.5, "do_not_spray"),
            outcome(Effect.KILLS_ON_CONTACT, 0.5, "spray"),
            outcome(Effect.SLOWS, 0.25, "check_first"),
            outcome(Effect.SLOWS, 0.25, "do_not_spray"),
            outcome(Effect.SLOWS, 0.25, "spray"),
        ]
    )
    assert (found.useless, found.wrong, found.harmful) == (4, 1, 0)
    assert (found.helpful, found.missed, found.checked) == (4, 2, 1)
    assert (found.wrong_rate, found.missed_rate, found.judged_right) == (0.25, 0.5, 1 - 3 / 8)


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60))
def test_the_calibration_error_is_a_share(pairs) -> None:
    found = reliability([p for p, _ in pairs], [hit for _, hit in pairs])
    assert 0 <= found.error <= 1
    assert sum(b.cases for b in found.bins) == len(pairs)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_the_cheap_spray_advice_is_that_of_the_verdict(data, engine) -> None:
    case = data.draw(cases(engine.knowledge, most_cues=6))
    _, belief = engine.run(case)
    verdict = judge(case, engine)
    assert advice_of(case, belief, engine.knowledge) == verdict.spray.advice
    top = verdict.classes[0]
    assert state_of(top.id, top.probability, engine.knowledge) == verdict.state


def test_the_cheap_interview_asks_what_the_real_one_asks(engine) -> None:
    drawn = draw_cases(engine.knowledge, engine.weights, 8, np.random.default_rng(11))
    for each in drawn:
        fast, belief = play_fast(each.case, engine.knowledge, engine.weights)
        real = play(each.case, engine)
        assert fast == real
        np.testing.assert_allclose(belief.p, engine.run(real.case)[1].p, atol=1e-9)


def test_evidence_for_a_cause_over_itself_is_nought_and_over_others_in_its_favour(small) -> None:
    both = expected_evidence(small, compile_weights(small))
    np.testing.assert_allclose(np.diag(both), 0, atol=1e-12)
    assert (both[~np.eye(len(both), dtype=bool)] > 1).all()


def test_left_out_causes_are_gone_and_the_words_agree(worked, knowledge) -> None:
    less = without(knowledge, "slug")
    assert "slug" not in less.sheets
    assert "slug" in knowledge.sheets
    found = leave_out(knowledge, [w for w in worked if w.truth.cause][:6])
    assert len(found.all) == 6
    assert found.share("either") == pytest.approx(found.share("right") + found.share("unclear"))
    assert found.share("sure_and_wrong") <= 1 - found.share("either")


def test_the_usual_observer_errs_as_the_reasoning_expects(knowledge) -> None:
    usual, grower = usual_observer(knowledge), knowledge.scale.pretended_grower
    assert usual.wrong == knowledge.scale.observer_error
    assert (usual.missed, usual.silent, usual.cant_tell) == (grower.missed, grower.silent, grower.cant_tell)
