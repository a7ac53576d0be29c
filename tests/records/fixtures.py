"""Journals of both kinds, as pytest fixtures (used by tests/records and tests/cli)."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from tests.records.support import Clock, postgresql_binaries, postgresql_server
from triage.records.places import bed_named, garden_named, plant
from triage.records.store import Journal, open_journal
from triage.records.tables import Planting


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """The address of a server; the test is skipped where PostgreSQL is not installed."""
    binaries = postgresql_binaries()
    if binaries is None:
        pytest.skip("PostgreSQL's server is not installed here (Debian: apt install postgresql)")
    with postgresql_server(binaries) as address:
        yield address


@pytest.fixture
def new_database(postgresql: str) -> Callable[[], str]:
    """Makes an empty database; gives its address."""

    def make() -> str:
        name = f"club_{secrets.token_hex(6)}"
        engine = create_engine(f"{postgresql}/postgres", isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        engine.dispose()
        return f"{postgresql}/{name}"

    return make


@pytest.fixture(scope="session")
def empty_journal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A journal with nothing in it, made once; most tests start on a copy."""
    path = tmp_path_factory.mktemp("empty") / "journal.db"
    open_journal(path, path.parent / "backups", Clock()).close()
    return path


@pytest.fixture
def journal(tmp_path: Path, empty_journal: Path) -> Iterator[Journal]:
    yield from _opened(str(tmp_path / "data" / "journal.db"), tmp_path, empty_journal)


def _opened(address: str, folder: Path, empty: Path) -> Iterator[Journal]:
    if "://" not in address:
        Path(address).parent.mkdir(exist_ok=True)
        shutil.copy(empty, address)
    opened = open_journal(address, folder / "backups", Clock())
    yield opened
    opened.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a journal may be made, once in a file and once on a server."""
    if request.param == "sqlite":
        return str(tmp_path / "data" / "any.db")
    make: Callable[[], str] = request.getfixturevalue("new_database")
    return make()


@pytest.fixture
def any_journal(address: str, tmp_path: Path, empty_journal: Path) -> Iterator[Journal]:
    yield from _opened(address, tmp_path, empty_journal)


def beans(journal: Journal) -> Planting:
    """A journal's first planting: beans in the North bed."""
    with journal.write() as session:
        bed = bed_named(session, garden_named(session, "School garden"), "North bed")
        return plant(session, bed, "bean", "Blue Lake")
