"""Findings to probabilities over causes and classes.

log P(c) = log prior(c) + sum of damped weights of evidence, normalised over all causes
and `something_else`. Nothing is ever 0 or 1: sheets are mixed with the background
(observer error) before their logarithm is taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from triage.reasoning.case import Case, Hemisphere
from triage.reasoning.findings import Fired
from triage.reasoning.knowledge import SOMETHING_ELSE, Knowledge
from triage.reasoning.weights import Array, Weights


@dataclass(frozen=True)
class Belief:
    """Probability of every cause, in the order of `weights.causes`; sums to 1."""

    weights: Weights
    p: Array

    def of(self, cause: str) -> float:
        return float(self.p[self.weights.index(cause)])

    def classes(self) -> dict[str, float]:
        """Probability of every class, `something_else` last."""
        sums = np.bincount(self.weights.class_of, weights=self.p, minlength=len(self.weights.classes))
        return dict(zip(self.weights.classes, (float(x) for x in sums), strict=True))

    def ranked(self) -> list[tuple[str, float]]:
        order = np.argsort(-self.p, kind="stable")
        return [(self.weights.causes[i], float(self.p[i])) for i in order]

    def chance_it_helps(self) -> float:
        """Chance that what did it is something on which a spray gains more than it costs."""
        return float(self.p[self.weights.spray_value > 0].sum())

    def spray_gain(self) -> float:
        """What a spray is expected to gain (above 0) or cost (below 0), over the whole belief."""
        return float(self.p @ self.weights.spray_value)


def hemisphere_of(case: Case) -> Hemisphere:
    """Told, or else south for Oceania and north elsewhere."""
    if case.hemisphere:
        return case.hemisphere
    return "south" if case.region == "oceania" else "north"


def prior(case: Case, knowledge: Knowledge, weights: Weights) -> Array:
    """Probability of every cause before any answer: how common, on this crop, this month, in this region."""
    before = weights.before
    shares = before.common * before.on_crop[case.crop]
    hemisphere = hemisphere_of(case)
    if case.months and hemisphere != "tropics":
        turn = 6 if hemisphere == "south" else 0
        northern = [(month - 1 + turn) % 12 for month in case.months]
        shares = shares * before.in_month[northern].max(axis=0)
    else:
        shares = shares * knowledge.scale.season["in_season"]
    if case.region:
        shares = shares * before.in_region[case.region]
    held_back = knowledge.scale.something_else
    shares = np.append(shares, shares.sum() * held_back / (1 - held_back))
    normed: Array = shares / shares.sum()
    return normed


def evidence(fired: Mapping[str, float], weights: Weights) -> Array:
    """Sum of the weights of all that fired, in nats for every cause."""
    total = np.zeros(weights.size)
    for rule, factor in fired.items():
        total += contribution(rule, factor, weights)
    return total


def contribution(rule: str, factor: float, weights: Weights) -> Array:
    """What one finding adds, in nats for every cause. Contradictions add nothing."""
    kind, _, rest = rule.partition(":")
    if kind == "pattern":
        added: Array = factor * weights.patterns[rest]
        return added
    if kind == "looked":
        return weights.cues[rest].looked
    if kind == "tick":
        cue, _, value = rest.partition(".")
        table = weights.cues[cue]
        row = table.row(value)
        told: Array = factor * table.seen[row] - table.unseen[row]
        return told
    return np.zeros(weights.size)


def normalised(logs: Array) -> Array:
    """exp(logs) scaled to sum 1 along the last axis, without overflow."""
    shifted = np.exp(logs - logs.max(axis=-1, keepdims=True))
    scaled: Array = shifted / shifted.sum(axis=-1, keepdims=True)
    return scaled


def believe(case: Case, fired: Fired, knowledge: Knowledge, weights: Weights) -> Belief:
    """The belief after all findings of a case."""
    logs = np.log(prior(case, knowledge, weights)) + evidence(fired, weights)
    return Belief(weights, normalised(logs))


__all__ = ["SOMETHING_ELSE", "Belief", "believe", "contribution", "evidence", "hemisphere_of", "normalised", "prior"]
