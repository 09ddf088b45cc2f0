"""An event loop away from the main thread, where the browser's driver keeps one running."""

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def run_apart(work: Coroutine[Any, Any, T]) -> T:
    """What the work gives, run to its end in a thread of its own."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def called_apart(function: Callable[..., T], *given: Any, **named: Any) -> T:
    """What a function gives that runs a loop of its own."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(function, *given, **named).result()
