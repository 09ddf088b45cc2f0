"""The bench over its line: start, turn, tumble, set, fault, ghost, rewind; many viewers; wrong messages."""

import asyncio
import contextlib
import json
import socket
import time
import urllib.error
import urllib.request
from random import Random

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from lubberline.simulation.bench import Happened
from lubberline.simulation.live import orders
from lubberline.web.bench import rooms
from lubberline.web.bench.pages import GREATEST_MESSAGE
from lubberline.web.bench.real_time import Playing
from lubberline.web.bench.rooms import GREATEST_ROOMS, Room, Rooms
from lubberline.web.bench.viewer import BURST, DEPTH, PATIENCE, RATE_HZ, Allowance, Picture, Viewer
from tests.own_loop import run_apart
from tests.web.live_bench import Message, Page, Server
from tests.web.live_bench import bench as bench
from tests.web.live_bench import page as page
from tests.web.live_bench import server as server


def test_it_begins_with_hello_and_frames_that_run(page: Page, bench: str) -> None:
    hello = page.hello
    assert hello["role"] == "driver"
    assert hello["bench"] == bench
    assert {"id", "name", "statement", "mend", "source"} == set(hello["ideas"][0])
    assert {"name", "description", "greatest_size", "default_size", "unit"} == set(hello["faults"][0])
    assert {"id", "title", "aim", "ask", "watch"} <= set(hello["scenes"][0])
    assert hello["history"] == []
    first = page.frame()
    frames = [page.frame() for _ in range(45)]
    times = [frame["time_s"] for frame in frames]
    assert times == sorted(times)
    # drawn between the engine's steps, so that every frame is new
    assert len(set(times)) > 40
    assert times[-1] - first["time_s"] == pytest.approx(1.5, abs=0.5)
    assert [frame["n"] for frame in frames] == list(range(first["n"] + 1, first["n"] + 46))
    assert all(frame["driver"] and frame["viewers"] == 1 for frame in frames)


def test_the_driver_flies_it_and_breaks_it(page: Page) -> None:
    page.do("bank", to_deg=30)
    page.do("pace", factor=20)
    frame = page.frame(lambda frame: frame["truth"]["bank_deg"] > 29.9)
    assert frame["truth"]["turn_rate_deg_s"] > 3.0
    page.do("set", **{"from": "truth"})
    assert page.frame(lambda frame: frame["since_set_s"] < 5.0)
    page.do("fault", name="filter", size=0.9)
    assert page.frame(lambda frame: frame["faults"] == {"filter": 0.9})
    page.do("ghost", id="no-earth-wander", on=True)
    assert page.frame(lambda frame: len(frame["ghosts"]) == 1)
    page.do("heading", to_deg=0)
    page.frame(lambda frame: abs((frame["truth"]["heading_deg"] + 180) % 360 - 180) < 0.1)
    page.do("pitch", to_deg=90)
    page.do("pace", factor=1)
    page.frame(lambda frame: any("on its stop" in event["words"] for event in frame["events"]))
    assert page.frame()["gyro"]["regime"] == "rigid"


def test_time_is_stopped_stepped_and_gone_back_in(page: Page) -> None:
    page.do("pace", factor=100)
    page.frame(lambda frame: frame["time_s"] > 60.0)
    page.do("pause", on=True)
    stopped = page.frame(lambda frame: frame["paused"])
    assert page.frame()["time_s"] == stopped["time_s"]
    page.do("step", seconds=2.5)
    stepped = page.frame(lambda frame: frame["time_s"] != stopped["time_s"])
    assert stepped["time_s"] == pytest.approx(stopped["time_s"] + 2.5)
    page.do("rewind", to_s=12.3)
    back = page.frame(lambda frame: frame["time_s"] < 20.0)
    assert back["time_s"] == 12.3
    assert back["paused"]
    page.do("rewind", to_s=1e6)
    assert "not been reached" in page.refused()["wrong"]


def test_two_viewers_are_in_step_and_one_drives(server: Server, bench: str, page: Page) -> None:
    other = Page(server, bench)
    assert other.hello["role"] == "viewer"
    mine = {frame["n"]: frame for frame in (page.frame() for _ in range(40))}
    theirs = {frame["n"]: frame for frame in (other.frame() for _ in range(40))}
    common = mine.keys() & theirs.keys()
    assert len(common) > 20
    for number in common:
        left, right = dict(mine[number]), dict(theirs[number])
        assert (left.pop("driver"), right.pop("driver")) == (True, False)
        left.pop("events")
        right.pop("events")
        assert left == right
    other.do("bank", to_deg=20)
    assert "watching" in other.refused()["wrong"]
    other.do("take")
    assert other.frame(lambda frame: frame["driver"])
    page.frame(lambda frame: not frame["driver"])
    assert any("Somebody else controls" in said.get("words", "") for said in page.said)
    other.do("bank", to_deg=20)
    told = page.frame(lambda frame: bool(frame["events"]))
    assert told["events"][0]["words"] == "bank 20 deg right"
    other.close()
    page.until(lambda message: message["kind"] == "notice" and "Nobody controls" in message["words"])
    page.frame(lambda frame: frame["viewers"] == 1)


def test_one_who_comes_later_is_told_what_was(server: Server, bench: str, page: Page) -> None:
    page.do("pace", factor=100)
    page.frame(lambda frame: frame["time_s"] > 50.0)
    later = Page(server, bench)
    rows = later.hello["history"]
    assert len(rows) > 40
    assert {"time_s", "earth_deg", "total_deg", "error_deg"} <= set(rows[0])
    later.close()


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("{", "not JSON"),
        ("[]", "not an order"),
        ('{"do": "loop"}', "no order 'loop'"),
        ('{"do": "bank", "to_deg": 200}', "<= 75"),
        ('{"do": "scene", "id": "none"}', "no scene 'none'"),
        ('{"do": "state", "text": "9_x"}', "not a version"),
        (b"\xff\xfe", "not JSON"),
        ('{"do": "' + "x" * GREATEST_MESSAGE + '"}', "characters"),
    ],
)
def test_a_wrong_message_is_answered_and_the_line_lives(page: Page, text: str | bytes, wrong: str) -> None:
    page.line.send(text)
    assert wrong in page.refused()["wrong"]
    assert page.frame()["driver"]


def test_a_message_far_too_large_cuts_only_its_own_line(server: Server, bench: str, page: Page) -> None:
    other = Page(server, bench)
    other.line.send("x" * 200_000)
    with pytest.raises(ConnectionClosed):
        other.read_to_its_end()
    assert page.frame()


def test_a_flood_is_told_once_and_does_not_hold_up_others(server: Server, bench: str, page: Page) -> None:
    other = Page(server, bench)
    for _ in range(1500):
        page.line.send('{"do": "bank", "to_deg": 5}')
    for _ in range(30):
        other.frame()
    page.frame(lambda frame: frame["truth"]["bank_deg"] > 4.9)
    told = [said for said in page.said if "Too many messages" in said.get("words", "")]
    assert len(told) == 1
    other.close()


def test_a_flood_without_end_is_cut(server: Server, bench: str) -> None:
    page = Page(server, bench)
    with contextlib.suppress(ConnectionClosed):
        for _ in range(20 * PATIENCE):
            page.line.send('{"do": "bank", "to_deg": 5}')
    with pytest.raises(ConnectionClosed):
        page.read_to_its_end()
    again = Page(server, bench)
    assert again.frame()["driver"]
    again.close()


def test_the_allowance_is_a_rate_with_room_for_a_burst() -> None:
    allowance = Allowance(0.0)
    taken = sum(allowance.take(0.0) for _ in range(500))
    assert taken == BURST
    assert allowance.tell_once()
    assert not allowance.tell_once()
    assert sum(allowance.take(1.0) for _ in range(500)) == RATE_HZ
    assert not allowance.is_spent
    for _ in range(PATIENCE):
        allowance.take(1.0)
    assert allowance.is_spent


def test_a_viewer_who_stops_reading_is_left_behind_alone(server: Server, bench: str, page: Page) -> None:
    """A line that nobody reads fills the sockets; the other viewer misses nothing for it."""
    address = ("127.0.0.1", server.port)
    deaf = socket.create_connection(address)
    deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    deaf.sendall(
        f"GET /bench/socket?bench={bench} HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n"
        f"Origin: http://127.0.0.1:{server.port}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n"
        "Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n".encode()
    )
    page.frame(lambda frame: frame["viewers"] == 2)
    room: Room = server.app.state.shared.rooms.existing(bench)
    numbers = [page.frame()["n"]]
    while not any(viewer.left_out for viewer in room.viewers) and len(numbers) < 1800:
        numbers.append(page.frame()["n"])
    assert any(viewer.left_out for viewer in room.viewers)
    # A busy machine may leave out a few of them.
    assert len(numbers) > 0.8 * (numbers[-1] - numbers[0])
    deaf.close()


def test_frames_wait_four_deep_and_the_oldest_are_left_out() -> None:
    sent: list[str] = []
    gate = asyncio.Event()

    class Numbered:
        happened = 0

        def __init__(self, number: int) -> None:
            self.number = number

        def text(self, driver: bool, seen: int) -> str:
            return str(self.number)

    async def send(text: str) -> None:
        sent.append(text)
        await gate.wait()

    async def run() -> None:
        viewer = Viewer(send)
        sending = asyncio.create_task(viewer.keep_sending())
        for number in range(10):
            viewer.show(Numbered(number))  # type: ignore[arg-type]
            await asyncio.sleep(0)
        assert viewer.left_out == 9 - DEPTH
        gate.set()
        await asyncio.sleep(0.01)
        sending.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await sending

    run_apart(run())
    assert sent == ["0", "6", "7", "8", "9"]


def test_events_are_told_once_and_not_lost_with_frames_left_out() -> None:
    sent: list[Message] = []
    gate = asyncio.Event()

    async def send(text: str) -> None:
        await gate.wait()
        sent.append(json.loads(text))

    async def run() -> None:
        viewer = Viewer(send)
        sending = asyncio.create_task(viewer.keep_sending())
        for number in range(1, 11):
            events = [Happened(told, 0.1 * told, f"event {told}") for told in range(1, number + 1)]
            viewer.show(Picture(b'{"n":%d}' % number, events))
            await asyncio.sleep(0)
        gate.set()
        await asyncio.sleep(0.01)
        sending.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await sending

    run_apart(run())
    assert [message["n"] for message in sent] == [1, 7, 8, 9, 10]
    told = [event["words"] for message in sent for event in message["events"]]
    assert told == [f"event {number}" for number in range(1, 11)]


def test_after_the_machine_slept_the_bench_has_waited(
    server: Server, page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A closed lid: the clock jumps, the bench does not."""
    before = page.frame()["time_s"]
    monkeypatch.setattr(rooms, "ASLEEP_S", 0.5)
    server.server.servers[0].get_loop().call_soon_threadsafe(time.sleep, 1.5)
    page.until(lambda message: message["kind"] == "notice" and "asleep" in message["words"])
    assert page.frame()["time_s"] - before < 1.0


def test_a_scene_that_asks_first_never_runs_before(page: Page) -> None:
    page.do("scene", id="rigidity", paused=True)
    frame = page.frame(lambda frame: frame["scene"] == "rigidity")
    assert frame["paused"]
    assert frame["time_s"] == 0.0
    page.do("pause", on=False)
    page.frame(lambda frame: frame["time_s"] > 0.1)


def test_a_scene_is_opened_and_reset(page: Page) -> None:
    page.do("scene", id="rigidity")
    frame = page.frame(lambda frame: frame["scene"] == "rigidity")
    assert frame["time_s"] < 2.0
    assert any("Rigidity" in said.get("words", "") for said in page.said)
    page.do("pace", factor=60)
    page.frame(lambda frame: frame["time_s"] > 60.0)
    page.do("reset")
    frame = page.frame(lambda frame: frame["time_s"] < 5.0)
    assert frame["scene"] == "rigidity"
    assert frame["caption"].startswith("Flying north")


def state_of(server: Server, bench: str) -> Message:
    address = f"http://127.0.0.1:{server.port}/bench/state?bench={bench}"
    with urllib.request.urlopen(address, timeout=10) as answer:
        kept: Message = json.load(answer)
    return kept


def test_after_the_server_starts_again_the_bench_goes_on_from_its_state() -> None:
    first = Server()
    page = Page(first, "kept")
    page.do("place", latitude_deg=-35, longitude_deg=150)
    page.do("fault", name="pump", size=0.5)
    page.frame(lambda frame: frame["faults"] == {"pump": 0.5})
    state = state_of(first, "kept")["state"]
    first.stop()
    with pytest.raises(ConnectionClosed):
        page.read_to_its_end()
    second = Server()
    again = Page(second, "kept")
    assert again.hello["role"] == "driver"
    again.do("state", text=state)
    frame = again.frame(lambda frame: frame["faults"] == {"pump": 0.5})
    assert frame["truth"]["latitude_deg"] == pytest.approx(-35.0, abs=0.01)
    again.close()
    second.stop()


def test_a_bench_stands_still_while_nobody_is_there(server: Server, bench: str) -> None:
    page = Page(server, bench)
    page.do("bank", to_deg=10)
    page.frame(lambda frame: frame["truth"]["bank_deg"] > 5.0)
    page.close()
    room: Room = server.app.state.shared.rooms.existing(bench)
    until = time.monotonic() + 5.0
    while room.viewers and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(0.1)
    left = room.playing.bench.state.step  # type: ignore[union-attr]
    time.sleep(0.5)
    again = Page(server, bench)
    assert again.frame()["time_s"] * 10.0 == pytest.approx(left, abs=3.0)
    again.close()


def test_the_state_of_a_bench_that_is_not_open_is_refused(server: Server) -> None:
    with pytest.raises(urllib.error.HTTPError) as caught:
        state_of(server, "nobody")
    assert caught.value.code == 422
    assert json.load(caught.value)["error"]["where"] == "bench"


@pytest.mark.parametrize(
    "origin", ["http://example.org", "http://127.0.0.1:1", "https://127.0.0.1:{port}", "null", None]
)
def test_a_line_from_another_page_is_refused(server: Server, origin: str | None) -> None:
    address = f"ws://127.0.0.1:{server.port}/bench/socket"
    given = origin.format(port=server.port) if origin else None
    with pytest.raises(InvalidStatus) as caught, connect(address, origin=given):  # type: ignore[arg-type]
        pass
    assert caught.value.response.status_code == 403


def test_a_line_by_a_foreign_host_name_is_refused(server: Server) -> None:
    with (
        pytest.raises(InvalidStatus) as caught,
        connect(
            f"ws://rebound.example:{server.port}/bench/socket",
            sock=socket.create_connection(("127.0.0.1", server.port)),
            origin=f"http://rebound.example:{server.port}",  # type: ignore[arg-type]
        ),
    ):
        pass
    assert caught.value.response.status_code == 403


def test_benches_are_bounded_and_empty_ones_give_way() -> None:
    async def run() -> None:
        rooms = Rooms()
        opened = [rooms.enter(f"b{number}") for number in range(GREATEST_ROOMS)]
        with pytest.raises(Exception, match="is not a valid name"):
            rooms.enter("A b")
        assert rooms.enter("b0") is opened[0]
        opened[3].empty_since_s -= 60.0
        rooms.enter("one-more")
        assert rooms.enter("b0") is opened[0]
        for room in opened:
            room.viewers.append(Viewer(None))  # type: ignore[arg-type]
        rooms.enter("one-more").viewers.append(Viewer(None))  # type: ignore[arg-type]
        with pytest.raises(Exception, match=f"{GREATEST_ROOMS} benches are open"):
            rooms.enter("too-many")

    run_apart(run())


def test_a_run_stops_at_its_time_however_late_the_clock_comes() -> None:
    playing, late = Playing(), Random(3)
    playing.obey(orders.Run(seconds=900.0, factor=60.0))
    while not playing.paused:
        playing.fly(playing.steps_due(late.uniform(0.1, 2.0)), time.perf_counter)
    assert playing.bench.time_s == pytest.approx(900.0, abs=1e-6)
    assert (playing.pace, playing.until_step) == (1.0, None)
    # Called off, it goes on.
    playing.obey(orders.Run(seconds=60.0, factor=60.0))
    playing.obey(orders.Pace(factor=1.0))
    assert (playing.paused, playing.until_step) == (False, None)
