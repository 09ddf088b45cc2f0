"""News: whoever listens learns what changed, in this process and in every other on the same PostgreSQL."""

import asyncio
import threading
from collections.abc import Callable

import pytest
from sqlalchemy import text

from lubberline.errors import InputError
from lubberline.store.database.changes import LOOK_AGAIN, MOST_WAITING, Changes
from lubberline.store.database.engines import engine_for
from lubberline.store.school import School, open_school
from tests.own_loop import run_apart
from tests.store.made import taught


def heard(listening: School, act: Callable[[], object], wanted: str) -> list[str]:
    """Topics that a listener hears after an act, until the wanted one; the first '*' is PostgreSQL's."""

    async def listen() -> list[str]:
        topics: list[str] = []
        news = listening.changes.subscribe()
        if listening.transactions.engine.dialect.name == "postgresql":
            assert await asyncio.wait_for(anext(news), 20.0) == LOOK_AGAIN
        await asyncio.to_thread(act)
        while wanted not in topics:
            topics.append(await asyncio.wait_for(anext(news), 20.0))
        await news.aclose()
        return topics

    found: list[list[str]] = []
    thread = threading.Thread(target=lambda: found.append(asyncio.run(listen())))
    thread.start()
    thread.join(60.0)
    return found[0] if found else []


def test_a_listener_hears_what_changed(school: School) -> None:
    class_ = taught(school)
    topic = f"sitting:{class_.lesson.id}"
    assert heard(school, lambda: school.sittings.move(class_.lesson.id, phase="closed"), topic) == [topic]


def test_an_act_that_fails_is_no_news(school: School) -> None:
    def act() -> None:
        with pytest.raises(InputError):
            school.sittings.move("none", phase="closed")
        school.people.add_group("Spring")

    assert heard(school, act, "people") == ["people"]


def test_a_change_of_an_aircrafts_log_names_the_aircraft(school: School) -> None:
    entry = school.log.add("ZZ-OAK", {}, {})

    def act() -> None:
        school.log.correct(entry.id, "N. N.", "", {}, {})

    assert heard(school, act, "log:ZZ-OAK") == ["log:ZZ-OAK"]


def test_another_server_hears_it_by_the_database(postgres: str) -> None:
    first, second = open_school(postgres), open_school(postgres)
    class_ = taught(first)
    topic = f"sitting:{class_.lesson.id}"
    assert topic in heard(second, lambda: first.sittings.move(class_.lesson.id, phase="closed"), topic)
    assert "word" in heard(first, lambda: second.changes.publish("word"), "word")
    first.close()
    second.close()


def test_a_listener_cut_off_looks_again(postgres: str) -> None:
    school = open_school(postgres)

    def cut() -> None:
        engine = engine_for(postgres)
        with engine.begin() as connection:
            found = "select pg_terminate_backend(pid) from pg_stat_activity where query like 'LISTEN%'"
            connection.execute(text(found))
        engine.dispose()

    assert LOOK_AGAIN in heard(school, cut, LOOK_AGAIN)
    school.close()


def test_a_listener_hears_from_the_moment_it_is_made_and_each_topic_once() -> None:
    async def listen() -> list[str]:
        changes = Changes()
        news = changes.subscribe()
        for topic in ("a", "b", "a"):
            changes.publish(topic)
        await asyncio.sleep(0)
        first = [await anext(news), await anext(news)]
        changes.publish("a")
        first.append(await asyncio.wait_for(anext(news), 5.0))
        return first

    assert run_apart(listen()) == ["a", "b", "a"]


def test_too_much_news_becomes_look_again() -> None:
    async def listen() -> list[str]:
        changes = Changes()
        news = changes.subscribe()
        for count in range(MOST_WAITING + 1):
            changes.publish(f"sitting:{count}")
        first = await anext(news)
        changes.publish("last")
        return [first, await anext(news)]

    assert run_apart(listen()) == [LOOK_AGAIN, "last"]


def test_closing_ends_those_who_wait() -> None:
    async def listen() -> list[str]:
        changes = Changes()
        news = changes.subscribe()
        waiting = asyncio.ensure_future(_all(news))
        await asyncio.sleep(0)
        changes.close()
        return await asyncio.wait_for(waiting, 5.0)

    async def _all(news) -> list[str]:
        return [topic async for topic in news]

    assert run_apart(listen()) == []
