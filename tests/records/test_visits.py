from __future__ import annotations

from datetime import date

from sqlalchemy import select

from tests.records.fixtures import beans
from tests.records.support import WAITS, interview, verdict
from triage.reasoning.interview import from_data, to_data
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.verdict_model import Verdict
from triage.records.entries import add
from triage.records.places import find_planting
from triage.records.store import Journal
from triage.records.tables import Case
from triage.records.visits import keep_visit, last_visit, last_visit_of, open_patches

DAY = date(2026, 8, 3)


def test_answers_and_verdict_come_back_exactly(any_journal: Journal, knowledge: Knowledge) -> None:
    planting = beans(any_journal)
    with any_journal.write() as session:
        keep_visit(
            session, planting, DAY, [(interview(), verdict())], WAITS, written=any_journal.clock(), observer="Ana"
        )
    with any_journal.read() as session:
        [case] = session.scalars(select(Case))
        assert case.verdict == verdict().model_dump(mode="json", by_alias=True)
        assert case.answers == to_data(interview())
        assert from_data(case.answers, knowledge, "journal").asked == interview().asked
        assert (case.cause, case.class_id, case.chance, case.advice) == (
            "two_spotted_spider_mite",
            "soft_bodied",
            0.8125,
            "spray",
        )
        assert (case.new_growth, case.severity, case.knowledge) == ("affected", "some", "abc123def456")


def test_look_again_is_the_soonest_of_its_verdicts(journal: Journal) -> None:
    planting = beans(journal)
    waits = WAITS.after_visit

    def again(*verdicts: Verdict) -> int | None:
        with journal.write() as session:
            judged = [(interview(), one) for one in verdicts]
            visit = keep_visit(session, planting, DAY, judged, WAITS, written=journal.clock())
            return None if visit.look_again is None else (visit.look_again - DAY).days

    assert again() is None
    assert again(verdict()) == waits.spray.days
    assert again(verdict(advice="do_not_spray"), verdict()) == waits.spray.days
    assert again(verdict(state="unclear", advice="do_not_spray")) == waits.unclear.days


def test_last_visit_of_a_planting_is_by_day_and_of_the_journal_by_writing(any_journal: Journal) -> None:
    planting = beans(any_journal)
    with any_journal.read() as session:
        assert last_visit_of(session, planting) is None and last_visit(session) is None
    for day, who in ((3, "Ana"), (5, "Ben"), (4, "Cleo")):
        with any_journal.write() as session:
            now = any_journal.clock()
            keep_visit(
                session, planting, date(2026, 8, day), [(interview(), verdict())], WAITS, written=now, observer=who
            )
    with any_journal.read() as session:
        of_planting, of_all = last_visit_of(session, planting), last_visit(session)
    assert of_planting is not None and of_planting.observer == "Ben" and of_planting.cases[0].cause
    assert of_all is not None and of_all.observer == "Cleo"
    assert of_all.planting.bed.name == "North bed" and of_all.planting.bed.garden.name == "School garden"


def test_open_patches(any_journal: Journal) -> None:
    planting = beans(any_journal)
    with any_journal.write() as session:
        for look_on, result in (("2026-08-07", None), ("2026-08-05", None), ("2026-08-04", "clean")):
            data = {"date": "2026-08-03", "mix": "home mix", "look_on": look_on, "result": result}
            add(session, "patch", planting, data, any_journal.clock())
    with any_journal.read() as session:
        assert [patch.look_on.day for patch in open_patches(session)] == [5, 7]
    with any_journal.write() as session:
        find_planting(session, "bean", {}).removed = DAY
    with any_journal.read() as session:
        assert open_patches(session) == []
