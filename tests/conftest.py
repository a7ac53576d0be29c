"""What many tests share: the real knowledge and the reasoning kit, built once a process."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

import pytest

from triage.reasoning.case import Case, Tick, read_visit
from triage.reasoning.engine import Engine, build
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.library import knowledge_folder, load


@cache
def real_knowledge() -> Knowledge:
    """The knowledge of the checkout, read once a process."""
    return load(knowledge_folder())


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return real_knowledge()


@pytest.fixture(scope="session")
def engine(knowledge: Knowledge) -> Engine:
    return build(knowledge)


@pytest.fixture(scope="session")
def shared_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One cache of the compiled knowledge for a whole run: it is keyed by content, so sharing is safe."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, shared_cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the folders of whoever runs it."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(shared_cache))
    for name in ("STATE", "DATA", "CONFIG"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / name.lower()))
    for name in [name for name in os.environ if name.startswith("TRIAGE_") and name != "TRIAGE_LONG_TESTS"]:
        monkeypatch.delenv(name)


def case_of(knowledge: Knowledge, **data: object) -> Case:
    """A case from the words of a case file."""
    [case] = read_visit(data, knowledge)
    return case


def ticks(*values: str) -> tuple[Tick, ...]:
    return tuple(Tick(value) for value in values)
