"""Taking rows from files into the journal: all of them or none, and no row twice."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from triage.reasoning.yaml_text import BadInput, Problem
from triage.records.entries import replace_row
from triage.records.rows import attribute, checked, fields, plain_one, values
from triage.records.shapes import Shape
from triage.records.tables import TABLES, Row, Trace
from triage.records.transfer import Given

_MOST_PROBLEMS = 20
_AT_ONCE = 500  # rows sent to the database together
# Rows without an id get one made from what they hold, so that the same row is known again.
_SPACE = uuid.UUID("6c7e5b1c-7b9a-5f0e-9a31-3d0c1f6d2a44")


@dataclass
class Taken:
    """What an import did, in rows."""

    added: int = 0
    same: int = 0  # stood there already
    older: int = 0  # edited or taken back here since
    replaced: int = 0


def take_in(session: Session, rows: Iterable[Given], now: datetime, replace: bool = False) -> Taken:
    """Add the rows in the session's transaction. Raises BadInput naming every bad row (the first twenty).

    A row that stands here already changes nothing. One that stands here with other content is refused,
    unless it is an older state that the trace knows, or `replace` is said.
    """
    work = _Intake(session, now, replace)
    for given in sorted(rows, key=lambda given: list(TABLES).index(given.table)):  # parents first; sort is stable
        work.take(given)
        if len(work.problems) >= _MOST_PROBLEMS:
            break
    if work.problems:
        raise BadInput(work.problems)
    work.write_new()
    return work.taken


class _Intake:
    def __init__(self, session: Session, now: datetime, replace: bool) -> None:
        self.session, self.now, self.replace = session, now, replace
        self.taken = Taken()
        self.problems: list[Problem] = []
        self._ids: dict[str, dict[str, int]] = {}
        self._older = self._states_of_old()
        self._coming: dict[str, set[str]] = {}
        self._table = ""
        self._new: list[dict[str, Any]] = []

    def take(self, given: Given) -> None:
        where = f"{given.file}, {given.place}"
        if given.table != self._table:
            self.write_new()
            self._table = given.table
        try:
            shape = checked(given.table, self._complete(given), where)
            data = values(given.table, shape, lambda table, uid: self._number(table, uid, where))
        except BadInput as error:
            self.problems += error.problems
            return
        if given.table in self._coming and shape.id in self._coming[given.table]:
            told = f"'{shape.id}' stands" if given.data.get("id") else "the same row stands"
            self.problems.append(Problem(where, None, "id", f"{told} twice in the file", "give each an id of its own"))
            return
        self._coming.setdefault(given.table, set()).add(shape.id)
        number = self._known(given.table).get(shape.id)
        if number is None:
            self._add(given.table, shape, data)
        else:
            self._compare(given.table, number, shape, data, where)

    def _complete(self, given: Given) -> dict[str, Any]:
        """The row with what a row written by hand may leave out: its id, and when it was written."""
        data = dict(given.data)
        if data.get("id") in (None, ""):
            told = json.dumps([given.table, data], sort_keys=True, default=str)
            data["id"] = uuid.uuid5(_SPACE, told).hex
            if "written" in fields(given.table) and data.get("written") in (None, ""):
                data["written"] = self._moment_of(given.table, data["id"])
        return data

    def _moment_of(self, table: str, uid: str) -> datetime:
        number = self._known(table).get(uid)
        row: Any = None if number is None else self.session.get(TABLES[table], number)
        return self.now if row is None else row.written

    def _known(self, table: str) -> dict[str, int]:
        if table not in self._ids:
            model = TABLES[table]
            self._ids[table] = dict(self.session.execute(select(model.uid, model.id)).all())
        return self._ids[table]

    def _number(self, table: str, uid: str, where: str) -> int:
        found = self._known(table).get(uid)
        if found is None:
            wrong = f"there is no '{uid}' in {table}, here or in the file"
            raise BadInput([Problem(where, None, "", wrong, "check the id")])
        return found

    def _add(self, table: str, shape: Shape, data: Mapping[str, Any]) -> None:
        gone = self._older.get((table, shape.id))
        if gone is not None and gone[-1] is None:
            self.taken.older += 1  # was taken back here: an old file does not bring it again
            return
        self._new.append(dict(data))
        self.taken.added += 1

    def write_new(self) -> None:
        """Insert the new rows of the table at hand, in their order."""
        for start in range(0, len(self._new), _AT_ONCE):
            self.session.execute(insert(TABLES[self._table]), self._new[start : start + _AT_ONCE])
        self._new.clear()
        self._ids.pop(self._table, None)  # their numbers are looked up when a row names them

    def _compare(self, table: str, number: int, shape: Shape, data: Mapping[str, Any], where: str) -> None:
        row: Row | None = self.session.get(TABLES[table], number)
        assert row is not None
        differing = [name for name, value in data.items() if getattr(row, name) != value]
        if not differing:
            self.taken.same += 1
        elif self.replace and table != "trace":
            replace_row(self.session, row, data, None, self.now)
            self.taken.replaced += 1
        elif self._was(table, shape):
            self.taken.older += 1
        else:
            names = {attribute(table, field): field for field in type(shape).model_fields}
            mine = plain_one(self.session, row)[names[differing[0]]]
            wrong = f"stands in the journal with another {names[differing[0]]} ({mine})"
            self.problems.append(
                Problem(where, None, names[differing[0]], wrong, "--replace takes the file's; or take the row out")
            )

    def _was(self, table: str, shape: Shape) -> bool:
        told = shape.model_dump(mode="json")
        states = [old for old in self._older.get((table, shape.id), []) if old is not None]
        return any(checked(table, old).model_dump(mode="json") == told for old in states)

    def _states_of_old(self) -> dict[tuple[str, str], list[dict[str, Any] | None]]:
        """Of every row in the trace: the states it had; None at the end: it was taken back."""
        found: dict[tuple[str, str], list[dict[str, Any] | None]] = {}
        for trace in self.session.scalars(select(Trace).order_by(Trace.written, Trace.id)):
            states = found.setdefault((trace.kind, trace.row), [])
            before = dict(trace.before)
            for case in before.pop("cases", []):
                found.setdefault(("cases", case["id"]), []).extend([case, None])
            states.append(before)
            if trace.change == "undo":
                states.append(None)
        return found
