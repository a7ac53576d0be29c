from __future__ import annotations

from pathlib import Path

import pytest

from tests.records.support import KNOWLEDGE
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.yaml_text import BadInput
from triage.records.means import load_means

MEANS = load_means(KNOWLEDGE)


def test_every_class_has_its_means_and_every_named_cause_a_sheet(knowledge: Knowledge) -> None:
    assert {sheet.class_id for sheet in knowledge.sheets.values()} <= set(MEANS.classes)
    assert set(MEANS.causes) <= set(knowledge.sheets)
    assert set(MEANS.severity) == set(knowledge.situations["severity"].choices)


@pytest.mark.parametrize(
    "cause, expected",
    [
        ("slug", "bait"),
        ("imported_cabbageworm", "cover"),
        ("magnesium_deficiency", "feed"),
        ("early_blight", "take_off"),
        ("fusarium_wilt", "pull"),
        ("dust_pollen_or_seed_debris", "leave_alone"),
        ("lettuce_aphid", "pick_off"),
    ],
)
def test_means_of_a_verdict_without_a_spray(knowledge: Knowledge, cause: str, expected: str) -> None:
    sheet = knowledge.sheets[cause]
    assert MEANS.of("likely", sheet.class_id, cause, "do_not_spray", sheet.actions[0]) == expected


def test_advice_decides_before_the_class_and_the_law_before_all() -> None:
    assert MEANS.of("likely", "soft_bodied", "x", "spray") == "spray"
    assert MEANS.of("leaning", "soft_bodied", "x", "check_first") == "check"
    assert MEANS.of("unclear", "soft_bodied", "x", "check_first") == "sample"
    assert MEANS.of("likely", "soft_bodied", "x", "spray", must_report=True) == "sample"
    assert MEANS.of("likely", "something_else", "something_else", "do_not_spray") == "sample"


def test_a_virus_in_few_marks_comes_after_mites_in_many() -> None:
    assert MEANS.sickness("likely", "viral", "few") > MEANS.sickness("likely", "soft_bodied", "many")
    assert MEANS.sickness("likely", "fungal", "many") > MEANS.sickness("likely", "fungal", "few")


def test_a_slip_in_the_file_is_told_with_its_line(tmp_path: Path) -> None:
    text = (KNOWLEDGE / "means.yaml").read_text()
    (tmp_path / "means.yaml").write_text(text.replace("mollusc: {usual: bait", "mollusc: {usual: bayt"))
    with pytest.raises(BadInput, match=r"knowledge/means.yaml, line \d+, classes.mollusc.usual"):
        load_means(tmp_path)
