"""What stands in the records, read from the database by plain SQL: no code of the program in it."""

import sqlite3
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from contextlib import closing
from typing import Any, NamedTuple

from tests.web.simulated_phones import Given

SENDINGS = """
    select students.name, sendings.key, sendings.sent, sendings.chosen, sendings.value
    from sendings join students on students.id = sendings.student
    where sendings.sitting = '{}' order by sendings.at
"""
COUNTING = """
    select students.name, answers.key, answers.sent, answers.chosen, answers.value
    from answers join students on students.id = answers.student
    where answers.sitting = '{}'
"""


class Stand(NamedTuple):
    """A sitting's rows: every sending in the order in which it was taken, and the answers that count."""

    sendings: list[Given]
    counting: list[Given]


class Verdict(NamedTuple):
    """What became of the answers that were given.

    Attributes:
        given: how many.
        missing: of these, how many are not in the records, or stand there with another value.
        doubled: rows of the records for a sending that has one already, or for an answer that nobody gave.
        not_last: questions of students of which another answer counts than the last one given, or none.
        lost: those that are missing, as (student, key, chosen, value).
    """

    given: int
    missing: int
    doubled: int
    not_last: int
    lost: tuple[tuple[Any, ...], ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether every answer stands there once, and the last one counts."""
        return (self.missing, self.doubled, self.not_last) == (0, 0, 0)


def rows(database: str, query: str) -> list[Any]:
    """What a database answers, asked past the program."""
    if database.startswith("sqlite"):
        path = database.removeprefix("sqlite:///")
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True, timeout=60.0)) as connection:
            return connection.execute(query).fetchall()
    import psycopg

    with psycopg.connect(database) as connection:
        return connection.execute(query).fetchall()


def stand(database: str, sitting: str) -> Stand:
    """A sitting as it stands."""
    return Stand(
        [Given(*row) for row in rows(database, SENDINGS.format(sitting))],
        [Given(*row) for row in rows(database, COUNTING.format(sitting))],
    )


def judged(stands: Stand, given: Sequence[Given]) -> Verdict:
    """Answers of phones, whose sendings have ids that are known."""
    kept = Counter(stands.sendings)
    last = {(one.student, one.key): one for one in given}
    return Verdict(
        len(given),
        sum(kept[one] == 0 for one in given),
        len(stands.sendings) - len(set(given) & set(kept)),
        sum(Counter(stands.counting)[one] != 1 for one in last.values()),
        tuple(one for one in given if kept[one] == 0),
    )


def judged_by_order(stands: Stand, given: Sequence[Given]) -> Verdict:
    """Answers of a browser's page, whose sendings' ids only the page knows: each question's in order."""
    wanted, kept = _ways(given), _ways(stands.sendings)
    counting = {(one.student, one.key): (one.chosen, one.value) for one in stands.counting}
    pairs = [(wanted[one], kept.get(one, [])) for one in wanted]
    lost = tuple(
        (*of, *one)
        for of, gave in wanted.items()
        for one in (Counter(gave) - Counter(kept.get(of, []))).elements()
    )
    doubled = sum((Counter(has) - Counter(gave)).total() for gave, has in pairs)
    doubled += sum(len(has) for one, has in kept.items() if one not in wanted)
    not_last = sum(counting.get(one) != gave[-1] for one, gave in wanted.items())
    # In another order than they were given the way to the last answer is not the one that was gone.
    crossed = sum(gave != has and Counter(gave) == Counter(has) for gave, has in pairs)
    return Verdict(len(given), len(lost), doubled, not_last + crossed, lost)


def of(stands: Stand, names: Iterable[str]) -> Stand:
    """The rows of some students alone."""
    wanted = set(names)
    return Stand(*([one for one in table if one.student in wanted] for table in stands))


def without(stands: Stand, names: Iterable[str]) -> Stand:
    """The rows of everybody else."""
    return of(stands, {one.student for one in stands.sendings + stands.counting} - set(names))


def _ways(given: Sequence[Given]) -> dict[tuple[str, str], list[tuple[int, float | None]]]:
    found: dict[tuple[str, str], list[tuple[int, float | None]]] = defaultdict(list)
    for one in given:
        found[one.student, one.key].append((one.chosen, one.value))
    return dict(found)
