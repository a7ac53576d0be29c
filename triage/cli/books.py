"""The open journal with what a visit is kept with, as `triage ask` and `triage walk` hand it to the screens."""

from __future__ import annotations

import platform
from typing import Any

from triage.cli.choosing import cause_name
from triage.cli.shared import Shop, say
from triage.reasoning.yaml_text import BadInput


def open_book(shop: Shop) -> Any:
    """The journal and its surroundings (triage.screens.keeping.Book). Raises BadInput when it cannot be opened."""
    from triage.screens.keeping import Book

    settings = shop.profile.settings
    journal = shop.journal
    return Book(journal, shop.waits, shop.today, settings.name, settings.observer, shop.crop_words, cause_name(shop))


def try_open_book(shop: Shop) -> tuple[Any, str]:
    """The same; None and why in one line when it cannot be opened, since an interview goes on without it."""
    try:
        return open_book(shop), ""
    except BadInput as error:
        return None, str(error.problems[0])


def draft_for(shop: Shop, what: str, book: Any) -> Any:
    """Where the unfinished interview or walk of this person is kept."""
    from triage.screens.keeping import JournalDraft, draft_name

    journal = book.journal if book else None
    return JournalDraft(journal, draft_name(what, journal, shop.profile.settings.observer, platform.node()), say)
