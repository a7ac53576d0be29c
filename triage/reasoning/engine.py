"""The reasoning kit: knowledge, its weights and its rulebook, built once and handed around."""

from __future__ import annotations

from dataclasses import dataclass

from triage.reasoning.belief import Belief, believe
from triage.reasoning.case import Case
from triage.reasoning.findings import Fired
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.rulebook import Rulebook
from triage.reasoning.weights import Weights, compile_weights


@dataclass(frozen=True, repr=False)
class Engine:
    knowledge: Knowledge
    weights: Weights
    rulebook: Rulebook

    def __repr__(self) -> str:
        return f"Engine({self.knowledge!r})"  # the arrays would fill a screen

    def run(self, case: Case) -> tuple[Fired, Belief]:
        """What fires on a case, through the rule engine, and what to believe after it."""
        fired = self.rulebook.fire(case)
        return fired, believe(case, fired, self.knowledge, self.weights)


def build(knowledge: Knowledge) -> Engine:
    return Engine(knowledge, compile_weights(knowledge), Rulebook(knowledge))
