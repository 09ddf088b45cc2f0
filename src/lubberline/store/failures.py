"""What an error of the database means that is nobody's fault: by its codes, never by its words."""

from __future__ import annotations

import sqlite3

from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnection

from lubberline.errors import UnavailableCode

# SQLite's primary result codes (sqlite.org/rescode.html); the extended ones have them in their low byte.
SQLITE_CODES: dict[int, UnavailableCode] = {
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_PROTOCOL: "locked",
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_READONLY: "read-only",
    sqlite3.SQLITE_NOMEM: "busy",
}
# A disk without room for the index of the write-ahead file, or for that file itself.
SQLITE_NO_ROOM = frozenset({sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_WRITE})
# PostgreSQL's codes (its manual, appendix A), the longest that fits first.
POSTGRESQL_CODES: dict[str, UnavailableCode] = {
    "25006": "read-only",
    "53100": "full",
    "53300": "connections",
    "53": "busy",
    "55P03": "locked",
    "55006": "locked",
    "57014": "busy",
    "57": "unreachable",
    "58": "unreachable",
    "08": "unreachable",
    # Transactions that met again and again, however often they were tried.
    "40": "busy",
}


def code_of(error: BaseException) -> UnavailableCode | None:
    """What an error of the database means that is nobody's fault; None for any other."""
    if isinstance(error, NoConnection):
        return "connections"
    if not isinstance(error, DBAPIError):
        return None
    if isinstance(error.orig, sqlite3.Error):
        extended = getattr(error.orig, "sqlite_errorcode", 0)
        return "full" if extended in SQLITE_NO_ROOM else SQLITE_CODES.get(extended & 0xFF)
    if error.connection_invalidated:
        return "unreachable"
    state = getattr(error.orig, "sqlstate", None) or ""
    if not state and isinstance(error, OperationalError | InterfaceError):
        # No server, or one that let nobody in: a connection that is refused has no code of its own.
        return "unreachable"
    return next((POSTGRESQL_CODES[state[:n]] for n in (5, 2) if state[:n] in POSTGRESQL_CODES), None)
