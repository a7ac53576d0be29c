"""What many tests share: the real knowledge and the reasoning kit, built once a process."""

from __future__ import annotations

from pathlib import Path

import pytest

from triage.reasoning.case import Case, Tick, read_visit
from triage.reasoning.engine import Engine, build
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.library import knowledge_folder, load


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return load(knowledge_folder())


@pytest.fixture(scope="session")
def engine(knowledge: Knowledge) -> Engine:
    return build(knowledge)


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the folders of whoever runs it."""
    for name in ("CACHE", "STATE", "DATA", "CONFIG"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / name.lower()))
    monkeypatch.delenv("TRIAGE_REGION", raising=False)
    monkeypatch.delenv("TRIAGE_PLAIN", raising=False)


def case_of(knowledge: Knowledge, **data: object) -> Case:
    """A case from the words of a case file."""
    [case] = read_visit(data, knowledge)
    return case


def ticks(*values: str) -> tuple[Tick, ...]:
    return tuple(Tick(value) for value in values)
