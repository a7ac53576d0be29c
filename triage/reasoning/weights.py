"""The sheets as arrays of weights of evidence, compiled once: see cue_weights.py, and kin.py for the relatives."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from triage.reasoning.chances import Array, Told, told_anew, told_by
from triage.reasoning.cue_weights import CueWeights, cue_weights
from triage.reasoning.kin import Kin, kin_of
from triage.reasoning.knowledge import SOMETHING_ELSE, Effect, Knowledge, Pattern, Region, Scale, Sheet

#: One deciban is a tenth of a factor of ten in the odds (Good).
NATS_PER_DECIBAN = math.log(10) / 10


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
    kin: Kin
    scale: Scale
    told: Mapping[str, Told]
    crop_groups: Mapping[str | None, str]  # of crops whose growers have tallies of their own
    of_group: Callable[[str], Weights]

    def on(self, crop: str | None) -> Weights:
        """The weights as growers of such crops tell it; compiled when they are first wanted."""
        return self.of_group(self.crop_groups[crop]) if crop in self.crop_groups else self

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
    told = told_by(knowledge)
    cues = _cues(knowledge, told, common, members)
    patterns = {p.id: _pattern(p, position, knowledge) for p in knowledge.patterns}
    weights = Weights(
        causes=causes,
        classes=classes,
        class_of=class_of,
        members=members,
        cues=cues,
        patterns=patterns,
        spray_value=np.array([*value, scale.spray_value["something_else"]]),
        before=_before(knowledge, common),
        kin=kin_of(knowledge, common, cues, patterns),
        scale=scale,
        told=told,
        crop_groups=knowledge.crop_groups(),
        of_group=cache(lambda group: _on_group(weights, knowledge, group)),
    )
    return weights


def _cues(knowledge: Knowledge, told: Mapping[str, Told], common: Array, members: Array) -> dict[str, CueWeights]:
    return {
        name: cue_weights(cue, told[name], knowledge.scale, common, members[:-1])
        for name, cue in knowledge.cues.items()
    }


def _on_group(weights: Weights, knowledge: Knowledge, group: str) -> Weights:
    """The weights on crops of a group: other tallies, all else the same."""
    there = knowledge.on_group(group)
    told, common = told_anew(weights.told, knowledge, there), weights.before.common
    cues = _cues(there, told, common, weights.members)
    kin = kin_of(there, common, cues, weights.patterns)
    return replace(weights, cues=cues, kin=kin, told=told, crop_groups={})


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


def _pattern(pattern: Pattern, position: dict[str, int], knowledge: Knowledge) -> Array:
    """What a pattern says of every cause; `position`: where each stands among the causes."""
    column = np.zeros(len(position))
    for sign, words in ((1, pattern.supports), (-1, pattern.against)):
        for target, strength in words.items():
            nats = sign * knowledge.scale.strength_decibans[strength] * NATS_PER_DECIBAN
            column[[position[cause] for cause in knowledge.members(target)]] = nats
    return column
