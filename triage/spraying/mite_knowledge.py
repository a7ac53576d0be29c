"""Shapes of knowledge/mites.yaml: what is known of how fast spider mites grow, and of what a spray kills."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from triage.reasoning.knowledge import Model, Share, Text
from triage.spraying.backed import Backed, read_knowledge

Positive = Annotated[float, Field(gt=0)]


class Sum(Backed):
    """Degree-days (C) above a base that egg to adult takes."""

    base_c: float
    degree_days: Positive


class Number(Backed):
    value: Positive


class ShareOf(Backed):
    value: Share


class Laying(Model):
    """An adult female's life at one temperature."""

    at_c: float
    wait_days: Positive
    eggs_a_day: Positive
    life_days: Positive


class LayingTable(Backed):
    rows: list[Laying]

    @model_validator(mode="after")
    def _rising(self) -> LayingTable:
        temperatures = [row.at_c for row in self.rows]
        if len(self.rows) < 2 or temperatures != sorted(set(temperatures)):
            raise ValueError("give two rows or more, by rising temperature")
        return self


class Mix(Backed):
    """What one spray kills of what it is put on, as shares of all that are there."""

    name: Text
    says: Text
    kills_crawling: Share
    kills_eggs: Share


class Habit(Backed):
    every_days: Positive
    rounds: Annotated[int, Field(ge=1)]


class Choice(Backed):
    """How the projection is run: the step and the search for the best gap."""

    step_days: Positive
    judged_on_day: Annotated[int, Field(ge=30)]
    shortest_gap_days: Positive
    longest_gap_days: Positive
    gap_step_days: Positive
    equal_within_days: Annotated[float, Field(ge=0)]


class Published(Backed):
    """A figure others measured, to hold the projection against."""

    what: Literal["rate_per_day", "egg_to_adult_days", "doubling_days"]
    at_c: float
    value: Positive
    species: str | None = None


class Mites(Model):
    """All of knowledge/mites.yaml."""

    steady: Sum
    cool: Sum
    swinging: Sum
    upper_c: Number
    egg_share: ShareOf
    hatch: ShareOf
    grow_up: ShareOf
    female: ShareOf
    laying: LayingTable
    mixes: dict[str, Mix]
    usual_mix: str
    habit: Habit
    wider_habit: Habit
    projection: Choice
    limits: list[Text]
    published: list[Published]

    @model_validator(mode="after")
    def _usual_is_known(self) -> Mites:
        if self.usual_mix not in self.mixes:
            raise ValueError(f"usual_mix names '{self.usual_mix}', which is not among the mixes")
        return self


def load_mites(folder: Path) -> Mites:
    """knowledge/mites.yaml below the knowledge folder. Raises BadInput that names line and field."""
    return read_knowledge(folder, "mites.yaml", Mites)
