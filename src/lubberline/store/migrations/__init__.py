"""The migration steps of a school's tables, one module each, in order of their numbers.

When a database is opened, it is upgraded by the steps that it lacks.
"""

import logging
from functools import cache
from pathlib import Path

from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text

from lubberline.errors import InputError
from lubberline.store.database.copies import Copies, copy_file
from lubberline.store.database.engines import file_of, shown

LOG = logging.getLogger(__name__)
STEPS = Path(__file__).parent
# One lock for all servers that open the same PostgreSQL at once: the first migrates, the others wait.
LOCK = 726_210_001


@cache
def _scripts() -> ScriptDirectory:
    return ScriptDirectory(STEPS, version_locations=[STEPS])


@cache
def steps() -> tuple[str, ...]:
    """The numbers of the steps that this program knows, the newest first."""
    return tuple(step.revision for step in _scripts().walk_revisions())


def newest() -> str:
    """The number of the newest step that this program knows."""
    return steps()[0]


def stands_at(connection: Connection) -> str | None:
    """The present step of a database; None without our tables."""
    found: str | None = MigrationContext.configure(connection).get_current_revision()
    return found


def migrate(engine: Engine, to: str = "head", *, keeps: bool = False) -> None:
    """Apply the steps that a database lacks, in one transaction.

    Args:
        engine: of the database.
        to: the last step to take.
        keeps: whether to keep a copy of a file before the upgrade, which is then logged. A copy of
            PostgreSQL is left to its owner, as the log says before the first step.

    Raises:
        InputError: a database made by a newer program, or the copy cannot be written.
    """
    kept: Path | None = None
    try:
        with engine.begin() as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(text("select pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
            stands = stands_at(connection)
            if stands is not None and stands not in steps():
                wrong = f"its tables are at step {stands}, newer than this program's {newest()}"
                raise InputError(shown(engine.url), wrong, "use the newer Lubberline that made it")
            if stands == newest() and to == "head":
                return
            forward = keeps and stands is not None and stands != newest()
            if forward:
                kept = _keep_copy(engine, str(stands))
            _take_steps(connection, to)
    except BaseException:
        # Nothing was changed: the copy is not needed.
        if kept is not None:
            kept.unlink(missing_ok=True)
        raise
    if kept is not None:
        LOG.warning(
            "The records were upgraded from step %s to %s. Copy of the old records: %s",
            stands,
            newest(),
            kept,
        )


def _take_steps(connection: Connection, to: str) -> None:
    context = MigrationContext.configure(connection)
    lacking = [*_scripts().iterate_revisions(to, context.get_current_revision() or "base")]
    with Operations.context(context):
        for step in reversed(lacking):
            step.module.upgrade()
            context.stamp(_scripts(), step.revision)


def _keep_copy(engine: Engine, stands: str) -> Path | None:
    """A copy of a file while nobody writes to it: the present transaction has the lock."""
    if engine.dialect.name == "postgresql":
        LOG.warning(
            "Upgrading %s from step %s to %s; make your own copy (pg_dump).",
            *(shown(engine.url), stands, newest()),
        )
        return None
    source, path = file_of(engine.url), Copies(engine).new_path(f"step-{newest()}", "sqlite3")
    if source is not None and path is not None:
        copy_file(source, path)
    return path
