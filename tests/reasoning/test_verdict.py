"""What the verdict must say and must never say."""

from __future__ import annotations

from dataclasses import replace

import jsonschema
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from tests.conftest import case_of, real_knowledge
from tests.reasoning.strategies import cases
from triage.reasoning.case import Case, Context
from triage.reasoning.knowledge import Effect
from triage.reasoning.signals import signals_of
from triage.reasoning.verdict import _spray, judge
from triage.reasoning.verdict_model import Verdict
from triage.reasoning.visit import merge

_KNOWLEDGE = real_knowledge()

MITES = {
    "crop": "bean",
    "month": 8,
    "answers": {
        "pattern": ["pale_stippling"],
        "position": ["oldest_lowest"],
        "creature": ["slow_specks"],
        "tap_test": "crawling_specks",
    },
}


def verdict_of(engine, **data: object) -> Verdict:
    return judge(case_of(engine.knowledge, **data), engine)


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases(_KNOWLEDGE))
def test_every_verdict_keeps_its_promises(engine, case: Case) -> None:
    verdict = judge(case, engine)
    SHAPE.validate(verdict.model_dump(mode="json", by_alias=True))
    assert verdict.spray.worth_it == (verdict.spray.advice == "spray")
    if verdict.spray.worth_it:
        assert verdict.spray.expected_gain > 0
        assert verdict.state != "unclear"
        assert any("label" in caution.lower() for caution in verdict.cautions)
    assert [c.probability for c in verdict.causes] == sorted((c.probability for c in verdict.causes), reverse=True)
    if verdict.state == "unclear":
        assert verdict.send_sample
    assert verdict.actions


SHAPE = jsonschema.Draft202012Validator(Verdict.model_json_schema(by_alias=True, mode="serialization"))


def _spray_for(engine, shares: dict[str, float], **answers: list[str]):
    """The spray verdict on a belief made by hand."""
    p = np.full(engine.weights.size, 1e-9)
    for cause, share in shares.items():
        p[engine.weights.index(cause)] = share
    case = case_of(engine.knowledge, crop="bean", answers=answers)
    belief = replace(engine.run(case)[1], p=p / p.sum())
    signals = signals_of(case, belief, engine.knowledge)
    return _spray(belief, engine.rulebook.decide(signals), signals, engine.knowledge)


def test_a_mixed_belief_prints_no_cheerful_spray(engine) -> None:
    """60% mite, 40% iron shortage: not worth it on the whole belief, but a check could settle it."""
    spray = _spray_for(engine, {"two_spotted_spider_mite": 0.6, "iron_chlorosis": 0.4})
    assert spray.advice == "check_first"
    assert not spray.worth_it
    assert spray.expected_gain < 0


CLEAR = {"two_spotted_spider_mite": 0.95, "iron_chlorosis": 0.05}


@pytest.mark.parametrize("seen", [{"creature": ["slow_specks"]}, {"trace": ["fine_webbing"]}])
def test_a_clear_belief_does(engine, seen: dict[str, list[str]]) -> None:
    assert _spray_for(engine, CLEAR, **seen).worth_it


@pytest.mark.parametrize("seen", [{}, {"creature": ["none_found"]}, {"pattern": ["pale_stippling"]}])
def test_a_pest_nobody_has_seen_is_looked_for_first(engine, seen: dict[str, list[str]]) -> None:
    """However clear it is: old marks stay, and the mix works only on what it wets."""
    spray = _spray_for(engine, CLEAR, **seen)
    assert spray.advice == "check_first"
    assert "seen the pest" in spray.reason


def test_a_mildew_needs_no_creature(engine) -> None:
    assert _spray_for(engine, {"powdery_mildew_cucurbit": 0.98}).worth_it


def test_a_kind_that_is_only_leading_is_settled_first(engine) -> None:
    """It pays on the whole, and yet the kind is not sure enough to wet a leaf for."""
    shares = {"two_spotted_spider_mite": 0.6, "potato_leafhopper": 0.4}
    spray = _spray_for(engine, shares, creature=["slow_specks"])
    assert spray.expected_gain > 0
    assert spray.advice == "check_first"
    assert "not sure enough what kind" in spray.reason


def test_no_pest_no_spray(engine) -> None:
    assert _spray_for(engine, {"iron_chlorosis": 0.9, "magnesium_deficiency": 0.1}).advice == "do_not_spray"
    worse = _spray_for(engine, {"drought_wilt": 1.0})
    assert worse.judgement is Effect.MAKES_WORSE
    assert worse.advice == "do_not_spray"


@pytest.mark.parametrize(
    ("context", "word"),
    [
        ({"hot": True}, "29 C"),
        ({"cold": True}, "10 C"),
        ({"rain_expected": True}, "Rain"),
        ({"drought_stressed": True}, "Water today"),
        ({"in_bloom": True}, "Flowers"),
        ({"recent_sulfur": True}, "30 days"),
        ({"recent_oil": True}, "sprayed lately"),
        ({"days_to_harvest": 1}, "harvest first"),
    ],
)
def test_holds(engine, context: dict[str, object], word: str) -> None:
    verdict = verdict_of(engine, **MITES, context=context)
    assert any(word in hold for hold in verdict.holds)
    free = verdict_of(engine, **MITES, context={key: False for key in context if key != "days_to_harvest"})
    assert not any(word in hold for hold in free.holds)


def test_no_holds_where_no_spray_is_meant(engine) -> None:
    verdict = verdict_of(
        engine,
        crop="cucumber",
        month=7,
        answers={"pattern": ["yellow_between_veins"], "position": ["oldest_lowest"], "creature": ["none_found"]},
        context={"hot": True, "in_bloom": True},
    )
    assert verdict.spray.advice == "do_not_spray"
    assert verdict.holds == []


def test_a_burnt_patch_forbids_and_no_patch_asks_for_one(engine) -> None:
    assert verdict_of(engine, **MITES, context={"test_patch": "burnt"}).spray.advice == "do_not_spray"
    asked = verdict_of(engine, **MITES, context={"test_patch": "none"})
    assert any("one plant first" in action.says for action in asked.actions if action.kind == "before_spray")
    clean = verdict_of(engine, **MITES, context={"test_patch": "clean"})
    assert not any("one plant" in action.says for action in clean.actions if action.kind == "before_spray")


def test_few_pests_and_helpers_need_no_spray(engine) -> None:
    verdict = verdict_of(engine, **MITES, context={"severity": "few", "predators_seen": True})
    assert verdict.spray.advice == "do_not_spray"
    assert any("helpers" in action.says for action in verdict.actions)


def test_helpers_and_nobody_knows_how_much_is_hurt(engine) -> None:
    verdict = verdict_of(engine, **MITES, context={"predators_seen": True})
    assert verdict.spray.advice == "check_first"
    assert any("how many leaves" in action.says for action in verdict.actions)


def test_helpers_ticked_as_creatures_count_as_seen(engine) -> None:
    data = {
        "crop": "broad_bean",
        "month": 6,
        "answers": {
            "creature": ["pear_shaped_clusters", "predators"],
            "trace": ["honeydew"],
            "pattern": ["sticky_film"],
        },
        "context": {"severity": "few"},
    }
    verdict = verdict_of(engine, **data)
    assert not verdict.spray.worth_it


def test_reasons_stand_for_and_against(engine) -> None:
    verdict = verdict_of(engine, **MITES)
    mine = [f for f in verdict.findings if f.cause == "two_spotted_spider_mite"]
    assert {"answer", "pattern"} <= {f.kind for f in mine}
    assert all((f.decibans > 0) == (f.side == "for") for f in mine)
    assert all(f.sources for f in mine)
    odd = verdict_of(
        engine,
        crop="bean",
        month=8,
        answers={"pattern": ["pale_stippling"], "creature": ["slow_specks"], "wetness": ["rainy"]},
    )
    assert any(f.side == "against" for f in odd.findings)


def test_what_would_change_it_names_a_check_that_does(engine) -> None:
    """Follow the first check with the answer it names: the sign of the gain turns."""
    data = {"crop": "bean", "month": 8, "answers": {"pattern": ["pale_stippling"], "position": ["middle"]}}
    verdict = verdict_of(engine, **data)
    check = verdict.would_change[0]
    value = next(v for v, a in engine.knowledge.cues[check.cue].answers.items() if a.says == check.if_you_find)
    data["answers"][check.cue] = [value] if engine.knowledge.cues[check.cue].several else value
    after = verdict_of(engine, **data)
    assert (after.spray.expected_gain > 0) == (check.turns_to == "spray")
    assert (verdict.spray.expected_gain > 0) != (after.spray.expected_gain > 0)


def test_ticks_that_do_not_fit_are_pointed_out(engine) -> None:
    data = {
        **MITES,
        "answers": {**MITES["answers"], "trace": ["slime_trail"], "pattern": ["pale_stippling", "ragged_holes"]},
    }
    odd = {(u.cue, u.value): u.fits_better for u in verdict_of(engine, **data).unexplained}
    assert ("trace", "slime_trail") in odd
    assert "lug" in odd["trace", "slime_trail"] or "nail" in odd["trace", "slime_trail"]


def test_a_notifiable_cause_sends_a_sample(engine) -> None:
    sheet = next(s for s in engine.knowledge.sheets.values() if s.notifiable)
    from triage.reasoning.checks import plainest_case

    verdict = judge(plainest_case(sheet, engine.knowledge), engine)
    assert verdict.leading.id in (sheet.id, *sheet.inseparable_from)
    assert verdict.send_sample


def test_three_problems_give_one_plan(engine) -> None:
    visit = [
        MITES,
        {
            "crop": "bean",
            "month": 8,
            "answers": {"pattern": ["ragged_holes"], "trace": ["slime_trail"], "feeding_time": "night"},
        },
        {
            "crop": "bean",
            "month": 8,
            "answers": {
                "pattern": ["even_yellowing"],
                "position": ["oldest_lowest"],
                "new_growth": "clean",
                "creature": ["none_found"],
                "event": ["no_feeding"],
                "spread": ["bottom_up", "slowly"],
                "bed_pattern": ["whole_crop"],
            },
        },
    ]
    verdicts = [verdict_of(engine, **data) for data in visit]
    plan = merge(verdicts, engine.knowledge)
    assert [v.classes[0].id for v in verdicts] == ["soft_bodied", "mollusc", "nutritional"]
    assert plan.spray_for == ("Two-spotted spider mite",)
    assert len(plan.spray_not_for) == 2
    served = {name for step in plan.steps for name in step.serves}
    assert {verdict.leading.name for verdict in verdicts} <= served
    assert len({step.says for step in plan.steps}) == len(plan.steps)


def test_the_same_case_gives_the_same_verdict(engine) -> None:
    assert verdict_of(engine, **MITES) == verdict_of(engine, **MITES)


def test_context_takes_every_situation(knowledge) -> None:
    """Whatever decisions.yaml asks, a case file can hold."""
    assert set(knowledge.situations) <= set(Context.model_fields)


def test_found_none_beside_a_find_asks_to_look_again(engine) -> None:
    """A case file may hold both; the verdict says so instead of refusing the file."""
    verdict = verdict_of(engine, crop="lettuce", month=5, answers={"creature": ["none_found", "slug"]})
    assert any(line.cues == ["creature"] for line in verdict.look_again)
    plain = verdict_of(engine, crop="lettuce", month=5, answers={"creature": ["slug"]})
    assert not any("Found none" in line.says for line in plain.look_again)
