"""A way between phones and a server on which every so many replies are lost: they leave and never come."""

import asyncio
import contextlib
import threading
from collections.abc import Iterator
from contextlib import contextmanager

PIECE_BYTES = 65_536


class CuttingProxy:
    """Passes bytes on; of the replies, each tenth (say) is lost, by turns with the connection and without.

    A reply is what comes first from the server after something was sent to it.

    Attributes:
        every: which reply is lost, of all connections; 0: none.
        lost: how many were.
    """

    def __init__(self, to_port: int) -> None:
        self.every = 0
        self.lost = 0
        self.silences = True
        self._to_port = to_port
        self._open: set[asyncio.StreamWriter] = set()
        self._replies = 0
        self.port = 0

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    async def serve(self) -> asyncio.Server:
        server = await asyncio.start_server(self._connected, "127.0.0.1", 0)
        self.port = server.sockets[0].getsockname()[1]
        return server

    def cut(self) -> None:
        """Ends every connection."""
        for writer in self._open:
            writer.transport.abort()

    async def _connected(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            there, onward = await asyncio.open_connection("127.0.0.1", self._to_port)
        except OSError:
            writer.close()
            return
        asked = asyncio.Event()
        ways = [
            asyncio.create_task(self._to_server(reader, onward, asked)),
            asyncio.create_task(self._to_phone(there, writer, asked)),
        ]
        self._open |= {writer, onward}
        try:
            await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for way in ways:
                way.cancel()
            await asyncio.gather(*ways, return_exceptions=True)
            self._open -= {writer, onward}
            for end in (writer, onward):
                end.close()

    async def _to_server(
        self, reader: asyncio.StreamReader, onward: asyncio.StreamWriter, asked: asyncio.Event
    ) -> None:
        with contextlib.suppress(OSError):
            while piece := await reader.read(PIECE_BYTES):
                asked.set()
                onward.write(piece)
                await onward.drain()

    async def _to_phone(
        self, there: asyncio.StreamReader, writer: asyncio.StreamWriter, asked: asyncio.Event
    ) -> None:
        silent = False
        with contextlib.suppress(OSError):
            while piece := await there.read(PIECE_BYTES):
                if asked.is_set():
                    asked.clear()
                    self._replies += 1
                    if self.every and self._replies % self.every == 0:
                        self.lost += 1
                        silent = True
                        # By turns the line breaks, or stays and says nothing more.
                        if not self.silences or self.lost % 2:
                            return
                if not silent:
                    writer.write(piece)
                    await writer.drain()


@contextmanager
def cutting_proxy(to_port: int) -> Iterator[CuttingProxy]:
    """A proxy in a thread of its own while the block runs."""
    proxy = CuttingProxy(to_port)
    ready = threading.Event()
    loops: list[asyncio.AbstractEventLoop] = []
    ends: list[asyncio.Event] = []

    async def run() -> None:
        ends.append(asyncio.Event())
        loops.append(asyncio.get_running_loop())
        server = await proxy.serve()
        ready.set()
        await ends[0].wait()
        server.close()
        proxy.cut()
        while len(asyncio.all_tasks()) > 1:
            await asyncio.sleep(0.01)

    thread = threading.Thread(target=lambda: asyncio.run(run()), name="proxy", daemon=True)
    thread.start()
    assert ready.wait(10.0)
    try:
        yield proxy
    finally:
        loops[0].call_soon_threadsafe(ends[0].set)
        thread.join(10.0)
