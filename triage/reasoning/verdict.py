"""Belief, decision rules and context to a Verdict: what did it, how sure, spray or not, what to do."""

from __future__ import annotations

from triage.reasoning import explain
from triage.reasoning.belief import Belief
from triage.reasoning.case import Case
from triage.reasoning.engine import Engine
from triage.reasoning.findings import Fired, again_rule
from triage.reasoning.knowledge import Decision, Effect, Knowledge
from triage.reasoning.questions import open_cues, outlooks
from triage.reasoning.signals import Signals, advice, signals_of, speaker_of, state_of
from triage.reasoning.verdict_model import (
    Action,
    CauseChance,
    ClassChance,
    LookAgain,
    SprayVerdict,
    Threshold,
    Verdict,
)

_SHOWN_CAUSES = 12
_HELPS = (Effect.KILLS_ON_CONTACT, Effect.SLOWS)
_ACTIONS_FROM_SHEET = 5


def judge(case: Case, engine: Engine) -> Verdict:
    """The whole verdict of a case: runs the rules, weighs, decides."""
    knowledge = engine.knowledge
    fired, belief = engine.run(case)
    ranked = belief.ranked()
    lead = explain.leaders(belief)[0][0]
    classes = sorted(belief.classes().items(), key=lambda item: -item[1])
    signals = signals_of(case, belief, knowledge)
    state = state_of(*classes[0], knowledge)
    decided = engine.rulebook.decide(signals)
    spray = _spray(belief, decided, signals, knowledge)
    # Looking again at what was "can't tell" may settle it, so those cues count as open here.
    told = Case(case.crop, case.months, case.region, case.hemisphere, case.told(), case.context)
    ahead = outlooks(told, fired, belief, knowledge, open_cues(told, knowledge))
    return Verdict(
        state=state,
        crop=case.crop,
        classes=[
            ClassChance(id=name, name=_class_name(name, knowledge), probability=p) for name, p in classes if p >= 0.001
        ],
        causes=[
            CauseChance(id=cause, name=knowledge.cause_name(cause), class_id=knowledge.class_of(cause), probability=p)
            for cause, p in ranked[:_SHOWN_CAUSES]
        ],
        spray=spray,
        findings=explain.findings(case, fired, belief, knowledge),
        look_again=_look_again(case, fired, knowledge),
        look_alikes=explain.look_alikes(belief, knowledge, case),
        would_change=explain.would_change(ahead, belief.spray_gain() > 0, knowledge),
        actions=_actions(belief, decided, knowledge),
        threshold=Threshold(cause=lead, says=knowledge.sheets[lead].threshold) if state != "unclear" else None,
        holds=[d.then.hold for d in decided if d.then.hold],
        cautions=_cautions(decided, spray, knowledge),
        send_sample=_send_sample(decided, lead, knowledge),
        unexplained=explain.unexplained(case, belief, knowledge),
        reasons=[d.says for d in decided],
        knowledge=knowledge.version,
    )


def _look_again(case: Case, fired: Fired, knowledge: Knowledge) -> list[LookAgain]:
    """Answers that cannot both be right: "found none" beside a find, and what the contradiction rules name."""
    found = []
    for cue, ticks in case.told().items():
        answers = knowledge.cues[cue].answers
        if len(ticks) > 1 and any(answers[tick.value].alone for tick in ticks):
            says = f"“Found none” stands beside another answer to: {knowledge.cues[cue].ask} Look once more."
            found.append(LookAgain(cues=[cue], says=says))
    rules = [rule for rule in knowledge.contradictions if again_rule(rule) in fired]
    return found + [LookAgain(cues=rule.look_again, says=rule.says) for rule in rules]


def _class_name(class_id: str, knowledge: Knowledge) -> str:
    text = knowledge.scale.classes.get(class_id)
    return text.name if text else knowledge.cause_name(class_id)


def _spray(belief: Belief, decided: list[Decision], signals: Signals, knowledge: Knowledge) -> SprayVerdict:
    judgement = Effect(str(signals["judgement"]))
    pays = bool(signals["pays"])
    forbids = [d.says for d in decided if d.then.do_not_spray]
    doubts = [d.says for d in decided if d.then.check_first]
    found = advice(decided, pays)
    speaker = speaker_of(belief, judgement, knowledge)
    # When the judgement alone would say spray, the rule that stays the hand must say why.
    said = (
        forbids[:1] if found == "do_not_spray" and judgement in _HELPS else doubts[:1] if found == "check_first" else []
    )
    note = [speaker.spray.note] if speaker and signals["state"] != "unclear" else []
    return SprayVerdict(
        judgement=judgement,
        worth_it=found == "spray",
        advice=found,
        reason=" ".join(said + note) or "Not while it is unknown what did it.",
        evidence=speaker.spray.evidence if speaker else "from_memory",
        chance_it_helps=float(signals["helps"]),
        expected_gain=float(signals["gain"]),
        sources=list(speaker.spray.sources) if speaker else [],
    )


def _actions(belief: Belief, decided: list[Decision], knowledge: Knowledge) -> list[Action]:
    """What to do: what the decision rules ask for, then the leading sheets' own steps, least toxic first."""
    found = [Action(says=d.then.do_now, serves="all", kind="now") for d in decided if d.then.do_now]
    found += [Action(says=d.then.do_instead, serves="all", kind="instead") for d in decided if d.then.do_instead]
    found += [
        Action(says=d.then.before_spray, serves="all", kind="before_spray") for d in decided if d.then.before_spray
    ]
    for place, (cause, _) in enumerate(explain.leaders(belief, least=0.2)):
        most = _ACTIONS_FROM_SHEET if place == 0 else 2
        steps = knowledge.sheets[cause].actions[:most]
        found += [Action(says=step, serves=cause, kind="routine") for step in steps]
    return found


def _cautions(decided: list[Decision], spray: SprayVerdict, knowledge: Knowledge) -> list[str]:
    found = [d.then.caution for d in decided if d.then.caution]
    for caution in knowledge.cautions:
        if caution.when == "always" or (caution.when == "spraying" and spray.advice != "do_not_spray"):
            found.append(caution.says)
    return list(dict.fromkeys(found))


def _send_sample(decided: list[Decision], lead: str, knowledge: Knowledge) -> list[str]:
    """When a laboratory must say. The leading sheet's own advice stands last, as a condition."""
    found = [d.then.send_sample for d in decided if d.then.send_sample]
    return [*found, knowledge.sheets[lead].send_sample_when] if found else []
