"""The journal's schema and its versions. Alembic is loaded only when there is something to migrate."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, inspect, text

from triage.reasoning.yaml_text import BadInput, Problem

#: All versions, oldest first. A test holds this list and the migrations together.
VERSIONS = ("0001", "0002")
LATEST = VERSIONS[-1]

_ALONE = 70_411_926  # any number: the lock under which one person migrates a shared journal


def version_of(connection: Connection) -> str | None:
    """The schema version of this database; None when it is empty. Raises BadInput when it is no journal."""
    names = inspect(connection).get_table_names()
    if "alembic_version" in names:
        found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        if found is not None:
            return found
    if set(names) - {"alembic_version"}:
        raise _bad("this database is not a journal", "name another")
    return None


def refuse_newer(version: str | None) -> None:
    if version is not None and version not in VERSIONS:
        raise _bad(
            f"it was written by a newer version of this program (schema {version}; this one knows up to {LATEST})",
            "update the program; nothing was changed",
        )


def create(engine: Engine, version: str = "head") -> None:
    """Make all tables in an empty database."""
    with engine.execution_options(writes=True).begin() as connection:
        upgrade(connection, version)


def bring_up_to_date(engine: Engine, backups: Path, now: datetime) -> None:
    """Migrate an older schema, after a backup. One transaction: it is done wholly or not at all."""
    with engine.connect() as connection:
        version = version_of(connection)
    refuse_newer(version)
    if version == LATEST:
        return
    with engine.execution_options(writes=True).begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _ALONE})
        version = version_of(connection)  # somebody else may have been faster
        refuse_newer(version)
        if version is not None and version != LATEST:
            from triage.records.backup import back_up_before

            back_up_before(connection, version, backups, now)
        upgrade(connection, "head")


def upgrade(connection: Connection, version: str) -> None:
    """Run the migrations up to `version` in the transaction of this connection."""
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    folder = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    command.upgrade(config, version)


def scripts() -> Any:
    """The migrations that are shipped (for tests)."""
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    return ScriptDirectory.from_config(config)


def _bad(wrong: str, mend: str) -> BadInput:
    return BadInput([Problem("journal", None, "", wrong, mend)])
