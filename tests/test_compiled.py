"""Compiled kernels are kept where they can be, and nothing goes wrong where they cannot."""

import errno
import logging
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import numba
import pytest

from lubberline import compiled


def doubled(x):
    return 2.0 * x + 0.0


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], compiled._Store]:
    """Makes the place of compiled kernels anew, from what `LUBBERLINE_CACHE` says."""
    before = numba.config.CACHE_DIR

    def make(root: str) -> compiled._Store:
        monkeypatch.setenv("LUBBERLINE_CACHE", root)
        made = compiled._Store()
        monkeypatch.setattr(compiled, "_store", made)
        return made

    yield make
    numba.config.CACHE_DIR = before


def kept(root: Path) -> list[Path]:
    return sorted(path for path in root.rglob("*doubled*") if path.suffix in (".nbi", ".nbc"))


def compile_anew() -> numba.core.dispatcher.Dispatcher:
    made = compiled.kernel(doubled)
    assert made(21.0) == 42.0
    return made


def hits(made: numba.core.dispatcher.Dispatcher) -> int:
    return sum(made.stats.cache_hits.values())


def test_a_kernel_is_kept_and_found_again(store, tmp_path: Path) -> None:
    assert store(str(tmp_path)).fault == ""
    assert hits(compile_anew()) == 0
    assert [path.suffix for path in kept(tmp_path)] == [".nbc", ".nbi"]
    assert hits(compile_anew()) == 1


def flipped(data: bytes) -> bytes:
    """A bit of machine code changed: nothing but a digest would notice."""
    middle = len(data) // 2
    return data[:middle] + bytes([data[middle] ^ 1]) + data[middle + 1 :]


@pytest.mark.parametrize(
    "damage", [flipped, lambda data: data[: len(data) // 2]], ids=["a bit is another", "it is cut short"]
)
@pytest.mark.parametrize("suffix", [".nbi", ".nbc"])
def test_a_damaged_file_is_compiled_again(store, tmp_path: Path, suffix: str, damage) -> None:
    store(str(tmp_path))
    compile_anew()
    (path,) = (one for one in kept(tmp_path) if one.suffix == suffix)
    path.write_bytes(damage(path.read_bytes()))
    assert hits(compile_anew()) == 0


def test_a_folder_in_the_place_of_a_file_is_no_traceback(store, tmp_path: Path) -> None:
    store(str(tmp_path))
    compile_anew()
    index = next(one for one in kept(tmp_path) if one.suffix == ".nbi")
    index.unlink()
    index.mkdir()
    assert hits(compile_anew()) == 0


@pytest.mark.parametrize("under", ["file", "file/deep"])
def test_without_a_folder_it_is_compiled_in_memory_and_said_once(
    store, tmp_path: Path, caplog: pytest.LogCaptureFixture, under: str
) -> None:
    (tmp_path / "file").write_text("mine")
    with caplog.at_level(logging.WARNING):
        made = store(str(tmp_path / under))
        assert made.fault
        assert caplog.messages == []
        compile_anew()
        compile_anew()
    assert len(caplog.messages) == 1
    assert "compiled in memory" in caplog.text
    assert str(tmp_path / under) in caplog.text
    assert (tmp_path / "file").read_text() == "mine"


def test_a_disk_that_fills_up_is_said_once(
    store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    store(str(tmp_path))

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(compiled._Sealed, "save", full)
    compile_anew()
    compile_anew()
    assert [message for message in caplog.messages if "No space left" in message] == caplog.messages
    assert len(caplog.messages) == 1
    assert kept(tmp_path) == []


def test_a_home_that_is_not_known_is_no_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object) -> str:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("LUBBERLINE_CACHE", raising=False)
    monkeypatch.setattr(compiled.platformdirs, "user_cache_dir", unknown)
    assert compiled._Store().fault


def test_when_something_is_compiled_it_is_known(store, tmp_path: Path) -> None:
    store(str(tmp_path))
    seen = []
    tell = compiled._store.tell
    compiled._store.tell = lambda: (seen.append(compiled.compiling_since_s()), tell())
    compile_anew()
    assert compiled.compiling_since_s() is None
    assert len(seen) == 1
    compile_anew()
    assert len(seen) == 1


@pytest.fixture(scope="module")
def sources(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the package's sources."""
    copy = tmp_path_factory.mktemp("sources") / "lubberline"
    others = shutil.ignore_patterns("*.[!p]*", "static", "templates", "__pycache__")
    return Path(shutil.copytree(compiled.PACKAGE, copy, ignore=others))


def test_the_copy_is_digested_as_the_package(sources: Path) -> None:
    assert compiled.sources_digest(sources) == compiled.sources_digest()


@pytest.mark.parametrize(
    ("module", "moves"),
    [
        ("simulation/misconceptions/drift.py", False),
        ("simulation/misconceptions/terms.py", False),
        ("simulation/flying.py", False),
        ("web/app.py", False),
        ("upkeep/filtering.py", True),
        ("upkeep/explained.py", True),
        ("earth/magnetic.py", True),
        ("instruments/compass/card.py", True),
        # No kernel stands there, but constants that kernels are compiled with.
        ("units.py", True),
        ("instruments/faults.py", True),
    ],
)
def test_only_what_can_be_compiled_in_moves_the_digest(sources: Path, module: str, moves: bool) -> None:
    before, path = compiled.sources_digest(sources), sources / module
    text = path.read_text()
    path.write_text(text + "\n# Another sentence.\n")
    assert (compiled.sources_digest(sources) != before) == moves
    path.write_text(text)
