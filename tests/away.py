"""Records that go away for a while: locked, full, not to be written to, out of connections, unreachable."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any

from sqlalchemy import Connection, create_engine, event, text
from sqlalchemy.engine import make_url

from lubberline.store.school import School


@contextmanager
def _told_at_each_beginning(school: School, pragma: str, undo: str) -> Iterator[None]:
    """Every transaction of a SQLite file begins with a pragma."""
    engine: Any = school.transactions.engine

    def tell(connection: Connection) -> None:
        cursor = connection.connection.cursor()
        cursor.execute(pragma)
        cursor.close()

    event.listen(engine, "begin", tell)
    try:
        yield
    finally:
        event.remove(engine, "begin", tell)
        # Connections go back to the pool as they are.
        event.listen(engine, "checkout", lambda raw, *_: raw.execute(undo))


@contextmanager
def locked(school: School) -> Iterator[None]:
    """Another program holds the file for writing."""
    other = sqlite3.connect(school.where, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.execute("ROLLBACK")
        other.close()


def full(school: School) -> AbstractContextManager[None]:
    """No page can be added to the file, as on a disk without room (SQLite makes it no smaller than it is)."""
    return _told_at_each_beginning(school, "PRAGMA max_page_count=1", "PRAGMA max_page_count=1073741823")


def read_only(school: School) -> AbstractContextManager[None]:
    """The file may be read and not written to."""
    return _told_at_each_beginning(school, "PRAGMA query_only=ON", "PRAGMA query_only=OFF")


@contextmanager
def no_connections(school: School) -> Iterator[None]:
    """Others have all connections that there are."""
    pool: Any = school.transactions.engine.pool
    patience_s, pool._timeout = pool._timeout, 0.05
    taken = []
    try:
        for _ in range(pool.size() + max(pool._max_overflow, 0)):
            taken.append(school.transactions.engine.raw_connection())
        yield
    finally:
        pool._timeout = patience_s
        for one in taken:
            one.close()


@contextmanager
def no_server(school: School) -> Iterator[None]:
    """PostgreSQL ends every connection to the database and lets nobody in."""
    url = make_url(str(school.transactions.engine.url.render_as_string(hide_password=False)))
    server = create_engine(url.set(database="postgres"), isolation_level="AUTOCOMMIT")
    name = url.database
    others = "select pg_terminate_backend(pid) from pg_stat_activity where datname = :name"
    with server.connect() as connection:
        connection.execute(text(f"alter database {name} with allow_connections false"))
        connection.execute(text(others), {"name": name})
    try:
        yield
    finally:
        with server.connect() as connection:
            connection.execute(text(f"alter database {name} with allow_connections true"))
        server.dispose()


Away = Callable[[School], AbstractContextManager[None]]
OF_SQLITE: dict[str, Away] = {
    "locked": locked,
    "full": full,
    "read-only": read_only,
    "connections": no_connections,
}
