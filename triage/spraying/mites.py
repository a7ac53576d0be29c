"""A stage-structured projection of two-spotted spider mites with sprays: egg, young, adult.

Cohorts ripen by the day's degree-days; a spray takes set shares and leaves nothing behind. Males
are not tracked. The method is our own; what it leans on stands in knowledge/mites.yaml.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from triage.spraying.mite_colony import Kill, run
from triage.spraying.mite_knowledge import Mites
from triage.spraying.mite_life import WEEK, Temperatures, TooCold, growing_days, growth, lives_of, mean_life, usual_life

__all__ = [
    "BestGap",
    "Comparison",
    "Curve",
    "Kill",
    "Temperatures",
    "TooCold",
    "best_interval",
    "compare",
    "doubling_days",
    "every",
    "growing_days",
    "project",
]


@dataclass(frozen=True)
class Curve:
    """What one schedule does. Counts are by whole day from 0, after that day's spray."""

    sprays: tuple[float, ...]
    eggs: tuple[float, ...]
    young: tuple[float, ...]
    adults: tuple[float, ...]
    days_won: float

    @property
    def crawling(self) -> tuple[float, ...]:
        return tuple(y + a for y, a in zip(self.young, self.adults, strict=True))

    @property
    def total(self) -> tuple[float, ...]:
        return tuple(e + c for e, c in zip(self.eggs, self.crawling, strict=True))

    @property
    def peak(self) -> float:
        return max(self.total)

    @property
    def end(self) -> float:
        return self.total[-1]

    def back_on(self, start: float, after: float = 0) -> int | None:
        """The first day later than `after` with as many as at the start; None if not within the days.

        It may lie between two sprays. Only days after the first spray count.
        """
        if not self.sprays:
            return None
        late = max(after, self.sprays[0])
        return next((day for day, n in enumerate(self.total) if day > late and n >= start), None)

    def back_for_good(self, start: float) -> int | None:
        """The first day from which on there are never fewer than at the start; None if not within the days."""
        if not self.sprays or self.end < start:
            return None
        return max((day for day, n in enumerate(self.total) if n < start), default=-1) + 1


@dataclass(frozen=True)
class Comparison:
    """Several schedules side by side, from one start at one run of temperatures."""

    start: float
    days: int
    kill: Kill
    egg_days: float
    egg_to_adult_days: float
    rate: float
    named: tuple[tuple[str, Curve], ...]
    best: BestGap

    def as_record(self) -> dict[str, Any]:
        """Plain data for JSON: times in days, counts of mites and eggs."""
        return {
            "start": self.start,
            "days": self.days,
            "kills": {"crawling": self.kill.crawling, "eggs": self.kill.eggs},
            "egg_days": self.egg_days,
            "egg_to_adult_days": self.egg_to_adult_days,
            "rate_per_day": self.rate,
            "doubling_days": doubling_days(self.rate),
            "best_interval": {
                "days": self.best.days,
                "whole_days": self.best.whole_days,
                "rounds": self.best.rounds,
                "days_won": self.best.days_won,
            },
            "schedules": [
                {
                    "name": name,
                    "sprays": list(curve.sprays),
                    "peak": curve.peak,
                    "end": curve.end,
                    "back_on_day": curve.back_on(self.start),
                    "back_for_good_on_day": curve.back_for_good(self.start),
                    "days_won": curve.days_won,
                    "eggs": list(curve.eggs),
                    "crawling": list(curve.crawling),
                }
                for name, curve in self.named
            ],
        }


@dataclass(frozen=True)
class BestGap:
    """The gap between sprays that wins most time, and what the habits win beside it."""

    days: float
    whole_days: int
    rounds: int
    egg_days: float
    doubling_days: float
    days_won: float
    days_won_whole: float
    won_by_gap: dict[float, float]


def doubling_days(rate: float) -> float:
    """ln 2 / r."""
    return math.log(2) / rate


def rate_from_table(females_per_female: float, generation_days: float) -> float:
    """r from a published life table: ln(R0) / T."""
    return math.log(females_per_female) / generation_days


def every(gap: float, rounds: int) -> tuple[float, ...]:
    """The days of so many sprays, the first on day 0."""
    return tuple(gap * n for n in range(rounds))


def project(
    temperatures: Temperatures,
    schedules: Sequence[tuple[float, ...]],
    kill: Kill,
    mites: Mites,
    days: int = 28,
    start: float = 1000,
) -> list[Curve]:
    """Run each schedule (days of its sprays) from a colony of `start`, in the stage mix of steady growth.

    `days_won`: -ln(V with sprays / V without)/r on the day named in the knowledge, V being the
    colony weighted by what each stage is worth to later growth, so that passing ups and downs
    do not mislead. Raises TooCold.
    """
    choice = mites.projection
    until = max(days, choice.judged_on_day)
    lives = lives_of(temperatures, until, mites)
    lead = usual_life(temperatures if isinstance(temperatures, (int, float)) else temperatures[:WEEK], mites)
    typical = mean_life(lives[:until], mites)
    plans = [(), *schedules]
    counts, worth = run(lives, plans, kill, choice.step_days, start, lead, typical, choice.judged_on_day)
    rate = math.log(growth(typical, choice.step_days)) / choice.step_days
    curves = []
    for at, plan in enumerate(plans[1:], 1):
        eggs, young, adults = (tuple(float(n) for n in stage[at, : days + 1]) for stage in counts)
        won = -math.log(worth[at] / worth[0]) / rate if worth[at] > 0 else math.inf
        curves.append(Curve(plan, eggs, young, adults, won + 0.0))
    return curves


def compare(
    temperatures: Temperatures,
    mites: Mites,
    kill: Kill,
    days: int = 28,
    start: float = 1000,
    given: Sequence[tuple[float, ...]] = (),
) -> Comparison:
    """No spray, the two habits, the best gap, and the schedules `given`. Raises TooCold."""
    life = usual_life(temperatures, mites)
    best = best_interval(temperatures, mites, kill)
    if best is None:
        raise TooCold("spider mites hardly grow at these temperatures")
    plans: dict[str, tuple[float, ...]] = {"no spray": ()}
    for habit in (mites.wider_habit, mites.habit):
        plans[_told(habit.every_days, habit.rounds)] = every(habit.every_days, habit.rounds)
    plans.setdefault(_told(best.days, best.rounds), every(best.days, best.rounds))
    plans |= {"on day " + ", ".join(f"{day:g}" for day in plan): plan for plan in given}
    curves = project(temperatures, list(plans.values()), kill, mites, days, start)
    named = tuple(zip(plans, curves, strict=True))
    return Comparison(start, days, kill, life.egg_days, life.egg_to_adult_days, life.rate, named, best)


def _told(gap: float, rounds: int) -> str:
    return f"every {gap:g} days, {rounds} times"


def best_interval(
    temperatures: Temperatures, mites: Mites, kill: Kill | None = None, rounds: int | None = None
) -> BestGap | None:
    """The gap between sprays that wins most time at these temperatures; None when it is too cold to matter.

    temperatures: C, constant or (lowest, highest) by day from the first spray on. kill: the usual
    home mix when left out. rounds: as many as the habit has.
    """
    usual = mites.mixes[mites.usual_mix]
    kill = kill or Kill(usual.kills_crawling, usual.kills_eggs)
    rounds = rounds or mites.habit.rounds
    choice = mites.projection
    steps = round((choice.longest_gap_days - choice.shortest_gap_days) / choice.gap_step_days)
    gaps = [choice.shortest_gap_days + n * choice.gap_step_days for n in range(steps + 1)]
    gaps = [gap for gap in gaps if gap * (rounds - 1) < choice.judged_on_day - 1]
    try:
        curves = project(temperatures, [every(gap, rounds) for gap in gaps], kill, mites)
        life = usual_life(temperatures, mites)
    except TooCold:
        return None
    won = {gap: curve.days_won for gap, curve in zip(gaps, curves, strict=True)}
    best = _widest_of_best(won, choice.equal_within_days)
    whole = _widest_of_best({gap: days for gap, days in won.items() if gap == int(gap)}, choice.equal_within_days)
    return BestGap(best, int(whole), rounds, life.egg_days, doubling_days(life.rate), won[best], won[whole], won)


def _widest_of_best(won: dict[float, float], equal: float) -> float:
    """The widest gap among those that win the most, or as good as."""
    most = max(won.values())
    return max(gap for gap, days in won.items() if days >= most - equal)
