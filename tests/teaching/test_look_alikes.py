from __future__ import annotations

import pytest

from triage.reasoning.yaml_text import BadInput
from triage.teaching.look_alikes import compare, find_cause


@pytest.mark.parametrize(
    ("word", "cause"),
    [
        ("two_spotted_spider_mite", "two_spotted_spider_mite"),
        ("spider mite", "two_spotted_spider_mite"),
        ("Magnesium shortage", "magnesium_deficiency"),
        ("magnesium", "magnesium_deficiency"),
        ("ozone", "ozone_injury"),
    ],
)
def test_causes_go_by_parts_of_their_names(knowledge, word: str, cause: str) -> None:
    assert find_cause(word, knowledge) == cause


def test_an_ambiguous_name_lists_what_it_could_be(knowledge) -> None:
    with pytest.raises(BadInput, match="could be"):
        find_cause("powdery mildew", knowledge)


def test_a_slip_gets_near_misses(knowledge) -> None:
    with pytest.raises(BadInput, match="did you mean"):
        find_cause("magnesum_deficiency", knowledge)
    with pytest.raises(BadInput, match="no cause is called"):
        find_cause("quantum flux", knowledge)


def test_mite_stippling_against_nutrient_yellowing(engine) -> None:
    """The pair volunteers must learn: the walkers on the paper are among the first things named."""
    found = compare("two_spotted_spider_mite", "magnesium_deficiency", engine)
    first = {d.cue for d in found.differences[:5]}
    assert first & {"tap_test", "creature", "motion"}
    by_cue = {d.cue: d for d in found.differences}
    assert "slow_specks" in by_cue["creature"].first
    assert "pale_stippling" in by_cue["pattern"].first
    assert "yellow_between_veins" in by_cue["pattern"].second
    assert [d.gain for d in found.differences] == sorted((d.gain for d in found.differences), reverse=True)


def test_it_reads_the_same_both_ways(engine) -> None:
    one, other = compare("slug", "earwig", engine), compare("earwig", "slug", engine)
    assert [(d.cue, d.first, d.second) for d in one.differences] == [
        (d.cue, d.second, d.first) for d in other.differences
    ]
    assert one.check == other.check or (one.check and other.check)
