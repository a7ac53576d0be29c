"""Killed in the middle, eight at once, a full disk: nothing that was confirmed is lost, nothing is half there."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sqlalchemy import func, select, text

from tests.records.fixtures import beans
from triage.reasoning.yaml_text import BadInput
from triage.records.entries import add
from triage.records.store import Journal, open_journal
from triage.records.tables import Bed, Case, Garden, Note, Planting, Visit

ROOT = Path(__file__).parents[2]
#: How long the eight write: a minute for a release, `TRIAGE_LONG_TESTS=60`.
SECONDS = float(os.environ.get("TRIAGE_LONG_TESTS", "2"))


def start(address: str, name: str, count: int, seconds: float = 600) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.records.writer", address, name, str(count), str(seconds)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def kept(journal: Journal) -> set[str]:
    with journal.read() as session:
        assert all(len(visit.cases) == 2 for visit in session.scalars(select(Visit)))
        visits = session.scalar(select(func.count(Visit.id)))
        assert session.scalar(select(func.count(Case.id))) == 2 * (visits or 0)
        return {str(note) for note in session.scalars(select(Visit.note))}


@pytest.mark.parametrize("after", [1, 40, 120])
def test_kill_in_the_middle_of_200_writes(address: str, tmp_path: Path, after: int) -> None:
    process = start(address, "a", 200)
    assert process.stdout is not None
    confirmed = [process.stdout.readline().strip() for _ in range(after)]
    process.kill()  # signal 9
    rest, _ = process.communicate()
    confirmed += rest.split("\n")[:-1]
    assert process.returncode == -9
    journal = open_journal(address, tmp_path / "backups")
    found = kept(journal)
    journal.close()
    assert set(confirmed) <= found
    # At most the one that was kept but not yet said when the kill came.
    assert len(found) - len(confirmed) in (0, 1)
    assert after <= len(found) <= 200


def test_kill_during_the_first_use_leaves_a_journal_that_works(tmp_path: Path) -> None:
    for tenths in range(2, 9, 2):
        place = tmp_path / str(tenths) / "journal.db"
        process = start(str(place), "a", 5)
        time.sleep(tenths / 10)
        process.kill()
        process.communicate()
        journal = open_journal(place, tmp_path / "backups")
        assert kept(journal) <= {f"a {n}" for n in range(5)}
        journal.close()


def test_eight_writers_at_once(address: str, tmp_path: Path) -> None:
    """They start on a journal that is not there yet, and all name the same garden, bed and planting."""
    processes = [start(address, name, 1_000_000, SECONDS) for name in "abcdefgh"]
    ends = [process.communicate() for process in processes]
    assert [process.returncode for process in processes] == [0] * 8, ends[0][1]
    assert [error for _, error in ends] == [""] * 8
    confirmed = [line for out, _ in ends for line in out.splitlines()]
    assert all(out for out, _ in ends), "every one of them got its turn"
    journal = open_journal(address, tmp_path / "backups")
    assert kept(journal) == set(confirmed)
    with journal.read() as session:
        for model in (Garden, Bed, Planting):
            assert session.scalar(select(func.count(model.id))) == 1
    journal.close()
    print(f"{len(confirmed)} visits of {len(processes)} writers in {SECONDS:g} s")


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
