"""How likely each answer is under each cause, as its sheet has it: words, and tallies of growers.

A sheet's word ("often") becomes a probability and then counts like `words_count_as` growers beside
those of the tally: (words_count_as * p + ticks) / (words_count_as + asked), the mean of a beta
distribution (the rule of succession; from memory). A grower of the tally who told nothing on a question
counts for `untold` of one who was asked: had there been something to tell, more would have told it.
"Found none" goes by the sheet's word alone: nobody writes a letter to say so, but many answer it when asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from triage.reasoning.knowledge import Frequency, Knowledge

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: A cue that a sheet does not name counts as named when so many growers of its tally answered it.
_FEWEST_GROWERS = 2


@dataclass(frozen=True)
class Chances:
    """Answers of one cue (rows) by sheets (columns)."""

    p: Array  # P(answer | cause); nan where a sheet does not name the cue at all
    listed: Mask  # the sheet names this answer itself, or a grower of its tally ticked it
    surest: Mask  # the sheet's word is "almost always"


def chances_of(name: str, knowledge: Knowledge, silent: Array) -> Chances:
    """The chances of one cue. `silent` is P(answer) where a sheet names the cue but not the answer."""
    cue, scale = knowledge.cues[name], knowledge.scale
    row_of = {value: row for row, value in enumerate(cue.answers)}
    likes = {value: answer.like for value, answer in cue.answers.items() if answer.like}
    alone = np.array([answer.alone for answer in cue.answers.values()])
    shape = (len(cue.answers), len(knowledge.sheets))
    probability, ticks = np.zeros(shape), np.zeros(shape)
    listed, surest = np.zeros(shape, np.bool_), np.zeros(shape, np.bool_)
    named, asked = np.zeros(shape[1], np.bool_), np.full(shape[1], np.nan)  # nan: no tally
    for column, sheet in enumerate(knowledge.sheets.values()):
        words, tally = sheet.cues.get(name), sheet.tally.get(name)
        named[column] = words is not None or bool(tally and tally.asked >= _FEWEST_GROWERS)
        for value, word in _with_likes(words or {}, likes):
            row = row_of[value]
            probability[row, column], listed[row, column] = scale.frequency[word], True
            surest[row, column] = word == "almost_always"
        if tally and named[column]:
            growers = max(each.asked for each in sheet.tally.values())
            asked[column] = tally.asked + scale.untold * (growers - tally.asked)
            ticks[[row_of[value] for value in tally.ticks], column] = list(tally.ticks.values())
    by_words = np.where(listed, probability, silent[:, None])
    with_tally = (scale.words_count_as * by_words + ticks) / (scale.words_count_as + asked)
    p = np.where(np.isnan(asked) | alone[:, None], by_words, with_tally)
    p[:, ~named] = np.nan
    return Chances(p, listed | (ticks > 0), surest)


def _with_likes(words: dict[str, Frequency], likes: dict[str, str]) -> Iterator[tuple[str, Frequency]]:
    """The words of a sheet, and those that answers it does not name borrow from an older answer."""
    yield from words.items()
    for value, older in likes.items():
        if older in words and value not in words:
            yield value, words[older]
