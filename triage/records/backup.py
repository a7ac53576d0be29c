"""Copies of the whole journal, drafts and all, and the way back.

A SQLite journal is copied as a SQLite file by SQLite's own online backup; a PostgreSQL journal
is written as JSON, table by table. Both carry their schema version, and either can be put back
into either kind of journal.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, MetaData, insert, text

from triage.reasoning.files import write_whole
from triage.reasoning.yaml_text import BadInput, Problem, read_text
from triage.records import schema
from triage.records.store import Journal, sqlite_engine

_FORMAT = "leaf-triage backup"
_SQLITE_MARK = b"SQLite format 3\0"


def back_up(journal: Journal, target: Path | None = None) -> Path:
    """Write a backup to `target`, or under a name of its own into the journal's backup folder. Returns it."""
    with journal.engine.connect() as connection:
        path = target or _free_name(journal.backups, "journal", journal.clock(), _suffix(connection))
        try:
            _copy_out(connection, path)
        except OSError as error:
            raise _bad(path, f"could not be written: {error.strerror}", "name another place") from None
        except sqlite3.Error as error:
            raise _bad(path, f"could not be written: {error}", "is the disk full? Name another place") from None
    return path


def back_up_before(connection: Connection, version: str, folder: Path, now: dt.datetime) -> Path:
    """The backup that is written before a migration, over the connection that will migrate."""
    path = _free_name(folder, f"before-update-of-schema-{version}", now, _suffix(connection))
    _copy_out(connection, path)
    return path


def restore(journal: Journal, source: Path) -> Path:
    """Put a backup back in place of all that stands in the journal. Returns a backup of what stood there.

    Raises BadInput when the file is no backup, is damaged or comes from a newer version; then nothing changes.
    """
    with tempfile.TemporaryDirectory(prefix="triage-restore-") as folder:
        staged = _stage(source, Path(folder) / "journal.db")
        kept = back_up(journal)
        with closing(sqlite3.connect(staged)) as origin:
            if journal.path is not None:
                with closing(sqlite3.connect(journal.path, timeout=60)) as target:
                    journal.engine.dispose()
                    origin.backup(target)
                    target.execute("PRAGMA journal_mode=WAL")
            else:
                _into_postgresql(journal, staged)
    return kept


def _stage(source: Path, staged: Path) -> Path:
    """The backup as a SQLite file of the latest schema, sound and complete, apart from the journal."""
    try:
        with source.open("rb") as file:
            is_sqlite = file.read(len(_SQLITE_MARK)) == _SQLITE_MARK
    except FileNotFoundError:
        raise _bad(source, "there is no such file") from None
    except OSError as error:
        raise _bad(source, f"cannot be read: {error.strerror}") from None
    if is_sqlite:
        _check_sqlite(source, staged)
    else:
        data = _read_json(source)
        engine = sqlite_engine(staged)
        try:
            schema.create(engine, data["schema"])
            with engine.execution_options(writes=True).begin() as connection:
                load(connection, data["tables"])
        except (KeyError, TypeError, ValueError) as error:
            raise _bad(source, f"is damaged: {error}") from None
        finally:
            engine.dispose()
    engine = sqlite_engine(staged)
    try:
        schema.bring_up_to_date(engine, staged.parent, dt.datetime.now(dt.UTC))
    finally:
        engine.dispose()
    return staged


def _check_sqlite(source: Path, staged: Path) -> None:
    try:
        address = f"{source.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True)) as origin, closing(sqlite3.connect(staged)) as copy:
            origin.backup(copy)
            sound = copy.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
            loose = copy.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError:
        sound, loose = False, None
    if not sound or loose:
        raise _bad(source, "is damaged; nothing was changed")
    engine = sqlite_engine(staged)
    try:
        with engine.connect() as connection:
            version = schema.version_of(connection)
        schema.refuse_newer(version)
        if version is None:
            raise _bad(source, "is not a backup of a journal")
    finally:
        engine.dispose()


def _into_postgresql(journal: Journal, staged: Path) -> None:
    engine = sqlite_engine(staged)
    try:
        with engine.connect() as connection:
            tables = dump(connection)
    finally:
        engine.dispose()
    with journal.engine.begin() as connection:
        load(connection, tables)


def dump(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    """Every table as it stands, whatever its schema version; parents first."""
    found = {}
    for table in _tables(connection).sorted_tables:
        rows = connection.execute(table.select().order_by(*table.primary_key.columns)).mappings()
        found[table.name] = [{name: _plain(value) for name, value in row.items()} for row in rows]
    return found


def load(connection: Connection, tables: dict[str, list[dict[str, Any]]]) -> None:
    """Put dumped rows in place of all that stands there, in the transaction of this connection."""
    known = _tables(connection)
    for table in reversed(known.sorted_tables):
        connection.execute(table.delete())
    for table in known.sorted_tables:
        rows = [{c.name: _typed(row[c.name], c.type) for c in table.columns} for row in tables[table.name]]
        for start in range(0, len(rows), 500):
            connection.execute(insert(table), rows[start : start + 500])
        if connection.dialect.name == "postgresql" and "id" in table.columns:
            name = table.name
            connection.execute(
                text(
                    f"SELECT setval(pg_get_serial_sequence('{name}', 'id'),"
                    f" (SELECT coalesce(max(id), 0) + 1 FROM {name}), false)"
                )
            )


def _tables(connection: Connection) -> MetaData:
    metadata = MetaData()
    metadata.reflect(connection, only=lambda name, _: name != "alembic_version")
    return metadata


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, dt.date) else value


def _typed(value: Any, column: Any) -> Any:
    if value is None or not isinstance(value, str):
        return value
    python = column.python_type
    if python in (dt.date, dt.datetime):
        return python.fromisoformat(value)
    return value


def _copy_out(connection: Connection, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    if connection.dialect.name != "sqlite":
        version = schema.version_of(connection)
        body = {"format": _FORMAT, "schema": version, "tables": dump(connection)}
        write_whole(path, json.dumps(body, ensure_ascii=False))
        return
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")  # mode 0600
    os.close(handle)
    part = Path(name)
    try:
        source = connection.exec_driver_sql("PRAGMA database_list").fetchone()
        assert source is not None
        # A connection of its own: the one that will migrate holds the write lock, readers are let in.
        with closing(sqlite3.connect(source[2], timeout=60)) as origin, closing(sqlite3.connect(part)) as copy:
            origin.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def _suffix(connection: Connection) -> str:
    return ".db" if connection.dialect.name == "sqlite" else ".json"


def _free_name(folder: Path, stem: str, now: dt.datetime, suffix: str) -> Path:
    base = f"{stem}-{now:%Y%m%d-%H%M%S}"
    path, number = folder / f"{base}{suffix}", 1
    while path.exists():
        number += 1
        path = folder / f"{base}-{number}{suffix}"
    return path


def _read_json(source: Path) -> dict[str, Any]:
    try:
        data = json.loads(read_text(source))
    except ValueError:
        data = None
    if not isinstance(data, dict) or data.get("format") != _FORMAT:
        raise _bad(source, "is not a backup of a journal", "an export is read with: triage journal import FILE")
    schema.refuse_newer(data.get("schema"))
    return data


def _bad(source: Path, wrong: str, mend: str = "make one: triage journal backup") -> BadInput:
    return BadInput([Problem(str(source), None, "", wrong, mend)])
