"""Degree-days of a day from its lowest and highest temperature.

Closed forms as printed by Zalom and others 1983 and Baskerville and Emin 1969 (ddchallenge,
osu_calc). Temperatures may be C or F as long as all of one call are in one unit; the answer is in
degree-days of that unit. A difference of degrees is turned by 5/9 alone, never with the 32.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Method = Literal["average", "average_lifted", "triangle", "sine"]
Cutoff = Literal["none", "horizontal", "vertical", "intermediate"]
Pair = tuple[float, float]

#: A gap of at most so many days is filled between its neighbours; a longer one leaves the sum
#: incomplete. Two to three is what the sources call bearable; judgement takes the upper end.
MOST_FILLED = 3


@dataclass(frozen=True)
class DegreeDaySum:
    """A sum over days: how many were filled in, and how many are missing from it."""

    total: float
    days: int
    filled: int
    missing: int

    @property
    def complete(self) -> bool:
        return self.missing == 0


def degree_days(
    low: float,
    high: float,
    lower: float,
    upper: float | None = None,
    method: Method = "sine",
    cutoff: Cutoff = "horizontal",
) -> float:
    """Degree-days of one day above `lower`, slowed above `upper` as `cutoff` says.

    Raises ValueError when the lowest is above the highest (reject such a day, never swap it), or
    the upper threshold is not above the lower one.
    """
    if low > high:
        raise ValueError(f"the lowest temperature ({low:g}) is above the highest ({high:g})")
    if upper is not None and upper <= lower:
        raise ValueError(f"the upper threshold ({upper:g}) is not above the lower one ({lower:g})")
    if method in ("average", "average_lifted"):
        return _average(low, high, lower, upper, lifted=method == "average_lifted")
    above = sine_above if method == "sine" else triangle_above
    share = sine_share_above if method == "sine" else triangle_share_above
    return _cut(low, high, lower, upper, cutoff, above, share)


def sine_above(low: float, high: float, threshold: float) -> float:
    """Mean height of a sine day above a threshold."""
    if high <= threshold:
        return 0.0
    mean = (high + low) / 2
    if low >= threshold:
        return mean - threshold
    half = (high - low) / 2
    turn = math.asin((threshold - mean) / half)
    return ((mean - threshold) * (math.pi / 2 - turn) + half * math.cos(turn)) / math.pi


def sine_share_above(low: float, high: float, threshold: float) -> float:
    """Share of a sine day, 0 to 1, that is above a threshold."""
    if high <= threshold:
        return 0.0
    if low >= threshold:
        return 1.0
    half = (high - low) / 2
    return (math.pi / 2 - math.asin((threshold - (high + low) / 2) / half)) / math.pi


def triangle_above(low: float, high: float, threshold: float) -> float:
    """Mean height of a triangle day above a threshold."""
    if high <= threshold:
        return 0.0
    if low >= threshold:
        return (high + low) / 2 - threshold
    return (high - threshold) ** 2 / (2 * (high - low))


def triangle_share_above(low: float, high: float, threshold: float) -> float:
    """Share of a triangle day, 0 to 1, that is above a threshold."""
    if high <= threshold:
        return 0.0
    if low >= threshold:
        return 1.0
    return (high - threshold) / (high - low)


def sum_degree_days(
    days: Sequence[Pair | None],
    lower: float,
    upper: float | None = None,
    method: Method = "sine",
    cutoff: Cutoff = "horizontal",
) -> DegreeDaySum:
    """Degree-days over days in order, None for a missing one. Short gaps are filled in a straight line."""
    whole = fill_gaps(days)
    total = sum(degree_days(*pair, lower, upper, method, cutoff) for pair in whole if pair is not None)
    missing = sum(pair is None for pair in whole)
    return DegreeDaySum(total, len(days), sum(day is None for day in days) - missing, missing)


def fill_gaps(days: Sequence[Pair | None], most: int = MOST_FILLED) -> list[Pair | None]:
    """Fill gaps of up to `most` days between two known days; longer ones and the ends stay None."""
    whole = list(days)
    known = [at for at, day in enumerate(days) if day is not None]
    for before, after in pairwise(known):
        gap = after - before - 1
        first, last = days[before], days[after]
        if not 0 < gap <= most or first is None or last is None:
            continue
        for step in range(1, gap + 1):
            part = step / (gap + 1)
            whole[before + step] = (
                first[0] + part * (last[0] - first[0]),
                first[1] + part * (last[1] - first[1]),
            )
    return whole


def _average(low: float, high: float, lower: float, upper: float | None, lifted: bool) -> float:
    """The plain mean. The two readings of it (McMaster and Wilhelm 1997) part when a day crosses `lower`."""
    if upper is not None:
        low, high = min(low, upper), min(high, upper)
    if lifted:
        low, high = max(low, lower), max(high, lower)
    return max(0.0, (low + high) / 2 - lower)


def _cut(
    low: float,
    high: float,
    lower: float,
    upper: float | None,
    cutoff: Cutoff,
    above: Callable[[float, float, float], float],
    share: Callable[[float, float, float], float],
) -> float:
    grown = above(low, high, lower)
    if upper is None or cutoff == "none":
        return grown
    over = above(low, high, upper)
    if cutoff == "horizontal":
        return grown - over
    if cutoff == "vertical":
        return max(0.0, grown - over - (upper - lower) * share(low, high, upper))
    # Intermediate: above the upper threshold the rate falls as fast as it rose.
    return max(0.0, grown - 2 * over)
