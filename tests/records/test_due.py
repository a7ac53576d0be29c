from __future__ import annotations

from datetime import date, timedelta

from tests.records.fixtures import beans
from tests.records.support import WAITS, interview, verdict
from triage.records.due import due
from triage.records.entries import add, find_entry, undo
from triage.records.places import find_planting
from triage.records.store import Journal
from triage.records.tables import Planting
from triage.records.visits import keep_visit

DAY = date(2026, 8, 3)


def visit(journal: Journal, planting: Planting, day: date, fine: bool = False) -> str:
    judged = [] if fine else [(interview(), verdict())]
    with journal.write() as session:
        return keep_visit(session, planting, day, judged, WAITS, written=journal.clock()).uid


def waiting(journal: Journal, until: date = DAY + timedelta(days=30)) -> list[tuple[date, str]]:
    with journal.read() as session:
        return [(item.day, item.kind) for item in due(session, until)]


def test_plant_is_looked_at_again_until_somebody_has(any_journal: Journal) -> None:
    planting = beans(any_journal)
    visit(any_journal, planting, DAY)
    again = DAY + timedelta(days=WAITS.after_visit.spray.days)
    assert waiting(any_journal) == [(again, "look again")]
    assert waiting(any_journal, again - timedelta(days=1)) == []
    later = visit(any_journal, planting, again, fine=True)
    assert waiting(any_journal) == []
    with any_journal.write() as session:
        undo(session, find_entry(session, later), None, any_journal.clock())
    assert waiting(any_journal) == [(again, "look again")]


def test_two_visits_a_day_count_as_the_later_one(any_journal: Journal) -> None:
    planting = beans(any_journal)
    visit(any_journal, planting, DAY)
    visit(any_journal, planting, DAY)
    assert len(waiting(any_journal)) == 1
    visit(any_journal, planting, DAY, fine=True)
    assert waiting(any_journal) == []


def test_count_after_the_visit_is_a_second_look(journal: Journal) -> None:
    planting = beans(journal)
    visit(journal, planting, DAY)
    for day, left in ((DAY, 1), (DAY + timedelta(days=1), 0)):
        with journal.write() as session:
            add(session, "count", planting, {"date": day, "pests": 3}, journal.clock())
        assert len(waiting(journal)) == left


def test_nothing_waits_on_a_cleared_planting(journal: Journal) -> None:
    planting = beans(journal)
    visit(journal, planting, DAY)
    with journal.write() as session:
        add(session, "patch", planting, {"date": DAY, "mix": "home mix", "look_on": DAY}, journal.clock())
    assert [kind for _, kind in waiting(journal)] == ["patch", "look again"]
    with journal.write() as session:
        find_planting(session, "bean", {}).removed = DAY
    assert waiting(journal) == []
