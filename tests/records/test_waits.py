from __future__ import annotations

from pathlib import Path

import pytest

from tests.records.support import KNOWLEDGE, WAITS
from triage.reasoning.yaml_text import BadInput
from triage.records.waits import load_waits


def test_all_was_fine_waits_for_nothing() -> None:
    assert WAITS.days([]) is None


def test_a_slip_in_the_file_names_its_line(tmp_path: Path) -> None:
    text = (KNOWLEDGE / "waits.yaml").read_text().replace("days: 7", "days: 0")
    (tmp_path / "waits.yaml").write_text(text)
    with pytest.raises(BadInput, match=r"waits.yaml, line 6, after_visit.do_not_spray.days"):
        load_waits(tmp_path)
