"""The database beneath the records: engines, tables, transactions and outages."""

from lubberline.store.database.changes import LOOK_AGAIN
from lubberline.store.database.copies import Copies
from lubberline.store.database.engines import (
    checkpoint,
    engine_for,
    file_of,
    keep_private,
    shown,
    sqlite_engine,
)
from lubberline.store.database.outage import outages_of
from lubberline.store.database.transactions import Service, Transactions, plainly, reads, writes

__all__ = (
    "LOOK_AGAIN",
    "Copies",
    "Service",
    "Transactions",
    "checkpoint",
    "engine_for",
    "file_of",
    "keep_private",
    "outages_of",
    "plainly",
    "reads",
    "shown",
    "sqlite_engine",
    "writes",
)
