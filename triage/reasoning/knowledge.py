"""Shapes of every knowledge file, as pydantic models, and the whole as one Knowledge.

Nothing here judges the content beyond its shape; `checks.py` does that.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cached_property
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from triage.reasoning.spray_knowledge import SafetyFile, SprayFile
from triage.reasoning.tallies import Tally, add_tallies

Frequency = Literal["almost_always", "usually", "often", "sometimes", "rarely", "never"]
Level = Literal["high", "medium", "low"]
Strength = Literal["weak", "medium", "strong"]
Month = Annotated[int, Field(ge=1, le=12)]
Text = Annotated[str, Field(min_length=1)]
Share = Annotated[float, Field(ge=0, le=1)]
Region = Literal["europe", "north_america", "south_america", "africa", "asia", "oceania"]

#: Marks that stand in place of a source key.
MARKS = frozenset({"common_practice", "from_memory", "see_sources"})
#: The contender that wins when nothing in the knowledge fits.
SOMETHING_ELSE = "something_else"


class Effect(StrEnum):
    """What an oil-and-soap spray does to a cause."""

    KILLS_ON_CONTACT = "kills_on_contact"
    SLOWS = "slows"
    REPELS_ONLY = "repels_only"
    NO_USE = "no_use"
    MAKES_WORSE = "makes_worse"


class Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Source(Model):
    """A published source. `read: excerpt` means that only a part of it was read."""

    who: Text
    title: Text
    year: int | str | None = None
    kind: Text
    where: str | None = None
    read: str | None = None
    note: str | None = None


class LookAlike(Model):
    cause: str
    tell_apart: Text


class Spray(Model):
    effect: Effect
    evidence: Literal["trial", "extension", "common_practice", "from_memory"]
    note: Text
    sources: list[str] = []


class Basis(Model):
    """What each part of a sheet rests on: source keys or marks."""

    crops: list[str]
    season: list[str]
    range: list[str]
    cues: list[str]
    tells: list[str]
    looks_like: list[str]
    actions: list[str]
    threshold: list[str]
    send_sample_when: list[str]


class Sheet(Model):
    """All the program knows about one cause. Its id and class are its file name and folder."""

    name: Text
    latin: str | None = None
    crops: dict[str, Level]
    commonness: Level
    season: list[Month]
    range: list[Region | Literal["worldwide"]]
    cues: dict[str, dict[str, Frequency]]
    tells: list[Text]
    looks_like: list[LookAlike]
    spray: Spray
    actions: list[Text]
    threshold: Text
    send_sample_when: Text
    caveat: str | None = None
    notifiable: bool = False
    inseparable_from: list[str] = []
    sources: list[str]
    basis: Basis
    # Filled in when it is read: from the path of the file, and from tallies/.
    id: str = ""
    class_id: str = ""
    tally: dict[str, Tally] = {}
    tally_on: dict[str, dict[str, Tally]] = {}  # group of crops, cue


class Crop(Model):
    name: Text
    family: str
    group: str  # crops grown for the same parts, on which a trouble shows in the same way
    synonyms: list[str] = []
    note: str | None = None


class Family(Model):
    name: Text
    latin: str | None = None


class CropFile(Model):
    families: dict[str, Family]
    groups: dict[str, Text]
    crops: dict[str, Crop]


class AnswerText(Model):
    """One answer a grower can give to a cue."""

    says: Text
    looks: str = ""
    heading: str | list[str] = []
    alone: bool = False  # "looked and found none": cannot stand beside another tick
    like: str | None = None  # where a sheet is silent, counts as this older answer
    unlisted: Literal["rare", "neutral"] | None = None

    @property
    def headings(self) -> list[str]:
        return [self.heading] if isinstance(self.heading, str) else self.heading


class Cue(Model):
    """One question, with the answers it takes."""

    ask: Text
    why: Text
    how: Text
    tool: Text
    effort: Annotated[int, Field(ge=1, le=4)]
    group: str
    several: bool = False
    unlisted: Literal["rare", "neutral"] = "rare"
    after: dict[str, list[str]] = {}
    answers: dict[str, AnswerText]

    def silent(self, answer: str) -> Literal["rare", "neutral"]:
        """How a sheet that names this cue but not this answer is read."""
        return self.answers[answer].unlisted or self.unlisted


class CueFile(Model):
    aliases: dict[str, dict[str, str]] = {}
    cues: dict[str, Cue]


class ClassText(Model):
    name: Text
    plain: Text  # what it is, for someone who has never heard the word
    ticks: list[str] = []  # kinds of answer this class alone leaves behind


class PretendedGrower(Model):
    """Who answers in a simulation.

    `missed`: chance that a sign which is there is not ticked, in a list.
    `unsure`, `unsure_if_wrong`: chance that a tick is only "I think so".
    `cant_tell`: chance of no answer at all, by the effort of the check (1 to 4).
    `silent`: the same where the sheet says nothing about the cue: nothing special is to be seen.
    """

    missed: Share
    unsure: Share
    unsure_if_wrong: Share
    cant_tell: tuple[Share, Share, Share, Share]
    silent: Share


class Scale(Model):
    """Every number the reasoning uses, each with what it rests on."""

    basis: dict[str, Text]
    frequency: dict[Frequency, Share]
    words_count_as: Annotated[float, Field(gt=0)]
    untold: Share
    unlisted: Share
    neutral: Share
    relatives: dict[Literal["listed", "silent", "background"], float]
    strangers: Annotated[float, Field(gt=0)]
    observer_error: Share
    unsure: Share
    shared_power: Annotated[float, Field(ge=0, le=1)]
    told: dict[Literal["power", "usual", "fewest"], Annotated[float, Field(gt=0)]]
    unticked: dict[Literal["almost_always", "otherwise"], Share]
    damping: dict[str, Annotated[float, Field(gt=0, le=2)]]
    commonness: dict[Level, float]
    host: dict[Level | Literal["none"], float]
    breadth_power: Annotated[float, Field(ge=0, le=1)]
    asked_power: Annotated[float, Field(ge=0, le=1)]
    season: dict[Literal["in_season", "next_month", "out_of_season"], float]
    outside_range: float
    something_else: Share
    kin: Annotated[float, Field(gt=0)]
    strength_decibans: dict[Strength, float]
    inseparable_decibans: float
    may_help: Share
    spray_value: dict[Effect | Literal["something_else", "slows_unproven"], float]
    likely: Share
    leaning: Share
    question_value: dict[Literal["spray", "class", "cause"], float]
    stop: dict[Literal["class_sure", "flip_chance", "gain"], float]
    most_questions: int
    pretended_grower: PretendedGrower
    classes: dict[str, ClassText]
    effects: dict[Effect, Text]


class Pattern(Model):
    """A rule, over two or more cues as a rule, that says more than the cues say one by one."""

    id: str
    name: Text
    when: dict[str, list[str]]
    supports: dict[str, Strength] = {}
    against: dict[str, Strength] = {}
    derives: str | None = None
    says: Text
    sources: list[str] = []
    basis: Literal["from_memory", "common_practice"] | None = None

    @model_validator(mode="after")
    def _does_something(self) -> Pattern:
        if not (self.supports or self.against or self.derives):
            raise ValueError("a rule must support, oppose or derive something")
        return self


class Contradiction(Model):
    """Answers that cannot both be right."""

    id: str
    when: dict[str, list[str]]
    look_again: list[str]
    says: Text


class PatternFile(Model):
    patterns: list[Pattern]
    contradictions: list[Contradiction]


Number = int | float
Test = dict[Literal["at_least", "below", "is"], bool | str | Number]


class Outcome(Model):
    """What a decision rule adds to the verdict. Texts are printed as they stand."""

    do_not_spray: bool = False
    check_first: bool = False
    send_sample: str | None = None
    do_now: str | None = None
    do_instead: str | None = None
    before_spray: str | None = None
    hold: str | None = None
    caution: str | None = None


class Decision(Model):
    """A rule over belief and context."""

    id: str
    when: dict[str, Test]
    then: Outcome
    says: Text
    sources: list[str] = []
    basis: Literal["from_memory", "common_practice", "judgement"] | None = None


class Situation(Model):
    """A question about the day or the planting that decides what to do, not what it is."""

    ask: Text
    why: Text
    kind: Literal["yes_no", "choice", "number"]
    choices: dict[str, str] = {}
    only_if_spray: bool = True


class DecisionFile(Model):
    situations: dict[str, Situation]
    decisions: list[Decision]


class Caution(Model):
    """A usual caution, printed wherever the act it guards is advised."""

    id: str
    when: Literal["spraying", "always", "in_short"]
    says: Text
    sources: list[str] = []
    basis: Literal["from_memory", "common_practice", "judgement"] | None = None


class Knowledge(Model):
    """Everything under knowledge/, validated for shape."""

    version: str
    sheets: dict[str, Sheet]
    crops: CropFile
    cues: dict[str, Cue]
    aliases: dict[str, dict[str, str]]
    scale: Scale
    patterns: list[Pattern]
    contradictions: list[Contradiction]
    situations: dict[str, Situation]
    decisions: list[Decision]
    cautions: list[Caution]
    sprays: SprayFile
    safety: SafetyFile
    sources: dict[str, Source]
    asked_per_thousand: dict[str, dict[str, Annotated[float, Field(gt=0)]]] = {}
    kin: dict[str, dict[str, list[str]]] = {}  # class, group, sheets

    def __repr__(self) -> str:
        return f"Knowledge({self.version}, {len(self.sheets)} sheets)"  # the rest would fill many screens

    @cached_property
    def class_ids(self) -> tuple[str, ...]:
        return tuple(self.scale.classes)

    def crop_groups(self) -> dict[str | None, str]:
        """The group of every crop whose growers have tallies of their own."""
        tallied = {group for sheet in self.sheets.values() for group in sheet.tally_on}
        return {name: crop.group for name, crop in self.crops.crops.items() if crop.group in tallied}

    def on_group(self, group: str | None) -> Knowledge:
        """The knowledge as growers of these crops tell it: their tallies are added to those of all growers."""
        if group is None:
            return self
        sheets = {}
        for cause, sheet in self.sheets.items():
            theirs = sheet.tally_on.get(group)
            tally = add_tallies(sheet.tally, theirs) if theirs else sheet.tally
            sheets[cause] = sheet.model_copy(update={"tally": tally, "tally_on": {}})
        return self.model_copy(update={"sheets": sheets})

    def class_of(self, cause: str) -> str:
        return self.sheets[cause].class_id if cause in self.sheets else SOMETHING_ELSE

    def cause_name(self, cause: str) -> str:
        if cause in self.sheets:
            return self.sheets[cause].name
        return "Something this program does not know" if cause == SOMETHING_ELSE else cause

    def members(self, cause_or_class: str) -> list[str]:
        """The causes an id stands for: itself, or all of its class."""
        if cause_or_class in self.sheets:
            return [cause_or_class]
        return [cause for cause, sheet in self.sheets.items() if sheet.class_id == cause_or_class]

    def says(self, cue: str, answer: str) -> str:
        """An answer in a grower's words."""
        if cue == "crop":
            return self.crops.crops[answer].name
        return self.cues[cue].answers[answer].says
