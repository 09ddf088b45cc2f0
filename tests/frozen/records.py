"""The frozen records: copies of them to open, and the rows that they were made with."""

import gzip
import json
from collections import defaultdict
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine
from sqlalchemy.engine import make_url

FOLDER = Path(__file__).parent
BACKUP, SQLITE, DUMP = FOLDER / "records.backup", FOLDER / "school.sqlite3.gz", FOLDER / "school.sql.gz"
PASSPHRASE = "four invented words here"


def rows() -> dict[str, list[dict[str, Any]]]:
    """Rows by table, read off the backup's lines without the program."""
    lines = gzip.decompress(BACKUP.read_bytes()).decode("utf-8").splitlines()
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for line in lines[1:-1]:
        told = json.loads(line)
        found[told["table"]].append(told["row"])
    return found


def copied_sqlite(folder: Path) -> str:
    """The address of a copy of the SQLite file in a folder."""
    file = folder / "school.sqlite3"
    file.write_bytes(gzip.decompress(SQLITE.read_bytes()))
    return f"sqlite:///{file}"


def load_dump(address: str) -> None:
    """Loads the PostgreSQL dump into an empty database."""
    engine = create_engine(make_url(address).set(drivername="postgresql+psycopg"))
    connection = engine.raw_connection()
    connection.cursor().execute(gzip.decompress(DUMP.read_bytes()))
    connection.commit()
    # Its first lines take the search path away, so the connection is not given back.
    connection.invalidate()
    engine.dispose()
