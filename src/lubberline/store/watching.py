"""What a server sees to while it runs: news from other programs, the one file, and the clock."""

from __future__ import annotations

import contextlib
import logging
import math
import threading
import time
from datetime import datetime

from sqlalchemy import Connection, Engine, func, select, text
from sqlalchemy.exc import SQLAlchemyError

from lubberline.errors import InputError, Unavailable
from lubberline.store import acts, opening, tables, times
from lubberline.store.bin_acts import look_into_bin
from lubberline.store.changes import Changes

LOG = logging.getLogger(__name__)
LOOK_S = 0.5
SETTLE_S = 60.0
LOOK_INTO_BIN_S = 3600.0
# Less than a second is how exactly times are kept; so much more is worth telling.
FOLLOWED_S = 1.0
TOLD_S = 60.0


def _last_running(connection: Connection) -> str:
    """The latest moment that is kept of those who sit a paper with a time limit now; '' where nobody does."""
    sat, place, sent = tables.sittings.c, tables.places.c, tables.sendings.c
    running = (sat.minutes > 0.0) & (sat.closed_utc == "") & ~sat.on_paper & (place.ended_utc == "")
    joined = tables.sittings.join(tables.places, place.sitting == sat.id)
    began = connection.execute(select(func.max(place.began_utc)).select_from(joined).where(running))
    answered = connection.execute(
        select(func.max(sent.answered_utc)).where(
            sent.sitting.in_(select(sat.id).select_from(joined).where(running))
        )
    )
    return max(began.scalar() or "", answered.scalar() or "")


def _wall_s(connection: Connection) -> float:
    """What all servers of these records go by: PostgreSQL's clock, or this machine's for a file."""
    if connection.dialect.name == "postgresql":
        return float(connection.execute(text("select extract(epoch from clock_timestamp())")).scalar_one())
    return times.CLOCK.wall_s()


def set_clock(engine: Engine, *, starts: bool = False) -> None:
    """Lets the clock of the records follow the machine's, unless somebody sits a paper with a time limit.

    While somebody does, it only ever goes ahead to the last moment that is kept of them: a machine that
    comes back with its clock set back does not give them more time.

    Args:
        engine: of the records.
        starts: at their opening, when servers of one PostgreSQL take its clock whatever goes on.
    """

    def look(connection: Connection) -> tuple[float, str]:
        return _wall_s(connection), _last_running(connection)

    wall_s, last_utc = acts.read(engine, look)
    apart_s = wall_s - times.CLOCK.now_s()
    if not last_utc or (starts and engine.dialect.name == "postgresql"):
        if abs(apart_s) > TOLD_S:
            LOG.warning("The machine's clock was set: times of the records move by %.0f s.", apart_s)
        if abs(apart_s) > FOLLOWED_S:
            times.CLOCK.follow(wall_s)
    if last_utc:
        times.CLOCK.not_before(datetime.fromisoformat(last_utc).timestamp())


class Watch(threading.Thread):
    """Beside a server until it ends."""

    def __init__(self, engine: Engine, changes: Changes) -> None:
        super().__init__(name="watch", daemon=True)
        self._engine, self._changes = engine, changes
        self._stop_asked = threading.Event()

    def run(self) -> None:
        """Looks for news every half second, every minute to the rest, at first and every hour to the bin."""
        settled_s, binned_s = time.monotonic(), -math.inf
        while not self._stop_asked.wait(LOOK_S):
            with contextlib.suppress(InputError, Unavailable, SQLAlchemyError, OSError):
                self._changes.look()
                if time.monotonic() - settled_s > SETTLE_S:
                    settled_s = time.monotonic()
                    set_clock(self._engine)
                    # Emptied, too: after a deletion for good while somebody read, it holds who was deleted.
                    opening.checkpoint(self._engine, wait_s=0.0)
                if time.monotonic() - binned_s > LOOK_INTO_BIN_S:
                    binned_s = time.monotonic()
                    look_into_bin(self._engine)

    def stop(self) -> None:
        """Ends it."""
        self._stop_asked.set()
        self.join(3.0)
