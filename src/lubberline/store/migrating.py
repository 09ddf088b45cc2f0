"""Brings a database to the tables of this program, step by step, when it is opened."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text

from lubberline.errors import InputError
from lubberline.store.opening import shown

STEPS = Path(__file__).parent / "migrations"
# One number for all servers that open the same PostgreSQL at once: the first migrates, the others wait.
LOCK = 726_210_001


def _config(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(STEPS))
    config.attributes["connection"] = connection
    return config


def steps() -> tuple[str, ...]:
    """The numbers of the steps that this program knows, the newest first."""
    config = Config()
    config.set_main_option("script_location", str(STEPS))
    return tuple(step.revision for step in ScriptDirectory.from_config(config).walk_revisions())


def newest() -> str:
    """The number of the newest step that this program knows."""
    return steps()[0]


def migrate(engine: Engine, to: str = "head") -> None:
    """Take the steps that a database still lacks, in one transaction.

    Raises:
        InputError: a database made by a newer program.
    """
    with engine.begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("select pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        config = _config(connection)
        stands = MigrationContext.configure(connection).get_current_revision()
        if stands is not None and stands not in steps():
            wrong = f"its tables are of step {stands}, newer than this program's {newest()}"
            raise InputError(shown(engine.url), wrong, "use the newer Lubberline that made it")
        command.upgrade(config, to)
