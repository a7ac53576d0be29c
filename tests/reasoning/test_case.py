from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.conftest import case_of, real_knowledge
from triage.reasoning.case import Tick, crop_hint, find_crop, read_visit
from triage.reasoning.yaml_text import BadInput, parse

_KNOWLEDGE = real_knowledge()


@pytest.mark.parametrize(
    ("word", "crop"),
    [
        ("courgette", "summer_squash"),
        ("Zucchini", "summer_squash"),
        ("aubergine", "eggplant"),
        ("brinjal", "eggplant"),
        ("Swede", "rutabaga"),
        ("rutabaga", "rutabaga"),
        ("coriander", "coriander"),
        ("cilantro", "coriander"),
        ("beetroot", "beet"),
        ("tomatoes", "tomato"),
        ("sweet_corn", "sweet_corn"),
        ("maize", "sweet_corn"),
        ("capsicum", "pepper"),
        ("silverbeet", "chard"),
    ],
)
def test_crops_go_by_their_everyday_names(knowledge, word: str, crop: str) -> None:
    assert find_crop(word, knowledge) == crop


def test_ticks_sure_and_unsure(knowledge) -> None:
    case = case_of(
        knowledge, crop="bean", answers={"pattern": ["pale_stippling", {"value": "bronzing", "sure": False}]}
    )
    assert case.answers["pattern"] == (Tick("pale_stippling"), Tick("bronzing", False))


def test_old_ids_are_still_understood(knowledge) -> None:
    case = case_of(knowledge, answers={"weather": ["hot_dry", "warm_humid"], "tap_test": "larger_bugs_drop"})
    assert case.has("warmth", ["hot"]) and case.has("warmth", ["warm"])
    assert case.has("wetness", ["dry"]) and case.has("wetness", ["humid"])
    assert case.has("tap_test", ["beetles_fall_or_fly"])


def test_every_id_of_the_first_vocabulary_is_understood(knowledge) -> None:
    """Case files written against the first vocabulary stay valid: its ids, from memory of that list."""
    first = {
        "weather": ["hot_dry", "warm_humid", "cool_wet", "cold_snap", "mild"],
        "spread": ["bottom_up", "top_down", "overnight", "all_at_once", "slowly", "plant_to_plant", "not_spreading"],
        "tap_test": ["crawling_specks", "hopping_specks", "flying", "inert_specks", "nothing", "slender_running"],
        "site": ["under_cover", "open_bed"],
        "soil_feel": ["dry", "moist", "soggy"],
        "feeding_time": ["day", "night"],
        "edge_of_damage": ["sharp", "fading"],
        "curl_direction": ["upward", "downward", "twisted"],
        "damp_bag_test": ["fuzz_grows", "no_change"],
    }
    for cue, values in first.items():
        for value in values:
            assert case_of(knowledge, answers={cue: value}).told()


def test_month_may_be_a_range_and_stage_stands_on_its_own(knowledge) -> None:
    case = case_of(knowledge, crop="bean", month=[6, 7], stage="fruiting", context={"new_growth": "clean"})
    assert case.months == (6, 7)
    assert case.has("stage", ["fruiting"])
    assert case.has("new_growth", ["clean"])


def test_cant_tell_is_an_empty_answer(knowledge) -> None:
    case = case_of(knowledge, answers={"pattern": None, "motion": [], "tap_test": "cant_tell"})
    assert set(case.answers) == {"pattern", "motion", "tap_test"}
    assert case.told() == {}


def test_a_crop_that_may_be_meant_is_named_once(knowledge) -> None:
    assert crop_hint("Sweet pot", knowledge).startswith("did you mean sweet potato or sweet corn")
    assert crop_hint("xyz", knowledge) == ""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("crop: beann\n", "line 1, crop: no crop is called 'beann' (did you mean bean"),
        ("crop: bean\nmonth: 13\n", "line 2, month: a month is a number from 1 to 12"),
        ("answers:\n  patern: x\n", "line 2, answers.patern: there is no such cue (did you mean pattern"),
        (
            "answers:\n  pattern: [pale_stipling]\n",
            "pattern has no answer 'pale_stipling' (did you mean pale_stippling",
        ),
        ("answers:\n  tap_test: [flying, nothing]\n", "line 2, answers.tap_test: takes one answer only"),
        ("answer: {}\n", "line 1, answer: no such field"),
        ("context:\n  severity: huge\n", "line 2, context.severity"),
        ("context: {days_to_harvest: -3}\n", "context.days_to_harvest"),
        ("region: atlantis\n", "line 1, region"),
        ("- 1\n", "is not a case file"),
        ("cases: []\n", "line 1, cases"),
        ("cases:\n- crop: bean\n- crop: beann\n", "line 3, cases.1.crop"),
    ],
)
def test_bad_case_files_get_one_clear_line(knowledge, text: str, told: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_visit(parse(text, "x.yaml"), knowledge, "x.yaml", text)
    assert told in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


def test_a_visit_holds_several_cases(knowledge) -> None:
    visit = {"cases": [{"crop": "bean"}, {"crop": "bean", "answers": {"trace": ["slime_trail"]}}]}
    assert len(read_visit(visit, knowledge)) == 2


_JUNK = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-5, 400)
    | st.floats(allow_nan=False)
    | st.text(max_size=8)
    | st.sampled_from(["bean", "pattern", "pale_stippling", "creature", "cant_tell", "some"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["crop", "month", "answers", "context", "cases", "stage", "pattern", "value", "sure", "x"]),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=_JUNK)
def test_whatever_comes_is_read_or_refused_in_words(data: object) -> None:
    """Never a stack trace: a case, or BadInput with a clear line for each thing wrong."""
    text = json.dumps(data)
    try:
        read_visit(parse(text, "x"), _KNOWLEDGE, "x", text)
    except BadInput as error:
        assert error.problems
        assert all(problem.wrong and "\n" not in str(problem) for problem in error.problems)
