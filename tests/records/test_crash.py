"""Killed in the middle, eight at once, a full disk: nothing that was confirmed is lost, nothing is half there."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest
from sqlalchemy import func, select, text

from tests.records.fixtures import beans
from tests.records.writer import write
from triage.reasoning.yaml_text import BadInput
from triage.records.entries import add
from triage.records.store import Journal, open_journal
from triage.records.tables import Bed, Case, Garden, Note, Planting, Visit

#: How long the eight write: a minute for a release, `TRIAGE_LONG_TESTS=60`.
SECONDS = float(os.environ.get("TRIAGE_LONG_TESTS", "2"))


@pytest.fixture(scope="module")
def start() -> Callable[..., Writer]:
    """Starts a writer in a process of its own, forked from one that has already imported what it needs."""
    context = get_context("forkserver")
    context.set_forkserver_preload(["tests.records.writer", "alembic.command"])

    def begin(address: str, name: str, count: int, seconds: float = 600) -> Writer:
        read, write_end = context.Pipe(duplex=False)
        process = context.Process(target=write, args=(address, name, count, seconds, write_end))
        process.start()
        write_end.close()
        return Writer(process, read)

    return begin


@dataclass(frozen=True)
class Writer:
    """A running writer and the pipe on which it confirms what it has kept."""

    process: BaseProcess
    confirms: Connection

    def rest(self) -> list[str]:
        """What it still confirms until it ends."""
        found = []
        with contextlib.suppress(EOFError, OSError):  # killed in the middle of a word
            while True:
                found.append(self.confirms.recv())
        self.process.join()
        return found


def kept(journal: Journal) -> set[str]:
    with journal.read() as session:
        assert all(len(visit.cases) == 2 for visit in session.scalars(select(Visit)))
        visits = session.scalar(select(func.count(Visit.id)))
        assert session.scalar(select(func.count(Case.id))) == 2 * (visits or 0)
        return {str(note) for note in session.scalars(select(Visit.note))}


@pytest.mark.parametrize("after", [1, 40, 120])
def test_kill_in_the_middle_of_200_writes(
    start: Callable[..., Writer], address: str, tmp_path: Path, after: int
) -> None:
    writer = start(address, "a", 200)
    confirmed = [writer.confirms.recv() for _ in range(after)]
    writer.process.kill()  # signal 9
    confirmed += writer.rest()
    assert writer.process.exitcode == -9
    journal = open_journal(address, tmp_path / "backups")
    found = kept(journal)
    journal.close()
    assert set(confirmed) <= found
    # At most the one that was kept but not yet said when the kill came.
    assert len(found) - len(confirmed) in (0, 1)
    assert after <= len(found) <= 200


def test_kill_during_the_first_use_leaves_a_journal_that_works(start: Callable[..., Writer], tmp_path: Path) -> None:
    for hundredths in (5, 10, 20, 30, 45):
        place = tmp_path / str(hundredths) / "journal.db"
        writer = start(str(place), "a", 5)
        time.sleep(hundredths / 100)
        writer.process.kill()
        writer.rest()
        journal = open_journal(place, tmp_path / "backups")
        assert kept(journal) <= {f"a {n}" for n in range(5)}
        journal.close()


def test_eight_writers_at_once(start: Callable[..., Writer], address: str, tmp_path: Path) -> None:
    """They start on a journal that is not there yet, and all name the same garden, bed and planting."""
    writers = [start(address, name, 1_000_000, SECONDS) for name in "abcdefgh"]
    told = [writer.rest() for writer in writers]
    assert [writer.process.exitcode for writer in writers] == [0] * 8
    assert all(told), "every one of them got its turn"
    confirmed = [note for notes in told for note in notes]
    journal = open_journal(address, tmp_path / "backups")
    assert kept(journal) == set(confirmed)
    with journal.read() as session:
        for model in (Garden, Bed, Planting):
            assert session.scalar(select(func.count(model.id))) == 1
    journal.close()
    print(f"{len(confirmed)} visits of {len(writers)} writers in {SECONDS:g} s")


def test_full_disk_loses_nothing_and_is_told(journal: Journal) -> None:
    planting = beans(journal)

    def write(size: int) -> None:
        with journal.write() as session:
            # A limit on pages makes SQLite answer as it does on a full disk.
            pages = session.scalar(text("PRAGMA page_count"))
            session.execute(text(f"PRAGMA max_page_count = {(pages or 0) + 3}"))
            add(session, "note", planting, {"date": "2026-08-03", "text": "x" * size}, journal.clock())

    write(10)
    with pytest.raises(BadInput, match="disk is full; nothing was written"):
        write(20_000)
    with journal.read() as session:
        assert list(session.scalars(select(func.length(Note.text)))) == [10]
    write(10)
