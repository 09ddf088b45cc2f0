"""Tables that grow with the program: old records are carried forward, newer ones refused."""

from collections.abc import Callable

import msgspec
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import inspect, text

from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.store import migrations
from lubberline.store.database import tables
from lubberline.store.database.engines import engine_for
from lubberline.store.migrations import migrate, newest, steps
from lubberline.store.school import School, open_school
from lubberline.store.sittings import text_of
from tests.store.made import paper_questions

# Rows as the first tables held them: one class, two open sittings that came to the same code.
FIRST_ROWS = """
insert into groups (id, number, title) values ('g', 1, 'Spring');
insert into students (id, group_id, name, number) values ('s', 'g', 'Ada', ''), ('t', 'g', 'Bo', '');
insert into sittings (id, group_id, kind, title, opened_utc, closed_utc, asked, source, code, step, phase,
  minutes, on_paper) values
  ('p1', 'g', 'paper', 'One', '2026-01-01T09:00:00Z', '', :asked, '', 'ABCDEF', 0, 'open', 0, false),
  ('p2', 'g', 'paper', 'Two', '2026-01-02T09:00:00Z', '', :asked, '', 'ABCDEF', 0, 'open', 0, false);
insert into places (sitting, student, form, began_utc, ended_utc, secret_hash) values
  ('p1', 's', 'A', '2026-01-01T09:00:00Z', '', 'digest'),
  ('p1', 't', 'A', '2026-01-01T09:00:00Z', '', 'digest');
insert into answers (sitting, student, key, chosen, value, answered_utc, sent, seconds) values
  ('p1', 's', 'A1', 2, null, '2026-01-01T09:02:00Z', 'second', 17.5);
insert into sendings (sitting, student, key, chosen, value, answered_utc, sent) values
  ('p1', 's', 'A1', 1, null, '2026-01-01T09:01:00Z', 'first'),
  ('p1', 's', 'A1', 2, null, '2026-01-01T09:02:00Z', 'second');
"""


def fill_first(address: str) -> None:
    engine = engine_for(address)
    migrate(engine, "0001")
    with engine.begin() as connection:
        for statement in FIRST_ROWS.strip().split(";"):
            if statement.strip():
                given = {"asked": text_of(paper_questions())} if ":asked" in statement else {}
                connection.execute(text(statement), given)
    engine.dispose()


def test_records_of_the_first_step_are_carried_forward(address: str, opened: Callable[[], School]) -> None:
    fill_first(address)
    school = opened()
    assert [one.name for one in school.people.students("g")] == ["Ada", "Bo"]
    assert msgspec.json.encode(school.sittings.sitting("p1").asked) == msgspec.json.encode(paper_questions())
    (kept,) = school.answers.of_sitting("p1")
    assert (kept.chosen, kept.seconds) == (2, 17.5)
    # A sending that still counts is known to have taken as long as its answer; of others it is not known.
    assert [(one.chosen, one.seconds) for one in school.answers.trail("p1")] == [(1, 0.0), (2, 17.5)]
    assert (
        school.answers.record(Answer("p1", "s", "A1", 2, sent="second")).answered_utc
        == "2026-01-01T09:02:00Z"
    )
    assert sorted(one.code for one in school.sittings.listing()) == ["", "ABCDEF"]
    assert [one.secret_hash for one in school.sittings.places("p1")] == ["digest", ""]
    with school.transactions.engine.connect() as connection:
        stands = connection.execute(text("select version_num from alembic_version")).scalar_one()
    assert stands == newest()


def test_the_steps_make_the_tables_that_the_program_writes_to(school: School) -> None:
    """Alembic itself compares the tables made by all steps with those in `tables`."""
    with school.transactions.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, tables.METADATA) == []


def test_steps_follow_each_other(address: str) -> None:
    assert list(steps()) == [f"{number:04d}" for number in range(len(steps()), 0, -1)]


def test_a_newer_database_is_refused(address: str) -> None:
    open_school(address).close()
    engine = engine_for(address)
    with engine.begin() as connection:
        connection.execute(text("update alembic_version set version_num = '9999'"))
    engine.dispose()
    with pytest.raises(InputError, match="newer than this program"):
        open_school(address)


def test_a_step_that_fails_leaves_the_records_as_they_were(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill_first(address)
    engine = engine_for(address)

    def broken(*_: object) -> None:
        upgrade(*_)
        raise RuntimeError("half-way")

    upgrade = migrations._take_steps
    monkeypatch.setattr(migrations, "_take_steps", broken)
    with pytest.raises(RuntimeError, match="half-way"):
        migrate(engine)
    with engine.connect() as connection:
        assert connection.execute(text("select version_num from alembic_version")).scalar_one() == "0001"
        assert "forgotten" not in inspect(connection).get_table_names()
        columns = {one["name"] for one in inspect(connection).get_columns("sendings")}
        assert "seconds" not in columns
    engine.dispose()
