from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sqlalchemy import func, select

from tests.records.fixtures import beans
from tests.records.support import WAITS, interview, verdict
from triage.reasoning.yaml_text import BadInput
from triage.records.entries import add, edit, find_entry, last_entry, undo
from triage.records.rows import plain_one
from triage.records.store import Journal
from triage.records.tables import ENTRIES, Case, Trace, Visit
from triage.records.visits import keep_visit

DAY = "2026-08-03"
GOOD: dict[str, dict[str, Any]] = {
    "count": {"looked": 40, "infested": 12, "pests": 85, "damage": 12.5, "sprayed": False},
    "spray": {
        "mix": "home mix",
        "oil_percent": 0.26,
        "soap_percent": 0.39,
        "volume_ml": 1500,
        "round": 2,
        "weather": "calm",
    },
    "patch": {"mix": "home mix", "plants": 2, "look_on": "2026-08-05"},
    "action": {"what": "put the net on", "means": "cover"},
    "harvest": {"amount": 2.5, "unit": "kg"},
    "note": {"text": "lady beetles"},
    "confirm": {"cause": "two_spotted_spider_mite", "by_whom": "lens"},
}


def keep(journal: Journal, kind: str, **changes: Any) -> str:
    with journal.write() as session:
        data = {"date": DAY, "observer": "Ana", **GOOD[kind], **changes}
        return add(session, kind, beans_of(journal), data, journal.clock()).uid


def beans_of(journal: Journal) -> Any:
    from triage.records.places import plantings

    with journal.read() as session:
        known = plantings(session)
    return known[0] if known else beans(journal)


@pytest.fixture
def planted(any_journal: Journal) -> Journal:
    beans(any_journal)
    return any_journal


def test_what_was_given_is_what_stands_there(planted: Journal) -> None:
    uids = {kind: keep(planted, kind) for kind in GOOD}
    with planted.read() as session:
        for kind, uid in uids.items():
            found = find_entry(session, uid[:12])
            data = plain_one(session, found.row)
            assert found.kind == kind
            assert {key: data[key] for key in GOOD[kind]} == GOOD[kind]
            assert (data["date"], data["observer"]) == (DAY, "Ana")


@pytest.mark.parametrize(
    "kind, changes, says",
    [
        ("count", {"infested": 41}, "41 leaves infested of 40 looked at cannot be"),
        ("count", {"looked": None}, "needs the number of leaves"),
        ("count", {"damage": 101}, "damage"),
        ("count", {"damage": float("nan")}, "damage"),
        ("count", {"looked": 0, "infested": None}, "looked"),
        ("count", {"infested": None, "pests": None, "damage": None}, "a count needs"),
        ("spray", {"mix": None}, "mix"),
        ("spray", {"round": 0}, "round"),
        ("spray", {"volume_ml": -1}, "volume_ml"),
        ("harvest", {"amount": "lots"}, "amount"),
        ("confirm", {"by_whom": "a friend"}, "by_whom"),
        ("note", {"text": "nul \x00"}, "no text"),
        ("note", {"date": "3 aug"}, "date"),
        ("note", {"date": 20260803}, "date"),
        ("note", {"colour": "red"}, "no such field"),
    ],
)
def test_what_cannot_be_is_refused(journal: Journal, kind: str, changes: dict[str, Any], says: str) -> None:
    beans(journal)
    with pytest.raises(BadInput, match=says):
        keep(journal, kind, **changes)
    with journal.read() as session:
        assert session.scalar(select(func.count(ENTRIES[kind].id))) == 0


def test_undo_takes_it_back_and_leaves_a_trace(planted: Journal) -> None:
    uid = keep(planted, "spray")
    with planted.write() as session:
        before = undo(session, find_entry(session, uid), "Ben", planted.clock())
    with planted.read() as session:
        [trace] = session.scalars(select(Trace))
        assert (trace.change, trace.kind, trace.row, trace.who, trace.after) == ("undo", "sprays", uid, "Ben", None)
        assert trace.before == before and before["mix"] == "home mix"
        with pytest.raises(BadInput, match="taken back already"):
            find_entry(session, uid)
        assert last_entry(session) is None


def test_edit_changes_it_and_leaves_a_trace(planted: Journal) -> None:
    uid = keep(planted, "count")
    with planted.write() as session:
        edit(
            session,
            find_entry(session, uid),
            {"infested": "10", "damage": None, "date": "2026-08-02"},
            None,
            planted.clock(),
        )
    with planted.read() as session:
        row: Any = find_entry(session, uid).row
        [trace] = session.scalars(select(Trace))
    assert (row.infested, row.damage, row.date) == (10, None, date(2026, 8, 2))
    assert trace.after is not None
    assert (trace.before["infested"], trace.after["infested"]) == (12, 10)


def test_edit_that_changes_nothing_leaves_no_trace(journal: Journal) -> None:
    beans(journal)
    uid = keep(journal, "count")
    with journal.write() as session:
        edit(session, find_entry(session, uid), {"infested": 12}, None, journal.clock())
        assert session.scalar(select(func.count(Trace.id))) == 0


@pytest.mark.parametrize(
    "changes, says",
    [
        ({"infested": 50}, "cannot be"),
        ({"colour": 1}, "has no 'colour'"),
        ({"id": "x"}, "has no 'id'"),
        ({"planting": "x"}, "no row 'x'"),
    ],
)
def test_edit_to_what_cannot_be_changes_nothing(journal: Journal, changes: dict[str, Any], says: str) -> None:
    beans(journal)
    uid = keep(journal, "count")
    with pytest.raises(BadInput, match=says), journal.write() as session:
        edit(session, find_entry(session, uid), changes, None, journal.clock())
    with journal.read() as session:
        assert plain_one(session, find_entry(session, uid).row)["infested"] == 12
        assert session.scalar(select(func.count(Trace.id))) == 0


def test_the_last_entry_is_the_one_written_last_whatever_its_day(planted: Journal) -> None:
    keep(planted, "harvest", date="2026-08-02")
    last = keep(planted, "note", date="2020-01-01", observer="Ben")
    keep_of_ana = keep(planted, "spray", date="2019-01-01")
    with planted.read() as session:
        found, of_ben = last_entry(session), last_entry(session, "Ben")
    assert found is not None and found.row.uid == keep_of_ana
    assert of_ben is not None and of_ben.row.uid == last


def test_a_short_name_that_fits_several_lists_them(journal: Journal) -> None:
    beans(journal)
    uids = [keep(journal, "note") for _ in range(2)]
    with journal.write() as session:
        for uid, new in zip(uids, ("abcd1111", "abcd2222"), strict=True):
            find_entry(session, uid).row.uid = new
    with journal.read() as session:
        with pytest.raises(BadInput, match="fits 2 entries"):
            find_entry(session, "abcd")
        assert find_entry(session, "abcd1").row.uid == "abcd1111"
        for ref, says in (("abc", "too short"), ("%%%%", "no entry begins"), ("ffff0000", "no entry begins")):
            with pytest.raises(BadInput, match=says):
                find_entry(session, ref)


def test_undoing_a_visit_takes_its_cases_with_it_into_the_trace(planted: Journal) -> None:
    with planted.write() as session:
        visit = keep_visit(
            session, beans_of(planted), date(2026, 8, 3), [(interview(), verdict())], WAITS, written=planted.clock()
        )
    with planted.write() as session:
        before = undo(session, find_entry(session, visit.uid), None, planted.clock())
    assert before["cases"][0]["verdict"]["state"] == "likely"
    with planted.read() as session:
        assert session.scalar(select(func.count(Visit.id))) == session.scalar(select(func.count(Case.id))) == 0


def test_a_visit_with_a_confirmed_cause_stays(planted: Journal) -> None:
    with planted.write() as session:
        visit = keep_visit(
            session, beans_of(planted), date(2026, 8, 3), [(interview(), verdict())], WAITS, written=planted.clock()
        )
    keep(planted, "confirm", case=visit.cases[0].uid)
    with pytest.raises(BadInput, match="confirmed cause hangs"), planted.write() as session:
        undo(session, find_entry(session, visit.uid), None, planted.clock())
