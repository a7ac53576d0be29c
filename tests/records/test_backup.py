from __future__ import annotations

import json
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.records.fixtures import beans
from tests.records.support import Clock
from tests.records.test_transfer import everything, fill
from triage.reasoning.yaml_text import BadInput
from triage.records import drafts
from triage.records.backup import back_up, restore
from triage.records.entries import add, last_entry
from triage.records.store import Journal, open_journal


def change(journal: Journal) -> None:
    from triage.records.places import plantings

    with journal.write() as session:
        planting = plantings(session)[0]
        add(session, "note", planting, {"date": "2026-08-09", "text": "after the backup"}, journal.clock())


def test_back_and_forth(any_journal: Journal) -> None:
    fill(any_journal)
    drafts.put(any_journal, "interview", {"asked": []})
    before = everything(any_journal)
    copy = back_up(any_journal)
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    change(any_journal)
    drafts.drop(any_journal, "interview")
    after = everything(any_journal)
    kept = restore(any_journal, copy)
    assert everything(any_journal) == before != after
    assert drafts.get(any_journal, "interview") == {"asked": []}
    restore(any_journal, kept)
    assert everything(any_journal) == after
    change(any_journal)  # and one can go on writing: numbers do not collide


def test_two_backups_in_one_second_are_two_files(journal: Journal) -> None:
    beans(journal)
    frozen = Journal(journal.engine, journal.path, journal.backups, lambda: Clock().now)
    assert back_up(frozen) != back_up(frozen)


@pytest.mark.parametrize("to_server", [True, False])
def test_backup_of_one_kind_into_the_other(
    journal: Journal, new_database: Callable[[], str], tmp_path: Path, to_server: bool
) -> None:
    club = open_journal(new_database(), tmp_path / "backups", Clock())
    origin, target = (journal, club) if to_server else (club, journal)
    fill(origin)
    restore(target, back_up(origin, tmp_path / "copy"))
    assert everything(target) == everything(origin)
    club.close()


def test_open_readers_see_the_restored_journal(journal: Journal, tmp_path: Path) -> None:
    fill(journal)
    assert journal.path is not None
    other = open_journal(journal.path, tmp_path / "backups")
    copy = back_up(journal)
    change(other)
    restore(journal, copy)
    with other.read() as session:
        found = last_entry(session)
    assert found is not None and found.kind == "harvest"
    change(other)
    other.close()


@pytest.mark.parametrize(
    "content, says",
    [
        (b"hello", "is not a backup"),
        (b"SQLite format 3\0" + b"x" * 4000, "is damaged"),
        (json.dumps({"format": "leaf-triage journal"}).encode(), "is not a backup"),
        (json.dumps({"format": "leaf-triage backup", "schema": "0999", "tables": {}}).encode(), "newer version"),
        (json.dumps({"format": "leaf-triage backup", "schema": "0001", "tables": {}}).encode(), "is damaged"),
        (b"\xff\xfe", "not a text file"),
    ],
)
def test_what_is_no_sound_backup_changes_nothing(journal: Journal, tmp_path: Path, content: bytes, says: str) -> None:
    fill(journal)
    before = everything(journal)
    (tmp_path / "copy").write_bytes(content)
    with pytest.raises(BadInput, match=says):
        restore(journal, tmp_path / "copy")
    assert everything(journal) == before
    with pytest.raises(BadInput, match="no such file"):
        restore(journal, tmp_path / "nowhere")


def test_torn_backup_is_noticed(journal: Journal, tmp_path: Path) -> None:
    fill(journal)
    copy = back_up(journal)
    copy.write_bytes(copy.read_bytes()[:20_000])
    before = everything(journal)
    with pytest.raises(BadInput, match="is damaged"):
        restore(journal, copy)
    assert everything(journal) == before
