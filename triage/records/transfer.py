"""The journal as CSV or JSON, and back: an exact round trip.

JSON: one object {"format", "schema", "tables": {table: [row, ...]}}. CSV: a folder with one file
a table. Rows name each other by `id`. Drafts are not carried.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from triage.reasoning.files import write_whole
from triage.reasoning.yaml_text import BadInput, Problem, read_text
from triage.records import schema
from triage.records.cells import from_cell, to_cell
from triage.records.rows import fields, plain
from triage.records.tables import TABLES, Case, Trace

FORMAT = "leaf-triage journal"
_JSON_FIELDS = {
    "cases": {"answers", "verdict"},
    "programmes": {"outset", "exported"},
    "trace": {"before", "after"},
}
# A verdict with all its reasons is longer than the csv module allows a cell to be.
_LONGEST_CELL = 16_000_000


@dataclass(frozen=True)
class Given:
    """One row of a file that is to be imported, with its place."""

    table: str
    data: Mapping[str, Any]
    file: str
    place: str  # "row 3" or "line 17"


# -- out ----------------------------------------------------------------------------------


def rows_of(session: Session, table: str) -> Iterator[dict[str, Any]]:
    """Every row of a table as plain data, in the order in which they were made."""
    known: dict[str, dict[int, str]] = {}

    def uid_of(name: str, number: int) -> str:
        if name not in known:
            model = TABLES[name]
            known[name] = dict(session.execute(select(model.id, model.uid)).all())
        return known[name][number]

    model = TABLES[table]
    query = select(model).order_by(model.id)
    if model is Case:
        query = query.options(undefer(Case.answers), undefer(Case.verdict))
    for row in session.scalars(query.execution_options(yield_per=500)):
        yield plain(row, uid_of)
        session.expunge(row)


def to_json(session: Session) -> Iterator[str]:
    """The journal as JSON text, in pieces; one row a line."""
    yield f'{{"format": {json.dumps(FORMAT)}, "schema": {json.dumps(schema.LATEST)}, "tables": {{'
    for number, table in enumerate(TABLES):
        yield f"{',' if number else ''}\n{json.dumps(table)}: ["
        for count, row in enumerate(rows_of(session, table)):
            yield f"{',' if count else ''}\n{json.dumps(row, ensure_ascii=False, allow_nan=False)}"
        yield "]"
    yield "}}\n"


def to_csv(session: Session, table: str) -> Iterator[str]:
    """One table as CSV text, in pieces. Text is always quoted, numbers never."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(fields(table))
    for row in rows_of(session, table):
        writer.writerow([to_cell(value) for value in row.values()])
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()
    yield buffer.getvalue()


def write_json(session: Session, path: Path) -> None:
    """All of it as one JSON file. Raises BadInput when it cannot be written."""
    with _told_of(path):
        write_whole(path, "".join(to_json(session)))


def write_csv(session: Session, folder: Path) -> list[Path]:
    """One file a table in `folder`. Returns the files."""
    written = [folder / f"{table}.csv" for table in TABLES]
    for path in written:
        write_table(session, path.stem, path)
    return written


def write_table(session: Session, table: str, path: Path) -> None:
    """One table as a CSV file. Written as bytes, since cells may hold line ends of any kind."""
    part = path.with_name(f".{path.name}.part")
    with _told_of(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            part.write_bytes("".join(to_csv(session, table)).encode())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)


@contextmanager
def _told_of(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise _bad(str(path), f"could not be written: {error.strerror}", "name another place") from None


def traces(session: Session) -> list[Trace]:
    """All edits and undos, oldest first."""
    return list(session.scalars(select(Trace).order_by(Trace.written, Trace.id)))


# -- in -----------------------------------------------------------------------------------


def read_files(path: Path, table: str | None = None) -> list[Given]:
    """The rows in a JSON file, a CSV file (named after its table, or `table`) or a folder of CSV files.

    Raises BadInput that names file and row when one of them cannot be read.
    """
    if path.is_dir():
        files = [path / f"{name}.csv" for name in TABLES if (path / f"{name}.csv").is_file()]
        if not files:
            raise _bad(str(path), "holds no table of a journal", f"such as {next(iter(TABLES))}.csv")
        return [given for file in files for given in _read_csv(file, file.stem)]
    if path.suffix.lower() == ".csv":
        name = table or path.stem
        if name not in TABLES:
            raise _bad(str(path), f"there is no table '{name}'", f"say which with --table: {', '.join(TABLES)}")
        return _read_csv(path, name)
    return list(_read_json(path))


def _read_csv(path: Path, table: str) -> list[Given]:
    name = str(path)
    text = _text_of(path)
    csv.field_size_limit(_LONGEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    found: list[Given] = []
    problems: list[Problem] = []
    try:
        head = [cell.strip() for cell in next(reader, [])]
        problems = _head_problems(name, table, head)
        number = 1
        for cells in reader:
            number += 1
            if not any(cells):
                continue
            if len(cells) != len(head):
                problems.append(_row(name, number, f"has {len(cells)} cells, the head has {len(head)}"))
                continue
            data = {}
            for field, cell in zip(head, cells, strict=True):
                try:
                    data[field] = from_cell(cell, field in _JSON_FIELDS.get(table, ()))
                except ValueError:
                    problems.append(_row(name, number, "is not JSON", field))
            found.append(Given(table, data, name, f"row {number}"))
    except csv.Error as error:
        problems.append(Problem(name, reader.line_num, "", f"is not CSV: {error}"))
    if problems:
        raise BadInput(problems)
    return found


def _head_problems(name: str, table: str, head: list[str]) -> list[Problem]:
    known = fields(table)
    wrong = [field for field in head if field not in known]
    twice = [field for field in dict.fromkeys(head) if head.count(field) > 1]
    return [
        *(_row(name, 1, f"{table} has no column '{field}'") for field in wrong),
        *(_row(name, 1, f"column '{field}' stands twice") for field in twice),
    ]


def _text_of(path: Path) -> str:
    """The text with its line ends as they stand, and without the mark that spreadsheets put in front."""
    read_text(path)  # for its clear errors
    return path.read_bytes().decode("utf-8").removeprefix("\ufeff")


def _read_json(path: Path) -> Iterable[Given]:
    name = str(path)
    try:
        data = json.loads(read_text(path), parse_constant=_no_constant)
    except ValueError as error:
        raise _bad(name, f"is not JSON: {error}", "") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT or not isinstance(data.get("tables"), dict):
        raise _bad(name, "is not an export of a journal", "make one: triage journal export FILE")
    schema.refuse_newer(str(data.get("schema")))
    for table in data["tables"]:
        if table not in TABLES:
            raise _bad(name, f"there is no table '{table}'", "check the spelling or take it out")
    for table in TABLES:
        for number, row in enumerate(data["tables"].get(table, []), 1):
            if not isinstance(row, dict):
                raise _bad(name, f"{table}, row {number} is not an object", "")
            yield Given(table, row, name, f"{table}, row {number}")


def _no_constant(word: str) -> Any:
    raise ValueError(f"{word} is no number")


def _row(name: str, number: int, wrong: str, field: str = "") -> Problem:
    return Problem(f"{name}, row {number}", None, field, wrong)


def _bad(file: str, wrong: str, mend: str) -> BadInput:
    return BadInput([Problem(file, None, "", wrong, mend)])
