from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.records.fixtures import beans
from tests.records.support import WAITS, interview, verdict
from triage.reasoning.yaml_text import BadInput
from triage.records.entries import add
from triage.records.places import find_planting
from triage.records.programmes import Seen, change, facts_of, find_programme, last_case, open_programmes
from triage.records.store import Journal
from triage.records.tables import Planting
from triage.records.transfer import traces
from triage.records.visits import keep_visit

DAY = date(2026, 8, 3)
MITE = "two_spotted_spider_mite"


def day(n: int) -> date:
    return DAY + timedelta(days=n)


def programme(journal: Journal, planting: Planting, on: date = DAY) -> str:
    with journal.write() as session:
        data = {"date": on, "mix": "home mix", "cause": MITE, "outset": {"start": on.isoformat()}}
        return add(session, "programme", planting, data, journal.clock()).uid


def test_open_until_ended_or_the_planting_is_cleared(any_journal: Journal) -> None:
    planting = beans(any_journal)
    first, second = programme(any_journal, planting), programme(any_journal, planting, day(1))
    with any_journal.write() as session:
        assert [row.uid for row in open_programmes(session)] == [second, first]
        row = find_programme(session, first[:8])
        change(session, row, {"ended": day(2), "why_ended": "rain"}, "Ana", any_journal.clock())
        assert [row.uid for row in open_programmes(session, planting)] == [second]
        assert [(trace.kind, trace.who) for trace in traces(session)] == [("programmes", "Ana")]
        with pytest.raises(BadInput, match="ended on"):
            find_programme(session, first[:8])
        find_planting(session, "bean", {}).removed = day(3)
    with any_journal.read() as session:
        assert open_programmes(session) == []


def test_facts_are_those_of_the_cause_and_the_crop(any_journal: Journal) -> None:
    planting = beans(any_journal)
    with any_journal.write() as session:
        for n, (cause, growth) in enumerate([(MITE, "affected"), ("thrips", "affected"), (MITE, "clean")]):
            judged = [(interview(growth), verdict(cause))]
            keep_visit(session, planting, day(n), judged, WAITS, written=any_journal.clock())
        keep_visit(session, planting, day(3), [], WAITS, written=any_journal.clock())
        for n, count in enumerate(
            [
                {"pests": 0},
                {"looked": 9, "infested": 2},
                {"pests": 5, "sprayed": False},
                {"pests": 5, "cause": "thrips"},
            ]
        ):
            add(session, "count", planting, {"date": day(4 + n), **count}, any_journal.clock())
        add(session, "spray", planting, {"date": DAY, "mix": "sulfur"}, any_journal.clock())
        add(session, "patch", planting, {"date": DAY, "mix": "home mix", "look_on": day(2)}, any_journal.clock())
    with any_journal.read() as session:
        facts = facts_of(session, planting, MITE)
        assert facts.looks == (
            Seen(day(0), "hit", None), Seen(day(2), "clean", None), Seen(day(3), "clean", False),
            Seen(day(4), None, False), Seen(day(5), None, True),
        )  # fmt: skip
        assert facts.sprays == ((DAY, "sulfur"),) and [patch.mix for patch in facts.patches] == ["home mix"]
        case = last_case(session, planting)
        assert case is not None and case.cause == MITE and case.verdict["spray"]["advice"] == "spray"
        assert last_case(session, planting, "thrips") is None
