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
from triage.reasoning.chances import Array
from triage.reasoning.findings import Fired
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.weights import Weights


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
    voice = voices(fired, weights)
    for rule, factor in fired.items():
        total += contribution(rule, factor, weights, voice)
    return total


def voices(fired: Mapping[str, float], weights: Weights) -> dict[str, float]:
    """How much each tick of a list still counts: n ** -shared_power where n of the list are ticked, never over 1.

    Ticks of one list tell partly the same; counted in full, a long list would be overconfident.
    """
    ticked: dict[str, float] = {}
    for rule, factor in fired.items():
        kind, _, rest = rule.partition(":")
        if kind == "tick":
            cue = rest.partition(".")[0]
            ticked[cue] = ticked.get(cue, 0.0) + factor
    return {cue: max(n, 1.0) ** -weights.shared for cue, n in ticked.items()}


def contribution(rule: str, factor: float, weights: Weights, voice: Mapping[str, float]) -> Array:
    """What one finding adds, in nats for every cause. Contradictions add nothing. `voice`: see `voices`."""
    kind, _, rest = rule.partition(":")
    if kind == "pattern":
        added: Array = factor * weights.patterns[rest]
        return added
    if kind == "looked":
        looked: Array = voice.get(rest, 1.0) * weights.cues[rest].looked
        return looked
    if kind == "tick":
        cue, _, value = rest.partition(".")
        table = weights.cues[cue]
        row = table.row(value)
        told: Array = voice.get(cue, 1.0) * (factor * table.seen[row] - table.unseen[row])
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
