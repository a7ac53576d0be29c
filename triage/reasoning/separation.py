"""Which causes the knowledge cannot tell apart, however much is answered.

For two causes a and b on one crop: the weight of evidence that all answers together can be
expected to give for a over b when a is true (Kullback and Leibler's divergence, through the
damped weights of the program itself; Good called it the expected weight of evidence; from memory), at the usual
number of ticks and without their relatives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.reasoning.chances import Array
from triage.reasoning.findings import DERIVED
from triage.reasoning.knowledge import Effect, Knowledge, Pattern
from triage.reasoning.weights import NATS_PER_DECIBAN, Weights


@dataclass(frozen=True)
class Pair:
    """Two causes of which all answers together say too little. `decibans` is the poorer direction."""

    causes: tuple[str, str]
    decibans: float
    crops: tuple[str, ...]  # those both sheets name; empty: any crop
    same_class: bool
    same_spray: bool  # a spray does the same to both
    marked: bool  # a sheet says that the eye cannot tell them apart


def expected_evidence(knowledge: Knowledge, weights: Weights) -> Array:
    """E[a, b]: expected weight of all answers for cause a over b when a is true, in nats (something_else left out)."""
    size = weights.size - 1
    total = np.zeros((size, size))
    for table in weights.cues.values():
        given = table.stated[:, :-1]
        if table.several:
            told, base = (table.seen - table.unseen)[:, :-1], table.looked[:-1]
        else:
            told, base = table.seen[:, :-1], np.zeros(size)
        under = given.T @ told + base  # row a: what cause a's answers say for each cause
        total += np.diag(under)[:, None] - under
    chances = _pattern_chances(knowledge, weights)
    for pattern in knowledge.patterns:
        column = weights.patterns[pattern.id][:-1]
        total += chances[pattern.id][:, None] * (column[:, None] - column[None, :])
    return total


def _pattern_chances(knowledge: Knowledge, weights: Weights) -> dict[str, Array]:
    """P(pattern rule fires | cause), taking its lines as independent of one another."""
    found: dict[str, Array] = {}
    derived: dict[str, Array] = {}
    grown_on = _grown_on(knowledge)
    for again in range(3):  # rules wait for what other rules derive, a few steps deep
        for pattern in knowledge.patterns:
            if again and DERIVED not in pattern.when:
                continue
            found[pattern.id] = _chance(pattern, knowledge, weights, grown_on, derived)
            if pattern.derives:
                before = derived.get(pattern.derives, np.zeros(weights.size - 1))
                derived[pattern.derives] = np.maximum(before, found[pattern.id])
    return found


def _chance(
    pattern: Pattern, knowledge: Knowledge, weights: Weights, grown_on: Array, derived: dict[str, Array]
) -> Array:
    size = weights.size - 1
    chance = np.ones(size)
    for cue, values in pattern.when.items():
        if cue == DERIVED:
            none = np.zeros(size)
            line = np.max([derived.get(value, none) for value in values], axis=0)
        elif cue in ("crop", "family"):
            crops = knowledge.crops.crops.items()
            line = grown_on[[(name if cue == "crop" else crop.family) in values for name, crop in crops]].sum(axis=0)
        else:
            rows = weights.cues[cue].stated[[weights.cues[cue].row(v) for v in values], :-1]
            line = 1 - np.prod(1 - rows, axis=0) if weights.cues[cue].several else rows.sum(axis=0)
        chance = chance * np.minimum(line, 1.0)
    return chance


def _crops(knowledge: Knowledge) -> list[set[str]]:
    known = set(knowledge.crops.crops)
    return [known if "any" in s.crops else known & set(s.crops) for s in knowledge.sheets.values()]


def _grown_on(knowledge: Knowledge) -> Array:
    """The share that each crop (row) has of the crops of each cause (column)."""
    crops = _crops(knowledge)
    there = np.array([[name in those for those in crops] for name in knowledge.crops.crops], float)
    shares: Array = there / np.maximum(there.sum(axis=0), 1)
    return shares


def inseparable_pairs(
    knowledge: Knowledge, weights: Weights, below: float | None = None, class_id: str | None = None
) -> tuple[Pair, ...]:
    """Pairs on one crop with under `below` decibans between them, the closest first.

    Without `below`: `inseparable_decibans` of the scale. Growers are taken to answer as the sheets state, and the
    program to judge as it does. With `class_id` only pairs with a cause of that class.
    """
    least = knowledge.scale.inseparable_decibans if below is None else below
    both = expected_evidence(knowledge, weights) / NATS_PER_DECIBAN
    poorer = np.minimum(both, both.T)
    crops = _crops(knowledge)
    sheets = list(knowledge.sheets.values())
    found = []
    for a, b in zip(*np.nonzero(np.triu(poorer < least, k=1)), strict=True):
        shared = crops[a] & crops[b]
        if not shared:
            continue
        one, other = sheets[a], sheets[b]
        if class_id not in (None, one.class_id, other.class_id):
            continue
        everywhere = "any" in one.crops and "any" in other.crops
        found.append(
            Pair(
                causes=(weights.causes[a], weights.causes[b]),
                decibans=float(poorer[a, b]),
                crops=() if everywhere else tuple(sorted(shared)),
                same_class=one.class_id == other.class_id,
                same_spray=_helps(one.spray.effect) == _helps(other.spray.effect),
                marked=weights.causes[b] in one.inseparable_from or weights.causes[a] in other.inseparable_from,
            )
        )
    return tuple(sorted(found, key=lambda pair: (pair.decibans, pair.causes)))


def _helps(effect: Effect) -> bool:
    return effect in (Effect.KILLS_ON_CONTACT, Effect.SLOWS)
