"""The compiler, and the cache of compiled kernels. `compiled.Kernel` imports it when a kernel is called.

Numba does not notice a change of a kernel in another file, and would use the old machine code. So the
name of the cache folder is a digest of the sources that can be part of compiled code: modules with
kernels, and all modules they import. An edit there means a new folder, never an old result. Each file of
compiled code has its own digest, so that a damaged one is compiled again, never run. If nothing can be
saved, everything is compiled in memory.
"""

import hashlib
import logging
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import numba
import platformdirs
from numba.core import event
from numba.core.caching import FunctionCache, IndexDataCacheFile
from numba.core.serialize import dumps, pickle
from numba.core.types.misc import unliteral

PACKAGE = Path(__file__).parent
# Only imports at the start of a module count: a kernel is compiled from the globals of its module.
_IMPORT = re.compile(r"^from (lubberline[\w.]*) import (\([^)]*\)|.*)", re.MULTILINE)
_KERNELS = re.compile(r"^from lubberline\.compiled import .*kernel", re.MULTILINE)
STALE_AFTER_S = 14 * 86400.0
DIGEST_BYTES = hashlib.sha256().digest_size
# Without a handler, Python writes a warning to standard error.
_log = logging.getLogger(__name__)


def kernel_sources(package: Path = PACKAGE) -> list[Path]:
    """The sources that can be part of compiled code: modules that hold kernels, and those they import."""
    texts = {path: path.read_text(encoding="utf-8") for path in package.rglob("*.py")}
    modules = {}
    for path in texts:
        parts = path.relative_to(package.parent).with_suffix("").parts
        modules[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    waiting = [path for path, text in texts.items() if _KERNELS.search(text)]
    taken = {package / "compiled.py", package / "compiler.py", *waiting}
    while waiting:
        for module, names in _IMPORT.findall(texts[waiting.pop()]):
            for name in (module, *(f"{module}.{name}" for name in re.findall(r"\w+", names))):
                source = modules.get(name)
                if source is not None and source not in taken:
                    taken.add(source)
                    waiting.append(source)
    return sorted(taken)


def sources_digest(package: Path = PACKAGE) -> str:
    """A digest of `kernel_sources`, which names the folder of compiled kernels."""
    digest = hashlib.sha256()
    for source in kernel_sources(package):
        digest.update(source.relative_to(package).as_posix().encode())
        digest.update(source.read_bytes())
    return digest.hexdigest()[:16]


def cache_root() -> Path:
    """The folder of compiled kernels; `LUBBERLINE_CACHE` moves it."""
    chosen = os.environ.get("LUBBERLINE_CACHE")
    return Path(chosen) if chosen else Path(platformdirs.user_cache_dir("lubberline")) / "kernels"


def _remove_stale(root: Path, own: Path) -> None:
    with suppress(OSError):
        for other in root.iterdir():
            if other != own and time.time() - other.stat().st_mtime > STALE_AFTER_S:
                shutil.rmtree(other, ignore_errors=True)


class _Store:
    """Where compiled kernels are saved: a folder, or nowhere once writing to it has failed."""

    def __init__(self) -> None:
        self.fault = ""
        self.told = False
        self.root = Path()
        try:
            self.root = cache_root()
            folder = self.root / sources_digest()
            is_new = not folder.exists()
            folder.mkdir(parents=True, exist_ok=True)
            tempfile.TemporaryFile(dir=folder).close()
        # pathlib raises RuntimeError if the home folder is unknown.
        except (OSError, RuntimeError, ValueError) as error:
            self.fail(error)
        else:
            numba.config.CACHE_DIR = str(folder)
            if is_new:
                _remove_stale(self.root, folder)

    def fail(self, error: Exception) -> None:
        """From now on nothing is saved."""
        self.fault = self.fault or getattr(error, "strerror", None) or "it cannot be used"

    def tell(self) -> None:
        """Say once that compiled code is not saved."""
        if self.fault and not self.told:
            self.told = True
            _log.warning(
                "The engine is compiled in memory each time: %s: %s; "
                "set LUBBERLINE_CACHE to a folder that can be written to.",
                self.root,
                self.fault,
            )


_store = _Store()


class _Sealed(IndexDataCacheFile):  # type: ignore[misc]
    """Compiled code preceded by its digest; a file that does not match its digest is ignored."""

    def _dump(self, obj: Any) -> bytes:
        data: bytes = dumps(obj)
        return hashlib.sha256(data).digest() + data

    def _opened(self, data: bytes) -> Any:
        digest, rest = data[:DIGEST_BYTES], data[DIGEST_BYTES:]
        return pickle.loads(rest) if hashlib.sha256(rest).digest() == digest else None

    def _load_index(self) -> dict[Any, str]:
        try:
            found = self._opened(Path(self._index_path).read_bytes())
        except OSError:
            return {}
        if not found or found[:2] != (self._version, self._source_stamp):
            return {}
        overloads: dict[Any, str] = found[2]
        return overloads

    def _save_index(self, overloads: dict[Any, str]) -> None:
        with self._open_for_write(self._index_path) as file:
            file.write(self._dump((self._version, self._source_stamp, overloads)))

    def _load_data(self, name: str) -> Any:
        return self._opened(Path(self._data_path(name)).read_bytes())


class _Kept(FunctionCache):  # type: ignore[misc]
    """A kernel's compiled code on disk; a file that cannot be read or written only costs time."""

    def __init__(self, function: Callable[..., Any], *, within: bool) -> None:
        super().__init__(function)
        self._within = within
        self._cache_file = _Sealed(
            cache_path=self._cache_path,
            filename_base=self._impl.filename_base,
            source_stamp=self._impl.locator.get_source_stamp(),
        )

    def _index_key(self, sig: Any, codegen: Any) -> Any:
        return (*super()._index_key(sig, codegen), self._within)

    def save_overload(self, sig: Any, data: Any) -> None:
        if _store.fault:
            return
        try:
            super().save_overload(sig, data)
        except OSError as error:
            _store.fail(error)
            _store.tell()


class _Compiling(event.Listener):  # type: ignore[misc]
    """Measures the total time of compiling kernels; compilations may be nested."""

    def __init__(self) -> None:
        self.under_way = 0
        self.before_s = self.began_s = 0.0

    def on_start(self, _: Any) -> None:
        _store.tell()
        if not self.under_way:
            self.began_s = time.monotonic()
        self.under_way += 1

    def on_end(self, _: Any) -> None:
        self.under_way -= 1
        if not self.under_way:
            self.before_s += time.monotonic() - self.began_s


_compiling = _Compiling()
event.register("numba:compile", _compiling)


def compiling_s() -> float | None:
    """Seconds for which this process has compiled so far; None while nothing is compiled."""
    return _compiling.before_s + time.monotonic() - _compiling.began_s if _compiling.under_way else None


def _compiled(function: Callable[..., Any], **options: Any) -> Any:
    made: Any = numba.njit(nogil=True, error_model="numpy", no_cfunc_wrapper=True, **options)(function)
    if not _store.fault:
        try:
            made._cache = _Kept(function, within="no_cpython_wrapper" in options)
        # There is no place to write to.
        except (OSError, RuntimeError) as error:
            _store.fail(error)
    return made


def compiled(function: Callable[..., Any]) -> Any:
    """A function as Python calls it."""
    return _compiled(function)


def compiled_within(function: Callable[..., Any], **options: Any) -> Any:
    """A function as kernels call it: without what Python needs for that, a fifth of the compiler's work.

    Called from Python it would crash the process.
    """
    made = _compiled(function, no_cpython_wrapper=True, **options)
    plain = made.get_call_template

    # A literal has a special type, for which the function and all that it calls would be compiled again.
    def template(args: Any, named: Any) -> Any:
        return plain([unliteral(a) for a in args], {k: unliteral(v) for k, v in named.items()})

    made.get_call_template = template
    return made
