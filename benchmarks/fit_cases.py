"""Cases to fit on, as logits by parameters and the ways in which each can be right."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from fit_numbers import scale_of
from numpy.typing import NDArray
from open_cases import OpenCases, open_logits
from scipy.special import logsumexp  # type: ignore[import-untyped]

from triage.reasoning.belief import evidence, prior, voices, with_kin
from triage.reasoning.findings import Fired, fire
from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge
from triage.reasoning.weights import compile_weights
from triage.reasoning.worked_cases import WorkedCase

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Way:
    """One question about each case: of the causes allowed, which are right? Both cases by causes."""

    right: Mask  # a row of nothing counts nothing
    allowed: Mask
    weight: float = 1.0


@dataclass(frozen=True)
class Set:
    """Cases that can be scored: logits by parameters, and the ways in which they can be right."""

    logits: Callable[[Array], Array]
    ways: tuple[Way, ...]
    groups: NDArray[np.intp]  # cases of one group share a fold
    weight: float
    rest: Mask | None = None  # all but the true cause, for judging a case as if its sheet were not there

    def scores(self, logits: Array) -> Array:
        """Log probability of what is right, summed over the ways with their weights, a case each."""
        return sum((way.weight * log_share(logits, way) for way in self.ways), np.zeros(len(logits)))


def log_share(logits: Array, way: Way) -> Array:
    some = way.right.any(axis=1)
    inside = logsumexp(np.where(way.right, logits, -np.inf)[some], axis=1)
    found = np.zeros(len(logits))
    found[some] = inside - logsumexp(np.where(way.allowed, logits, -np.inf)[some], axis=1)
    return found


def worked_set(worked: Sequence[WorkedCase], knowledge: Knowledge, left_out: float) -> Set:
    """The worked cases; right are the true class, and the right causes where a sheet holds them.

    With a weight for `left_out` also: the true cause struck out, right is its class or "something else".
    (Struck from the contenders, not from the backgrounds nor its kin: next to the same, and no second compiling.)
    """
    fired: list[Fired] = [fire(w.case, knowledge) for w in worked]
    weights = compile_weights(knowledge)

    def logits(at: Array) -> Array:
        tried = knowledge.model_copy(update={"scale": scale_of(knowledge.scale, at)})
        compiled = compile_weights(tried)
        heard = [voices(f, tried.scale) for f in fired]
        on_crop = [compiled.on(w.case.crop) for w in worked]
        told = list(zip(fired, on_crop, heard, strict=True))
        own = np.log([prior(w.case, tried, compiled) for w in worked])
        own = own + np.array([evidence(f, on, voice) for f, on, voice in told])
        kin = np.log(compiled.kin.share) + np.array([evidence(f, on.kin, voice) for f, on, voice in told])
        return with_kin(own, kin, compiled.kin)

    classes = np.array([[knowledge.class_of(c) in w.right_classes for c in weights.causes] for w in worked])
    causes = np.array([[c in w.right_causes for c in weights.causes] for w in worked])
    names = sorted({w.truth.cause or w.id for w in worked})
    groups = np.array([names.index(w.truth.cause or w.id) for w in worked])
    everything = np.ones_like(classes)
    rest = np.array([[c != w.truth.cause for c in weights.causes] for w in worked])
    known = np.array([w.truth.cause is not None for w in worked])[:, None]
    unknown = np.array([c == SOMETHING_ELSE for c in weights.causes])
    ways = [Way(classes, everything), Way(causes, everything)]
    if left_out:
        ways.append(Way((classes | unknown) & rest & known, rest, left_out))
    return Set(logits, tuple(ways), groups, 1.0, rest)


def soybean_set(cases: OpenCases, knowledge: Knowledge, weight: float) -> Set:
    def logits(at: Array) -> Array:
        scale = scale_of(knowledge.scale, at)
        frequency = {str(word): p for word, p in scale.frequency.items()}
        return open_logits(cases, frequency, scale.unlisted, scale.observer_error, scale.damping)

    right = np.eye(len(cases.prior), dtype=bool)[cases.truth]
    return Set(logits, (Way(right, np.ones_like(right)),), np.arange(len(cases.truth)), weight)
