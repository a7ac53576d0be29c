"""The spray advice of a belief, cheaply: the decision rules that stay the hand, read without the rule engine.

The twin of what `verdict.judge` says under "spray" where nothing but the answers is known
of the day and the planting; a test holds the two together.
"""

from __future__ import annotations

from triage.reasoning.belief import Belief
from triage.reasoning.case import Case
from triage.reasoning.knowledge import SOMETHING_ELSE, Decision, Effect, Knowledge, Number
from triage.reasoning.verdict import effects
from triage.reasoning.verdict_model import Advice, State

_Signals = dict[str, bool | str | Number]


def state_of(class_id: str, chance: float, knowledge: Knowledge) -> State:
    """Likely, leaning or unclear, by the chance of the leading class."""
    if class_id == SOMETHING_ELSE or chance < knowledge.scale.leaning:
        return "unclear"
    return "likely" if chance >= knowledge.scale.likely else "leaning"


def advice_of(case: Case, belief: Belief, knowledge: Knowledge) -> Advice:
    """spray, check_first or do_not_spray: worth it on the whole belief, and no decision rule against it."""
    signals = _signals(case, belief, knowledge)
    held = [d for d in knowledge.decisions if (d.then.do_not_spray or d.then.check_first) and _holds(d, signals)]
    if any(d.then.do_not_spray for d in held):
        return "do_not_spray"
    if held:
        return "check_first"
    return "spray" if signals["pays"] else "do_not_spray"


def _signals(case: Case, belief: Belief, knowledge: Knowledge) -> _Signals:
    shares = effects(belief, knowledge)
    lead, lead_chance = belief.ranked()[0]
    class_id, class_chance = max(belief.classes().items(), key=lambda item: item[1])
    gain = belief.spray_gain()
    helps = shares[Effect.KILLS_ON_CONTACT] + shares[Effect.SLOWS]
    sheet = knowledge.sheets.get(lead)
    signals: _Signals = {
        "gain": gain,
        "helps": helps,
        "hurts": shares[Effect.MAKES_WORSE],
        "judgement": str(max(shares, key=lambda effect: shares[effect])),
        "state": state_of(class_id, class_chance, knowledge),
        "class": class_id,
        "cause": lead,
        "class_chance": class_chance,
        "cause_chance": lead_chance,
        "unknown_chance": belief.of(SOMETHING_ELSE),
        "pays": gain > 0,
        "in_play": gain > 0 or helps >= 0.3,
        "notifiable": bool(sheet and sheet.notifiable),
        "inseparable": bool(sheet and sheet.inseparable_from),
        "test_patch_known": case.context.test_patch is not None,
    }
    if case.crop:
        signals["crop"] = case.crop
        signals["family"] = knowledge.crops.crops[case.crop].family
    context = case.context.model_dump(exclude_none=True)
    if case.answers.get("new_growth"):
        context.setdefault("new_growth", case.answers["new_growth"][0].value)
    if case.has("creature", ["predators", "mummies_or_cocoons"]):
        context.setdefault("predators_seen", True)
    signals.update(context)
    return signals


def _holds(decision: Decision, signals: _Signals) -> bool:
    return all(
        name in signals and all(_test(word, wanted, signals[name]) for word, wanted in tests.items())
        for name, tests in decision.when.items()
    )


def _test(word: str, wanted: bool | str | Number, value: bool | str | Number) -> bool:
    if word == "is":
        return value == wanted
    if isinstance(value, bool | str) or isinstance(wanted, bool | str):
        return False
    return value >= wanted if word == "at_least" else value < wanted
