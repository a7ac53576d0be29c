"""Sheets, patterns, contradictions and decisions as one durable-rules ruleset. The only file that imports durable.

What the engine taught us (all measured): `Ruleset` is used without a Host, which would run
actions from timer threads; answers are asserted as facts, since an event is eaten by the first
rule that matches; absence is never a condition; an exception in an action would be swallowed, so
it is caught here and raised after the run; the state is deleted after each case. Deleting a
session in which no rule looked at any fact crashes the process (seen in 2.0.28), so every session
opens with a fact that one rule is made for. A fact at which over sixty rules of a ruleset look fails
with error 303 (its stack holds 64; likewise), so the rules are shared out over several.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import count
from typing import Any

from durable.engine import MessageNotHandledException, MessageObservedException, Ruleset

from triage.reasoning.case import Case
from triage.reasoning.findings import (
    DERIVED,
    Fact,
    Fired,
    again_rule,
    facts_of,
    looked_rule,
    pattern_rule,
    tick_rule,
)
from triage.reasoning.knowledge import Decision, Knowledge
from triage.reasoning.signals import Signals

_OPENED = "opened"
#: So many rules of one ruleset may look at the same fact.
_MOST_LOOKING = 50


@dataclass(frozen=True)
class _Rule:
    name: str
    conditions: list[dict[str, Any]]
    looks_at: Set[object]  # answers or signals
    derives: str | None = None


def _shared_out(rules: Iterable[_Rule]) -> list[list[_Rule]]:
    """The rules by rulesets: as few as keep to _MOST_LOOKING."""
    shares: list[tuple[list[_Rule], Counter[object]]] = []
    for rule in rules:
        fitting = (share for share in shares if all(share[1][each] < _MOST_LOOKING for each in rule.looks_at))
        share = next(fitting, None)
        if share is None:
            shares.append(share := ([], Counter()))
        share[0].append(rule)
        share[1].update(rule.looks_at)
    return [share for share, _ in shares]


class Rulebook:
    """The compiled rules. Each run is a session of its own; runs leave nothing behind."""

    def __init__(self, knowledge: Knowledge) -> None:
        self._knowledge = knowledge
        self._numbers = count(1)
        self._fired: Fired = {}
        self._derived: list[Fact] = []
        self._error: BaseException | None = None
        self._rulesets = [self._ruleset(n, rules) for n, rules in enumerate(_shared_out(self._rules()))]

    def fire(self, case: Case) -> Fired:
        """Every rule on cues that fires on the case, with how surely it holds."""
        session = self._begin()
        try:
            for cue in case.told():
                if self._knowledge.cues[cue].several:
                    self._assert({"sid": session, "looked": cue})
            pending = facts_of(case, self._knowledge)
            while pending:
                for fact in pending:
                    self._assert({"sid": session, "cue": fact.cue, "value": fact.value, "factor": fact.factor})
                pending, self._derived = self._derived, []
        finally:
            self._end(session)
        return self._fired

    def decide(self, signals: Signals) -> list[Decision]:
        """The decision rules that hold, in the order of decisions.yaml.

        `signals` are belief and context boiled down to named numbers, words and yes/no;
        a name that is missing is not known, and no rule about it fires.
        """
        session = self._begin()
        try:
            for name, value in signals.items():
                kind = "flag" if isinstance(value, bool) else "word" if isinstance(value, str) else "number"
                self._assert({"sid": session, "signal": name, kind: value})
        finally:
            self._end(session)
        return [d for d in self._knowledge.decisions if f"decide:{d.id}" in self._fired]

    def _begin(self) -> str:
        self._fired = {}
        self._derived = []
        self._error = None
        session = str(next(self._numbers))
        self._assert({"sid": session, _OPENED: 1})
        return session

    def _end(self, session: str) -> None:
        for ruleset in self._rulesets:
            ruleset.delete_state(session)

    def _assert(self, fact: dict[str, Any]) -> None:
        failures: list[object] = []
        for ruleset in self._rulesets:
            try:
                state = ruleset.assert_fact(fact)
            except (MessageNotHandledException, MessageObservedException):
                continue  # no rule looks at it, or it is known already: both are normal
            ruleset.do_actions(state, lambda error, _: failures.append(error) if error else None)
        if self._error:
            raise self._error
        if failures:
            raise RuntimeError(f"the rule engine failed: {failures[0]}")

    def _rules(self) -> Iterator[_Rule]:
        k = self._knowledge

        def on_answers(name: str, when: Mapping[str, Sequence[str]], derives: str | None = None) -> _Rule:
            looks_at = {(cue, value) for cue, values in when.items() for value in values}
            return _Rule(name, [_one_of(cue, values) for cue, values in when.items()], looks_at, derives)

        for cue, text in k.cues.items():
            if text.several:
                yield _Rule(looked_rule(cue), [{"looked": cue}], set())
            for value in text.answers:
                yield on_answers(tick_rule(cue, value), {cue: [value]})
        for pattern in k.patterns:
            yield on_answers(pattern_rule(pattern), pattern.when, pattern.derives)
        for contradiction in k.contradictions:
            yield on_answers(again_rule(contradiction), contradiction.when)
        for decision in k.decisions:
            lines = [_test(name, test) for name, tests in decision.when.items() for test in tests.items()]
            yield _Rule(f"decide:{decision.id}", lines, set(decision.when))

    def _ruleset(self, number: int, rules: Iterable[_Rule]) -> Ruleset:
        opened = {"all": [{"m0": {_OPENED: 1}}], "run": lambda _: None}
        texts = {
            rule.name: {
                "all": [{f"m{i}": condition} for i, condition in enumerate(rule.conditions)],
                "run": self._action(rule.name, rule.derives),
            }
            for rule in rules
        }
        return Ruleset(f"triage{number}", None, {_OPENED: opened, **texts})

    def _action(self, name: str, derives: str | None) -> Callable[[Any], None]:
        def run(closure: Any) -> None:
            try:
                factor = min((f for f in _factors(closure) if f is not None), default=1.0)
                # A rule fires once for each set of facts that fits it; the surest counts.
                if factor > self._fired.get(name, 0.0):
                    self._fired[name] = factor
                    if derives:
                        self._derived.append(Fact(DERIVED, derives, factor))
            except BaseException as error:  # the engine would swallow it
                self._error = error

        return run


def _factors(closure: Any) -> Iterable[float | None]:
    matched: dict[str, dict[str, Any]] = closure._m
    return (message.get("factor") for message in matched.values())


def _one_of(cue: str, values: Sequence[str]) -> dict[str, Any]:
    return {"$and": [{"cue": cue}, {"$or": [{"value": value} for value in values]}]}


def _test(name: str, test: tuple[str, bool | str | float]) -> dict[str, Any]:
    word, wanted = test
    if word == "at_least":
        return {"$and": [{"signal": name}, {"$gte": {"number": wanted}}]}
    if word == "below":
        return {"$and": [{"signal": name}, {"$lt": {"number": wanted}}]}
    kind = "flag" if isinstance(wanted, bool) else "word"
    return {"$and": [{"signal": name}, {kind: wanted}]}
