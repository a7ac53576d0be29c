"""Unfinished things, kept under a name until they are done: an interview, a walk."""

from __future__ import annotations

from typing import Any

from triage.records.store import Journal
from triage.records.tables import Draft


def get(journal: Journal, name: str) -> dict[str, Any] | None:
    """The draft of this name, or None."""
    with journal.read() as session:
        draft = session.get(Draft, name)
        return None if draft is None else draft.data


def put(journal: Journal, name: str, data: dict[str, Any]) -> None:
    """Keep the draft in place of an older one of this name."""
    with journal.write() as session:
        session.merge(Draft(name=name, saved=journal.clock(), data=data))


def drop(journal: Journal, name: str) -> None:
    """Forget the draft; nothing happens when there is none."""
    with journal.write() as session:
        draft = session.get(Draft, name)
        if draft is not None:
            session.delete(draft)
