"""The README says what the program does, today."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from triage.cli import reference

_README = Path(__file__).parents[1] / "README.md"


@pytest.fixture(autouse=True)
def at_the_top(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(_README.parent)


def test_the_command_table_and_outputs_are_fresh() -> None:
    text = _README.read_text(encoding="utf-8")
    assert reference.BEGIN in text and reference.END in text
    assert reference.written_into(text) == text, "renew it: python -m triage.cli.reference README.md"


def test_every_command_has_an_example_in_the_table() -> None:
    for line in reference.reference().splitlines()[2:]:
        assert re.search(r"\| `triage [^`]+` \| .+ \| `triage [^`]+` \|$", line), line


def test_the_case_file_in_the_readme_is_one(knowledge) -> None:
    from triage.reasoning.case import read_visit
    from triage.reasoning.yaml_text import parse

    [block] = re.findall(r"```yaml\n(.*?)```", _README.read_text(encoding="utf-8"), re.DOTALL)
    [case] = read_visit(parse(block, "README"), knowledge, "README", block)
    assert case.crop == "bean"
