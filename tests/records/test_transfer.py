from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from tests.records.fixtures import beans
from tests.records.support import WAITS, Clock, interview, verdict
from triage.reasoning.yaml_text import BadInput
from triage.records import schema
from triage.records.entries import add, edit, find_entry, undo
from triage.records.intake import Taken, take_in
from triage.records.places import plantings
from triage.records.store import Journal, open_journal
from triage.records.tables import TABLES, Harvest, Note
from triage.records.transfer import read_files, rows_of, to_csv, to_json, traces, write_csv, write_json
from triage.records.visits import keep_visit

NOW = datetime(2026, 9, 1, tzinfo=UTC)


def fill(journal: Journal) -> Journal:
    """Something in every table, with text that a file could spoil."""
    planting = beans(journal)
    clock = journal.clock
    with journal.write() as session:
        note = "=HYPERLINK(\"x\")\r\n'quoted', \t“ü” \U0001f41e; \r"
        visit = keep_visit(
            session, planting, date(2026, 8, 3), [(interview(), verdict())], WAITS, written=clock(), note=note
        )
        case = visit.cases[0].uid
        data: dict[str, dict[str, Any]] = {
            "count": {"looked": 3, "infested": 1, "damage": 0.1 + 0.2, "sprayed": False},
            "spray": {"mix": "+home mix", "oil_percent": 0.26, "volume_ml": 1e-3, "weather": "-2 C"},
            "patch": {"mix": "'home' mix", "look_on": "2026-08-05"},
            "programme": {"mix": "home mix", "outset": {"a": ["=1", None, 0.1]}, "exported": {}},
            "action": {"what": "@net"},
            "harvest": {"amount": 1 / 3, "unit": "007"},
            "note": {"text": "true"},
            "confirm": {"cause": "two_spotted_spider_mite", "by_whom": "coach", "case": case},
        }
        for kind, fields in data.items():
            add(session, kind, planting, {"date": "2024-02-29", **fields}, clock())
    with journal.write() as session:
        gone = add(session, "note", planting, {"date": "2026-08-03", "text": "wrong"}, clock())
        undo(session, find_entry(session, gone.uid), "=Ana", clock())
        changed = add(session, "harvest", planting, {"date": "2026-08-03", "amount": 1}, clock())
        edit(session, find_entry(session, changed.uid), {"amount": 2}, None, clock())
    return journal


def everything(journal: Journal) -> dict[str, list[dict[str, Any]]]:
    with journal.read() as session:
        return {table: list(rows_of(session, table)) for table in TABLES}


def bring(journal: Journal, path: Path, table: str | None = None, replace: bool = False) -> Taken:
    with journal.write() as session:
        return take_in(session, read_files(path, table), NOW, replace)


def out(journal: Journal, path: Path) -> Path:
    with journal.read() as session:
        if path.suffix == ".json":
            write_json(session, path)
        else:
            write_csv(session, path)
    return path


@pytest.mark.parametrize("name", ["all.json", "all"])
def test_round_trip_is_exact(journal: Journal, address: str, tmp_path: Path, name: str) -> None:
    fill(journal)
    assert all(everything(journal).values()), "every table holds something"
    path = out(journal, tmp_path / name)
    other = open_journal(address, tmp_path / "backups", Clock())
    taken = bring(other, path)
    assert everything(other) == everything(journal)
    assert taken.added == sum(map(len, everything(journal).values()))
    with journal.read() as mine, other.read() as theirs:
        assert "".join(to_json(mine)) == "".join(to_json(theirs))
        assert all("".join(to_csv(mine, table)) == "".join(to_csv(theirs, table)) for table in TABLES)
    again = bring(other, path)
    assert (again.added, again.replaced, again.older) == (0, 0, 0)
    assert everything(other) == everything(journal)
    other.close()


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=60)
AMOUNTS = st.none() | st.floats(min_value=1e-300, max_value=1e8, exclude_min=True)


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.tuples(TEXT, AMOUNTS, TEXT, st.dates(date(1900, 1, 1))), min_size=1, max_size=5))
def test_any_words_and_numbers_survive(journal: Journal, tmp_path: Path, rows: list[tuple[Any, ...]]) -> None:
    with journal.write() as session:
        session.query(Harvest).delete()
        planting = next(iter(plantings(session)), None) or beans_in(session)
        for unit, amount, note, day in rows:
            add(
                session,
                "harvest",
                planting,
                {"unit": unit, "amount": amount, "note": note, "date": day},
                journal.clock(),
            )
    folder = tmp_path / "other"
    shutil.rmtree(folder, ignore_errors=True)
    for form in ("all.json", "csv"):
        other = open_journal(folder / form / "other.db", folder)
        bring(other, out(journal, folder / form / form))
        assert everything(other) == everything(journal)
        other.close()


def beans_in(session: Any) -> Any:
    from triage.records.places import bed_named, garden_named, plant

    return plant(session, bed_named(session, garden_named(session, "School garden"), "North bed"), "bean")


# -- files written by hand ------------------------------------------------------------------


def by_hand(journal: Journal, tmp_path: Path, *rows: str, head: str = "date,planting,amount,unit,note") -> Path:
    planting = beans(journal).uid
    path = tmp_path / "harvests.csv"
    path.write_text("\ufeff" + "\n".join([head, *(row.replace("BEANS", planting) for row in rows)]) + "\n")
    return path


def amounts(journal: Journal) -> list[float | None]:
    with journal.read() as session:
        return list(session.scalars(select(Harvest.amount).order_by(Harvest.id)))


def test_rows_without_id_are_known_again(any_journal: Journal, tmp_path: Path) -> None:
    path = by_hand(any_journal, tmp_path, "2026-08-01,BEANS,2.5,kg,", "2026-08-02,BEANS,1,kg,'tis little", "")
    assert bring(any_journal, path).added == 2
    assert vars(bring(any_journal, path)) == {"added": 0, "same": 2, "older": 0, "replaced": 0}
    assert amounts(any_journal) == [2.5, 1.0]


def test_one_bad_row_and_nothing_is_taken_in(any_journal: Journal, tmp_path: Path) -> None:
    path = by_hand(
        any_journal,
        tmp_path,
        "2026-08-01,BEANS,2.5,kg,",
        "2026-02-30,BEANS,1,kg,",
        "2026-08-03,nobody,1,kg,",
        "2026-08-04,BEANS,-1,kg,",
    )
    with pytest.raises(BadInput) as caught:
        bring(any_journal, path)
    told = [str(problem) for problem in caught.value.problems]
    assert ["row 3" in told[0], "row 4" in told[1], "row 5" in told[2]] == [True] * 3
    assert "date" in told[0] and "nobody" in told[1] and "amount" in told[2]
    assert amounts(any_journal) == []


@pytest.mark.parametrize(
    "text, says",
    [
        ("date,planting,colour\n", "no column 'colour'"),
        ("date,planting,date\n", "stands twice"),
        ("date,planting\n2026-08-01\n", "row 2.* has 1 cells, the head has 2"),
        ('date,planting\n"2026-08-01,x\n', "is not CSV"),
        ("date,planting\n2026-08-01,\n", "planting: is empty"),
        ("date\n2026-08-01\n", "planting: is missing"),
    ],
)
def test_spoilt_csv_is_told(journal: Journal, tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "harvests.csv").write_text(text)
    with pytest.raises(BadInput, match=says):
        bring(journal, tmp_path / "harvests.csv")


def test_same_row_twice_is_told(journal: Journal, tmp_path: Path) -> None:
    path = by_hand(journal, tmp_path, "2026-08-01,BEANS,2.5,kg,", "2026-08-01,BEANS,2.5,kg,")
    with pytest.raises(BadInput, match="row 3, id: the same row stands twice"):
        bring(journal, path)


@pytest.mark.parametrize(
    "text, says",
    [
        ("{", "is not JSON"),
        ("[]", "is not an export"),
        ('{"format": "leaf-triage journal", "schema": "0999", "tables": {}}', "newer version"),
        ('{"format": "leaf-triage journal", "schema": "0001", "tables": {"songs": []}}', "no table 'songs'"),
        (
            '{"format": "leaf-triage journal", "schema": "0001", "tables": {"beds": [1]}}',
            "beds, row 1 is not an object",
        ),
        ('{"format": "leaf-triage journal", "schema": "0001", "tables": {"beds": [{"id": NaN}]}}', "NaN is no number"),
        (
            '{"format": "leaf-triage journal", "schema": "0001", "tables": {"beds": [{"id": "b"}]}}',
            "beds, row 1, garden",
        ),
    ],
)
def test_spoilt_json_is_told(journal: Journal, tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "x.json").write_text(text)
    with pytest.raises(BadInput, match=says):
        bring(journal, tmp_path / "x.json")


def test_other_content_is_refused_unless_told_to_replace(journal: Journal, tmp_path: Path) -> None:
    fill(journal)
    path = out(journal, tmp_path / "all.json")
    path.write_text(path.read_text().replace('"unit": "007"', '"unit": "kg"'))
    before = everything(journal)
    with pytest.raises(BadInput, match=r"harvests, row 1, unit: stands in the journal with another unit .007."):
        bring(journal, path)
    assert everything(journal) == before
    assert bring(journal, path, replace=True).replaced == 1
    with journal.read() as session:
        assert traces(session)[-1].before["unit"] == "007"
        assert set(session.scalars(select(Harvest.unit))) == {"kg", None}
    assert bring(journal, path, replace=True).replaced == 0


def test_an_old_file_brings_back_nothing_that_was_mended_or_taken_back(journal: Journal, tmp_path: Path) -> None:
    fill(journal)
    path = out(journal, tmp_path / "all.json")
    with journal.write() as session:
        harvest, note = session.scalars(select(Harvest)).first(), session.scalars(select(Note)).first()
        assert harvest is not None and note is not None
        edit(session, find_entry(session, harvest.uid), {"amount": 5}, None, journal.clock())
        undo(session, find_entry(session, note.uid), None, journal.clock())
    before = everything(journal)
    assert bring(journal, path).older == 2
    assert everything(journal) == before


def test_export_while_somebody_writes_is_one_moment(any_journal: Journal) -> None:
    fill(any_journal)
    with any_journal.read() as session:
        first = list(rows_of(session, "harvests"))
        with any_journal.write() as other:
            [planting] = plantings(other)
            add(other, "note", planting, {"date": "2026-08-03", "text": "meanwhile"}, any_journal.clock())
        assert len(list(rows_of(session, "notes"))) == 1 and first
    with any_journal.read() as session:
        assert session.scalar(select(func.count(Note.id))) == 2


def test_between_sqlite_and_postgresql_and_back(
    journal: Journal, new_database: Callable[[], str], tmp_path: Path
) -> None:
    fill(journal)
    club = open_journal(new_database(), tmp_path / "backups")
    bring(club, out(journal, tmp_path / "there.json"))
    back = open_journal(tmp_path / "back.db", tmp_path / "backups")
    bring(back, out(club, tmp_path / "back.json"))
    assert (tmp_path / "there.json").read_bytes() == (tmp_path / "back.json").read_bytes()
    assert json.loads((tmp_path / "back.json").read_text())["schema"] == schema.LATEST
    assert everything(back) == everything(journal)
    club.close()
    back.close()
