"""How good the program is on worked cases: shares right, questions asked, calibration."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from triage.reasoning.engine import Engine
from triage.reasoning.knowledge import Effect, Knowledge
from triage.reasoning.simulation import play_fast
from triage.reasoning.verdict import judge
from triage.reasoning.verdict_model import Verdict
from triage.reasoning.worked_cases import WorkedCase

_HELPS = (Effect.KILLS_ON_CONTACT, Effect.SLOWS)
_BINS = 10


@dataclass(frozen=True)
class Measure:
    """Shares from 0 to 1 over a group of worked cases. Cause and spray: of those whose cause has a sheet.

    Where too little is told, "unclear" and no spray is right as well. Calibration looks at the class alone.
    """

    cases: int
    by_class: float
    by_cause: float
    among_three: float
    by_spray: float
    sprays_in_vain: int  # told to spray where it is no use or harmful; a count
    calibration_error: float  # expected calibration error of the class, ten bins
    questions: float  # asked on average, where an interview was played


@dataclass(frozen=True)
class Judged:
    """A worked case with what the program says of it."""

    worked: WorkedCase
    verdict: Verdict
    asked: int  # questions, where an interview was played


def judged(worked: WorkedCase, engine: Engine, by_interview: bool) -> Judged:
    """Judge a case on all that is told, or on what the self-stopping interview asks of it."""
    if not by_interview:
        return Judged(worked, judge(worked.case, engine), 0)
    interview, _ = play_fast(worked.case, engine.knowledge, engine.weights)
    return Judged(worked, judge(interview.case, engine), len(interview.asked))


def measure(cases: Sequence[Judged], knowledge: Knowledge) -> Measure:
    """How good the program was on these cases."""
    pairs = [(one.worked, one.verdict) for one in cases]
    known = [(w, v) for w, v in pairs if w.truth.cause]
    effect = {w.id: knowledge.sheets[w.truth.cause].spray.effect for w, _ in known if w.truth.cause}
    hits = [v.classes[0].id in w.right_classes for w, v in pairs]
    return Measure(
        cases=len(pairs),
        by_class=_share([hit or _rightly_unclear(w, v) for hit, (w, v) in zip(hits, pairs, strict=True)]),
        by_cause=_share([v.leading.id in w.right_causes or _rightly_unclear(w, v) for w, v in known]),
        among_three=_share(
            [any(c.id in w.right_causes for c in v.causes[:3]) or _rightly_unclear(w, v) for w, v in known]
        ),
        by_spray=_share([v.spray.judgement == effect[w.id] or _rightly_unclear(w, v) for w, v in known]),
        sprays_in_vain=sum(v.spray.worth_it and effect[w.id] not in _HELPS for w, v in known),
        calibration_error=calibration_error([v.classes[0].probability for _, v in pairs], hits),
        questions=float(np.mean([one.asked for one in cases])) if cases else 0.0,
    )


def _rightly_unclear(worked: WorkedCase, verdict: Verdict) -> bool:
    return worked.told == "too_little" and verdict.state == "unclear" and not verdict.spray.worth_it


def calibration_error(said: Sequence[float], true: Sequence[bool]) -> float:
    """Expected calibration error: the gap between said and true, over ten bins, weighted by their size.

    Naeini, Cooper, Hauskrecht, "Obtaining Well Calibrated Probabilities Using Bayesian Binning", 2015 (from memory).
    """
    chances, hits = np.asarray(said), np.asarray(true, dtype=float)
    bins = np.minimum((chances * _BINS).astype(int), _BINS - 1)
    gaps = [(bins == b).mean() * abs(chances[bins == b].mean() - hits[bins == b].mean()) for b in np.unique(bins)]
    return float(sum(gaps))


def _share(hits: Sequence[bool]) -> float:
    return sum(hits) / len(hits) if hits else 0.0
