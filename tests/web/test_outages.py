"""Everybody answers while something goes away: nothing that was given is lost, and no page leaves its place.

The long runs are those that were asked for: fifty phones, and outages as long as they happen. The suite's own
run breaks the same things for a second each, or until the pages have said so, in two rooms.
"""

from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.postgres import Cluster, running_cluster
from tests.web.answering_room import AnsweringRoom, Outcome
from tests.web.outages import (
    disk_full,
    postgresql_killed,
    replies_lost,
    server_killed,
    small_disk,
    sqlite_locked,
)
from tests.web.records_judge import Stand, judged, judged_by_order
from tests.web.simulated_phones import Given

DISK_MB = 6
LONG_BETWEEN_S, SHORT_BETWEEN_S = (0.5, 2.0), (0.2, 0.4)
MANY_PHONES, FEW_PHONES = 50, 4


class Place(NamedTuple):
    """Where a room has its records."""

    room: AnsweringRoom
    folder: Path
    cluster: Cluster | None

    @property
    def file(self) -> Path:
        return self.folder / "school.sqlite3"


def on_sqlite(stack: ExitStack, tmp_path: Path, impatient: bool = False) -> Place:
    """A room with its records in a file on a small disk of its own."""
    folder = stack.enter_context(small_disk(tmp_path / "disk", DISK_MB))
    return Place(AnsweringRoom(f"sqlite:///{folder / 'school.sqlite3'}", stack, impatient), folder, None)


def on_postgresql(stack: ExitStack, tmp_path: Path, impatient: bool = False) -> Place:
    """A room with its records in a PostgreSQL that can be killed."""
    cluster = stack.enter_context(running_cluster(durable=True))
    return Place(AnsweringRoom(cluster.address, stack, impatient), tmp_path, cluster)


# By what goes away: where, how in full, and how for a second.
Breaks = Callable[[Place], Callable[[], None]]
OUTAGES: dict[str, tuple[Callable[..., Place], Breaks, Breaks]] = {
    "postgresql killed": (
        on_postgresql,
        lambda at: postgresql_killed(at.cluster, 20.0),
        lambda at: postgresql_killed(at.cluster, 1.5, at.room.is_told),
    ),
    "sqlite locked": (
        on_sqlite,
        lambda at: sqlite_locked(at.file, 60.0),
        lambda at: sqlite_locked(at.file, 1.5, at.room.is_told),
    ),
    "disk full": (
        on_sqlite,
        lambda at: disk_full(at.folder, 20.0),
        lambda at: disk_full(at.folder, 1.5, at.room.is_told),
    ),
    "server killed": (
        on_sqlite,
        lambda at: server_killed(at.room.process, 20, (0.5, 3.0), 0.5),
        lambda at: server_killed(at.room.process, 1, (0.0, 0.0), 0.5, at.room.is_told),
    ),
    "replies lost": (
        on_sqlite,
        lambda at: replies_lost(at.room.proxy, 10, 60.0),
        lambda at: replies_lost(at.room.proxy, 10, 1.5),
    ),
}
# With single replies lost nothing is away for long enough to be told.
NEVER_AWAY = ("replies lost",)


def held(kind: str, outcome: Outcome) -> None:
    """What has to be so after every outage."""
    for name, verdict in outcome.answers.items():
        assert verdict.given > 0, (kind, name)
        assert verdict.is_whole, (kind, name, verdict)
    assert outcome.refusals == {}, kind
    assert outcome.left == {}, kind
    assert outcome.lasting == [], kind
    if kind not in NEVER_AWAY:
        for name in ("instructor", "projector"):
            assert outcome.away[name], (kind, f"no red line on the {name}'s page")
        assert min(outcome.unsent.values()) > 0, (kind, outcome.unsent)


@pytest.mark.browser
@pytest.mark.acceptance
@pytest.mark.parametrize("kind", OUTAGES)
def test_nothing_is_lost_in_a_long_outage(browser: Any, tmp_path: Path, kind: str) -> None:
    begins, breaks, _ = OUTAGES[kind]
    with ExitStack() as stack:
        at = begins(stack, tmp_path)
        at.room.fill(browser, MANY_PHONES)
        outcome = at.room.through(breaks(at), LONG_BETWEEN_S, 3.0)
        print(kind, outcome)
        held(kind, outcome)


@pytest.mark.browser
@pytest.mark.parametrize("begins", [on_sqlite, on_postgresql])
def test_nothing_is_lost_in_a_short_one(browser: Any, tmp_path: Path, begins: Callable[..., Place]) -> None:
    with ExitStack() as stack:
        at = begins(stack, tmp_path, impatient=True)
        at.room.fill(browser, FEW_PHONES)
        for kind, (place, _, breaks) in OUTAGES.items():
            if place is begins:
                held(kind, at.room.through(breaks(at), SHORT_BETWEEN_S))


def given(key: str, sent: str, chosen: int, student: str = "Ada") -> Given:
    return Given(student, key, sent, chosen, None)


WAY = [given("A1", "one", 0), given("A2", "two", 1), given("A1", "three", 2)]
COUNTING = [given("A1", "three", 2), given("A2", "two", 1)]


def test_the_judge_finds_what_is_lost_doubled_or_out_of_order() -> None:
    whole = Stand(WAY, COUNTING)
    unnamed = [one._replace(sent="") for one in WAY]
    for verdict in (judged(whole, WAY), judged_by_order(whole, unnamed)):
        assert verdict == (3, 0, 0, 0, ())
        assert verdict.is_whole
    wrongs = {
        "one is missing": (Stand(WAY[:1] + WAY[2:], COUNTING[:1]), (1, 0, 1)),
        "one stands with another value": (Stand([*WAY[:2], given("A1", "three", 1)], COUNTING), (1, 1, 0)),
        "one stands twice": (Stand([*WAY, WAY[0]], COUNTING), (0, 1, 0)),
        "one that nobody gave": (Stand([*WAY, given("A9", "nine", 0)], COUNTING), (0, 1, 0)),
        "the first one counts": (Stand(WAY, [WAY[0], WAY[1]]), (0, 0, 1)),
        "two count": (Stand(WAY, [*COUNTING, COUNTING[0]]), (0, 0, 1)),
    }
    for name, (stands, counts) in wrongs.items():
        assert judged(stands, WAY)[1:4] == counts, name
        if name != "two count":
            assert judged_by_order(stands, unnamed)[1:4] == counts, name
    crossed = Stand([WAY[2], WAY[1], WAY[0]], COUNTING)
    assert judged_by_order(crossed, unnamed)[1:4] == (0, 0, 1)
