"""The rule engine and the plain run are two executions of one set of rules."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from tests.conftest import case_of, real_knowledge, ticks
from tests.reasoning.strategies import cases
from triage.reasoning.belief import believe
from triage.reasoning.case import Case, Tick
from triage.reasoning.engine import Engine
from triage.reasoning.findings import fire
from triage.reasoning.rulebook import Rulebook

_KNOWLEDGE = real_knowledge()


def agree(engine: Engine, case: Case) -> None:
    by_engine = engine.rulebook.fire(case)
    plainly = fire(case, engine.knowledge)
    assert by_engine == plainly
    one = believe(case, by_engine, engine.knowledge, engine.weights)
    other = believe(case, plainly, engine.knowledge, engine.weights)
    assert np.abs(one.p - other.p).max() < 1e-9


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases(_KNOWLEDGE))
def test_the_rule_engine_and_the_plain_run_agree(engine: Engine, case: Case) -> None:
    agree(engine, case)


def test_they_agree_over_two_thousand_random_cases(engine: Engine, knowledge) -> None:
    """Drawn without hypothesis, which would take most of the time: any crop, up to twelve cues, any ticks."""
    draw = np.random.default_rng(2000)
    cues = list(knowledge.cues)
    crops = list(knowledge.crops.crops)
    for _ in range(2000):
        answers = {}
        for name in draw.choice(cues, size=draw.integers(0, 13), replace=False):
            cue = knowledge.cues[name]
            most = 4 if cue.several else 1
            values = draw.choice(list(cue.answers), size=draw.integers(0, most + 1), replace=False)
            answers[str(name)] = tuple(Tick(str(value), bool(draw.random() < 0.7)) for value in values)
        agree(engine, Case(crop=str(draw.choice(crops)), months=(int(draw.integers(1, 13)),), answers=answers))


def test_a_case_with_no_answer_leaves_the_engine_whole(engine: Engine) -> None:
    """Deleting a session in which no rule looked at a fact once crashed the process."""
    for _ in range(50):
        assert engine.rulebook.fire(Case()) == {}
        assert engine.rulebook.decide({}) == []


def test_runs_leave_nothing_behind(engine: Engine, knowledge) -> None:
    rich = case_of(knowledge, crop="bean", answers={"pattern": ["pale_stippling"], "creature": ["slow_specks"]})
    first = engine.rulebook.fire(rich)
    engine.rulebook.fire(Case(crop="tomato", answers={"pattern": ticks("ragged_holes")}))
    assert engine.rulebook.fire(rich) == first


def test_any_number_of_rules_may_look_at_one_answer(knowledge) -> None:
    """Over sixty in one ruleset once failed."""
    one = next(p for p in knowledge.patterns if not p.derives)
    many = [one.model_copy(update={"id": f"copy_{n}", "when": {"pattern": ["wilting"]}}) for n in range(200)]
    rulebook = Rulebook(knowledge.model_copy(update={"patterns": many}))
    fired = rulebook.fire(case_of(knowledge, answers={"pattern": ["wilting"]}))
    assert {f"pattern:copy_{n}" for n in range(200)} <= set(fired)


def test_rules_chain(engine: Engine, knowledge) -> None:
    """A conclusion that one rule derives lets another fire."""
    chained = [p for p in knowledge.patterns if "derived" in p.when]
    derives = {p.derives for p in knowledge.patterns}
    assert len(chained) >= 6
    assert all(value in derives for p in chained for value in p.when["derived"])
    case = case_of(
        knowledge,
        crop="tomato",
        answers={
            "pattern": ["yellow_between_veins"],
            "position": ["oldest_lowest"],
            "vein_pattern": "fishbone",
            "event": ["acid_or_unlimed_soil"],
        },
    )
    fired = engine.rulebook.fire(case)
    assert "pattern:old_leaves_green_veins" in fired
    by_chain = [p.id for p in chained if f"pattern:{p.id}" in fired]
    assert by_chain, "no rule fired on the derived mobile nutrient"


def test_an_unsure_tick_makes_its_rules_unsure(engine: Engine, knowledge) -> None:
    case = Case(
        crop="bean", answers={"pattern": (Tick("pale_stippling", sure=False),), "creature": ticks("slow_specks")}
    )
    fired = engine.rulebook.fire(case)
    assert fired["tick:pattern.pale_stippling"] == knowledge.scale.unsure
    assert fired["tick:creature.slow_specks"] == 1.0


def test_contradictions_ask_to_look_again(engine: Engine, knowledge) -> None:
    case = case_of(knowledge, crop="bean", answers={"creature": ["none_found"], "motion": ["hops"]})
    fired = engine.rulebook.fire(case)
    assert any(rule.startswith("again:") for rule in fired)


@pytest.mark.parametrize("number", [-2.0, 0.0, 1.999, 2.0, 2.001, 30.0])
@pytest.mark.parametrize("flag", [True, False])
def test_decision_rules_compare_numbers_and_flags(engine: Engine, number: float, flag: bool) -> None:
    """hold_harvest: in play, and picked in fewer than two days."""
    decided = {d.id for d in engine.rulebook.decide({"in_play": flag, "days_to_harvest": number})}
    assert ("hold_harvest" in decided) == (flag and number < 2)
    assert ("caution_harvest" in decided) == (flag and number >= 2)
