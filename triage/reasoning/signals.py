"""Belief and context boiled down to named signals, and the decision rules read on them.

The signals feed the decision rules of decisions.yaml. `decided` reads the rules in plain code, the
twin of the rule engine's run, for simulation and bulk; a property test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from triage.reasoning.belief import Belief
from triage.reasoning.case import Case
from triage.reasoning.knowledge import SOMETHING_ELSE, Decision, Effect, Knowledge, Number, Sheet
from triage.reasoning.verdict_model import Advice, State

Signals = dict[str, bool | float | str]


def state_of(class_id: str, chance: float, knowledge: Knowledge) -> State:
    """Of the leading class, since the class decides what to do; its cause may still be open."""
    if class_id == SOMETHING_ELSE or chance < knowledge.scale.leaning:
        return "unclear"
    return "likely" if chance >= knowledge.scale.likely else "leaning"


def effects(belief: Belief, knowledge: Knowledge) -> dict[Effect, float]:
    """How the belief spreads over what a spray would do. The unknown counts as no use."""
    shares = dict.fromkeys(Effect, 0.0)
    for cause, p in belief.ranked():
        sheet = knowledge.sheets.get(cause)
        shares[sheet.spray.effect if sheet else Effect.NO_USE] += p
    return shares


def signals_of(case: Case, belief: Belief, knowledge: Knowledge) -> Signals:
    """Belief and context as named numbers, words and yes/no, for the decision rules."""
    shares = effects(belief, knowledge)
    lead, lead_chance = belief.ranked()[0]
    class_id, class_chance = max(belief.classes().items(), key=lambda item: item[1])
    gain = belief.spray_gain()
    helps = belief.chance_it_helps()
    sheet = knowledge.sheets.get(lead)
    judgement = max(shares, key=lambda effect: shares[effect])
    speaker = speaker_of(belief, judgement, knowledge)
    twins = twins_of(lead, case.crop, knowledge)
    signals: Signals = {
        "gain": gain,
        "helps": helps,
        "hurts": shares[Effect.MAKES_WORSE],
        "judgement": str(judgement),
        "evidence": speaker.spray.evidence if speaker else "from_memory",
        "state": state_of(class_id, class_chance, knowledge),
        "class": class_id,
        "cause": lead,
        "class_chance": class_chance,
        "cause_chance": lead_chance,
        "unknown_chance": belief.of(SOMETHING_ELSE),
        "pays": gain > 0,
        "in_play": gain > 0 or helps >= knowledge.scale.may_help,
        "notifiable": bool(sheet and sheet.notifiable),
        "inseparable": bool(twins),
        "twin_unlike": len({belief.weights.spray_value[belief.weights.index(one)] > 0 for one in (lead, *twins)}) > 1,
        "pest_unseen": sheet is not None and pest_unseen(case, sheet, knowledge),
        "severity_known": case.context.severity is not None,
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


def twins_of(cause: str, crop: str | None, knowledge: Knowledge) -> list[str]:
    """The causes that the eye cannot tell from this one and that live on this crop."""
    sheets = knowledge.sheets
    marked = [twin for twin in sheets[cause].inseparable_from if twin in sheets] if cause in sheets else []
    return [twin for twin in marked if crop is None or {"any", crop} & set(sheets[twin].crops)]


_SELF = frozenset({"creature", "look", "creature_check", "trace", "test"})  # groups of cues that show it or its traces
_SHOWN = frozenset({"almost_always", "usually", "often", "sometimes"})


def pest_unseen(case: Case, sheet: Sheet, knowledge: Knowledge) -> bool:
    """The sheet is of a creature, and nothing ticked shows it or its traces: all there is may be old damage."""
    own = {(cue, value) for cue, words in sheet.cues.items() for value, word in words.items() if word in _SHOWN}
    own = {(cue, value) for cue, value in own if not knowledge.cues[cue].answers[value].alone}
    if not any(cue == "creature" for cue, _ in own):
        return False
    return not any(case.has(cue, [value]) for cue, value in own if knowledge.cues[cue].group in _SELF)


def speaker_of(belief: Belief, judgement: Effect, knowledge: Knowledge) -> Sheet | None:
    """The sheet of the likeliest cause on which a spray has this effect."""
    for cause, _ in belief.ranked():
        sheet = knowledge.sheets.get(cause)
        if sheet and sheet.spray.effect == judgement:
            return sheet
    return None


def advice(decided: Iterable[Decision], pays: bool) -> Advice:
    """Worth it when it pays over the whole belief and no decision rule stays the hand."""
    rules = list(decided)
    if any(rule.then.do_not_spray for rule in rules):
        return "do_not_spray"
    if any(rule.then.check_first for rule in rules):
        return "check_first"
    return "spray" if pays else "do_not_spray"


def decided(signals: Mapping[str, bool | float | str], knowledge: Knowledge) -> list[Decision]:
    """The decision rules that hold, without the rule engine."""
    return [
        rule
        for rule in knowledge.decisions
        if all(
            name in signals and all(_holds(word, wanted, signals[name]) for word, wanted in tests.items())
            for name, tests in rule.when.items()
        )
    ]


def advice_of(case: Case, belief: Belief, knowledge: Knowledge) -> Advice:
    """The spray advice of a belief, cheaply."""
    signals = signals_of(case, belief, knowledge)
    return advice(decided(signals, knowledge), bool(signals["pays"]))


def _holds(word: str, wanted: bool | str | Number, value: bool | str | Number) -> bool:
    if word == "is":
        return value == wanted
    if isinstance(value, bool | str) or isinstance(wanted, bool | str):
        return False
    return value >= wanted if word == "at_least" else value < wanted
