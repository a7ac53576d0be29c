"""The shape of a verdict: also a published contract (`triage schema verdict`)."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from triage.reasoning.knowledge import Effect

State = Literal["likely", "leaning", "unclear"]
FindingKind = Literal["answer", "not_ticked", "pattern"]
Advice = Literal["spray", "check_first", "do_not_spray"]


class _Out(BaseModel):
    model_config = ConfigDict(frozen=True)


class ClassChance(_Out):
    id: str
    name: str
    probability: float


class CauseChance(_Out):
    id: str
    name: str
    class_id: str = Field(serialization_alias="class")
    probability: float


class SprayVerdict(_Out):
    judgement: Effect = Field(description="what an oil-and-soap spray most likely does here")
    worth_it: bool
    advice: Advice
    reason: str
    evidence: str = Field(description="trial, extension, common_practice or from_memory")
    chance_it_helps: float
    expected_gain: float = Field(description="over the whole belief; below 0 it costs more than it gains")
    sources: list[str] = []


class FindingOut(_Out):
    """A rule that fired, with what it says for or against one of the leading causes."""

    rule: str
    kind: FindingKind
    says: str
    cause: str
    side: Literal["for", "against"]
    decibans: float = Field(description="weight of evidence: 10 is odds of ten to one")
    sources: list[str]


class LookAgain(_Out):
    """Answers that cannot both be right."""

    cues: list[str]
    says: str


class LookAlikeOut(_Out):
    cause: str
    name: str
    probability: float
    check: str


class Check(_Out):
    """A check that could turn the spray judgement."""

    cue: str
    ask: str
    how: str
    tool: str
    effort: int
    chance: float = Field(description="chance that it turns 'spray' into 'do not' or back")
    if_you_find: str
    turns_to: Literal["spray", "do_not_spray"]


class Action(_Out):
    says: str
    serves: str = Field(description="the cause it is for, or 'all'")
    kind: Literal["now", "instead", "before_spray", "routine"]


class Unexplained(_Out):
    """A tick that the leading cause does not explain: perhaps a second problem."""

    cue: str
    value: str
    says: str
    fits_better: str


class Threshold(_Out):
    cause: str
    says: str


class Verdict(_Out):
    state: State
    crop: str | None
    classes: list[ClassChance]
    causes: list[CauseChance]
    spray: SprayVerdict
    findings: list[FindingOut]
    look_again: list[LookAgain]
    look_alikes: list[LookAlikeOut]
    would_change: list[Check]
    actions: list[Action]
    threshold: Threshold | None
    holds: list[str]
    cautions: list[str]
    send_sample: list[str]
    unexplained: list[Unexplained]
    reasons: list[str] = Field(description="why the decision rules said what they said")
    knowledge: str = Field(description="fingerprint of the knowledge it was made with")

    @property
    def leading(self) -> CauseChance:
        return self.causes[0]
