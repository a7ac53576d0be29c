"""By what means damage is dealt with: the shape of knowledge/means.yaml, and how a verdict finds its means."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from triage.reasoning.yaml_text import BadInput, parse, problems_of, read_text

Name = Literal[
    "leave_alone",
    "feed",
    "shelter",
    "cover",
    "bait",
    "pick_off",
    "spray",
    "check",
    "take_off",
    "pull",
    "sample",
]
Basis = Literal["judgement", "common_practice", "from_memory"]
_WORD = re.compile(r"[a-z]+")


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Group(_Model):
    """One heading of the work list."""

    title: Annotated[str, Field(min_length=1)]
    done: Annotated[str, Field(min_length=1)]


class ClassMeans(_Model):
    usual: Name
    may: tuple[Name, ...] = ()
    spreads: int = Field(ge=0, le=3, description="how easily hands and tools carry it on")


class Means(_Model):
    basis: Basis
    means: dict[Name, Group]
    classes: dict[str, ClassMeans]
    unclear_spreads: int = Field(ge=0, le=3)
    spreads_basis: dict[Literal["spreads"], Basis]
    within_words: int = Field(ge=1)
    words: dict[Name, tuple[str, ...]]
    causes: dict[str, Name]
    severity: dict[Literal["few", "some", "many"], int]

    @model_validator(mode="after")
    def _complete(self) -> Means:
        lost = [name for one in self.classes.values() for name in (one.usual, *one.may) if name not in self.means]
        lost += [name for name in self.causes.values() if name not in self.means]
        lost += [name for name in ("spray", "check", "sample", "leave_alone") if name not in self.means]
        if lost:
            raise ValueError(f"no means is called '{lost[0]}'")
        return self

    def of(
        self, state: str, class_id: str, cause: str, advice: str, first_action: str = "", must_report: bool = False
    ) -> Name:
        """The means of one verdict: its state, leading class and cause, spray advice, and the sheet's first action.

        `must_report`: plant-health law may apply, so nothing is touched before somebody has looked at it.
        """
        if state == "unclear" or must_report or class_id not in self.classes:
            return "sample"
        if advice == "spray":
            return "spray"
        if advice == "check_first":
            return "check"
        if cause in self.causes:
            return self.causes[cause]
        mine = self.classes[class_id]
        known = {word: name for name in (*mine.may, mine.usual) for word in self.words.get(name, ())}
        words = _WORD.findall(first_action.lower())[: self.within_words]
        return next((known[word] for word in words if word in known), mine.usual)

    def sickness(self, state: str, class_id: str, severity: str | None) -> int:
        """How sick, for the way from healthy plants to sick ones: what spreads by hand weighs most."""
        known = state != "unclear" and class_id in self.classes
        spreads = self.classes[class_id].spreads if known else self.unclear_spreads
        weight = {**self.severity}.get(severity or "some", 1)  # type: ignore[call-overload]
        return 1 + spreads * (1 + max(self.severity.values(), default=0)) + int(weight)


def load_means(folder: Path) -> Means:
    """The means in the knowledge folder. Raises BadInput that names line and field."""
    name = "knowledge/means.yaml"
    text = read_text(folder / "means.yaml", name)
    try:
        return Means.model_validate(parse(text, name))
    except ValidationError as error:
        raise BadInput(problems_of(error, text, name)) from None
