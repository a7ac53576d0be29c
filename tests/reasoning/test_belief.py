from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from tests.conftest import case_of, real_knowledge
from tests.reasoning.strategies import cases
from triage.reasoning.belief import believe, evidence, loudness, prior, voices, with_kin
from triage.reasoning.case import Case, Tick
from triage.reasoning.engine import Engine
from triage.reasoning.findings import fire
from triage.reasoning.kin import Kin
from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge
from triage.reasoning.weights import Weights, compile_weights

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


def test_an_unsure_tick_moves_the_evidence_half_as_far(engine: Engine) -> None:
    """In the logarithm, for a cue that takes one answer: that is what "counts half" means."""
    mite = "two_spotted_spider_mite"

    def told(*given: Tick) -> tuple[float, float]:
        case = Case(crop="bean", answers={"tap_test": given} if given else {})
        fired, belief = engine.run(case)
        heard = evidence(fired, engine.weights, voices(fired, engine.weights.scale))
        return float(heard[engine.weights.index(mite)]), belief.of(mite)

    (nothing, before), (unsure, between), (sure, after) = (
        told(),
        told(Tick("crawling_specks", sure=False)),
        told(Tick("crawling_specks")),
    )
    assert after > between > before
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
    scale = engine.weights.scale
    shared = scale.shared_power
    two = {"tick:pattern.wilting": 1.0, "tick:trace.slime_trail": 0.5}
    assert voices(two, scale).lists == {"pattern": 1.0, "trace": 1.0}
    three = {"tick:pattern.wilting": 1.0, "tick:pattern.stunting": 1.0, "tick:pattern.leaf_drop": 0.5}
    voice = voices(three, scale)
    assert voice.lists == {"pattern": 2.5**-shared}
    table = engine.weights.cues["pattern"]
    alone = sum(factor * table.seen[table.row(rule.partition(".")[2])] for rule, factor in three.items())
    alone = alone - sum(table.unseen[table.row(rule.partition(".")[2])] for rule in three) + table.looked
    told = evidence({**three, "looked:pattern": 1.0}, engine.weights, voice)
    assert np.allclose(told, voice.all * 2.5**-shared * alone)


def test_the_more_is_told_the_less_each_answer_counts(knowledge) -> None:
    """All that is told: (ticks / usual) ** -power, an unsure tick half a tick, and never fewer than `fewest`."""
    scale = knowledge.scale.model_copy(update={"told": {"power": 0.5, "usual": 8.0, "fewest": 2.0}})
    assert loudness(8, scale) == pytest.approx(1)
    assert loudness(32, scale) == pytest.approx(0.5)
    assert loudness(2, scale) == loudness(0, scale) == pytest.approx(2)
    ticks = {f"tick:pattern.{n}": 1.0 for n in range(31)} | {"tick:trace.a": 0.5, "tick:trace.b": 0.5}
    assert voices({**ticks, "looked:trace": 1.0}, scale).all == pytest.approx(0.5)


def test_relatives_hand_what_they_have_to_the_sheets_of_their_class() -> None:
    """By hand: sheets of 2, 1 and 1 in one class, with relatives of 3 and 1 there, grow twofold; the other is alone."""
    logs, kin_logs = np.log([[2.0, 1.0, 1.0, 5.0, 2.0]]), np.log([[3.0, 1.0]])
    groups = np.array([[1.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
    classes = np.array([[1.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    kin = Kin(groups, classes, np.array([[1.0, 0.0], [1.0, 0.0]]), np.ones(2), {}, {})
    assert np.exp(with_kin(logs, kin_logs, kin)) == pytest.approx(np.array([[4.0, 2.0, 2.0, 5.0, 2.0]]))
    assert with_kin(logs - 500, kin_logs - 500, kin) == pytest.approx(with_kin(logs, kin_logs, kin) - 500)


@cache
def without_relatives() -> tuple[Knowledge, Weights]:
    """The knowledge with next to no relatives, compiled once."""
    knowledge = _KNOWLEDGE.model_copy(update={"scale": _KNOWLEDGE.scale.model_copy(update={"kin": 1e-12})})
    return knowledge, compile_weights(knowledge)


@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(case=cases(_KNOWLEDGE))
def test_relatives_leave_the_order_within_a_class_as_it_was(engine: Engine, case: Case) -> None:
    without, weights = without_relatives()
    plain = believe(case, fire(case, without), without, weights)
    classes = engine.weights.kin.classes
    ratio = engine.run(case)[1].p[:-1] / plain.p[:-1]
    mean = (ratio @ classes) / classes.sum(axis=0)
    assert ratio == pytest.approx(classes @ mean, rel=1e-6)


def test_a_pest_on_a_crop_no_sheet_names_may_be_a_relative(engine: Engine, knowledge) -> None:
    """Curled young leaves, as aphids leave them, on crops that no sheet of an aphid names: the kind gains by it."""
    aphids = [c for c in knowledge.kin["soft_bodied"]["aphids"] if "any" not in knowledge.sheets[c].crops]
    crops = [c for c in knowledge.crops.crops if not any(c in knowledge.sheets[a].crops for a in aphids)]
    without, weights = without_relatives()
    assert crops
    gains = []
    for crop in crops:
        answers = {"pattern": ["curled_or_cupped", "puckered_distorted"], "position": ["youngest_top"]}
        told = case_of(knowledge, crop=crop, answers=answers)
        alone = believe(told, fire(told, knowledge), without, weights).classes()["soft_bodied"]
        together = engine.run(told)[1].classes()["soft_bodied"]
        gains.append(together / (1 - together) / (alone / (1 - alone)))
    assert np.prod(gains) ** (1 / len(gains)) > 1.2
