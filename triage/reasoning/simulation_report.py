"""Outcomes of a simulation, counted: how often right, how honest, what is mixed up, how sprays go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from triage.reasoning.knowledge import Effect
from triage.reasoning.simulation import Outcome

_BINS = 10


@dataclass(frozen=True)
class Row:
    """How one class or one cause fared. Shares of its `cases`."""

    id: str
    cases: int
    right_class: float
    first: float
    top_three: float
    questions: float  # mean number asked


@dataclass(frozen=True)
class Bin:
    """Verdicts that said between `low` and `high`: what they said on average, and how many were right."""

    low: float
    high: float
    cases: int
    said: float  # nan when no case fell here
    true: float


@dataclass(frozen=True)
class Reliability:
    """Ten bins, and the expected calibration error: mean |said - true|, weighted by cases."""

    bins: tuple[Bin, ...]
    error: float


@dataclass(frozen=True)
class Mixed:
    """Two causes taken for each other: `times` out of `of` cases of either."""

    pair: tuple[str, str]
    times: int
    of: int


@dataclass(frozen=True)
class Sprays:
    """How the spray advice fared.

    `wrong`: told to spray, of the cases where it is no use or harms; `harmful` of them where it harms.
    `missed`: not told to spray, of the cases that it helps; `checked` of them were told to check first.
    `judged_right`: sprayed if it helps, not sprayed if it does not, of all cases.
    """

    useless: int
    wrong: int
    harmful: int
    helpful: int
    missed: int
    checked: int
    judged_right: float

    @property
    def wrong_rate(self) -> float:
        return self.wrong / self.useless if self.useless else 0.0

    @property
    def missed_rate(self) -> float:
        return self.missed / self.helpful if self.helpful else 0.0


@dataclass(frozen=True)
class Report:
    overall: Row
    by_class: tuple[Row, ...]
    by_cause: tuple[Row, ...]  # the worst first
    mixed: tuple[Mixed, ...]  # the worst first
    asked: tuple[tuple[str, float], ...]  # cue and the share of cases in which it was asked
    question_counts: tuple[tuple[int, int], ...]  # questions asked and the number of cases
    class_reliability: Reliability
    cause_reliability: Reliability
    sprays: Sprays
    unclear: float
    sure_and_wrong: float  # share of cases with over 80% on a wrong class


def report(outcomes: Sequence[Outcome]) -> Report:
    """All figures of the outcomes. Raises ValueError when there are none."""
    if not outcomes:
        raise ValueError("no outcomes to report on")
    by_class = [_row(key, group) for key, group in _groups(outcomes, "truth_class").items()]
    by_cause = [_row(key, group) for key, group in _groups(outcomes, "truth").items()]
    return Report(
        overall=_row("all", outcomes),
        by_class=tuple(by_class),
        by_cause=tuple(sorted(by_cause, key=lambda row: (row.first, row.top_three, -row.cases, row.id))),
        mixed=mixed_up(outcomes),
        asked=_asked(outcomes),
        question_counts=tuple(sorted(Counter(len(o.asked) for o in outcomes).items())),
        class_reliability=reliability(
            [o.class_chance for o in outcomes], [o.class_id == o.truth_class for o in outcomes]
        ),
        cause_reliability=reliability([o.top[0][1] for o in outcomes], [o.top[0][0] == o.truth for o in outcomes]),
        sprays=sprays(outcomes),
        unclear=_share([o.state == "unclear" for o in outcomes]),
        sure_and_wrong=_share(
            [o.state != "unclear" and o.class_id != o.truth_class and o.class_chance > 0.8 for o in outcomes]
        ),
    )


def _share(hits: Sequence[bool]) -> float:
    return sum(hits) / len(hits)


def _groups(outcomes: Sequence[Outcome], field: str) -> dict[str, list[Outcome]]:
    found: dict[str, list[Outcome]] = {}
    for outcome in sorted(outcomes, key=lambda o: (o.truth_class, o.truth)):
        found.setdefault(getattr(outcome, field), []).append(outcome)
    return found


def _row(key: str, outcomes: Sequence[Outcome]) -> Row:
    return Row(
        id=key,
        cases=len(outcomes),
        right_class=_share([o.class_id == o.truth_class for o in outcomes]),
        first=_share([o.top[0][0] == o.truth for o in outcomes]),
        top_three=_share([any(cause == o.truth for cause, _ in o.top) for o in outcomes]),
        questions=float(np.mean([len(o.asked) for o in outcomes])),
    )


def _asked(outcomes: Sequence[Outcome]) -> tuple[tuple[str, float], ...]:
    counts = Counter(cue for o in outcomes for cue in o.asked)
    return tuple((cue, n / len(outcomes)) for cue, n in counts.most_common())


def mixed_up(outcomes: Sequence[Outcome]) -> tuple[Mixed, ...]:
    """Pairs of causes of which one came first where the other was true, the commonest first."""
    of = Counter(o.truth for o in outcomes)
    times = Counter(_pair(o.truth, o.top[0][0]) for o in outcomes if o.top[0][0] != o.truth)
    found = [Mixed(pair, n, of[pair[0]] + of[pair[1]]) for pair, n in times.items()]
    return tuple(sorted(found, key=lambda m: (-m.times, -m.times / m.of, m.pair)))


def _pair(one: str, other: str) -> tuple[str, str]:
    return (one, other) if one < other else (other, one)


def reliability(said: Sequence[float], right: Sequence[bool]) -> Reliability:
    """What was said against what was true, in ten bins of equal width over 0 to 1.

    The expected calibration error is that of Naeini, Cooper and Hauskrecht 2015 (from memory):
    sum over bins of n/N |mean said - share right|.
    """
    chances, hits = np.asarray(said, float), np.asarray(right, float)
    places = np.minimum((chances * _BINS).astype(int), _BINS - 1)
    bins, error = [], 0.0
    for place in range(_BINS):
        here = places == place
        n = int(here.sum())
        mean_said = float(chances[here].mean()) if n else float("nan")
        share = float(hits[here].mean()) if n else float("nan")
        bins.append(Bin(place / _BINS, (place + 1) / _BINS, n, mean_said, share))
        error += n / len(chances) * abs(mean_said - share) if n else 0.0
    return Reliability(tuple(bins), error)


def sprays(outcomes: Sequence[Outcome]) -> Sprays:
    """Useless: what a spray truly costs more than it gains (value below 0); helpful: above 0."""
    useless = [o for o in outcomes if o.worth < 0]
    helpful = [o for o in outcomes if o.worth > 0]
    wrong = [o for o in useless if o.advice == "spray"]
    missed = [o for o in helpful if o.advice != "spray"]
    return Sprays(
        useless=len(useless),
        wrong=len(wrong),
        harmful=sum(o.effect == Effect.MAKES_WORSE for o in wrong),
        helpful=len(helpful),
        missed=len(missed),
        checked=sum(o.advice == "check_first" for o in missed),
        judged_right=1 - (len(wrong) + len(missed)) / len(outcomes),
    )
