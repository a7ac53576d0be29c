"""Keeping what was asked about: the draft while it lasts, and the visit when it is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from rich.markup import escape
from sqlalchemy.orm import Session

from triage.reasoning.engine import Engine
from triage.reasoning.yaml_text import BadInput
from triage.records import drafts
from triage.records.entries import short
from triage.records.places import CropWords, bed_named, garden_named, label, plant, plantings
from triage.records.store import Journal
from triage.records.story import Line
from triage.records.tables import Planting, Visit
from triage.records.visits import keep_visit, last_visit
from triage.records.waits import Waits
from triage.screens import log_forms, prompts
from triage.screens.console import Screen
from triage.screens.journal_page import kept_line
from triage.screens.prompts import Option
from triage.screens.visit import HOW_TO_GO_ON, Begun, Judged, visit

_NEW, _NO = "\0new", "\0no"


@dataclass(frozen=True)
class Book:
    """The open journal, and what a visit is kept with."""

    journal: Journal
    waits: Waits
    today: date
    garden: str
    observer: str | None  # from the garden's profile
    words: CropWords
    cause_name: Callable[[str], str]


@dataclass
class JournalDraft:
    """An unfinished visit in the journal. Without a journal it is kept nowhere.

    A draft that cannot be written never stops the questions: that is said once, through `say`.
    """

    journal: Journal | None
    name: str
    say: Callable[[str], None]
    _told: bool = field(default=False, repr=False)

    def keep(self, data: dict[str, Any]) -> None:
        if self.journal is not None:
            self._try(lambda journal: drafts.put(journal, self.name, data))

    def read(self) -> Any:
        return None if self.journal is None else drafts.get(self.journal, self.name)

    def drop(self) -> None:
        if self.journal is not None:
            self._try(lambda journal: drafts.drop(journal, self.name))

    def _try(self, do: Callable[[Journal], None]) -> None:
        assert self.journal is not None
        try:
            do(self.journal)
        except BadInput as error:
            if not self._told:
                self.say(f"triage: what was answered could not be saved: {error.problems[0].wrong}")
            self._told = True


def draft_name(what: str, journal: Journal | None, observer: str | None, machine: str) -> str:
    """A draft is one person's: in a journal that several share, its name says whose."""
    return f"{what} of {observer or machine}" if journal is not None and journal.path is None else what


def offer(judged: Sequence[Judged], book: Book, screen: Screen, other_day: bool = False) -> Visit | None:
    """Ask whether to keep the visit, and where, and keep it with all its cases. None: not kept.

    `other_day`: it may not be about today, so the day is asked for. KeyboardInterrupt when the
    person breaks off; then nothing is kept.
    """
    crop = judged[0][0].case.crop or "other"
    with book.journal.read() as session:
        last = last_visit(session)
        mine = [p for p in standing_here(session, book.garden) if p.crop == crop]
        mine.sort(key=lambda p: last is None or p.id != last.planting_id)
        choices = [Option(p.uid, label(p, book.words)) for p in mine]
        last_bed = last.planting.bed.name if last else ""
        last_by = last.observer if last else None
    options = [*choices, Option(_NEW, "On a planting not written down yet"), Option(_NO, "No")]
    found = prompts.choose("Keep this visit? On which planting?", options, screen.plain)
    if found in (None, _NO):
        screen.print("Not kept.")
        return None
    bed, variety = "", None
    if found == _NEW:
        needed = "In which bed does it stand?"
        bed = log_forms.typed(needed, screen.plain, lambda t: bool(t.strip()) or "This one is needed.", last_bed)
        variety = log_forms.ask_name("Which variety? (Enter leaves it out)", "", screen.plain)
    day = log_forms.ask_day(book.today, screen.plain) if other_day else book.today
    observer = log_forms.ask_name("Who?", book.observer or last_by or "", screen.plain)

    def planting_in(session: Session) -> Planting:
        if found != _NEW:
            return next(p for p in plantings(session) if p.uid == found)
        return plant(session, bed_named(session, garden_named(session, book.garden), bed), crop, variety)

    return keep(judged, book, screen, planting_in, day, observer)


def standing_here(session: Session, garden: str, day: date | None = None) -> list[Planting]:
    """What stands in this garden (on a day); in a journal that knows no such garden, all that stands."""
    known = plantings(session, garden) or plantings(session)
    return [p for p in known if p.removed is None or (day is not None and p.removed >= day)]


def ask_and_keep(
    begun: Begun, engine: Engine, book: Book | None, draft: JournalDraft, screen: Screen, why: bool, today: date
) -> None:
    """The whole of `triage ask`: the visit, and the offer to keep it. Without a book nothing is kept."""
    if book is None:
        visit(begun, engine, screen, draft, why, go_on="Left. Nothing was kept.")
        return
    judged = visit(begun, engine, screen, draft, why)
    if judged is None:
        return
    try:
        offer(judged, book, screen, other_day=judged[0][0].case.months != (today.month,))
    except (KeyboardInterrupt, EOFError):
        screen.print(HOW_TO_GO_ON)
        return
    draft.drop()


def keep(
    judged: Sequence[Judged],
    book: Book,
    screen: Screen,
    planting_in: Callable[[Session], Planting],
    day: date,
    observer: str | None,
    also: Callable[[Session, Visit], None] | None = None,
) -> Visit:
    """Keep a visit (no cases: all was fine), and say so once it is on the disk.

    `also` writes more in the same transaction.
    """
    with book.journal.write() as session:
        planting = planting_in(session)
        kept = keep_visit(session, planting, day, judged, book.waits, written=book.journal.clock(), observer=observer)
        if also is not None:
            also(session, kept)
        line = _kept(session, kept, planting, book)
    screen.print(escape(line))
    screen.print(f"[soft]Wrong? triage log undo {short(kept.uid)}[/]")
    return kept


def _kept(session: Session, kept: Visit, planting: Planting, book: Book) -> str:
    session.refresh(kept)
    _ = planting.bed.name, kept.planting, kept.cases  # loaded while the session is open
    return kept_line(Line(kept.date, "visit", kept), book.words, book.cause_name)
