"""Findings to probabilities over causes and classes.

log P(c) = log prior(c) + sum of damped weights of evidence, normalised over all causes,
their relatives without a sheet (kin.py) and `something_else`. Nothing is ever 0 or 1: sheets
are mixed with the background (observer error) before their logarithm is taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from triage.reasoning.case import Case, Hemisphere
from triage.reasoning.chances import Array
from triage.reasoning.cue_weights import CueWeights
from triage.reasoning.findings import Fired
from triage.reasoning.kin import Kin
from triage.reasoning.knowledge import Knowledge, Scale
from triage.reasoning.weights import Weights

_LEAST = 1e-300  # keeps the logarithm of nothing finite


@dataclass(frozen=True)
class Sums:
    """What a belief is made of, in nats: of every cause (or relative) before any answer, and what is told of it."""

    before: Array
    told: Array


@dataclass(frozen=True)
class Belief:
    """Probability of every cause, in the order of `weights.causes`; sums to 1.

    That of a sheet is "this, or a relative of it without a sheet".
    """

    weights: Weights
    p: Array
    own: Sums
    kin: Sums

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


class Columns(Protocol):
    """Weights of the causes, or of their kin: tables by cue and by rule, a column each."""

    @property
    def cues(self) -> Mapping[str, CueWeights]: ...
    @property
    def patterns(self) -> Mapping[str, Array]: ...
    @property
    def size(self) -> int: ...


@dataclass(frozen=True)
class Voices:
    """How much of its weight a finding keeps beside the others: all that is told, and the ticks of one list."""

    all: float
    lists: Mapping[str, float]

    def of(self, cue: str) -> float:
        return self.all * self.lists.get(cue, 1.0)


def voices(fired: Mapping[str, float], scale: Scale) -> Voices:
    """What is told tells partly the same; counted in full, much of it would be overconfident.

    Of n ticks in one list each counts n ** -shared_power, never over 1; and all that is told by `loudness`.
    """
    ticked: dict[str, float] = {}
    for rule, factor in fired.items():
        kind, _, rest = rule.partition(":")
        if kind == "tick":
            cue = rest.partition(".")[0]
            ticked[cue] = ticked.get(cue, 0.0) + factor
    lists = {cue: max(n, 1.0) ** -scale.shared_power for cue, n in ticked.items()}
    return Voices(loudness(sum(ticked.values()), scale), lists)


def loudness(ticks: float, scale: Scale) -> float:
    """How much all that is told counts when so much is ticked; 1 at the usual number."""
    told = scale.told
    return float((max(ticks, told["fewest"]) / told["usual"]) ** -told["power"])


def evidence(fired: Mapping[str, float], columns: Columns, voice: Voices) -> Array:
    """Sum of the weights of all that fired, in nats for every column."""
    total = np.zeros(columns.size)
    for rule, factor in fired.items():
        total += contribution(rule, factor, columns, voice)
    return total


def contribution(rule: str, factor: float, columns: Columns, voice: Voices) -> Array:
    """What one finding adds, in nats for every column. Contradictions add nothing."""
    kind, _, rest = rule.partition(":")
    if kind == "pattern":
        added: Array = voice.all * factor * columns.patterns[rest]
        return added
    if kind == "looked":
        looked: Array = voice.of(rest) * columns.cues[rest].looked
        return looked
    if kind == "tick":
        cue, _, value = rest.partition(".")
        table = columns.cues[cue]
        row = table.row(value)
        told: Array = voice.of(cue) * (factor * table.seen[row] - table.unseen[row])
        return told
    return np.zeros(columns.size)


def with_kin(logs: Array, kin_logs: Array, kin: Kin) -> Array:
    """Log probabilities of the causes (last axis, something_else last) with those of their relatives handed to them.

    Each sheet of a class grows by one factor, so that the class has its own and its relatives' together: "this, or a
    relative of it". Both may lack the same constant.
    """
    highest = logs.max(axis=-1, keepdims=True)
    own, theirs = (
        np.log(np.maximum(np.exp(part - highest) @ classes, _LEAST))
        for part, classes in ((logs[..., :-1], kin.classes), (kin_logs, kin.class_of))
    )
    more = np.logaddexp(0, theirs - own) @ kin.classes.T
    grown: Array = np.concatenate([logs[..., :-1] + more, logs[..., -1:]], axis=-1)
    return grown


def normalised(logs: Array) -> Array:
    """exp(logs) scaled to sum 1 along the last axis, without overflow."""
    shifted = np.exp(logs - logs.max(axis=-1, keepdims=True))
    scaled: Array = shifted / shifted.sum(axis=-1, keepdims=True)
    return scaled


def believe(case: Case, fired: Fired, knowledge: Knowledge, weights: Weights) -> Belief:
    """The belief after all findings of a case, by what growers of its crop tell."""
    weights = weights.on(case.crop)
    voice = voices(fired, weights.scale)
    own = Sums(np.log(prior(case, knowledge, weights)), evidence(fired, weights, voice))
    kin = Sums(np.log(weights.kin.share), evidence(fired, weights.kin, voice))
    logs = with_kin(own.before + own.told, kin.before + kin.told, weights.kin)
    return Belief(weights, normalised(logs), own, kin)
