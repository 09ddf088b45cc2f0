"""The cost of the live bench: one viewer, 200, a pace of 600; compared with a bare broadcast.

python -m benchmarks.live            print the table
python -m benchmarks.live --write    and write it into docs/developers/performance.md

The server is a separate process on loopback; its processor time is what the operating system counts. The
delay of a frame is from when it was made to when a client has it, by the machine's own clock. Bounded: about
a minute in all.
"""

import asyncio
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.routing import WebSocketRoute
from starlette.websockets import WebSocket
from websockets.asyncio.client import ClientConnection, connect

from benchmarks import machine
from lubberline.web.app import create_app
from lubberline.web.bench.pages import SERVER_OPTIONS
from lubberline.web.bench.real_time import FRAME_S, Playing
from lubberline.web.bench.viewer import Viewer
from lubberline.web.serve import free_socket

DOCUMENT = Path(__file__).parent.parent / "docs" / "developers" / "performance.md"
BEGIN, END = "<!-- live bench: begin -->\n", "<!-- live bench: end -->\n"
VIEWERS = 200
SECONDS = 10.0
COMPILED_WITHIN_S = 200.0
STAMP = '"stamp_s":'


def stamped(playing: type[Playing]) -> None:
    """Let frames carry the time at which they were made."""
    frame = playing.frame

    def with_stamp(self: Playing) -> dict[str, Any]:
        return {"stamp_s": time.monotonic(), **frame(self)}

    playing.frame = with_stamp  # type: ignore[method-assign]


class Bare:
    """A broadcast and nothing else: one text 30 times a second to all, four deep, the oldest left out."""

    def __init__(self, size: int) -> None:
        self.filling = "x" * size
        self.viewers: list[Viewer] = []

    async def run(self) -> None:
        while True:
            text = f'{{{STAMP}{time.monotonic()},"x":"{self.filling}"}}'
            picture = _Text(text)
            for viewer in self.viewers:
                viewer.show(picture)  # type: ignore[arg-type]
            await asyncio.sleep(FRAME_S)

    async def line(self, websocket: WebSocket) -> None:
        await websocket.accept()
        viewer = Viewer(websocket.send_text)
        if not self.viewers:
            self.clock = asyncio.create_task(self.run())
        self.viewers.append(viewer)
        sending = asyncio.create_task(viewer.keep_sending())
        while (await websocket.receive())["type"] == "websocket.receive":
            pass
        sending.cancel()
        self.viewers.remove(viewer)


class _Text:
    happened = 0

    def __init__(self, text: str) -> None:
        self._text = text

    def text(self, driver: bool, seen: int) -> str:
        return self._text


def serve(kind: str) -> None:
    """The server's process: prints its port, then its processor time for every line it is sent."""
    stamped(Playing)
    app: Any = create_app()
    if kind != "bench":
        bare = Bare(int(kind))
        app = Starlette(routes=[WebSocketRoute("/bench/socket", bare.line)])
    bound = free_socket(0)
    print(bound.getsockname()[1], flush=True)
    config = uvicorn.Config(
        app, log_level="error", timeout_graceful_shutdown=1, lifespan="off", **SERVER_OPTIONS
    )

    async def run() -> None:
        server = uvicorn.Server(config)
        task = asyncio.create_task(server.serve(sockets=[bound]))
        while True:
            line = await asyncio.to_thread(sys.stdin.readline)
            if not line:
                break
            print(time.process_time(), flush=True)
        server.should_exit = True
        await task

    asyncio.run(run())


class Process:
    """The server as seen from the clients."""

    def __init__(self, kind: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "benchmarks.live", "serve", kind],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.port = int(self._line())

    def _line(self) -> str:
        if self.process.stdout is None:
            raise RuntimeError("the server has no output")
        return self.process.stdout.readline()

    def processor_s(self) -> float:
        if self.process.stdin is None:
            raise RuntimeError("the server has no input")
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        return float(self._line())

    def close(self) -> None:
        if self.process.stdin is not None:
            self.process.stdin.close()
        self.process.wait(20.0)


class Watched:
    """What the clients of one run saw."""

    def __init__(self) -> None:
        self.delays_ms: list[float] = []
        self.size = 0
        self.text = ""
        self.running = False
        self.begun = asyncio.Event()

    async def follow(self, line: ClientConnection) -> None:
        async for text in line:
            now_s = time.monotonic()
            at = text.find(STAMP)  # type: ignore[arg-type]
            if at >= 0:
                self.begun.set()
            if at >= 0 and self.running:
                end = text.index(",", at)  # type: ignore[arg-type]
                self.delays_ms.append((now_s - float(text[at + len(STAMP) : end])) * 1000.0)
                self.text = str(text)


async def watch(
    port: int, viewers: int, orders: list[dict[str, Any]], cpu: Callable[[], float]
) -> dict[str, Any]:
    """Let viewers watch for `SECONDS`; the first gives the orders."""
    address = f"127.0.0.1:{port}"
    watched = Watched()
    lines: list[ClientConnection] = []
    for _ in range(viewers):
        lines.append(
            await connect(
                f"ws://{address}/bench/socket", origin=f"http://{address}", compression=None, max_queue=64
            )
        )
    for order in orders:
        await lines[0].send(json.dumps(order))
    tasks = [asyncio.create_task(watched.follow(line)) for line in lines]
    # the engine may have to be compiled first
    await asyncio.wait_for(watched.begun.wait(), COMPILED_WITHIN_S)
    await asyncio.sleep(3.0)
    before_s, started_s = cpu(), time.monotonic()
    watched.running = True
    await asyncio.sleep(SECONDS)
    watched.running = False
    spent_s, passed_s = cpu() - before_s, time.monotonic() - started_s
    for line in lines:
        await line.close()
    await asyncio.gather(*tasks)
    delays = sorted(watched.delays_ms)
    return {
        "share": spent_s / passed_s,
        "frames": len(delays) / passed_s / viewers,
        "p50_ms": statistics.median(delays),
        "p99_ms": delays[int(0.99 * len(delays))],
        "text": watched.text,
    }


def measured(kind: str, viewers: int, orders: list[dict[str, Any]]) -> dict[str, Any]:
    """One run with a separate server."""
    server = Process(kind)
    try:
        return asyncio.run(watch(server.port, viewers, orders, server.processor_s))
    finally:
        server.close()


def priority() -> str:
    """Said when the run was kept apart from other work on the machine (`chrt -f 5`)."""
    if hasattr(os, "sched_getscheduler") and os.sched_getscheduler(0) == os.SCHED_FIFO:
        return " Server and clients at real-time priority, beside other work."
    return ""


def main(write: bool) -> None:
    fly = [{"do": "bank", "to_deg": 20}, {"do": "rough", "level": "light"}]
    ghosts = [{"do": "ghost", "id": id, "on": True} for id in ("no-earth-wander", "bank-leaves-card-alone")]
    heading = machine.heading(("numba", "uvicorn", "websockets", "msgspec")) + priority()
    one = measured("bench", 1, fly)
    haunted = measured("bench", 1, [*fly, *ghosts])
    fast = measured("bench", 1, [*fly, *ghosts, {"do": "pace", "factor": 600}])
    many = measured("bench", VIEWERS, fly)
    size = len(many["text"].encode())
    bare = measured(str(size - 50), VIEWERS, [])
    runs = (
        ("one viewer", one),
        ("one viewer, two ghosts", haunted),
        ("the same at a pace of 600", fast),
        (f"{VIEWERS} viewers", many),
        (f"{VIEWERS} viewers, a bare broadcast of the same bytes", bare),
    )
    rows = [
        (name, f"{run['share']:.1%}", f"{run['frames']:.1f}", f"{run['p50_ms']:.1f}", f"{run['p99_ms']:.1f}")
        for name, run in runs
    ]
    columns = ("", "server, of a core", "frames/s each", "delay, ms, median", "99th percentile")
    ratio = many["share"] / bare["share"]
    lines = [
        heading,
        "",
        machine.table(columns, rows),
        "",
        f"A frame is {size} bytes. {VIEWERS} viewers cost {ratio:.2f} times the bare broadcast.",
    ]
    text = "\n".join(lines)
    print(text)
    if write:
        put(text)


def put(text: str) -> None:
    """Write the table into the document."""
    document = DOCUMENT.read_text(encoding="utf-8")
    if BEGIN not in document:
        document += (
            "\n## The live bench\n\n"
            "The server, its viewers on loopback: `python -m benchmarks.live --write`. Wanted: under 10% of "
            "a core for one bench, under 30% for 200 viewers, their 99th percentile under 30 ms."
            f"\n\n{BEGIN}{END}"
        )
    before, _, rest = document.partition(BEGIN)
    after = rest.partition(END)[2]
    DOCUMENT.write_text(f"{before}{BEGIN}{text}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:2] == ["serve"]:
        serve(sys.argv[2])
    else:
        main("--write" in sys.argv[1:])
