"""What fires on a case, worked out by plain code: the twin of the durable-rules run.

A finding is a rule and how surely it holds (1 for sure, less for "I think so").
`rulebook.py` finds the same ones through the rule engine; a property test holds
the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from triage.reasoning.case import Case
from triage.reasoning.knowledge import Contradiction, Knowledge, Pattern

#: Rule name to how surely it holds. Names: "tick:cue.value", "looked:cue", "pattern:id", "again:id".
Fired = dict[str, float]

DERIVED = "derived"


@dataclass(frozen=True)
class Fact:
    """One thing known of a case, as the rules see it."""

    cue: str
    value: str
    factor: float


def tick_rule(cue: str, value: str) -> str:
    return f"tick:{cue}.{value}"


def looked_rule(cue: str) -> str:
    return f"looked:{cue}"


def pattern_rule(pattern: Pattern) -> str:
    return f"pattern:{pattern.id}"


def again_rule(contradiction: Contradiction) -> str:
    return f"again:{contradiction.id}"


def facts_of(case: Case, knowledge: Knowledge) -> list[Fact]:
    """The case as facts: its ticks, its crop and the crop's family."""
    unsure = knowledge.scale.unsure
    facts = [
        Fact(cue, tick.value, 1.0 if tick.sure else unsure) for cue, ticks in case.told().items() for tick in ticks
    ]
    if case.crop:
        facts.append(Fact("crop", case.crop, 1.0))
        facts.append(Fact("family", knowledge.crops.crops[case.crop].family, 1.0))
    return facts


def fire(case: Case, knowledge: Knowledge) -> Fired:
    """Every rule that fires on the case, without the rule engine."""
    facts = facts_of(case, knowledge)
    fired: Fired = {}
    for cue in case.told():
        if knowledge.cues[cue].several:
            fired[looked_rule(cue)] = 1.0
    for fact in facts:
        if fact.cue in knowledge.cues:
            fired[tick_rule(fact.cue, fact.value)] = fact.factor
    held = _by_cue(facts)
    pending = knowledge.patterns
    while True:
        # Rules may derive what other rules wait for, so go round these until nothing new fires.
        derived: list[Fact] = []
        for pattern in pending:
            factor = holds(pattern.when, held)
            if not factor:
                continue
            name = pattern_rule(pattern)
            if factor > fired.get(name, 0.0):
                fired[name] = factor
                if pattern.derives:
                    derived.append(Fact(DERIVED, pattern.derives, factor))
        if not derived:
            break
        pending = [pattern for pattern in knowledge.patterns if DERIVED in pattern.when]
        for fact in derived:
            values = held.setdefault(DERIVED, {})
            values[fact.value] = max(fact.factor, values.get(fact.value, 0.0))
    for contradiction in knowledge.contradictions:
        factor = holds(contradiction.when, held)
        if factor:
            fired[again_rule(contradiction)] = factor
    return fired


def _by_cue(facts: Iterable[Fact]) -> dict[str, dict[str, float]]:
    held: dict[str, dict[str, float]] = {}
    for fact in facts:
        held.setdefault(fact.cue, {})[fact.value] = fact.factor
    return held


def holds(when: Mapping[str, list[str]], held: Mapping[str, Mapping[str, float]]) -> float:
    """How surely a condition holds: the weakest line, each by its surest value; 0 when it does not."""
    weakest = 1.0
    for cue, values in when.items():
        told = held.get(cue)
        if not told:
            return 0.0
        surest = 0.0
        for value in values:
            factor = told.get(value, 0.0)
            if factor > surest:
                surest = factor
        if not surest:
            return 0.0
        weakest = min(weakest, surest)
    return weakest
