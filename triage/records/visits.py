"""Visits: one look at one planting, with the verdict on each kind of damage."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from triage.records.rows import checked
from triage.records.shapes import VisitShape
from triage.records.tables import Bed, Case, Patch, Planting, Visit, new_uid
from triage.records.waits import Waits

if TYPE_CHECKING:  # reading the journal must not wait for the reasoning to load
    from triage.reasoning.interview import Interview
    from triage.reasoning.verdict_model import Verdict


def keep_visit(
    session: Session,
    planting: Planting,
    day: date,
    cases: Iterable[tuple[Interview, Verdict]],
    waits: Waits,
    *,
    written: datetime,
    observer: str | None = None,
    note: str | None = None,
    look_again: date | None = None,
) -> Visit:
    """Keep one visit in the session's transaction; no cases: all was fine.

    `look_again` is reckoned from the verdicts when it is not given. `written` is the moment (UTC).
    """
    judged = list(cases)
    if look_again is None:
        days = waits.days([(verdict.state, verdict.spray.advice) for _, verdict in judged])
        look_again = None if days is None else day + timedelta(days=days)
    data = {
        "id": new_uid(),
        "date": day,
        "observer": observer,
        "written": written,
        "note": note,
        "planting": planting.uid,
        "look_again": look_again,
    }
    shape = checked("visits", data, "visit")
    assert isinstance(shape, VisitShape)
    visit = Visit(
        uid=shape.id,
        planting_id=planting.id,
        date=shape.date,
        observer=shape.observer,
        written=shape.written,
        note=shape.note,
        look_again=shape.look_again,
        cases=[_case(interview, verdict) for interview, verdict in judged],
    )
    session.add(visit)
    session.flush()
    return visit


def _case(interview: Interview, verdict: Verdict) -> Case:
    from triage.reasoning.interview import to_data

    context = interview.case.context
    ticked = {tick.value for tick in interview.case.answers.get("new_growth", ())} & {"clean", "affected"}
    return Case(
        state=verdict.state,
        class_id=verdict.leading.class_id,
        cause=verdict.leading.id,
        cause_name=verdict.leading.name,
        chance=verdict.leading.probability,
        advice=verdict.spray.advice,
        severity=context.severity,
        new_growth=context.new_growth or (ticked.pop() if len(ticked) == 1 else None),
        knowledge=verdict.knowledge,
        answers=to_data(interview),
        verdict=verdict.model_dump(mode="json", by_alias=True),
    )


def last_visit_of(session: Session, planting: Planting) -> Visit | None:
    """The latest visit to a planting with its cases, or None."""
    query = (
        select(Visit)
        .where(Visit.planting_id == planting.id)
        .order_by(Visit.date.desc(), Visit.written.desc(), Visit.id.desc())
        .options(selectinload(Visit.cases))
        .limit(1)
    )
    return session.scalars(query).one_or_none()


def last_visit(session: Session) -> Visit | None:
    """The visit written last: its planting, bed and observer are offered again."""
    query = (
        select(Visit)
        .order_by(Visit.written.desc(), Visit.id.desc())
        .options(joinedload(Visit.planting).joinedload(Planting.bed).joinedload(Bed.garden), selectinload(Visit.cases))
        .limit(1)
    )
    return session.scalars(query).one_or_none()


def open_patches(session: Session) -> Sequence[Patch]:
    """Test patches without a result, the one to look at first first."""
    query = (
        select(Patch)
        .where(Patch.result.is_(None))
        .join(Patch.planting)
        .where(Planting.removed.is_(None))
        .order_by(Patch.look_on, Patch.id)
        .options(joinedload(Patch.planting).joinedload(Planting.bed))
    )
    return session.scalars(query).all()


def patches_to_see_again(session: Session) -> Sequence[Patch]:
    """Clean test patches whose second look, set when the first was written down, is still to come."""
    query = (
        select(Patch)
        .where(Patch.result == "clean", Patch.looked_on < Patch.look_on)
        .join(Patch.planting)
        .where(Planting.removed.is_(None))
        .order_by(Patch.look_on, Patch.id)
        .options(joinedload(Patch.planting).joinedload(Planting.bed))
    )
    return session.scalars(query).all()
