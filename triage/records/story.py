"""A planting's story: all that was seen and done, day by day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, contains_eager, selectinload

from triage.records.rows import UidOf, plain
from triage.records.tables import ENTRIES, Bed, Case, Confirmation, Entry, Garden, Planting, Visit


@dataclass(frozen=True)
class Filters:
    """Which entries to tell; None: all. `since` and `until` are days that count themselves."""

    planting: int | None = None  # its number
    garden: str | None = None
    bed: str | None = None
    crop: str | None = None
    class_id: str | None = None  # visits with such a verdict, and confirmed causes of that class
    observer: str | None = None
    since: date | None = None
    until: date | None = None
    kinds: tuple[str, ...] = tuple(ENTRIES)
    last: int | None = None  # only the latest so many entries


@dataclass(frozen=True)
class Line:
    """One entry of the story."""

    day: date
    kind: str  # a key of ENTRIES
    row: Entry

    def __post_init__(self) -> None:
        assert self.kind in ENTRIES

    @property
    def planting(self) -> Planting:
        return self.row.planting


def story(session: Session, filters: Filters, causes_of_class: frozenset[str] = frozenset()) -> list[Line]:
    """The entries, oldest first. `causes_of_class`: the causes of the class that is filtered for."""
    found: list[Line] = []
    for kind in filters.kinds:
        query = _query(kind, filters, causes_of_class)
        if query is not None:
            found += [Line(row.date, kind, row) for row in session.scalars(query).unique()]
    order = list(ENTRIES)
    # The uid decides last, so that every database tells the same story in the same order.
    found.sort(key=lambda line: (line.day, line.row.written, order.index(line.kind), line.row.uid))
    return found if filters.last is None else found[-filters.last :] if filters.last else []


def _query(kind: str, f: Filters, causes: frozenset[str]) -> Select[Any] | None:
    model = ENTRIES[kind]
    query = select(model).join(model.planting).join(Planting.bed).join(Bed.garden)
    query = query.options(contains_eager(model.planting).contains_eager(Planting.bed).contains_eager(Bed.garden))
    if model is Visit:
        query = query.options(selectinload(Visit.cases))
    if f.class_id is not None:
        if model is Visit:
            query = query.where(Visit.cases.any(Case.class_id == f.class_id))
        elif model is Confirmation:
            query = query.where(Confirmation.cause.in_(causes))
        else:
            return None
    for value, column in (
        (f.planting, model.planting_id),
        (f.garden, Garden.name),
        (f.bed, Bed.name),
        (f.crop, Planting.crop),
        (f.observer, model.observer),
    ):
        if value is not None:
            query = query.where(column == value)
    if f.since is not None:
        query = query.where(model.date >= f.since)
    if f.until is not None:
        query = query.where(model.date <= f.until)
    if f.last is not None:
        query = query.order_by(model.date.desc(), model.written.desc(), model.uid.desc()).limit(f.last)
    return query


def records(lines: list[Line]) -> Iterator[dict[str, Any]]:
    """The story for machines: one object an entry, its cases with it (without the full verdicts)."""
    for line in lines:
        planting = line.planting
        row: Any = line.row
        uids = {("plantings", planting.id): planting.uid}
        if isinstance(row, Confirmation) and row.case is not None:
            uids["cases", row.case.id] = row.case.uid
        data = plain(row, _lookup(uids))
        record: dict[str, Any] = {
            "kind": line.kind,
            **data,
            "crop": planting.crop,
            "variety": planting.variety,
            "bed": planting.bed.name,
            "garden": planting.bed.garden.name,
        }
        if isinstance(row, Visit):
            record["cases"] = [_case(case) for case in row.cases]
        yield record


def _lookup(uids: dict[tuple[str, int], str]) -> UidOf:
    return lambda table, number: uids[table, number]


def _case(case: Case) -> dict[str, Any]:
    names = ("state", "class_id", "cause", "cause_name", "chance", "advice", "severity", "new_growth", "knowledge")
    found = {name: getattr(case, name) for name in names}
    return {"id": case.uid, "class": found.pop("class_id"), **found}
