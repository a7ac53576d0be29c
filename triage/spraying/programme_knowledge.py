"""Shapes of knowledge/programme.yaml: when sprays begin, how far apart they stand, when they end."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from triage.reasoning.knowledge import Model, Text
from triage.spraying.backed import Backed, read_knowledge

Days = Annotated[int, Field(ge=1, le=365)]
Least1 = Annotated[int, Field(ge=1)]


class Outbreak(Backed):
    every_days: Days
    rounds: Least1
    says: Text


class GapByWeather(Backed):
    """For which causes the gap follows the temperature, and between which days."""

    causes: tuple[str, ...]
    least_days: Days
    most_days: Days
    says: Text


class LookRule(Backed):
    after_days: Days
    says: Text


class FollowUp(Backed):
    weekly_days: Days
    weekly_rounds: Least1
    then_days: tuple[Days, ...]
    says: Text

    @property
    def gaps(self) -> tuple[int, ...]:
        """Days before each of the later sprays."""
        return (*[self.weekly_days] * self.weekly_rounds, *self.then_days)


class NoEffect(Backed):
    rounds: Least1
    says: Text
    instead: tuple[Text, ...]


class Broken(Backed):
    """A pause longer than so many gaps breaks the rounds."""

    after_gaps: Least1
    says: Text


class Most(Backed):
    number: Least1
    says: Text


class CleanForGood(Backed):
    looks: Least1
    says: Text


class WashOff(Backed):
    days: Days
    says: Text
    dried: Text


class Horizon(Backed):
    days: Days


class Scent(Backed):
    every_days: tuple[Days, Days]
    rounds: Least1
    says: Text


class CalendarRules(Backed):
    """`alarm_hour`: of the day before, 0 to 23."""

    alarm_hour: Annotated[int, Field(ge=0, le=23)]


class StartWords(Model):
    verdict: Text
    patch: Text
    standing: Text


class StopWords(Model):
    burnt: Text
    no_longer: Text
    removed: Text


class PatchRules(Backed):
    """`strength_slack`: how much stronger (percent by volume) a mix may be than the one tried, for rounding."""

    plants: Least1
    leaves_each: Least1
    pick: Text
    first_look_days: Days
    second_look_days: Days
    says: Text
    burnt_is: Text
    if_burnt: Text
    if_clean: Text
    counts_for_days: Days
    again_when: Text
    strength_slack: Annotated[float, Field(ge=0)]


class ProgrammeRules(Model):
    """All of knowledge/programme.yaml."""

    outbreak: Outbreak
    gap_by_weather: GapByWeather
    look: LookRule
    follow_up: FollowUp
    no_effect: NoEffect
    broken: Broken
    most_sprays: Most
    clean_for_good: CleanForGood
    wash_off: WashOff
    horizon: Horizon
    scent: Scent
    start: StartWords
    stop: StopWords
    test_patch: PatchRules
    calendar: CalendarRules
    sulfur_words: tuple[Text, ...]
    oil_words: tuple[Text, ...]

    @model_validator(mode="after")
    def _fits_together(self) -> ProgrammeRules:
        if self.no_effect.rounds < self.outbreak.rounds:
            raise ValueError("no_effect.rounds must be no less than outbreak.rounds")
        return self


def load_programme(folder: Path) -> ProgrammeRules:
    """knowledge/programme.yaml below the knowledge folder. Raises BadInput that names line and field."""
    return read_knowledge(folder, "programme.yaml", ProgrammeRules)
