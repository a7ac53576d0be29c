"""`triage ask` at a real terminal: the visit is kept, and an interview goes on without a journal."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from tests.screens.terminal import ENTER, Terminal
from tests.screens.test_interview_terminal import finish, pinpricks_and_creepers
from triage.records import drafts
from triage.records.store import open_journal
from triage.records.tables import Visit
from triage.screens.keeping import draft_name


def bean_to_the_end(terminal: Terminal) -> None:
    terminal.shows("What does the damage look like?")
    pinpricks_and_creepers(terminal)
    finish(terminal)
    terminal.pick("Done", ENTER)


def test_a_visit_is_kept_and_its_place_is_offered_again(tmp_path: Path) -> None:
    first = Terminal("ask", "--crop", "bean", folder=tmp_path, env={"TRIAGE_REGION": "europe"})
    bean_to_the_end(first)
    first.pick("not written down yet", ENTER)
    first.shows("In which bed")
    first.type(*"North bed", ENTER)
    first.shows("Which variety?")
    first.type(ENTER)
    first.shows("Who?")
    first.type(*"Observer Plum", ENTER)
    first.shows("Kept: seen")
    assert first.ends() == 0

    second = Terminal("ask", "--crop", "bean", folder=tmp_path)
    second.shows("What does the damage look like?")
    second.type("f")
    second.shows("What next?")
    second.pick("Done", ENTER)
    second.shows("Keep this visit?")
    assert "Bean, North bed" in second.pointed()
    second.type(ENTER)
    second.shows("(Enter: Observer Plum)")
    second.type(ENTER)
    second.shows("Kept: seen")
    assert second.ends() == 0

    journal = open_journal(tmp_path / "data" / "leaf-triage" / "journal.db", tmp_path / "backups")
    with journal.read() as session:
        visits = session.scalars(select(Visit).order_by(Visit.id)).all()
        assert [(v.date, v.observer, len(v.cases)) for v in visits] == [(date.today(), "Observer Plum", 1)] * 2
        assert visits[0].planting_id == visits[1].planting_id
        assert visits[0].cases[0].cause == "two_spotted_spider_mite"
        assert visits[0].cases[0].answers["case"]["region"] == "europe"
    assert drafts.get(journal, "interview") is None
    journal.close()


def test_a_shared_journal_holds_a_draft_for_each_person(tmp_path: Path) -> None:
    own = open_journal(tmp_path / "journal.db", tmp_path / "backups")
    shared = replace(own, path=None)
    assert draft_name("walk", own, "Observer Plum", "shed") == "walk"
    assert draft_name("walk", shared, "Observer Plum", "shed") != draft_name("walk", shared, "Observer Fern", "shed")
    assert draft_name("walk", shared, None, "shed") == "walk of shed"
    own.close()


@pytest.mark.parametrize("arguments", [("--crop", "bean"), ("--resume",)])
def test_a_journal_that_cannot_be_opened_stops_no_interview(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    (tmp_path / "journal.db").write_text("this is no journal, and long enough to be read as one" * 40)
    terminal = Terminal("ask", *arguments, folder=tmp_path, env={"TRIAGE_JOURNAL": str(tmp_path / "journal.db")})
    terminal.shows("this file is not a journal")
    if arguments == ("--resume",):
        assert terminal.ends() == 2
        return
    terminal.shows("What does the damage look like?")
    terminal.type("f")
    terminal.shows("What next?")
    terminal.pick("Done", ENTER)
    assert terminal.ends() == 0
    assert "Keep this visit?" not in terminal.text
