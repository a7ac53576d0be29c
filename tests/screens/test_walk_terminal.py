"""The walk at a real terminal: one key a planting, left and taken up again, and the work list."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from tests.conftest import case_of
from tests.records.support import WAITS
from tests.screens.terminal import CTRL_C, DOWN, ENTER, Terminal
from triage.reasoning.engine import Engine
from triage.reasoning.interview import Interview
from triage.reasoning.verdict import judge
from triage.records import drafts
from triage.records.places import bed_named, garden_named, plant
from triage.records.store import Journal, open_journal
from triage.records.tables import Count, Trace, Visit
from triage.records.visits import keep_visit

WEEK_AGO = date.today() - timedelta(days=7)


@pytest.fixture
def journal(tmp_path: Path, engine: Engine) -> Journal:
    """Beans with mites a week ago and kale in the North bed, tomatoes in the South bed."""
    opened = open_journal(tmp_path / "data" / "leaf-triage" / "journal.db", tmp_path / "backups")
    case = case_of(
        engine.knowledge, crop="bean", month=8, answers={"pattern": "pale_stippling", "creature": "slow_specks"},
        context={"severity": "some", "new_growth": "affected", "test_patch": "clean"},
    )  # fmt: skip
    with opened.write() as session:
        garden = garden_named(session, "My garden")
        beans = plant(session, bed_named(session, garden, "North bed"), "bean")
        plant(session, bed_named(session, garden, "North bed"), "kale")
        plant(session, bed_named(session, garden, "South bed"), "tomato")
        judged = [(Interview(case), judge(case, engine))]
        keep_visit(session, beans, WEEK_AGO, judged, WAITS, written=opened.clock(), observer="Observer Plum")
    return opened


def visits(journal: Journal) -> list[tuple[str, int]]:
    with journal.read() as session:
        found = session.scalars(select(Visit).where(Visit.date == date.today()).order_by(Visit.id))
        return [(visit.planting.crop, len(visit.cases)) for visit in found]


def test_a_walk_left_taken_up_again_and_its_list(tmp_path: Path, journal: Journal) -> None:
    walk = Terminal("walk", folder=tmp_path)
    walk.shows("Who walks?")
    walk.type(ENTER)
    walk.shows("Two-spotted spider mite: how is it now?")
    assert "Last time" in walk.display()
    walk.type("a")  # the second look at what was wrong last time
    walk.shows("Is the new growth clean?")
    walk.type(ENTER)
    walk.shows("does the damage climb?")
    walk.type(ENTER)
    walk.shows("how many leaves")
    walk.type(*"20", ENTER)
    walk.shows("On how many of the 20")
    walk.type("2", ENTER)
    walk.shows("Kale, North bed 2 of 3")
    walk.type("f")
    walk.shows("Tomato, South bed 3 of 3")
    walk.type("b")  # a wrong key is taken back
    walk.shows("Kale, North bed 2 of 3")
    walk.type("q")
    walk.shows("Go on with: triage walk")
    assert walk.ends() == 0
    assert visits(journal) == [("bean", 1)]
    with journal.read() as session:
        count = session.scalars(select(Count)).one()
        assert (count.looked, count.infested, count.sprayed) == (20, 2, False)
        assert count.cause == "two_spotted_spider_mite"
        assert session.scalars(select(Trace)).one().change == "undo"

    again = Terminal("walk", folder=tmp_path, size=(80, 50))
    again.shows("Kale, North bed 2 of 3")
    assert "Going on: 1 of 3 seen" in again.display()
    again.type("s")
    again.shows("Tomato, South bed 3 of 3")
    again.type("c")
    again.shows("What does the damage look like?")
    again.type("f")
    again.shows("What next?")
    again.type(CTRL_C)
    again.shows("Go on with: triage walk")
    assert again.ends() == 0

    last = Terminal("walk", folder=tmp_path, size=(80, 60))
    last.shows("What does the damage look like?")  # "finish" is a wish, no answer: the interview stands where it was
    last.type("f")
    last.shows("What next?")
    last.pick("Done", ENTER)
    screen = " ".join(last.shows("Not seen: Kale, North bed.").split())
    assert last.ends() == 0
    assert screen.index("Leave alone") < screen.index("Send a sample")
    assert "the damage stands still" in screen
    assert "new growth is clean now" in screen
    assert visits(journal) == [("bean", 1), ("tomato", 1)]
    assert drafts.get(journal, "walk") is None
    journal.close()


def test_looking_closer_ends_in_a_mix_for_all_plants(tmp_path: Path, journal: Journal) -> None:
    walk = Terminal("walk", "beans", "--by", "Observer Fern", folder=tmp_path, size=(80, 60))
    walk.shows("how is it now?")
    walk.type("a")
    walk.shows("Is the new growth clean?")
    walk.type(DOWN, ENTER)
    walk.shows("does the damage climb?")
    walk.type(DOWN, ENTER)
    walk.shows("How bad is it?")
    walk.type(DOWN, ENTER)
    walk.shows("how many leaves")
    walk.type(ENTER)
    walk.shows("how many plants of Bean, North bed?")
    walk.type(*"24", ENTER)
    walk.shows("How leafy are they?")
    walk.type(ENTER)
    screen = walk.shows("Take care")
    assert "Spray these" in screen
    assert "For 24 plants about" in screen
    assert "the damage climbs" in screen
    assert walk.ends() == 0
    assert drafts.get(journal, "plants") is not None
    journal.close()
