"""The class on servers of their own: killed in the middle, two on one database, many phones at once."""

import asyncio
import gc
from collections.abc import Iterator

import pytest

from benchmarks import class_kill, class_load
from benchmarks.class_phones import STEP, Phone, Process, begun
from lubberline.store.school import open_school
from tests.own_loop import called_apart, run_apart

# A killed server leaves its callers' lines half open; they are swept up here, not in somebody else's test.
pytestmark = [
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


@pytest.fixture(autouse=True)
def swept() -> Iterator[None]:
    yield
    gc.collect()


def test_ten_phones_lose_nothing():
    load = called_apart(class_load.run, 10, 1)
    assert (load.sent, load.lost, load.doubled) == (10, 0, 0)
    assert load.peak_mb < 400


def test_a_class_split_between_two_servers_on_one_postgresql(emptied):
    address = emptied()
    school = open_school(address)
    servers = [Process(address), Process(address)]
    try:
        run_apart(split(servers, school))
    finally:
        for server in servers:
            server.kill()
        school.close()


async def split(servers, school):
    sitting = begun(school)
    phones = [Phone(servers[number % 2].address, f"Student {number}") for number in range(8)]
    for phone in phones:
        await phone.join(sitting.code)
    assert len(school.sittings.places(sitting.id)) == 8
    lines = [asyncio.create_task(phone.listen()) for phone in phones]
    await asyncio.gather(*(phone.until(-1, "closed") for phone in phones))
    # The instructor is at the first server: those at the second learn of it by news of the database.
    async with asyncio.timeout(30):
        sent, _ = await class_load.move_round(phones, servers[0], sitting.id, 0)
        await asyncio.gather(*(phone.until(STEP, "closed") for phone in phones))
    assert class_load.missing(school, sitting.id, sent) == 0
    assert len(school.answers.of_sitting(sitting.id)) == 8
    # A phone that changes from one server to the other has its place and its answer there, too.
    moved = phones[0]
    moved.client.base_url = servers[1].address
    moved.client.headers["origin"] = servers[1].address
    there = (await moved.client.get(f"{moved.place}/state")).json()
    assert there["own"]["given"]["step-2"]["value"] == sent[0].value
    # What the class answered at both is one class for the instructor.
    lead = (await moved.client.get(f"/teach/{sitting.id}/state")).json()
    assert lead["projector"]["answered"] == lead["projector"]["joined"] == 8
    for line in lines:
        line.cancel()
    for phone in phones:
        await phone.client.aclose()


@pytest.mark.acceptance
def test_two_hundred_phones_and_twenty_kills():
    load = called_apart(class_load.run, 200, 2)
    assert (load.sent, load.lost, load.doubled) == (400, 0, 0)
    assert load.peak_mb < 400
    killed = called_apart(class_kill.run, 20)
    assert (killed.missing, killed.doubled, killed.not_last) == (0, 0, 0)
