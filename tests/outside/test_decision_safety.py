"""Published warnings, and what the verdict must do about each. Sources stand beside the warnings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.conftest import real_knowledge
from triage.reasoning.case import Context
from triage.reasoning.checks import plainest_case
from triage.reasoning.knowledge import Effect
from triage.reasoning.verdict import judge

_KNOWLEDGE = real_knowledge()
_HELPS = (Effect.KILLS_ON_CONTACT, Effect.SLOWS)
_SPRAYABLE = [s for s in _KNOWLEDGE.sheets.values() if s.spray.effect is Effect.KILLS_ON_CONTACT]


@pytest.mark.parametrize("class_id", _KNOWLEDGE.class_ids)
def test_no_class_is_sprayed_in_vain(engine, class_id: str) -> None:
    """Each cause's plainest case: never "worth it" where its sheet says no use, repels only or worse."""
    for sheet in _KNOWLEDGE.sheets.values():
        if sheet.class_id == class_id and sheet.spray.effect not in _HELPS:
            verdict = judge(plainest_case(sheet, _KNOWLEDGE), engine)
            assert not verdict.spray.worth_it, sheet.id


def test_what_makes_it_worse_is_forbidden(engine) -> None:
    """UC IPM and Montreal: oil and soap on stressed leaves add burn (ucipm_mildew_fruit, montreal_soap)."""
    for sheet in _KNOWLEDGE.sheets.values():
        if sheet.spray.effect is Effect.MAKES_WORSE:
            verdict = judge(plainest_case(sheet, _KNOWLEDGE), engine)
            assert verdict.spray.advice == "do_not_spray", sheet.id


def test_what_it_kills_is_not_withheld(engine) -> None:
    """The other mistake: a pest the mix kills on contact, met plainly, with nothing in the way."""
    for sheet in _SPRAYABLE:
        case = replace(plainest_case(sheet, _KNOWLEDGE), context=Context(severity="some", test_patch="clean"))
        assert judge(case, engine).spray.advice == "spray", sheet.id


#: What a published warning forbids, the context in which it holds, and a word the verdict must say.
WARNINGS = [
    ("not in heat: wsu_oil_damage, umd_pesticide_burn (85 F)", Context(hot=True), "29 C"),
    ("not in the cold: wsu_oil_damage (50 F)", Context(cold=True), "10 C"),
    ("not on thirsty plants: ucipm_mildew_fruit, clemson_less_toxic", Context(drought_stressed=True), "thirsty"),
    ("not before rain: missouri_rainfast", Context(rain_expected=True), "dry spell"),
    ("not on open bloom: lsu_bees, wsu_bees", Context(in_bloom=True), "bees"),
    ("not near sulfur: rutgers_oil (30 days), wsu_oil_damage (2 to 4 weeks)", Context(recent_sulfur=True), "30 days"),
    ("not too often: infonet_soap, uk_soap2013", Context(recent_oil=True), "day 2 or 3"),
]


@pytest.mark.parametrize(("warning", "context", "word"), WARNINGS, ids=[w[0].split(":")[0] for w in WARNINGS])
def test_the_day_can_forbid_what_the_pest_allows(engine, warning: str, context: Context, word: str) -> None:
    for sheet in _SPRAYABLE:
        verdict = judge(replace(plainest_case(sheet, _KNOWLEDGE), context=context), engine)
        assert any(word in hold for hold in verdict.holds), (sheet.id, warning)


@pytest.mark.parametrize(
    ("crop", "word"),
    [
        ("summer_squash", "burn easily"),  # echo_1992
        ("winter_squash", "burn easily"),  # echo_1992
        ("cauliflower", "burn easily"),  # echo_1992
        ("cabbage", "wax"),  # clemson_soap_news
        ("tomato", "yield"),  # sclar_1999
        ("cucumber", "Sources differ"),  # echo_1992 against mostafa_2021
        ("onion", "wax"),  # clemson_soap_news, wsu_oil_damage
    ],
)
def test_touchy_crops_are_warned_of(engine, crop: str, word: str) -> None:
    mite = _KNOWLEDGE.sheets["two_spotted_spider_mite"]
    case = replace(plainest_case(mite, _KNOWLEDGE), crop=crop)
    verdict = judge(case, engine)
    assert verdict.spray.advice != "spray" or any(word in caution for caution in verdict.cautions)
    assert any(word in caution for caution in verdict.cautions)


def test_helpers_are_spared(engine) -> None:
    """gospodarek2023: 0.5% peppermint oil harmed young lady beetles."""
    helpers = _KNOWLEDGE.sheets["parasitised_or_beneficial_insects_seen"]
    assert judge(plainest_case(helpers, _KNOWLEDGE), engine).spray.advice == "do_not_spray"
    for sheet in _SPRAYABLE:
        few = replace(plainest_case(sheet, _KNOWLEDGE), context=Context(severity="few", predators_seen=True))
        assert judge(few, engine).spray.advice == "do_not_spray", sheet.id


def test_every_spray_advised_comes_with_the_usual_cautions(engine) -> None:
    for sheet in _SPRAYABLE:
        told = " ".join(judge(plainest_case(sheet, _KNOWLEDGE), engine).cautions).lower()
        for word in ("label", "extension office", "goggles", "cats", "ponds", "flowers", "bleach", "sulfur"):
            assert word in told, (sheet.id, word)


def test_no_cure_is_promised_for_bacteria_and_viruses(engine) -> None:
    """csu_5569 (viruses); no spray for bacteria is from memory: nothing read measured a home mix on one."""
    for sheet in _KNOWLEDGE.sheets.values():
        if sheet.class_id in ("bacterial", "viral"):
            verdict = judge(plainest_case(sheet, _KNOWLEDGE), engine)
            if verdict.classes[0].id == sheet.class_id:
                assert verdict.spray.advice == "do_not_spray", sheet.id


def test_a_look_alike_that_no_spray_helps_is_settled_first(engine) -> None:
    """White smut looks like powdery mildew on tomatillo and ground cherry; on tomato it is no bar (judgement)."""
    mildew = plainest_case(_KNOWLEDGE.sheets["powdery_mildew_tomato_pepper"], _KNOWLEDGE)
    context = Context(severity="some", test_patch="clean")
    tomato, tomatillo = (judge(replace(mildew, crop=crop, context=context), engine) for crop in ("tomato", "tomatillo"))
    assert tomato.spray.advice == "spray"
    assert tomatillo.leading.id == tomato.leading.id == "powdery_mildew_tomato_pepper"
    assert tomatillo.spray.advice == "check_first"
    assert tomatillo.send_sample and not tomato.send_sample
