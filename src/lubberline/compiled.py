"""The door to the compiler: every kernel is decorated with `kernel` from here.

Numba does not notice when a kernel in another file changes, and would go on with the old machine
code. So the cache folder is named by a digest of all sources that hold kernels: an edit anywhere
means a new folder, never an old result.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
import platformdirs

F = TypeVar("F", bound=Callable[..., Any])

KERNEL_ROOMS = ("earth", "flight", "instruments", "simulation")
STALE_AFTER_S = 14 * 86400.0


def _digest() -> str:
    package = Path(__file__).parent
    digest = hashlib.sha256()
    for room in KERNEL_ROOMS:
        for source in sorted((package / room).rglob("*.py")):
            digest.update(source.relative_to(package).as_posix().encode())
            digest.update(source.read_bytes())
    return digest.hexdigest()[:16]


def cache_root() -> Path:
    """The folder of compiled kernels; `LUBBERLINE_CACHE` moves it."""
    chosen = os.environ.get("LUBBERLINE_CACHE")
    return Path(chosen) if chosen else Path(platformdirs.user_cache_dir("lubberline")) / "kernels"


def _folder() -> Path:
    root = cache_root()
    folder = root / _digest()
    if not folder.exists():
        folder.mkdir(parents=True, exist_ok=True)
        for other in root.iterdir():
            if other != folder and time.time() - other.stat().st_mtime > STALE_AFTER_S:
                shutil.rmtree(other, ignore_errors=True)
    return folder


FOLDER = _folder()
numba.config.CACHE_DIR = str(FOLDER)


def is_first_run() -> bool:
    """True when nothing has been compiled yet for these sources, so the first flight takes longer."""
    return next(FOLDER.rglob("*.nbi"), None) is None


def kernel(function: F) -> F:
    """Compile a function of plain numbers and arrays; releases the interpreter lock while it runs."""
    compiled: F = numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    return compiled


def inlined_kernel(function: F) -> F:
    """As `kernel`, but written out where it is called: for what every step of a long flight calls.

    Handing arrays and records of thirty numbers to a compiled function costs as much as the sums in it.
    """
    compiled: F = numba.njit(cache=True, nogil=True, error_model="numpy", inline="always")(function)
    return compiled
