"""Ctrl-C and a request to end: they take effect within a second, even during compiled work.

Python handles a signal only between two of its own steps, and one step may be a long flight or the
compilation of a kernel. So a separate thread waits for the signal: work that does not end soon afterwards
is stopped, and half-written files are removed.
"""

import os
import signal
import socket
import sys
import threading
import time
from types import FrameType
from typing import NoReturn

from lubberline.unfinished import close_records, in_place, remove_parts

# Time for the work to end; with the clean-up less than a second.
PATIENCE_S = 0.35
MOVE_S = 2.0
CLOSE_S = 0.4
_SIGNALS = (signal.SIGINT, signal.SIGTERM)
_heard: list[int] = []


def listen() -> None:
    """From now on SIGINT and SIGTERM raise KeyboardInterrupt, and stop the process if that is not enough."""
    woken, waker = socket.socketpair()
    waker.setblocking(False)
    for number in _SIGNALS:
        # A shell that starts this in the background may have Ctrl-C ignored.
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _stop)
    signal.set_wakeup_fd(waker.fileno(), warn_on_full_buffer=False)
    threading.Thread(target=_watch, args=(woken, waker), daemon=True).start()


def leave_to_python() -> None:
    """Ctrl-C raises KeyboardInterrupt again, for a command that handles it."""
    if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def ignore() -> None:
    """The work is over; an interruption while Python ends must not change its exit code."""
    for number in _SIGNALS:
        signal.signal(number, signal.SIG_IGN)


def was_heard() -> bool:
    """Whether somebody asked to end; later failures are due to that."""
    return bool(_heard)


def exit_code() -> int:
    """130 after Ctrl-C, 143 after a request to end, by convention; 0 where the files were in place."""
    return _code(_heard[0] if _heard else signal.SIGINT)


def _code(number: int) -> int:
    return 0 if in_place.is_set() else 128 + number


def _stop(number: int, _: FrameType | None) -> None:
    _heard.append(number)
    # While the engine works, an exception may be raised inside the compiler and crash it.
    if "lubberline.compiler" in sys.modules:
        _end(number)
    # A second one must not disturb the clean-up.
    for other in _SIGNALS:
        signal.signal(other, signal.SIG_IGN)
    # Where nothing can be raised Python prints a message; the process ends anyway.
    sys.unraisablehook = lambda _: None
    raise KeyboardInterrupt


def _watch(woken: socket.socket, _waker: socket.socket) -> None:
    number = 0
    while number not in _SIGNALS:
        number = woken.recv(1)[0]
    time.sleep(PATIENCE_S)
    _end(number)


def _end(number: int) -> NoReturn:
    remove_parts(MOVE_S)
    # In a thread: the interrupted work may hold a lock that closing waits for.
    closing = threading.Thread(target=close_records, daemon=True)
    closing.start()
    closing.join(CLOSE_S)
    os._exit(_code(number))
