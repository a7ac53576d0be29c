"""Does the program say when it does not know? Each cause of the worked cases is taken out in turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge
from triage.reasoning.signals import advice_of, state_of
from triage.reasoning.simulation import Progress, believe_told, play_fast
from triage.reasoning.verdict_model import Advice, State
from triage.reasoning.weights import compile_weights
from triage.reasoning.worked_cases import WorkedCase

What = Literal["right", "unclear", "either", "sure_and_wrong"]

SURE = 0.8  # "confidently wrong" is more than this on a wrong class


@dataclass(frozen=True)
class Left:
    """A worked case judged without the sheet of its cause."""

    case: str
    cause: str
    half: str
    right_classes: tuple[str, ...]
    class_id: str
    chance: float
    state: State
    advice: Advice

    @property
    def right(self) -> bool:
        return self.class_id in self.right_classes

    @property
    def words(self) -> frozenset[What]:
        """All that holds of it."""
        unclear = self.state == "unclear"
        held: dict[What, bool] = {
            "right": self.right and not unclear,
            "unclear": unclear,
            "either": self.right or unclear,
            "sure_and_wrong": self.sure_and_wrong,
        }
        return frozenset(what for what, holds in held.items() if holds)

    @property
    def sure_and_wrong(self) -> bool:
        return not self.right and self.class_id != SOMETHING_ELSE and self.chance > SURE


@dataclass(frozen=True)
class LeftOut:
    """All of them, and what they add up to."""

    all: tuple[Left, ...]

    def share(self, what: What, half: str | None = None) -> float:
        """The share of cases that are `right`, `unclear`, `either` of these, or `sure_and_wrong`; 0 of no cases."""
        chosen = [left for left in self.all if half in (None, left.half)]
        return sum(what in left.words for left in chosen) / len(chosen) if chosen else 0.0


def without(knowledge: Knowledge, cause: str) -> Knowledge:
    """The knowledge as if no one had written that sheet."""
    return knowledge.model_copy(update={"sheets": {k: v for k, v in knowledge.sheets.items() if k != cause}})


def leave_out(
    knowledge: Knowledge, worked: Sequence[WorkedCase], by_interview: bool = False, progress: Progress | None = None
) -> LeftOut:
    """Every worked case whose cause has a sheet, judged without it.

    As a rule by all that is told; `by_interview` by what the interview asks of it.
    """
    by_cause: dict[str, list[WorkedCase]] = {}
    for case in worked:
        if case.truth.cause:
            by_cause.setdefault(case.truth.cause, []).append(case)
    found = []
    for cause, cases in by_cause.items():
        less = without(knowledge, cause)
        weights = compile_weights(less)
        for case in cases:
            if by_interview:
                interview, belief = play_fast(case.case, less, weights)
                told = interview.case
            else:
                told, belief = case.case, believe_told(case.case, less, weights)
            class_id, chance = max(belief.classes().items(), key=lambda item: item[1])
            state = state_of(class_id, chance, less)
            advice = advice_of(told, belief, less)
            found.append(Left(case.id, cause, case.half, case.right_classes, class_id, chance, state, advice))
            if progress:
                progress(1)
    return LeftOut(tuple(found))
