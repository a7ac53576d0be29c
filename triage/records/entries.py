"""Entries: counts, sprays, patches, actions, harvests, notes and confirmed causes.

They are added, edited and taken back here. An edit and an undo leave in the trace what the
row was before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from triage.reasoning.yaml_text import BadInput, Problem
from triage.records.rows import checked, fields, plain_one, values
from triage.records.tables import ENTRIES, TABLES, Bed, Case, Confirmation, Entry, Planting, Row, Trace, new_uid

_SHORT = 6  # letters of a uid that are shown; four are the least one may type
_LEAST = 4
_FIXED = {"id", "written"}


@dataclass(frozen=True)
class Found:
    """An entry with the word for its kind."""

    kind: str
    row: Entry


def short(uid: str) -> str:
    """The letters of a uid that a person sees and types."""
    return uid[:_SHORT]


def add(session: Session, kind: str, planting: Planting, data: Mapping[str, Any], written: datetime) -> Entry:
    """Add an entry of `kind` (a key of ENTRIES) to a planting. Raises BadInput naming the field."""
    model = ENTRIES[kind]
    table = model.__tablename__
    given = {key: value for key, value in data.items() if value is not None}
    shape = checked(table, {"id": new_uid(), "written": written, "planting": planting.uid, **given}, kind)
    row = model(**values(table, shape, lambda name, uid: number_of(session, name, uid)))
    session.add(row)
    session.flush()
    return row


def number_of(session: Session, table: str, uid: str) -> int:
    """The number of the row with this uid. Raises BadInput when there is none."""
    found = session.scalars(select(TABLES[table].id).where(TABLES[table].uid == uid)).one_or_none()
    if found is None:
        raise _bad(f"there is no row '{uid}' in {table}", "")
    return found


def last_entry(session: Session, who: str | None = None) -> Found | None:
    """The entry written last, or the last of one observer; undo and edit mean it when nothing is named."""
    newest: list[Found] = []
    for kind, model in ENTRIES.items():
        query = select(model).order_by(model.written.desc(), model.id.desc()).limit(1)
        if who is not None:
            query = query.where(model.observer == who)
        newest += [Found(kind, row) for row in session.scalars(_whole(query, model))]
    return max(newest, key=lambda found: found.row.written, default=None)


def find_entry(session: Session, ref: str) -> Found:
    """The entry whose uid begins with `ref`. Raises BadInput when none or several do."""
    wanted = ref.strip()
    if len(wanted) < _LEAST:
        raise _bad(f"'{ref}' is too short", f"give at least {_LEAST} letters, as the journal shows them")
    found = []
    for kind, model in ENTRIES.items():
        query = select(model).where(model.uid.startswith(wanted, autoescape=True)).limit(5)
        found += [Found(kind, row) for row in session.scalars(_whole(query, model))]
    exact = [entry for entry in found if entry.row.uid == wanted]
    found = exact or found
    if len(found) > 1:
        listed = "; ".join(f"{f.kind} of {f.row.date.isoformat()} [{f.row.uid[:12]}]" for f in found)
        raise _bad(f"'{ref}' fits {len(found)} entries: {listed}", "give more letters")
    if not found:
        gone = session.scalars(select(Trace).where(Trace.row.startswith(wanted, autoescape=True))).first()
        if gone is not None and gone.change == "undo":
            raise _bad(f"'{ref}' was taken back already", "see: triage journal --trace")
        raise _bad(f"no entry begins with '{ref}'", "see: triage journal")
    return found[0]


def undo(session: Session, found: Found, who: str | None, now: datetime) -> dict[str, Any]:
    """Take an entry back. What it was is returned, and stays in the trace."""
    before = plain_one(session, found.row)
    if found.kind == "visit":
        cases = session.scalars(select(Case).where(Case.visit_id == found.row.id).order_by(Case.id)).all()
        _refuse_if_confirmed(session, [case.id for case in cases])
        before["cases"] = [plain_one(session, case) for case in cases]
        for case in cases:
            session.delete(case)
        session.flush()
        session.expire(found.row)
    _trace(session, "undo", found.row, before, None, who, now)
    session.delete(found.row)
    session.flush()
    return before


def edit(session: Session, found: Found, changes: Mapping[str, Any], who: str | None, now: datetime) -> dict[str, Any]:
    """Change fields of an entry (None empties one). Returns what it is now; what it was stays in the trace."""
    table = found.row.__tablename__
    known = [field for field in fields(table) if field not in _FIXED]
    unknown = [field for field in changes if field not in known]
    if unknown:
        raise _bad(f"a {found.kind} has no '{unknown[0]}'", f"it has: {', '.join(known)}")
    before = plain_one(session, found.row)
    shape = checked(table, {**before, **changes}, found.kind)
    for name, value in values(table, shape, lambda name, uid: number_of(session, name, uid)).items():
        setattr(found.row, name, value)
    session.flush()
    after = plain_one(session, found.row)
    if after != before:
        _trace(session, "edit", found.row, before, after, who, now)
    return after


def replace_row(session: Session, row: Row, data: Mapping[str, Any], who: str | None, now: datetime) -> None:
    """Set every field of a row to checked data, with a trace (an import that overrides)."""
    before = plain_one(session, row)
    for name, value in data.items():
        setattr(row, name, value)
    session.flush()
    _trace(session, "edit", row, before, plain_one(session, row), who, now)


def _trace(
    session: Session,
    change: str,
    row: Row,
    before: dict[str, Any],
    after: dict[str, Any] | None,
    who: str | None,
    now: datetime,
) -> None:
    session.add(
        Trace(written=now, who=who, change=change, kind=row.__tablename__, row=row.uid, before=before, after=after)
    )


def _refuse_if_confirmed(session: Session, cases: list[int]) -> None:
    hangs = session.scalars(select(Confirmation).where(Confirmation.case_id.in_(cases))).first()
    if hangs is not None:
        raise _bad("a confirmed cause hangs on this visit", f"take that back first: triage log undo {short(hangs.uid)}")


def _whole(query: Any, model: type[Entry]) -> Any:
    return query.options(joinedload(model.planting).joinedload(Planting.bed).joinedload(Bed.garden))


def _bad(wrong: str, mend: str) -> BadInput:
    return BadInput([Problem("entry", None, "", wrong, mend)])
