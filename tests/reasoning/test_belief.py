from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings

from tests.conftest import case_of, real_knowledge
from tests.reasoning.strategies import cases
from triage.reasoning.belief import believe, evidence, prior, voices
from triage.reasoning.case import Case, Tick
from triage.reasoning.engine import Engine
from triage.reasoning.findings import fire
from triage.reasoning.knowledge import SOMETHING_ELSE

_KNOWLEDGE = real_knowledge()


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases(_KNOWLEDGE))
def test_belief_is_a_probability_and_never_certain(engine: Engine, case: Case) -> None:
    belief = believe(case, fire(case, engine.knowledge), engine.knowledge, engine.weights)
    assert abs(belief.p.sum() - 1) < 1e-9
    assert (belief.p > 0).all()
    assert (belief.p < 1).all()
    assert abs(sum(belief.classes().values()) - 1) < 1e-9


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases(_KNOWLEDGE))
def test_cant_tell_counts_nothing(engine: Engine, case: Case) -> None:
    blank = Case(case.crop, case.months, case.region, case.hemisphere, case.told())
    assert np.array_equal(engine.run(case)[1].p, engine.run(blank)[1].p)


@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases(_KNOWLEDGE))
def test_the_order_of_answers_does_not_matter(engine: Engine, case: Case) -> None:
    back = Case(
        case.crop, case.months, case.region, case.hemisphere, dict(reversed(list(case.answers.items()))), case.context
    )
    assert np.abs(engine.run(case)[1].p - engine.run(back)[1].p).max() < 1e-9


def test_an_unsure_tick_moves_belief_half_as_far(engine: Engine) -> None:
    """In the logarithm, for a cue that takes one answer: that is what "counts half" means."""

    def odds(*given: Tick) -> float:
        case = Case(crop="bean", answers={"tap_test": given} if given else {})
        belief = engine.run(case)[1]
        return float(np.log(belief.of("two_spotted_spider_mite") / belief.of(SOMETHING_ELSE)))

    nothing, unsure, sure = odds(), odds(Tick("crawling_specks", sure=False)), odds(Tick("crawling_specks"))
    assert sure > unsure > nothing
    assert abs((unsure - nothing) * 2 - (sure - nothing)) < 1e-9


def test_crop_season_region_and_hemisphere_shape_the_prior(engine: Engine, knowledge) -> None:
    def chance(cause: str, **data: object) -> float:
        return float(prior(case_of(knowledge, **data), knowledge, engine.weights)[engine.weights.index(cause)])

    mite = "two_spotted_spider_mite"
    assert chance(mite, crop="bean", month=8) > chance(mite, crop="bean", month=1)
    assert chance(mite, crop="bean", month=1, hemisphere="south") > chance(mite, crop="bean", month=1)
    assert chance(mite, crop="bean", month=1, region="oceania") > chance(mite, crop="bean", month=7, region="oceania")
    assert chance(mite, crop="bean", month=1, hemisphere="tropics") == chance(mite, crop="bean")
    assert chance("hornworm", crop="tomato", region="europe") < 0.1 * chance("hornworm", crop="tomato")
    assert chance("hornworm", crop="tomato", region="north_america") > chance("hornworm", crop="tomato")
    assert chance("cabbage_aphid", crop="bean") < 0.1 * chance("cabbage_aphid", crop="cabbage")
    assert chance(mite, crop="bean") > 0
    assert abs(chance(SOMETHING_ELSE, crop="bean") - knowledge.scale.something_else) < 1e-12


def test_what_nothing_explains_goes_to_something_else(engine: Engine, knowledge) -> None:
    """Signs that no one cause shares: the unknown must rise far above its prior."""
    odd = case_of(
        knowledge,
        crop="rhubarb",
        answers={"pattern": ["husk_torn", "dots_in_rows", "fruit_rings_blotches"], "trace": ["frothy_spittle"]},
    )
    belief = engine.run(odd)[1]
    assert belief.of(SOMETHING_ELSE) > 2 * knowledge.scale.something_else


def test_ticks_of_one_list_share_their_say(engine: Engine) -> None:
    """Of n, each counts n ** -shared_power; one alone, sure or not, counts in full; other lists are untouched."""
    shared = engine.weights.shared
    assert voices({"tick:pattern.wilting": 1.0, "tick:trace.slime_trail": 0.5}, engine.weights) == {
        "pattern": 1.0,
        "trace": 1.0,
    }
    three = {"tick:pattern.wilting": 1.0, "tick:pattern.stunting": 1.0, "tick:pattern.leaf_drop": 0.5}
    assert voices(three, engine.weights) == {"pattern": 2.5**-shared}
    table = engine.weights.cues["pattern"]
    alone = sum(factor * table.seen[table.row(rule.partition(".")[2])] for rule, factor in three.items())
    alone = alone - sum(table.unseen[table.row(rule.partition(".")[2])] for rule in three) + table.looked
    told = evidence({**three, "looked:pattern": 1.0}, engine.weights)
    assert np.allclose(told, 2.5**-shared * alone)
