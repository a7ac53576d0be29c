"""How likely each answer is under each cause, as its sheet has it: words, and tallies of growers.

A sheet's word ("often") becomes a probability and then counts like `words_count_as` growers beside
those of the tally: (words_count_as * p + ticks) / (words_count_as + asked), the mean of a beta
distribution (the rule of succession; from memory). A grower of the tally who told nothing on a question
counts for `untold` of one who was asked: had there been something to tell, more would have told it.
"Found none" goes by the sheet's word alone: nobody writes a letter to say so, but many answer it when asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from triage.reasoning.knowledge import Cue, Frequency, Knowledge, Scale, Sheet

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: The words of the sheets, the most frequent first.
WORDS: tuple[Frequency, ...] = get_args(Frequency)
#: A cue that a sheet does not name counts as named when so many growers of its tally answered it.
_FEWEST_GROWERS = 2


@dataclass(frozen=True)
class Chances:
    """Answers of one cue (rows) by sheets (columns)."""

    p: Array  # P(answer | cause); nan where a sheet does not name the cue at all
    listed: Mask  # the sheet names this answer itself, or a grower of its tally ticked it
    surest: Mask  # the sheet's word is "almost always"


@dataclass(frozen=True)
class Told:
    """What sheets and their tallies tell of one cue, before any number of the scale: answers (rows) by sheets."""

    words: NDArray[np.intp]  # place in WORDS of the sheet's word; -1: none
    ticks: Array
    asked: Array  # of each sheet's growers; nan: no tally
    growers: Array  # of its tally, whether they answered this cue or not; nan: no tally
    named: Mask  # the sheet names the cue, or growers of its tally answered it

    def with_columns(self, columns: Sequence[int], told: Told) -> Told:
        """The same with some sheets told anew."""
        parts = []
        for mine, theirs in zip(vars(self).values(), vars(told).values(), strict=True):
            part = mine.copy()
            part[..., columns] = theirs
            parts.append(part)
        return Told(*parts)


def told_of(name: str, cue: Cue, sheets: Iterable[tuple[Sheet, float]]) -> Told:
    """`sheets`: each with the number of growers of its tally (`growers_of`)."""
    row_of = {value: row for row, value in enumerate(cue.answers)}
    likes = {value: answer.like for value, answer in cue.answers.items() if answer.like}
    pairs = list(sheets)
    shape = (len(cue.answers), len(pairs))
    words, ticks = np.full(shape, -1), np.zeros(shape)
    named, asked, growers = np.zeros(shape[1], np.bool_), np.full(shape[1], np.nan), np.full(shape[1], np.nan)
    for column, (sheet, count) in enumerate(pairs):
        own, tally = sheet.cues.get(name), sheet.tally.get(name)
        named[column] = own is not None or bool(tally and tally.asked >= _FEWEST_GROWERS)
        for value, word in _with_likes(own or {}, likes):
            words[row_of[value], column] = WORDS.index(word)
        if tally and named[column]:
            asked[column], growers[column] = tally.asked, count
            ticks[[row_of[value] for value in tally.ticks], column] = list(tally.ticks.values())
    return Told(words, ticks, asked, growers, named)


def growers_of(sheet: Sheet) -> float:
    """How many growers a sheet's tally holds: the most that answered any cue."""
    return max((each.asked for each in sheet.tally.values()), default=0.0)


def told_by(knowledge: Knowledge, sheets: Iterable[Sheet] | None = None) -> dict[str, Told]:
    """What the sheets (all, or some of them) tell of every cue."""
    pairs = [(sheet, growers_of(sheet)) for sheet in (knowledge.sheets.values() if sheets is None else sheets)]
    return {name: told_of(name, cue, pairs) for name, cue in knowledge.cues.items()}


def told_anew(told: Mapping[str, Told], before: Knowledge, after: Knowledge) -> dict[str, Told]:
    """What all sheets tell when the tallies of some have changed; `told` is of those before."""
    pairs = list(zip(before.sheets.values(), after.sheets.values(), strict=True))
    columns = [n for n, (old, new) in enumerate(pairs) if old.tally is not new.tally]
    some = told_by(after, [pairs[column][1] for column in columns])
    return {name: told[name].with_columns(columns, some[name]) for name in told}


def chances_of(cue: Cue, told: Told, scale: Scale, silent: Array) -> Chances:
    """The chances of one cue. `silent` is P(answer) where a sheet names the cue but not the answer."""
    alone = np.array([answer.alone for answer in cue.answers.values()])
    listed = told.words >= 0
    frequency = np.array([scale.frequency[word] for word in WORDS])
    by_words = np.where(listed, frequency[told.words], silent[:, None])
    asked = told.asked + scale.untold * (told.growers - told.asked)
    with_tally = (scale.words_count_as * by_words + told.ticks) / (scale.words_count_as + asked)
    p = np.where(np.isnan(asked) | alone[:, None], by_words, with_tally)
    p[:, ~told.named] = np.nan
    return Chances(p, listed | (told.ticks > 0), told.words == WORDS.index("almost_always"))


def _with_likes(words: dict[str, Frequency], likes: dict[str, str]) -> Iterator[tuple[str, Frequency]]:
    """The words of a sheet, and those that answers it does not name borrow from an older answer."""
    yield from words.items()
    for value, older in likes.items():
        if older in words and value not in words:
            yield value, words[older]
