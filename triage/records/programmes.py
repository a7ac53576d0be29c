"""Programmes in the journal, and what the journal knows that moves them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload, undefer

from triage.reasoning.yaml_text import BadInput, Problem
from triage.records.entries import Found, edit, find_entry
from triage.records.tables import Bed, Case, Count, Patch, Planting, Programme, Spray, Visit


@dataclass(frozen=True)
class Seen:
    """One look at the planting: how the new growth was, and whether living pests were there. None: not told."""

    on: date
    growth: Literal["clean", "hit"] | None
    pests: bool | None


@dataclass(frozen=True)
class Facts:
    """What happened on a planting: sprays as (day, mix), looks, and every test patch on its crop."""

    sprays: tuple[tuple[date, str], ...]
    looks: tuple[Seen, ...]
    patches: tuple[Patch, ...]


def open_programmes(session: Session, planting: Planting | None = None) -> list[Programme]:
    """Those not ended, on plantings that stand, the newest first."""
    query = (
        select(Programme)
        .join(Programme.planting)
        .where(Programme.ended.is_(None), Planting.removed.is_(None))
        .order_by(Programme.written.desc(), Programme.id.desc())
        .options(joinedload(Programme.planting).joinedload(Planting.bed).joinedload(Bed.garden))
    )
    if planting is not None:
        query = query.where(Programme.planting_id == planting.id)
    return list(session.scalars(query))


def find_programme(session: Session, ref: str) -> Programme:
    """The programme whose uid begins with `ref`. Raises BadInput when it is none, or has ended."""
    row = find_entry(session, ref).row
    if not isinstance(row, Programme):
        raise _bad(f"'{ref}' is no programme", "see: triage due")
    if row.ended is not None:
        raise _bad(f"the programme '{ref}' ended on {row.ended}", "plan anew: triage plan")
    return row


def change(session: Session, row: Programme, changes: dict[str, Any], who: str | None, now: datetime) -> None:
    """Change what a programme holds; what it was stays in the trace."""
    edit(session, Found("programme", row), changes, who, now)


def facts_of(session: Session, planting: Planting, cause: str | None = None) -> Facts:
    """All that bears on a programme. `cause`: leave out what was seen of others."""
    sprays = session.execute(select(Spray.date, Spray.mix).where(Spray.planting_id == planting.id).order_by(Spray.date))
    patches = session.scalars(
        select(Patch)
        .join(Patch.planting)
        .where(Planting.crop == planting.crop)
        .options(joinedload(Patch.planting))
        .order_by(Patch.date, Patch.id)
    )
    looks = [*_visits(session, planting, cause), *_counts(session, planting, cause)]
    told = tuple(sorted(looks, key=lambda look: look.on))
    return Facts(tuple((day, mix) for day, mix in sprays), told, tuple(patches))


def last_case(session: Session, planting: Planting, cause: str | None = None) -> Case | None:
    """The case of the last visit that a spray is about: of that cause, else one worth a spray, else the first."""
    query = (
        select(Visit)
        .where(Visit.planting_id == planting.id, Visit.cases.any())
        .order_by(Visit.date.desc(), Visit.written.desc(), Visit.id.desc())
        .options(selectinload(Visit.cases).options(undefer(Case.verdict), joinedload(Case.visit)))
        .limit(1)
    )
    visit = session.scalars(query).one_or_none()
    if visit is None:
        return None
    if cause is not None:
        return next((case for case in visit.cases if case.cause == cause), None)
    return next((case for case in visit.cases if case.advice == "spray"), visit.cases[0])


def _visits(session: Session, planting: Planting, cause: str | None) -> Sequence[Seen]:
    query = select(Visit).where(Visit.planting_id == planting.id).options(selectinload(Visit.cases))
    found = []
    for visit in session.scalars(query):
        growth = {case.new_growth for case in visit.cases if cause is None or case.cause == cause}
        if not visit.cases:
            found.append(Seen(visit.date, "clean", False))
        elif "affected" in growth or "clean" in growth:
            found.append(Seen(visit.date, "hit" if "affected" in growth else "clean", None))
    return found


def _counts(session: Session, planting: Planting, cause: str | None) -> Sequence[Seen]:
    """Counts tell of pests only; those on plants left unsprayed on purpose say nothing of the spray."""
    query = select(Count).where(Count.planting_id == planting.id, Count.sprayed.is_not(False))
    rows = [row for row in session.scalars(query) if cause is None or row.cause in (None, cause)]
    told = ((row.date, row.infested if row.pests is None else row.pests) for row in rows)
    return [Seen(day, None, number > 0) for day, number in told if number is not None]


def _bad(wrong: str, mend: str) -> BadInput:
    return BadInput([Problem("programme", None, "", wrong, mend)])
