"""A row as plain data, in the shape of exports and of the trace, and back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError
from sqlalchemy import select
from sqlalchemy.orm import Session

from triage.reasoning.yaml_text import BadInput, Problem
from triage.records.shapes import REFS, SHAPES, Shape
from triage.records.tables import TABLES, Row

UidOf = Callable[[str, int], str]  # table and number -> uid
IdOf = Callable[[str, str], int]  # table and uid -> number


def fields(table: str) -> list[str]:
    """The fields of a table as exports name them, in order."""
    return list(SHAPES[table].model_fields)


def attribute(table: str, field: str) -> str:
    """The attribute of the row that holds a field."""
    if field == "id":
        return "uid"
    return f"{field}_id" if field in REFS.get(table, {}) else field


def plain(row: Row, uid_of: UidOf) -> dict[str, Any]:
    """The row as JSON could hold it; other rows are named by their uid."""
    table = row.__tablename__
    data: dict[str, Any] = {}
    for field in fields(table):
        value = getattr(row, attribute(table, field))
        if value is not None and field in REFS.get(table, {}):
            value = uid_of(REFS[table][field], value)
        data[field] = value.isoformat() if isinstance(value, dt.date) else value
    return data


def plain_one(session: Session, row: Row) -> dict[str, Any]:
    """One row, with the rows it names looked up."""

    def uid_of(table: str, number: int) -> str:
        return session.scalars(select(TABLES[table].uid).where(TABLES[table].id == number)).one()

    return plain(row, uid_of)


def checked(table: str, data: Mapping[str, Any], where: str = "", line: int | None = None) -> Shape:
    """The data, checked. Raises BadInput with a Problem a field; `where` and `line` name the place."""
    try:
        return SHAPES[table].model_validate(dict(data))
    except ValidationError as error:
        raise BadInput([_problem(item, where or table, line) for item in error.errors(include_url=False)]) from None


def values(table: str, shape: Shape, id_of: IdOf) -> dict[str, Any]:
    """What the row's attributes must be set to."""
    found: dict[str, Any] = {}
    for field in fields(table):
        value = getattr(shape, field)
        if value is not None and field in REFS.get(table, {}):
            value = id_of(REFS[table][field], value)
        found[attribute(table, field)] = value
    return found


def _problem(item: Any, where: str, line: int | None) -> Problem:
    field = ".".join(str(step) for step in item["loc"])
    wrong = item["msg"].removeprefix("Value error, ")
    mend = ""
    if item["type"] == "missing":
        wrong, mend = "is missing", "give it"
    elif item["type"] == "extra_forbidden":
        wrong, mend = "no such field", "check the spelling or take it out"
    elif field and item.get("input") is None:
        wrong, mend = "is empty", "give it"
    return Problem(where, line, field, wrong[:1].lower() + wrong[1:], mend)
