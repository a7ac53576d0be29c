"""How many days apart the sprays of an outbreak stand: the habit, or what the mite projection says at this warmth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from triage.reasoning.yaml_text import BadInput
from triage.spraying.mite_knowledge import Mites
from triage.spraying.mites import best_interval, growing_days
from triage.spraying.programme_knowledge import ProgrammeRules
from triage.spraying.weather import Weather


@dataclass(frozen=True)
class Gap:
    """Days between two sprays. `usual`: the habit; `best`: the projection's own figure, where it was asked."""

    days: int
    usual: int
    best: float | None = None
    says: str = ""

    @property
    def differs(self) -> bool:
        return self.days != self.usual


def gap_for(
    cause: str | None, weather: Weather | None, start: date, mites: Mites, rules: ProgrammeRules, least: int
) -> Gap:
    """The gap for this cause from this day on. `least`: what the hold on sprays in a row asks for, in days."""
    usual = max(rules.outbreak.every_days, least)
    by_weather = rules.gap_by_weather
    if weather is None or cause not in by_weather.causes:
        return Gap(usual, usual)
    try:
        days = growing_days(weather, start)
    except BadInput:
        return Gap(usual, usual, says=f"The weather file does not hold {start}, so the usual {usual} days stand.")
    mean = sum(low + high for low, high in days) / (2 * len(days))
    warmth = f"{mean:.0f} C ({mean * 9 / 5 + 32:.0f} F) on average"
    best = best_interval(days, mites)
    if best is None:
        return Gap(usual, usual, says=f"At {warmth} spider mites hardly grow; the usual {usual} days stand.")
    found = min(max(best.whole_days, by_weather.least_days, least), by_weather.most_days)
    told = f"At {warmth} an egg hatches in {best.egg_days:.1f} days, and {best.days:g} days apart wins most time"
    if found == usual:
        return Gap(found, usual, best.days, f"{told}: the usual {usual} days stand.")
    return Gap(found, usual, best.days, f"{told}. So every {found} days, in place of the usual {usual}.")
