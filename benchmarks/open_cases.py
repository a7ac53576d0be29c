"""The open soybean disease cases, as a second set to fit on.

683 cases, 19 diseases, 35 attributes (Michalski and Chilausky's set; donors Tan and Schlimmer, 1988).
The file is not shipped here. It is soybean.arff among the examples of the Debian package `weka`
(unpack the package; nothing of it is run); no Python package that this project uses carries it.

Two things differ from our cases. The diseases are other ones, so no sheet is tested: only how much
a word is worth and how far answers of one group repeat each other. And each attribute takes one value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WORDS = ("never", "rarely", "sometimes", "often", "usually", "almost_always")

#: Our group of cues for each attribute. Severity and germination are left out: no cue of ours is like them.
GROUPS = {
    "date": "stage",
    "plant-stand": "bed",
    "area-damaged": "bed",
    "precip": "weather",
    "temp": "weather",
    "hail": "event",
    "crop-hist": "event",
    "seed-tmt": "event",
    "plant-growth": "pattern",
    "leaves": "pattern",
    "leafspots-halo": "pattern",
    "leafspots-marg": "pattern",
    "leafspot-size": "pattern",
    "leaf-shread": "pattern",
    "leaf-malf": "pattern",
    "leaf-mild": "pattern",
    "stem": "pattern",
    "lodging": "pattern",
    "canker-lesion": "pattern",
    "external-decay": "pattern",
    "fruit-pods": "pattern",
    "fruit-spots": "pattern",
    "seed": "pattern",
    "seed-discolor": "pattern",
    "seed-size": "pattern",
    "shriveling": "pattern",
    "stem-cankers": "place",
    "fruiting-bodies": "trace",
    "mycelium": "trace",
    "sclerotia": "trace",
    "mold-growth": "trace",
    "int-discolor": "test",
    "roots": "test",
}
_UNLISTED = len(WORDS)


@dataclass(frozen=True)
class OpenCases:
    """Answers by number (-1: not told), the true disease of each case, and who wrote its "sheets"."""

    groups: tuple[str, ...]  # of each attribute
    answers: NDArray[np.intp]  # cases by attributes
    truth: NDArray[np.intp]
    part: NDArray[np.intp]  # which part of the cases each belongs to
    words: tuple[tuple[NDArray[np.intp], ...], ...]  # part -> attribute -> values by diseases, as word numbers
    prior: Array


def read_open_cases(path: Path, frequency: Mapping[str, float], rng: np.random.Generator, parts: int = 5) -> OpenCases:
    """The cases, with "sheets" for each part worded from the other parts only.

    A value's share among a disease's cases becomes the nearest frequency word, as an author would word it;
    one that never came up is not listed.
    """
    names: list[str] = []
    values: list[list[str]] = []
    rows: list[list[str]] = []
    for line in path.read_text(encoding="latin-1").splitlines():
        if line.upper().startswith("@ATTRIBUTE"):
            _, name, rest = line.split(None, 2)
            names.append(name)
            values.append([v.strip() for v in rest.strip().strip("{}").split(",")])
        elif line.strip() and line[0] not in "@%":
            rows.append([v.strip() for v in line.split(",")])
    coded = np.array([[values[i].index(v) if v != "?" else -1 for i, v in enumerate(row)] for row in rows])
    kept = [i for i, name in enumerate(names) if name in GROUPS]
    truth = coded[:, names.index("class")]
    diseases = len(values[names.index("class")])
    part = rng.permutation(np.arange(len(rows)) % parts)
    counts = np.bincount(truth, minlength=diseases)
    words = []
    for number in range(parts):
        others = part != number
        words.append(tuple(_worded(coded[others, i], truth[others], len(values[i]), diseases, frequency) for i in kept))
    groups = tuple(GROUPS[names[i]] for i in kept)
    return OpenCases(groups, coded[:, kept], truth, part, tuple(words), np.log(counts / counts.sum()))


def _worded(
    answers: NDArray[np.intp], truth: NDArray[np.intp], values: int, diseases: int, frequency: Mapping[str, float]
) -> NDArray[np.intp]:
    counts = np.zeros((values, diseases))
    told = answers >= 0
    np.add.at(counts, (answers[told], truth[told]), 1)
    share = (counts + 0.5) / (counts.sum(axis=0) + 1)
    marks = np.log([frequency[word] / (1 - frequency[word]) for word in WORDS])
    nearest = np.abs(np.log(share / (1 - share + 1e-9))[..., None] - marks).argmin(axis=-1)
    found: NDArray[np.intp] = np.where(counts > 0, nearest, _UNLISTED)
    found[:, counts.sum(axis=0) == 0] = -1  # no case of this disease tells: the sheet is silent
    return found


def open_logits(
    cases: OpenCases, frequency: Mapping[str, float], unlisted: float, error: float, damping: Mapping[str, float]
) -> Array:
    """log prior + weights of evidence, cases by diseases: the arithmetic of weights.py for single-choice cues."""
    by_word = np.array([*(frequency[word] for word in WORDS), unlisted, np.nan])
    logits = np.tile(cases.prior, (len(cases.answers), 1))
    for number, sheets in enumerate(cases.words):
        here = np.flatnonzero(cases.part == number)
        for attribute, codes in enumerate(sheets):
            stated = by_word[codes]
            stated = stated / np.where(np.isnan(stated), 0, stated).sum(axis=0).clip(1e-12)
            background = np.nanmean(stated, axis=1).clip(unlisted / 2, 1 - unlisted / 2)[:, None]
            given = np.where(np.isnan(stated), background, stated)
            weight = damping[cases.groups[attribute]] * np.log((1 - error) * given / background + error)
            told = here[cases.answers[here, attribute] >= 0]
            logits[told] += weight[cases.answers[told, attribute]]
    return logits
