"""Relatives without a sheet: what is of the same sort as sheets the program has, and none of them.

No set of sheets is complete, and none names every crop on which its cause is ever met. So beside each kin (a group of
sheets of one class that look alike, knowledge/kin.yaml) stands one relative: it answers as its kin does on the mean,
on any crop and in any season. What speaks for the relatives is handed to the sheets of their class, see belief.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from triage.reasoning.chances import Array
from triage.reasoning.cue_weights import CueWeights, weighed
from triage.reasoning.knowledge import Knowledge


@dataclass(frozen=True)
class Kin:
    """The relatives, a column each; `cues` and `patterns` are as those of the causes (`Weights`)."""

    groups: Array  # 1 where a sheet (row) is of a kin (column)
    classes: Array  # 1 where a sheet (row) is of a class (column)
    class_of: Array  # 1 where a kin (row) is of a class (column)
    share: Array  # of each before any answer, for one of all causes together
    cues: dict[str, CueWeights]
    patterns: dict[str, Array]

    @property
    def size(self) -> int:
        return len(self.share)


def groups_of(knowledge: Knowledge) -> Array:
    """1 where a sheet (row) is of a kin (column). Sheets of a class that no group names are a kin of their own."""
    named = {
        (class_id, cause): group
        for class_id, groups in knowledge.kin.items()
        for group, causes in groups.items()
        for cause in causes
    }
    keys = [(sheet.class_id, named.get((sheet.class_id, cause), "")) for cause, sheet in knowledge.sheets.items()]
    order = {key: number for number, key in enumerate(dict.fromkeys(keys))}
    found: Array = np.eye(len(order))[[order[key] for key in keys]]
    return found


def kin_of(knowledge: Knowledge, common: Array, cues: Mapping[str, CueWeights], patterns: Mapping[str, Array]) -> Kin:
    """`common`: how common each sheet is; `cues` and `patterns`: the weights of the causes."""
    groups = groups_of(knowledge)
    total = common @ groups
    means, rules = mixed(knowledge, common[:, None] * groups / total, cues, patterns)
    columns = [knowledge.class_ids.index(sheet.class_id) for sheet in knowledge.sheets.values()]
    classes = np.eye(len(knowledge.class_ids))[columns]
    class_of = (groups.T @ classes > 0).astype(float)
    return Kin(groups, classes, class_of, knowledge.scale.kin * total / total.sum(), means, rules)


def mixed(
    knowledge: Knowledge, mix: Array, cues: Mapping[str, CueWeights], patterns: Mapping[str, Array]
) -> tuple[dict[str, CueWeights], dict[str, Array]]:
    """Weights of what answers like the mean of some sheets: `mix` holds the part of each (rows), columns sum to 1."""
    means = {}
    for name, table in cues.items():
        given = table.given[:, :-1] @ mix
        not_surest = np.zeros(given.shape, dtype=bool)
        means[name] = weighed(knowledge.cues[name], given, given, table.stated[:, -1], not_surest, knowledge.scale)
    return means, {name: column[:-1] @ mix for name, column in patterns.items()}
