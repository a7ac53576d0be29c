"""The start of a walk: the one that was left, or a new one; who walks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rich.markup import escape

from triage.records.visits import last_visit
from triage.records.walk import Round, in_order, read_round
from triage.screens import log_forms, prompts
from triage.screens.console import Screen
from triage.screens.journal_page import day_text
from triage.screens.keeping import Book, JournalDraft, standing_here
from triage.screens.prompts import Option


def begin(
    book: Book, draft: JournalDraft, screen: Screen, names: Sequence[str], observer: str | None, anew: bool
) -> Round | None:
    """The walk to go on with or to start; None when there is nothing to walk along.

    Naming plantings starts a new walk. KeyboardInterrupt when the person breaks off.
    """
    left = None if anew or names else read_round(draft.read())
    if left is not None and left.day != book.today:
        left = left if _goes_on(left, screen) else None
    if left is not None:
        screen.print(f"Going on: {len(left.done)} of {len(left.order)} seen. Start over: triage walk --anew")
        return replace(left, observer=observer or left.observer)
    with book.journal.read() as session:
        standing = in_order(session, standing_here(session, book.garden), names, book.words)
        order = tuple(planting.uid for planting in standing)
        last = last_visit(session)
        last_by = last.observer if last else None
    if not order:
        screen.print("Nothing is planted yet: triage garden plant CROP --bed NAME")
        return None
    if observer is None:
        observer = log_forms.ask_name("Who walks?", book.observer or last_by or "", screen.plain)
    screen.print(escape(f"{len(order)} planting{'s' * (len(order) > 1)}. One key each; every stop is kept at once."))
    return Round(book.today, observer, order)


def _goes_on(left: Round, screen: Screen) -> bool:
    ask = f"The walk of {day_text(left.day)} was left at {len(left.done)} of {len(left.order)}."
    found = prompts.choose(ask, [Option("new", "Start a new walk"), Option("on", "Go on with it")], screen.plain)
    if found is None:
        raise KeyboardInterrupt
    return found == "on"
