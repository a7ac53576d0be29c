"""The colony itself: cohorts of eggs, young and waiting females that ripen step by step.

Under a constant temperature this is the matrix model of the usual kind (one class a step of age);
cohorts with their own ripeness let the speed change from day to day. All schedules run side by
side: they share temperatures, so only the numbers differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.spraying.mite_life import Life, classes, growth

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Kill:
    """Shares (0 to 1) of what crawls and of the eggs that one spray kills."""

    crawling: float
    eggs: float


class _Pool:
    """The cohorts of one stage, oldest first: ripeness 0 to 1 shared, numbers by schedule."""

    def __init__(self, shares: Sequence[float], schedules: int, room: int) -> None:
        size = len(shares)
        self.numbers = np.zeros((schedules, size + room))
        self.ripe = np.zeros(size + room)
        # The oldest class stands first so that cohorts leave at the front and join at the back.
        self.numbers[:, :size] = np.array(shares)[::-1]
        self.ripe[:size] = (np.arange(size) / size)[::-1]
        self.first, self.end = 0, size

    def join(self, numbers: Floats) -> None:
        self.numbers[:, self.end] = numbers
        self.end += 1

    def ripen(self, share: float) -> Floats:
        """Move all on by a share of the stage; give back those that leave it, by schedule.

        A cohort leaves at the step that brings it nearest to the end, as rounding the number of
        steps would: hence the half step.
        """
        part = slice(self.first, self.end)
        self.ripe[part] += share
        leaving = int(np.count_nonzero(self.ripe[part] + share / 2 >= 1 - 1e-9))
        gone = self.numbers[:, self.first : self.first + leaving].sum(axis=1)
        self.first += leaving
        return np.asarray(gone)

    def spare(self, shares: Floats) -> None:
        self.numbers[:, self.first : self.end] *= shares[:, None]

    @property
    def total(self) -> Floats:
        return np.asarray(self.numbers[:, self.first : self.end].sum(axis=1))

    def worth(self, all_steps: int, rate: float, leaves_as: float) -> Floats:
        """The cohorts weighted by what they grow into, `leaves_as` being the worth at the end of the stage."""
        left = np.maximum(0.0, all_steps * (1 - self.ripe[self.first : self.end]))
        return np.asarray(self.numbers[:, self.first : self.end] @ (leaves_as * np.exp(-rate * left)))


def run(
    lives: Sequence[Life],
    plans: Sequence[tuple[float, ...]],
    kill: Kill,
    step: float,
    start: float,
    lead: Life,
    typical: Life,
    judged: int,
) -> tuple[tuple[Floats, Floats, Floats], Floats]:
    """Run all plans. Gives eggs, young and adults (plan by whole day) and the worth on day `judged`.

    lives: one a day, or a single one that holds throughout. lead: the speed of life the colony
    comes from; its steady mix of stages, scaled to `start`, is where all plans begin.
    A count is taken after that day's spray and before its first step.
    """
    days = max(judged, len(lives)) if len(lives) > 1 else judged
    steps_a_day = round(1 / step)
    eggs, young, waiting, adult = _settled(lead, step, start, len(plans), days * steps_a_day + 2)
    sprayed: dict[int, list[int]] = {}
    for at, plan in enumerate(plans):
        for day in plan:
            sprayed.setdefault(round(day / step), []).append(at)
    seen = tuple(np.zeros((len(plans), days + 1)) for _ in range(3))
    worth = np.zeros(len(plans))
    for now in range(days * steps_a_day + 1):
        if now in sprayed:
            spared = np.ones((2, len(plans)))
            spared[:, sprayed[now]] = [[1 - kill.crawling], [1 - kill.eggs]]
            eggs.spare(spared[1])
            for pool in (young, waiting):
                pool.spare(spared[0])
            adult = adult * spared[0]
        day, within = divmod(now, steps_a_day)
        if within == 0:
            for stage, number in zip(seen, (eggs.total, young.total, waiting.total + adult), strict=True):
                stage[:, day] = number
            if day == judged:
                worth = _worth(eggs, young, waiting, adult, typical, step)
        life = lives[min(day, len(lives) - 1)]
        lasts = math.exp(-step / life.lives)
        laid = adult * life.laid * life.lives * (1 - lasts)
        hatched = eggs.ripen(life.egg * step)
        grown = young.ripen(life.young * step)
        ready = waiting.ripen(life.wait * step)
        adult = adult * lasts + ready
        eggs.join(laid)
        young.join(hatched * life.hatch)
        waiting.join(grown * life.grow_up)
    return (seen[0], seen[1], seen[2]), worth


def _settled(life: Life, step: float, start: float, schedules: int, room: int) -> tuple[_Pool, _Pool, _Pool, Floats]:
    """The steady mix of stages at one speed of life, scaled to `start` in all."""
    rate = growth(life, step)
    n_egg, n_young, n_wait = classes(life, step)
    lasts = math.exp(-step / life.lives)

    def ages(first: float, n: int) -> Floats:
        return np.asarray(first * rate ** -np.arange(n, dtype=float))

    eggs = ages(life.laid * life.lives * (1 - lasts) / rate, n_egg)
    young = ages(life.hatch * eggs[-1] / rate, n_young)
    waiting = ages(life.grow_up * young[-1] / rate, n_wait)
    scale = start / (eggs.sum() + young.sum() + waiting.sum() + 1.0)
    pools = [_Pool((stage * scale).tolist(), schedules, room) for stage in (eggs, young, waiting)]
    return pools[0], pools[1], pools[2], np.full(schedules, scale)


def _worth(eggs: _Pool, young: _Pool, waiting: _Pool, adult: Floats, life: Life, step: float) -> Floats:
    """The colony in laying females' worth (reproductive value) at one speed of life."""
    rate = math.log(growth(life, step))
    n_egg, n_young, n_wait = classes(life, step)
    as_waiting = math.exp(-rate * n_wait)
    as_young = life.grow_up * as_waiting * math.exp(-rate * n_young)
    return np.asarray(
        adult
        + waiting.worth(n_wait, rate, 1.0)
        + young.worth(n_young, rate, life.grow_up * as_waiting)
        + eggs.worth(n_egg, rate, life.hatch * as_young)
    )
