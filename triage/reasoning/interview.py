"""An interview as plain data: answer, take back, save, resume.

The state is a Case and the order in which its cues were asked; it can be written to JSON
at any moment. Nothing here talks to a person.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from triage.reasoning.belief import Belief
from triage.reasoning.case import Case, Context, Tick, read_visit
from triage.reasoning.engine import Engine
from triage.reasoning.findings import Fired
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.questions import next_cue


@dataclass(frozen=True)
class Interview:
    """Where an interview stands."""

    case: Case
    asked: tuple[str, ...] = ()

    def answered(self, cue: str, ticks: tuple[Tick, ...]) -> Interview:
        """After an answer; no ticks is "can't tell"."""
        asked = self.asked if cue in self.asked else (*self.asked, cue)
        return Interview(self.case.with_answer(cue, ticks), asked)

    def taken_back(self, knowledge: Knowledge) -> Interview:
        """One back: the last answer is forgotten, and with it answers that hung on it alone."""
        if not self.asked:
            return self
        case = self.case.without(self.asked[-1])
        asked = tuple(cue for cue in self.asked[:-1] if cue in case.answers)
        return Interview(case, asked)

    def with_context(self, **changes: Any) -> Interview:
        context = Context.model_validate({**self.case.context.model_dump(), **changes})
        return replace(self, case=replace(self.case, context=context))


def step(interview: Interview, engine: Engine) -> tuple[Fired, Belief, str | None]:
    """What fires, what to believe and what to ask next (None: enough is known)."""
    fired, belief = engine.run(interview.case)
    return fired, belief, next_cue(interview.case, fired, belief, engine.knowledge, interview.asked)


def play(told: Case, engine: Engine) -> Interview:
    """A whole interview answered from a prepared case; what it does not hold is "can't tell"."""
    start = replace(told, answers={})
    interview = Interview(start)
    while True:
        _, _, cue = step(interview, engine)
        if cue is None:
            return interview
        interview = interview.answered(cue, told.answers.get(cue, ()))


def to_data(interview: Interview) -> dict[str, Any]:
    """Plain data for JSON: a case file with the order of asking beside it."""
    case = interview.case
    data: dict[str, Any] = {
        "crop": case.crop,
        "month": list(case.months) or None,
        "region": case.region,
        "hemisphere": case.hemisphere,
        "answers": {
            cue: [{"value": tick.value, "sure": tick.sure} for tick in ticks] for cue, ticks in case.answers.items()
        },
        "context": case.context.model_dump(exclude_none=True),
    }
    return {"case": {k: v for k, v in data.items() if v is not None}, "asked": list(interview.asked)}


def from_data(data: Any, knowledge: Knowledge, file: str) -> Interview:
    """The interview that `to_data` wrote. Raises BadInput when it does not fit the knowledge."""
    [case] = read_visit(data.get("case") if isinstance(data, dict) else None, knowledge, file)
    asked = tuple(cue for cue in data.get("asked", []) if cue in case.answers)
    return Interview(case, asked)
