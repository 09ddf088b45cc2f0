"""Records of an earlier program: opened, carried forward, and found to hold what was in them."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from sqlalchemy import text

from lubberline.classroom.records import Asked
from lubberline.store.school import School, open_school
from lubberline.web.passphrase import fits
from tests.frozen.records import BACKUP, PASSPHRASE, copied_sqlite, load_dump, rows

KINDS = ("sqlite file", "postgresql dump", "backup into sqlite", "backup into postgresql")
OWN, DEMO_AIRCRAFT = "ZZ-YEW", "ZZ-ELM"


@pytest.fixture(params=KINDS)
def frozen(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[School, str]]:
    """A school with the frozen records, opened by today's program; and of which kind."""
    kind: str = request.param
    if "postgresql" in kind:
        empty: Callable[[], str] = request.getfixturevalue("emptied")
        address = empty()
    else:
        address = (
            copied_sqlite(tmp_path) if kind == "sqlite file" else f"sqlite:///{tmp_path / 'new.sqlite3'}"
        )
    if kind == "postgresql dump":
        load_dump(address)
    school = open_school(address)
    if "backup" in kind:
        school.restore(BACKUP)
    yield school, kind
    school.close()


def plain(row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(int(value) if isinstance(value, bool) else value for value in row.values())


def check_rows(school: School) -> None:
    """Columns may come; those that were there hold what they held."""
    with school.transactions.engine.connect() as connection:
        for table, held in rows().items():
            columns = ", ".join(f'"{name}"' for name in held[0])
            found = connection.execute(text(f'select {columns} from "{table}"')).mappings()
            there = {plain(dict(row)) for row in found}
            assert {plain(row) for row in held} <= there, table
            assert table == "settings" or len(there) == len(held), table


def check_door(school: School, kind: str) -> None:
    """The program's own door gives what was in them."""
    demo, own = school.people.groups()
    assert school.demo.find() == demo
    assert [one.name for one in school.people.students(own.id)] == sorted(
        ["Mira Tal", "Ole Brandt", "Zoë Ágnes", "Jon 'Skip' O", "Ines; -- drop"]
    )
    titles = {one.title: one for one in school.sittings.listing(own.id)}
    kept = {row["id"]: row for row in rows()["sittings"]}
    for sitting in school.sittings.listing():
        asked = msgspec.json.decode(kept[sitting.id]["asked"], type=list[dict[str, Any]])
        assert [msgspec.json.decode(msgspec.json.encode(one)) for one in sitting.asked] == asked
        assert all(isinstance(one, Asked) for one in sitting.asked)
    paper = titles["Locked paper"]
    assert (paper.phase, bool(paper.closed_utc), len(paper.asked)) == ("shown", True, 12)
    assert [one.extra_min for one in school.sittings.places(paper.id)].count(7.5) == 1
    assert {one.field for one in school.answers.corrections_of(paper.id)} == {"chosen", "points"}
    assert sum(one.count for one in school.bin.forgotten(paper.id) if not one.key) == 1
    assert len(school.answers.trail(paper.id)) > len(school.answers.of_sitting(paper.id)) > 20
    assert school.sittings.by_code(titles["Still open"].code) == titles["Still open"]
    (lesson,) = (one for one in titles.values() if one.kind == "lesson")
    assert lesson.source.startswith("#")
    assert len(school.answers.of_sitting(lesson.id)) == 7
    assert school.log.aircraft_names() == (DEMO_AIRCRAFT, OWN)
    log = school.log.entries(OWN)
    assert (len(log), len(school.log.trail(OWN))) == (58, 2)
    assert log[3].typed["indicated"] == "201"
    assert log[5].understood["withdrawn"] is True
    assert log[-1].typed["maintenance"] == "filter changed"
    assert school.settings.get("school_name") == "Lakeside (invented)"
    # A backup holds no passphrase; a database does, as a digest.
    held = school.settings.get("passphrase")
    assert held == "" if "backup" in kind else fits(PASSPHRASE, held)


def check_going_on(school: School) -> None:
    """New rows find room beside the old ones: no counter starts again."""
    open_one = next(one for one in school.sittings.listing() if one.title == "Still open")
    (place,) = school.sittings.places(open_one.id)
    (before,) = school.answers.of_sitting(open_one.id)
    again = msgspec.structs.replace(before, chosen=1 - before.chosen, sent="later")
    # As from paper, whenever it comes: the time of that day's paper is long over.
    assert [one.chosen for one in school.answers.put_all([again])] == [1 - before.chosen]
    assert [one.sent for one in school.answers.trail(open_one.id)][-1] == "later"
    assert place.student == before.student
    entry = school.log.entries(OWN)[0]
    school.log.correct(entry.id, "An instructor", "again", entry.typed, entry.understood)
    assert len(school.log.trail(OWN)) == 3


def test_old_records_are_read_and_written_on(frozen: tuple[School, str]) -> None:
    school, kind = frozen
    check_rows(school)
    check_door(school, kind)
    check_going_on(school)
