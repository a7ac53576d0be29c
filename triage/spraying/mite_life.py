"""How fast spider mites live at a temperature: stages, laying, dying, and the growth that follows.

Development goes by degree-days (bayu2017; herbert1981 in the cool), laying by a table over temperature.
All numbers stand in knowledge/mites.yaml. Temperatures C, times days.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from triage.reasoning.yaml_text import BadInput, Problem
from triage.spraying.degree_days import degree_days, fill_gaps
from triage.spraying.mite_knowledge import Mites
from triage.spraying.weather import Weather

#: A constant temperature, or the lowest and highest of each day in order (C). After the last day
#: the mean of the last seven is held.
Temperatures = float | Sequence[tuple[float, float]]

WEEK = 7
#: Fewer degree-days than this on a mean day (C) and a projection says nothing of use: judgement.
_TOO_COLD = 1.0


class TooCold(ValueError):
    """Mites hardly grow at these temperatures: no projection."""


@dataclass(frozen=True)
class Life:
    """One day's speed of life: shares of a stage passed in a day, eggs a female lays, days she lives."""

    egg: float
    young: float
    wait: float
    laid: float
    lives: float
    hatch: float
    grow_up: float  # survival times the share of females

    @property
    def egg_days(self) -> float:
        return 1 / self.egg

    @property
    def egg_to_adult_days(self) -> float:
        return 1 / self.egg + 1 / self.young

    @property
    def rate(self) -> float:
        """Intrinsic rate r a day: the root of hatch*grow_up*laid*exp(-r*days to laying)/(r + 1/lives) = 1."""
        before = 1 / self.egg + 1 / self.young + 1 / self.wait
        start = self.hatch * self.grow_up * self.laid
        return root(lambda r: math.log(start) - r * before - math.log(r + 1 / self.lives), -1 / self.lives, 3.0)

    @property
    def females_per_female(self) -> float:
        """Net reproductive rate R0."""
        return self.hatch * self.grow_up * self.laid * self.lives


def usual_life(temperatures: Temperatures, mites: Mites) -> Life:
    """The speed of life at a constant temperature, or on the mean of the given days.

    Raises TooCold when they hardly grow.
    """
    lives = lives_of(temperatures, 0 if isinstance(temperatures, (int, float)) else len(temperatures), mites)
    return mean_life(lives, mites)


def lives_of(temperatures: Temperatures, days: int, mites: Mites) -> list[Life]:
    """The life of each day; one for a constant temperature."""
    if isinstance(temperatures, (int, float)):
        return [_life(temperatures, temperatures, mites, steady=True)]
    if not temperatures:
        raise ValueError("no days given")
    last = temperatures[-WEEK:]
    held = (sum(low for low, _ in last) / len(last), sum(high for _, high in last) / len(last))
    pairs = [*temperatures[:days], *[held] * max(0, days - len(temperatures))]
    return [_life(low, high, mites, steady=False) for low, high in pairs]


def _life(low: float, high: float, mites: Mites, steady: bool) -> Life:
    # At steady temperatures growth in the cool is faster than the one line says: the faster of two counts.
    sums = (mites.steady, mites.cool) if steady else (mites.swinging,)
    grown = max(degree_days(low, high, need.base_c, mites.upper_c.value) / need.degree_days for need in sums)
    rows = mites.laying.rows
    mean = (low + high) / 2
    # Below the coldest row laying falls in a straight line to nothing at the base; judgement.
    at = [min(need.base_c for need in sums), *(row.at_c for row in rows)]
    return Life(
        egg=grown / mites.egg_share.value,
        young=grown / (1 - mites.egg_share.value),
        wait=float(np.interp(mean, at, [0.0, *(1 / row.wait_days for row in rows)])),
        laid=float(np.interp(mean, at, [0.0, *(row.eggs_a_day for row in rows)])),
        lives=float(np.interp(mean, at[1:], [row.life_days for row in rows])),
        hatch=mites.hatch.value,
        grow_up=mites.grow_up.value * mites.female.value,
    )


def mean_life(lives: Sequence[Life], mites: Mites) -> Life:
    first = lives[0]

    def mean(name: str) -> float:
        return float(np.mean([getattr(life, name) for life in lives]))

    typical = Life(mean("egg"), mean("young"), mean("wait"), mean("laid"), mean("lives"), first.hatch, first.grow_up)
    if typical.egg * mites.egg_share.value * mites.steady.degree_days < _TOO_COLD or typical.laid <= 0:
        raise TooCold("spider mites hardly grow at these temperatures")
    return typical


def classes(life: Life, step: float) -> tuple[int, int, int]:
    return (
        max(1, round(1 / (life.egg * step))),
        max(1, round(1 / (life.young * step))),
        max(1, round(1 / (life.wait * step))),
    )


def growth(life: Life, step: float) -> float:
    """Growth of a settled colony in one step: the root of (g - s) * g^classes = births that grow up."""
    lasts = math.exp(-step / life.lives)
    births = life.hatch * life.grow_up * life.laid * life.lives * (1 - lasts)
    n = sum(classes(life, step))
    return root(lambda g: math.log(births) - n * math.log(g) - math.log(g - lasts), lasts, 3.0)


def root(falling: Callable[[float], float], low: float, high: float) -> float:
    """The root of a function that falls from +inf at `low`, by halving."""
    for _ in range(100):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if falling(middle) > 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def growing_days(weather: Weather, start: date) -> list[tuple[float, float]]:
    """Lowest and highest (C) of each day from `start` to the end of the file, short gaps filled.

    Raises BadInput when the file does not hold the day, or a gap is too long to fill.
    """
    days = fill_gaps(weather.temperatures(start))
    while days and days[-1] is None:
        days.pop()
    whole = [day for day in days if day is not None]
    if not whole or len(whole) < len(days):
        missing = start + timedelta(days=days.index(None) if None in days else 0)
        wrong = f"temperatures are missing from {missing} on"
        mend = f"the file holds {weather.first} to {weather.last}; start later or fill them in"
        raise BadInput([Problem(weather.file, None, "", wrong, mend)])
    return whole
