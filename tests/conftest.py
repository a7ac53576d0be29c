"""What many tests share: the real knowledge and the reasoning kit, built once a process."""

from __future__ import annotations

import atexit
import gc
import os
import shutil
import tempfile
from functools import cache
from pathlib import Path

import pytest

from triage.cli.shared import APP
from triage.reasoning.case import Case, Tick, read_visit
from triage.reasoning.engine import Engine, build
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.worked_cases import WorkedCase, load_cases

#: The knowledge is a large heap that stays: looking through it for garbage at the usual pace costs a third of the time.
gc.set_threshold(500_000, 50, 50)


@cache
def shared_cache() -> Path:
    """One cache of the compiled knowledge for all tests of a process: it is keyed by content, so sharing is safe."""
    folder = Path(tempfile.mkdtemp(prefix="triage-tests-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@cache
def real_knowledge() -> Knowledge:
    """The knowledge of the checkout, read from YAML once a process."""
    return load(knowledge_folder(), shared_cache() / APP)


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return real_knowledge()


@pytest.fixture(scope="session")
def engine(knowledge: Knowledge) -> Engine:
    return build(knowledge)


@pytest.fixture(scope="session")
def worked(knowledge: Knowledge) -> list[WorkedCase]:
    """All worked cases, read once a process."""
    return load_cases(knowledge_folder(), knowledge)


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the folders of whoever runs it."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(shared_cache()))
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
