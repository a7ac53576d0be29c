"""A case: one kind of damage on one planting, with its answers. Read from a file, or built up by an interview.

Raw data is checked against the knowledge once, here; behind this door every cue,
answer, crop and context word is known to exist.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from triage.reasoning.knowledge import Knowledge, Region
from triage.reasoning.yaml_text import BadInput, Problem, line_of, problems_of

Hemisphere = Literal["north", "south", "tropics"]


class _Input(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class TickInput(_Input):
    value: str
    sure: bool = True


AnswerInput = str | TickInput | list[str | TickInput] | None


class Context(_Input):
    """The day and the planting: what decides what to do, not what it is. None: not known."""

    severity: Literal["few", "some", "many"] | None = None
    new_growth: Literal["clean", "affected"] | None = None
    in_bloom: bool | None = None
    days_to_harvest: int | None = Field(default=None, ge=0, le=400)
    hot: bool | None = None
    cold: bool | None = None
    rain_expected: bool | None = None
    drought_stressed: bool | None = None
    predators_seen: bool | None = None
    test_patch: Literal["clean", "burnt", "none"] | None = None
    recent_sulfur: bool | None = None
    recent_oil: bool | None = None


class CaseInput(_Input):
    """A case file, as a person writes it."""

    crop: str | None = None
    month: int | list[int] | None = Field(default=None, description="1 to 12, or several")
    region: Region | None = None
    hemisphere: Hemisphere | None = None
    stage: str | TickInput | list[str | TickInput] | None = None
    answers: dict[str, AnswerInput] = {}
    context: Context = Context()
    note: str | None = None


class VisitInput(_Input):
    """A visit file: several cases on one plant or planting."""

    cases: list[CaseInput] = Field(min_length=1)
    note: str | None = None


@dataclass(frozen=True)
class Tick:
    """One answer given to a cue. `sure=False` is "I think so" and counts half."""

    value: str
    sure: bool = True


Answers = Mapping[str, tuple[Tick, ...]]


@dataclass(frozen=True)
class Case:
    """One kind of damage on one planting. An empty tuple of ticks is "can't tell"."""

    crop: str | None = None
    months: tuple[int, ...] = ()
    region: Region | None = None
    hemisphere: Hemisphere | None = None
    answers: Answers = field(default_factory=dict)
    context: Context = field(default_factory=Context)

    def told(self) -> dict[str, tuple[Tick, ...]]:
        """The answers that tell something."""
        return {cue: ticks for cue, ticks in self.answers.items() if ticks}

    def has(self, cue: str, values: Iterable[str]) -> bool:
        wanted = set(values)
        return any(tick.value in wanted for tick in self.answers.get(cue, ()))

    def with_answer(self, cue: str, ticks: tuple[Tick, ...]) -> Case:
        return replace(self, answers={**self.answers, cue: ticks})

    def without(self, cue: str) -> Case:
        return replace(self, answers={c: t for c, t in self.answers.items() if c != cue})


def near_misses(word: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Known words that this one may be a slip of."""
    return difflib.get_close_matches(word, list(known), n=most, cutoff=0.6)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    return _meant(near_misses(word, known))


def _meant(close: Sequence[str]) -> str:
    return f"did you mean {' or '.join(close)}?" if close else ""


def find_crop(text: str, knowledge: Knowledge) -> str | None:
    """A crop id from an id, a name or any everyday synonym; None when there is no such crop."""
    wanted = " ".join(text.lower().replace("_", " ").split())
    for crop_id, crop in knowledge.crops.crops.items():
        names = [crop_id.replace("_", " "), crop.name, *crop.synonyms]
        if wanted in (name.lower() for name in names):
            return crop_id
    plural = wanted.removesuffix("es"), wanted.removesuffix("s")
    for crop_id, crop in knowledge.crops.crops.items():
        if any(word in (crop.name.lower(), *(s.lower() for s in crop.synonyms)) for word in plural):
            return crop_id
    return None


def crop_words(knowledge: Knowledge) -> list[str]:
    """Every everyday word a crop may be called by, in order."""
    crops = knowledge.crops.crops.items()
    return sorted({w.lower() for i, crop in crops for w in (i.replace("_", " "), crop.name, *crop.synonyms)})


def crop_hint(text: str, knowledge: Knowledge) -> str:
    """Which crop may be meant, each by the nearest of its words."""
    nearest: dict[str | None, str] = {}
    for word in near_misses(text.lower().strip(), crop_words(knowledge), most=9):
        nearest.setdefault(find_crop(word, knowledge), word)
    return _meant(list(nearest.values())[:3])


def read_visit(data: Any, knowledge: Knowledge, file: str = "-", text: str = "") -> list[Case]:
    """The cases of a case file or visit file. Raises BadInput that names line and field."""
    if not isinstance(data, dict):
        raise BadInput([Problem(file, 1, "", "is not a case file", "see: triage schema case")])
    several = "cases" in data
    try:
        inputs = VisitInput.model_validate(data).cases if several else [CaseInput.model_validate(data)]
    except ValidationError as error:
        raise BadInput(_first_of_each_field(problems_of(error, text, file))) from None
    reader = _Reader(knowledge, file, text)
    cases = [reader.case(given, ["cases", index] if several else []) for index, given in enumerate(inputs)]
    if reader.problems:
        raise BadInput(reader.problems)
    return cases


def _first_of_each_field(problems: list[Problem]) -> list[Problem]:
    """A union that fits nowhere gives one message a branch; one a field is enough."""
    seen: dict[tuple[int | None, str], Problem] = {}
    for problem in problems:
        place = (problem.line, ".".join(problem.field.split(".")[:2]))
        seen.setdefault(place, problem)
    return list(seen.values())


class _Reader:
    """Checks the words of a case against the knowledge and gathers what is wrong."""

    def __init__(self, knowledge: Knowledge, file: str, text: str) -> None:
        self.knowledge = knowledge
        self.file = file
        self.text = text
        self.problems: list[Problem] = []

    def _wrong(self, path: list[str | int], what: str, mend: str = "") -> None:
        line = line_of(self.text, path) if self.text else None
        dotted = ".".join(str(step) for step in path)
        self.problems.append(Problem(self.file, line, dotted, what, mend))

    def case(self, given: CaseInput, at: list[str | int]) -> Case:
        crop = None
        if given.crop is not None:
            crop = find_crop(given.crop, self.knowledge)
            if crop is None:
                hint = crop_hint(given.crop, self.knowledge)
                self._wrong([*at, "crop"], f"no crop is called '{given.crop}'", hint or "say: other")
        months = given.month if isinstance(given.month, list) else [given.month] * (given.month is not None)
        if any(not 1 <= month <= 12 for month in months if month is not None):
            self._wrong([*at, "month"], "a month is a number from 1 to 12")
        answers: dict[str, tuple[Tick, ...]] = {}
        raw = dict(given.answers)
        if given.stage is not None:
            raw.setdefault("stage", given.stage)
        if given.context.new_growth is not None:
            raw.setdefault("new_growth", given.context.new_growth)
        for cue, value in raw.items():
            self._answer(cue, value, [*at, "answers", cue], answers)
        answers = {cue: self._merged(ticks) for cue, ticks in answers.items()}
        return Case(
            crop=crop,
            months=tuple(m for m in months if m is not None),
            region=given.region,
            hemisphere=given.hemisphere,
            answers=answers,
            context=given.context,
        )

    def _answer(self, cue: str, value: AnswerInput, at: list[str | int], answers: dict[str, tuple[Tick, ...]]) -> None:
        known = self.knowledge.cues
        items = value if isinstance(value, list) else [] if value in (None, "cant_tell") else [value]
        ticks = [Tick(i) if isinstance(i, str) else Tick(i.value, i.sure) for i in items]
        aliased = any(alias.split(".")[0] == cue for alias in self.knowledge.aliases)
        if cue not in known and not aliased:
            self._wrong(at, "there is no such cue", did_you_mean(cue, known))
            return
        for tick in ticks:
            alias = self.knowledge.aliases.get(f"{cue}.{tick.value}")
            if alias:
                for new_cue, new_value in alias.items():
                    answers[new_cue] = (*answers.get(new_cue, ()), Tick(new_value, tick.sure))
            elif cue in known and tick.value in known[cue].answers:
                answers[cue] = (*answers.get(cue, ()), tick)
            else:
                choices = list(known[cue].answers) if cue in known else []
                hint = did_you_mean(tick.value, choices)
                self._wrong(at, f"{cue} has no answer '{tick.value}'", hint or "see: triage cue " + cue)
        if not ticks and cue in known:
            answers.setdefault(cue, ())
        if cue in known and not known[cue].several and len(answers.get(cue, ())) > 1:
            self._wrong(at, "takes one answer only")

    @staticmethod
    def _merged(ticks: tuple[Tick, ...]) -> tuple[Tick, ...]:
        """One tick a value; sure if any of them was."""
        sure: dict[str, bool] = {}
        for tick in ticks:
            sure[tick.value] = sure.get(tick.value, False) or tick.sure
        return tuple(Tick(value, is_sure) for value, is_sure in sure.items())
