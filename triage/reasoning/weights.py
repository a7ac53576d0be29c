"""The sheets as arrays of weights of evidence, compiled once.

Notation: c runs over causes (the last is `something_else`), v over the answers of one cue.
p[v, c] = P(grower gives answer v | cause c); b[v] = its background over all causes.
A weight is the natural logarithm of a likelihood ratio (I. J. Good, "Probability and the
Weighing of Evidence", 1950; from memory): log(p / b), times the damping of the cue's group.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from triage.reasoning.chances import Array, Mask, chances_of
from triage.reasoning.knowledge import SOMETHING_ELSE, Cue, Effect, Knowledge, Pattern, Region, Scale, Sheet

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
    stated: Array  # P(answer | cause) by the sheet and its tally alone
    given: Array  # P(answer | cause) as believed: drawn to the mean of the class
    seen: Array
    unseen: Array
    looked: Array
    shares: Array  # `given` with every column scaled to sum 1: one answer at a time
    alone: Array  # what each answer says when it is the only one: seen - unseen + looked

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
    members: (
        Array  # 1 where a cause (row) is of a class (column): probabilities of causes @ members are those of classes
    )
    cues: dict[str, CueWeights]
    patterns: dict[str, Array]
    spray_value: Array  # what a spray gains or costs if this cause is the true one
    before: Before
    shared: float  # the power by which ticks of one list share their say, see belief.voices

    @property
    def size(self) -> int:
        return len(self.causes)

    def index(self, cause: str) -> int:
        return self.causes.index(cause)


def compile_weights(knowledge: Knowledge) -> Weights:
    """All weights of the knowledge. A pure function of it."""
    causes = (*knowledge.sheets, SOMETHING_ELSE)
    classes = (*knowledge.class_ids, SOMETHING_ELSE)
    position = {cause: number for number, cause in enumerate(causes)}
    class_of = np.array([classes.index(knowledge.class_of(cause)) for cause in causes])
    scale = knowledge.scale
    common = np.array([scale.commonness[s.commonness] for s in knowledge.sheets.values()])
    members = np.eye(len(classes))[class_of]
    value = [spray_value(sheet, scale) for sheet in knowledge.sheets.values()]
    return Weights(
        causes=causes,
        classes=classes,
        class_of=class_of,
        members=members,
        cues={name: _cue(name, cue, knowledge, common, members[:-1]) for name, cue in knowledge.cues.items()},
        patterns={p.id: _pattern(p, position, knowledge) for p in knowledge.patterns},
        spray_value=np.array([*value, scale.spray_value["something_else"]]),
        before=_before(knowledge, common),
        shared=scale.shared_power,
    )


def _before(knowledge: Knowledge, common: Array) -> Before:
    scale, sheets = knowledge.scale, list(knowledge.sheets.values())
    on_crop: dict[str | None, Array] = {None: np.full(len(sheets), scale.host["medium"])}
    # A crop without an entry: no sheet can name it, so none is ruled out, but what lives on many families leads.
    by_breadth = scale.host["low"] * _breadth(sheets, knowledge) ** scale.breadth_power
    absent = np.full(len(sheets), scale.host["none"])
    for name, crop in knowledge.crops.crops.items():
        levels = [sheet.crops.get(name) or sheet.crops.get("any") for sheet in sheets]
        named = np.array([scale.host[level] if level else np.nan for level in levels])
        host = np.where(np.isnan(named), by_breadth if crop.family == "other" else absent, named)
        on_crop[name] = host * _asked(knowledge.asked_per_thousand.get(name, {}), common * host, knowledge)
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


def _breadth(sheets: Sequence[Sheet], knowledge: Knowledge) -> Array:
    """Of how many plant families each sheet names a crop, as a share of the most that any names."""
    family = {name: crop.family for name, crop in knowledge.crops.crops.items()}
    counts = np.array([len({family[name] for name in sheet.crops if name in family}) for sheet in sheets])
    shares: Array = np.maximum(counts, 1) / max(counts.max(initial=1), 1)
    return shares


def _asked(per_thousand: dict[str, float], shares: Array, knowledge: Knowledge) -> Array:
    """What is asked about a crop, as factors: more for what is asked often, the sum of the shares unchanged."""
    told = np.array([per_thousand.get(cause, 0.0) for cause in knowledge.sheets])
    there = told > 0
    factors = np.ones(len(told))
    if there.any():
        factors[there] = told[there] ** knowledge.scale.asked_power
        factors[there] *= shares[there].sum() / (shares[there] * factors[there]).sum()
    return factors


def spray_value(sheet: Sheet, scale: Scale) -> float:
    """What a spray gains or costs on this cause; "slows" that nobody has shown does not count as a gain."""
    if sheet.spray.effect is Effect.SLOWS and sheet.spray.evidence == "from_memory":
        return scale.spray_value["slows_unproven"]
    return scale.spray_value[sheet.spray.effect]


def _drawn_to_kin(own: Array, listed: Mask, weight: Array, background: Array, members: Array, scale: Scale) -> Array:
    """Every cause's chances drawn towards the mean of the other causes of its class, most where its sheet is silent.

    A sheet never lists all that growers tell; what its relatives show is the better guess than "hardly ever".
    `weight` is how much a cell counts in a mean (answers by causes); the background joins each mean with the weight
    of `relatives.background` common causes, so that a class of few sheets is not taken at its word. The idea is that
    of James and Stein (estimates shrunk towards the mean of their group), 1961; from memory.
    """
    joined = scale.relatives["background"]
    counted = own * weight
    others, mass = ((table @ members) @ members.T - table for table in (counted, weight))  # all of the class but itself
    mean = (others + joined * background[:, None]) / (mass + joined)
    share = np.where(listed, scale.relatives["listed"], scale.relatives["silent"])
    drawn: Array = (1 - share) * own + share * mean
    return drawn


def _cue(name: str, cue: Cue, knowledge: Knowledge, common: Array, members: Array) -> CueWeights:
    """`common`: how common each cause is; `members`: 1 where a cause (row) is of a class (column)."""
    scale = knowledge.scale
    silent = np.array([scale.unlisted if cue.silent(value) == "rare" else scale.neutral for value in cue.answers])
    chances = chances_of(name, knowledge, silent)
    stated = chances.p
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
    given = np.where(known, _drawn_to_kin(own, chances.listed, weight, background, members, scale), own)
    if not cue.several:
        given = given * (own.sum(axis=0) / given.sum(axis=0))  # the answers still share what they shared
    error = scale.observer_error
    stated, given = (np.column_stack([(1 - error) * p + error * background[:, None], background]) for p in (own, given))
    damping = scale.damping[cue.group]
    seen = damping * np.log(given / background[:, None])
    if cue.several:
        surest = np.column_stack([chances.surest, np.zeros(len(stated), bool)])
        share = np.where(surest, scale.unticked["almost_always"], scale.unticked["otherwise"])
        unseen = damping * share * np.log((1 - given) / (1 - background[:, None]))
        alone = np.array([answer.alone for answer in cue.answers.values()])
        unseen[alone] = 0.0  # "found none" is the sum of the other ticks, not one more thing to find
    else:
        unseen = np.zeros_like(seen)
    looked = unseen.sum(axis=0)
    return CueWeights(
        values=tuple(cue.answers),
        several=cue.several,
        stated=stated,
        given=given,
        seen=seen,
        unseen=unseen,
        looked=looked,
        shares=given / given.sum(axis=0),
        alone=seen - unseen + looked,
    )


def _pattern(pattern: Pattern, position: dict[str, int], knowledge: Knowledge) -> Array:
    """What a pattern says of every cause; `position`: where each stands among the causes."""
    column = np.zeros(len(position))
    for sign, words in ((1, pattern.supports), (-1, pattern.against)):
        for target, strength in words.items():
            nats = sign * knowledge.scale.strength_decibans[strength] * NATS_PER_DECIBAN
            column[[position[cause] for cause in knowledge.members(target)]] = nats
    return column
