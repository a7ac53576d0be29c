"""The sheets as arrays of weights of evidence, compiled once.

Notation: c runs over causes (the last is `something_else`), v over the answers of one cue.
p[v, c] = P(grower gives answer v | cause c); b[v] = its background over all causes.
A weight is the natural logarithm of a likelihood ratio (I. J. Good, "Probability and the
Weighing of Evidence", 1950; from memory): log(p / b), times the damping of the cue's group.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from triage.reasoning.knowledge import SOMETHING_ELSE, Cue, Effect, Knowledge, Pattern, Region, Scale, Sheet

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: One deciban is a tenth of a factor of ten in the odds (Good).
NATS_PER_DECIBAN = math.log(10) / 10


@dataclass(frozen=True)
class CueWeights:
    """Weights of one cue, damped. Rows are its answers in order, columns the causes.

    A tick at factor f (1 sure, 0.5 unsure) adds f*seen - unseen; answering a cue that takes
    several answers adds `looked`, the sum of what not ticking any of them would say.
    """

    values: tuple[str, ...]
    several: bool  # several answers may hold at once; otherwise they share 100%
    stated: Array  # P(answer | cause) by the sheet alone
    given: Array  # P(answer | cause) as believed: drawn to the mean of the class
    seen: Array
    unseen: Array
    looked: Array

    def row(self, value: str) -> int:
        return self.values.index(value)


@dataclass(frozen=True)
class Before:
    """How likely each sheet is before any answer, as factors in the order of the sheets."""

    common: Array
    on_crop: dict[str | None, Array]  # None: the crop was not told
    in_month: Array  # northern months down, 0 is January
    in_region: dict[Region, Array]


@dataclass(frozen=True)
class Weights:
    causes: tuple[str, ...]
    classes: tuple[str, ...]
    class_of: NDArray[np.intp]  # class index of each cause; the last class is something_else
    cues: dict[str, CueWeights]
    patterns: dict[str, Array]
    spray_value: Array  # what a spray gains or costs if this cause is the true one
    before: Before

    @property
    def size(self) -> int:
        return len(self.causes)

    def index(self, cause: str) -> int:
        return self.causes.index(cause)


def compile_weights(knowledge: Knowledge) -> Weights:
    """All weights of the knowledge. A pure function of it."""
    causes = (*knowledge.sheets, SOMETHING_ELSE)
    classes = (*knowledge.class_ids, SOMETHING_ELSE)
    class_of = np.array([classes.index(knowledge.class_of(cause)) for cause in causes])
    scale = knowledge.scale
    common = np.array([scale.commonness[s.commonness] for s in knowledge.sheets.values()])
    kin = class_of[:-1, None] == class_of[:-1]
    np.fill_diagonal(kin, False)
    value = [spray_value(sheet, scale) for sheet in knowledge.sheets.values()]
    return Weights(
        causes=causes,
        classes=classes,
        class_of=class_of,
        cues={name: _cue(name, cue, knowledge, common, kin) for name, cue in knowledge.cues.items()},
        patterns={p.id: _pattern(p, causes, knowledge) for p in knowledge.patterns},
        spray_value=np.array([*value, scale.spray_value["something_else"]]),
        before=_before(knowledge, common),
    )


def _before(knowledge: Knowledge, common: Array) -> Before:
    scale, sheets = knowledge.scale, list(knowledge.sheets.values())
    on_crop: dict[str | None, Array] = {None: np.full(len(sheets), scale.host["medium"])}
    for name, crop in knowledge.crops.crops.items():
        # An unlisted crop: no sheet can name it, so none is ruled out.
        absent = scale.host["low" if crop.family == "other" else "none"]
        levels = (sheet.crops.get(name) or sheet.crops.get("any") for sheet in sheets)
        on_crop[name] = np.array([scale.host[level] if level else absent for level in levels])
    season = np.array([[month in sheet.season for sheet in sheets] for month in range(1, 13)])
    beside = np.roll(season, 1, axis=0) | np.roll(season, -1, axis=0)
    words = scale.season
    return Before(
        common=common,
        on_crop=on_crop,
        in_month=np.where(season, words["in_season"], np.where(beside, words["next_month"], words["out_of_season"])),
        in_region={
            region: np.array(
                [1.0 if {"worldwide", region} & set(sheet.range) else scale.outside_range for sheet in sheets]
            )
            for region in get_args(Region)
        },
    )


def spray_value(sheet: Sheet, scale: Scale) -> float:
    """What a spray gains or costs on this cause; "slows" that nobody has shown does not count as a gain."""
    if sheet.spray.effect is Effect.SLOWS and sheet.spray.evidence == "from_memory":
        return scale.spray_value["slows_unproven"]
    return scale.spray_value[sheet.spray.effect]


def _stated(name: str, cue: Cue, knowledge: Knowledge) -> tuple[Array, Mask]:
    """P(answer | cause) as the sheets state it, nan where a sheet does not name the cue at all; and which answers
    a sheet lists itself."""
    scale = knowledge.scale
    row_of = {value: row for row, value in enumerate(cue.answers)}
    like = [(row, row_of[answer.like]) for row, answer in enumerate(cue.answers.values()) if answer.like]
    silent = np.array([scale.unlisted if cue.silent(value) == "rare" else scale.neutral for value in cue.answers])
    table = np.full((len(cue.answers), len(knowledge.sheets)), np.nan)
    listed = np.zeros(table.shape, dtype=np.bool_)
    for column, sheet in enumerate(knowledge.sheets.values()):
        words = sheet.cues.get(name)
        if words is None:
            continue
        table[:, column] = silent
        for value, word in words.items():
            table[row_of[value], column] = scale.frequency[word]
            listed[row_of[value], column] = True
        for row, other in like:
            if listed[other, column] and not listed[row, column]:
                table[row, column], listed[row, column] = table[other, column], True
    return table, listed


def _drawn_to_kin(own: Array, listed: Mask, weight: Array, background: Array, kin: Mask, scale: Scale) -> Array:
    """Every cause's chances drawn towards the mean of the other causes of its class, most where its sheet is silent.

    A sheet never lists all that growers tell; what its relatives show is the better guess than "hardly ever".
    `weight` is how much a cell counts in a mean (answers by causes); the background joins each mean with the weight
    of `relatives.background` common causes, so that a class of few sheets is not taken at its word. The idea is that
    of James and Stein (estimates shrunk towards the mean of their group), 1961; from memory.
    """
    joined = scale.relatives["background"]
    mean = ((own * weight) @ kin + joined * background[:, None]) / (weight @ kin + joined)
    share = np.where(listed, scale.relatives["listed"], scale.relatives["silent"])
    drawn: Array = (1 - share) * own + share * mean
    return drawn


def _cue(name: str, cue: Cue, knowledge: Knowledge, common: Array, kin: Mask) -> CueWeights:
    """`common`: how common each cause is; `kin`: which causes are of one class, nobody being kin to itself."""
    scale = knowledge.scale
    stated, listed = _stated(name, cue, knowledge)
    if not cue.several:
        # The answers share 100%. A silent cell takes no part, so it cannot swell the others.
        total = np.nansum(stated, axis=0)
        stated = stated / np.where(total > 0, total, np.nan)
    known = ~np.isnan(stated)
    weight = common * known
    mass = weight.sum(axis=1)
    background = np.where(
        mass > 0, np.nansum(np.where(known, stated, 0) * weight, axis=1) / np.maximum(mass, 1e-12), scale.unlisted
    )
    background = np.clip(background, scale.unlisted / 2, 1 - scale.unlisted / 2)
    own = np.where(known, stated, background[:, None])
    # A sheet that does not name the cue stays at the background: its kin that do name it are those it matters to.
    given = np.where(known, _drawn_to_kin(own, listed, weight, background, kin, scale), own)
    if not cue.several:
        given = given * (own.sum(axis=0) / given.sum(axis=0))  # the answers still share what they shared
    error = scale.observer_error
    stated, given = (
        np.column_stack([(1 - error) * chances + error * background[:, None], background]) for chances in (own, given)
    )
    damping = scale.damping[cue.group]
    seen = damping * np.log(given / background[:, None])
    if cue.several:
        surest = np.column_stack([own >= scale.frequency["almost_always"], np.zeros(len(stated), bool)])
        share = np.where(surest, scale.unticked["almost_always"], scale.unticked["otherwise"])
        unseen = damping * share * np.log((1 - given) / (1 - background[:, None]))
        alone = np.array([answer.alone for answer in cue.answers.values()])
        unseen[alone] = 0.0  # "found none" is the sum of the other ticks, not one more thing to find
    else:
        unseen = np.zeros_like(seen)
    return CueWeights(tuple(cue.answers), cue.several, stated, given, seen, unseen, unseen.sum(axis=0))


def _pattern(pattern: Pattern, causes: tuple[str, ...], knowledge: Knowledge) -> Array:
    column = np.zeros(len(causes))
    for sign, words in ((1, pattern.supports), (-1, pattern.against)):
        for target, strength in words.items():
            nats = sign * knowledge.scale.strength_decibans[strength] * NATS_PER_DECIBAN
            for cause in knowledge.members(target):
                column[causes.index(cause)] = nats
    return column
