"""Opening the journal: SQLite in one file, or PostgreSQL shared by several people.

`Journal.write()` is one transaction: all of it is kept, or nothing. When it returns the rows
are on the disk (SQLite with synchronous=FULL), so what a screen confirms after it stays.
"""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, exc, make_url
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from triage.reasoning.yaml_text import BadInput, Problem
from triage.records import schema

_WAIT_SECONDS = 60  # how long one writer waits for another before giving up


def utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Journal:
    """An open journal. `clock` gives the moment at which a row is written, in UTC."""

    engine: Engine
    path: Path | None  # of the SQLite file; None: PostgreSQL
    backups: Path
    clock: Callable[[], datetime] = utc_now

    @contextmanager
    def write(self) -> Iterator[Session]:
        """A session whose rows are all kept at the end, or none. Raises BadInput in plain words."""
        engine = self.engine.execution_options(writes=True)
        with _plain_words(), Session(engine, expire_on_commit=False) as session, session.begin():
            yield session

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one moment of the journal and changes nothing."""
        options = {"isolation_level": "REPEATABLE READ"} if self.path is None else {}
        with _plain_words(), Session(self.engine.execution_options(**options), expire_on_commit=False) as session:
            yield session

    def close(self) -> None:
        self.engine.dispose()


def open_journal(where: str | Path, backups: Path, clock: Callable[[], datetime] = utc_now) -> Journal:
    """Open the journal at a path, a `sqlite:///` address or a `postgresql://` address; make it if new.

    An older schema is brought up to date after a backup into `backups`. Raises BadInput when it
    cannot be opened or was written by a newer version of the program.
    """
    url = _address(where)
    with _plain_words():
        if url.get_backend_name() == "sqlite":
            path = Path(url.database or "")
            try:
                _make_file(path)
            except OSError as error:
                raise _bad(f"could not be made: {error.strerror}", f"check the place: {path}") from error
            journal = Journal(sqlite_engine(path), path, backups, clock)
        else:
            engine = create_engine(url, connect_args={"connect_timeout": 10})
            journal = Journal(engine, None, backups, clock)
        try:
            schema.bring_up_to_date(journal.engine, backups, clock())
        except BaseException:
            journal.close()
            raise
    return journal


def _address(where: str | Path) -> URL:
    text = str(where)
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser()))
    try:
        url = make_url(text)
    except exc.ArgumentError:
        raise _bad("this is no address of a journal", "a file, or postgresql+psycopg://user@host/name") from None
    if url.drivername == "postgresql":
        url = url.set(drivername="postgresql+psycopg")
    if url.drivername not in ("sqlite", "postgresql+psycopg"):
        raise _bad(f"'{url.drivername}' journals are not known", "use a file, or postgresql+psycopg://")
    if url.drivername == "sqlite" and url.database in (None, "", ":memory:"):
        raise _bad("a journal needs a file", "name one, such as sqlite:///journal.db")
    return url


def sqlite_engine(path: Path) -> Engine:
    """An engine on one SQLite file: WAL, foreign keys, every commit on the disk before it returns.

    A writing transaction takes the write lock when it begins. It then waits in line for its
    turn, instead of failing half way because somebody else wrote after it had read.
    """
    engine = create_engine(URL.create("sqlite", database=str(path)), connect_args={"timeout": _WAIT_SECONDS})

    @event.listens_for(engine, "connect")
    def _connect(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # sqlite3 would begin transactions at moments of its own
        for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL"):
            connection.execute(f"PRAGMA {pragma}").fetchall()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _make_file(path: Path) -> None:
    """Create a new journal beside its place and link it in whole: a crash leaves no half-made one,
    and of several people who start at once the first wins and the others use it."""
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")  # mode 0600
    os.close(handle)
    part = Path(name)
    try:
        engine = sqlite_engine(part)
        try:
            schema.create(engine)
        finally:
            engine.dispose()
        try:
            os.link(part, path)
        except FileExistsError:
            pass
        except OSError:  # a file system without links
            if not path.exists():
                part.replace(path)
    finally:
        for left in (part, Path(f"{part}-wal"), Path(f"{part}-shm")):
            left.unlink(missing_ok=True)


@contextmanager
def _plain_words() -> Iterator[None]:
    """What a database says, told so that a grower can act on it. Nothing was written when it is raised."""
    try:
        yield
    except exc.DatabaseError as error:
        raise _bad(*_told(str(error.orig), error)) from error
    except sqlite3.Error as error:
        raise _bad(*_told(str(error), error)) from error


def _told(says: str, error: Exception) -> tuple[str, str]:
    low = says.lower()
    known = {
        "is full": ("the disk is full; nothing was written", "free some space, then do it again"),
        "no space left": ("the disk is full; nothing was written", "free some space, then do it again"),
        "disk i/o error": ("the disk failed; nothing was written", "check the disk, then do it again"),
        "locked": ("somebody else has been writing for a minute; nothing was written", "do it again"),
        "readonly": ("may not be written to", "check who owns the file and its folder"),
        "unable to open": ("could not be opened", "check that the folder is there and yours"),
        "not a database": ("this file is not a journal", "name another, or restore a backup"),
        "malformed": ("the file is damaged", "restore a backup: triage journal restore FILE"),
        "unique": ("something with this name or id stands there already; nothing was written", ""),
        "foreign key": ("other rows hang on this one; nothing was written", "take those back first"),
    }
    for sign, told in known.items():
        if sign in low:
            return told
    if isinstance(error, exc.OperationalError):
        return f"the database cannot be reached: {says.strip().splitlines()[0]}", "check the address and the network"
    return f"the database refused: {says.strip().splitlines()[0]}", ""


def _bad(wrong: str, mend: str = "") -> BadInput:
    return BadInput([Problem("journal", None, "", wrong, mend)])
