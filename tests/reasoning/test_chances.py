"""Words and tallies to chances, reckoned by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from triage.reasoning.chances import Chances, chances_of, told_by
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.tallies import Tally

CAUSE, CUE = "slug", "trace"


def found_in(knowledge: Knowledge) -> Chances:
    """The chances of the cue; silence is 1%."""
    cue = knowledge.cues[CUE]
    return chances_of(cue, told_by(knowledge)[CUE], knowledge.scale, np.full(len(cue.answers), 0.01))


def told(knowledge: Knowledge, words: dict[str, str] | None, tally: Tally | None, count_as: float = 6) -> Chances:
    """The chances of one cue for one sheet with these words and this tally; silence is 1%."""
    sheet = knowledge.sheets[CAUSE]
    cues = {CUE: words} if words is not None else {}
    sheet = sheet.model_copy(update={"cues": cues, "tally": {CUE: tally} if tally else {}})
    scale = knowledge.scale.model_copy(update={"words_count_as": count_as})
    alone = knowledge.model_copy(update={"sheets": {CAUSE: sheet}, "scale": scale})
    return found_in(alone)


def row(knowledge: Knowledge, value: str) -> int:
    return list(knowledge.cues[CUE].answers).index(value)


def test_without_a_tally_the_words_speak_alone(knowledge) -> None:
    found = told(knowledge, {"slime_trail": "almost_always", "honeydew": "rarely"}, None)
    slime, dew, other = (row(knowledge, v) for v in ("slime_trail", "honeydew", "fine_webbing"))
    assert found.p[slime, 0] == knowledge.scale.frequency["almost_always"]
    assert found.p[dew, 0] == knowledge.scale.frequency["rarely"]
    assert found.p[other, 0] == 0.01
    assert found.listed[:, 0].sum() == 2
    assert found.surest[:, 0].sum() == 1


def test_a_word_counts_like_so_many_growers(knowledge) -> None:
    """(6 * 0.95 + 2) / (6 + 10) and (6 * 0.01 + 0.5) / 16."""
    tally = Tally(asked=10, ticks={"slime_trail": 2, "honeydew": 0.5})
    found = told(knowledge, {"slime_trail": "almost_always"}, tally)
    assert found.p[row(knowledge, "slime_trail"), 0] == pytest.approx(
        (6 * knowledge.scale.frequency["almost_always"] + 2) / 16
    )
    assert found.p[row(knowledge, "honeydew"), 0] == pytest.approx((0.06 + 0.5) / 16)
    assert found.listed[row(knowledge, "honeydew"), 0]


def test_growers_who_told_nothing_on_it_count_in_part(knowledge) -> None:
    """Ten growers in all, four of them asked about traces: (6 * 0.01 + 2) / (6 + 4 + untold * 6)."""
    tally = {"pattern": Tally(asked=10, ticks={}), CUE: Tally(asked=4, ticks={"honeydew": 2})}
    sheet = knowledge.sheets[CAUSE].model_copy(update={"cues": {CUE: {}}, "tally": tally})
    for untold in (0.0, 0.5, 1.0):
        scale = knowledge.scale.model_copy(update={"words_count_as": 6, "untold": untold})
        alone = knowledge.model_copy(update={"sheets": {CAUSE: sheet}, "scale": scale})
        found = found_in(alone)
        assert found.p[row(knowledge, "honeydew"), 0] == pytest.approx(2.06 / (10 + 6 * untold))


def test_found_none_goes_by_the_sheet_alone(knowledge) -> None:
    found = told(knowledge, {"none": "usually"}, Tally(asked=10, ticks={"honeydew": 9}))
    assert found.p[row(knowledge, "none"), 0] == knowledge.scale.frequency["usually"]


def test_a_cue_the_sheet_does_not_name_needs_two_growers(knowledge) -> None:
    assert np.isnan(told(knowledge, None, None).p).all()
    assert np.isnan(told(knowledge, None, Tally(asked=1, ticks={"honeydew": 1})).p).all()
    two = told(knowledge, None, Tally(asked=2, ticks={"honeydew": 1}))
    assert two.p[row(knowledge, "honeydew"), 0] == pytest.approx((0.06 + 1) / 8)


@given(asked=st.floats(1, 50), share=st.floats(0.01, 1), count_as=st.floats(0.5, 60))
def test_a_chance_lies_between_word_and_tally(knowledge, asked: float, share: float, count_as: float) -> None:
    found = told(
        knowledge, {"slime_trail": "often"}, Tally(asked=asked, ticks={"slime_trail": asked * share}), count_as
    )
    word = knowledge.scale.frequency["often"]
    low, high = sorted((word, share))
    assert low - 1e-9 <= found.p[row(knowledge, "slime_trail"), 0] <= high + 1e-9


def test_more_ticks_than_growers_are_refused() -> None:
    with pytest.raises(ValidationError, match="only 3 were asked"):
        Tally(asked=3, ticks={"slime_trail": 4})
