"""Files that belong together: all of them or none, whatever happens meanwhile."""

import errno
import os
import signal
from pathlib import Path

import pytest

from lubberline.errors import InputError
from lubberline.publish.folder import write_together
from lubberline.unfinished import check_writable, part_of, remove_parts, write_whole

NEW = {"a.csv": lambda: b"new a", "b.csv": lambda: b"new b"}


def full() -> bytes:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def found(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_disk_that_fills_up_leaves_nothing_not_even_folders(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="deep/out: the disk is full; free some space"):
        write_together({"a.csv": lambda: b"a", "b.csv": full}, tmp_path / "deep" / "out")
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_up_leaves_what_was_there(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"old a")
    with pytest.raises(InputError, match="disk is full"):
        write_together({"a.csv": lambda: b"a", "b.csv": full}, tmp_path)
    assert found(tmp_path) == {"a.csv": b"old a"}


@pytest.mark.parametrize("fails_at", range(1, 5))
def test_a_move_that_fails_puts_the_old_files_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails_at: int
) -> None:
    """Moves: old stale, old a, new a, new b. On Windows a file that another program holds cannot be moved."""
    old = {"a.csv": b"old a", "stale.csv": b"stale", "mine.txt": b"mine"}
    for name, data in old.items():
        (tmp_path / name).write_bytes(data)
    replace, moves = Path.replace, iter(range(1, 99))

    def failing(self: Path, target: Path) -> Path:
        if next(moves) == fails_at:
            raise PermissionError(errno.EACCES, "held", str(self))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(InputError, match="close it in other programs"):
        write_together(NEW, tmp_path, [tmp_path / "stale.csv"])
    assert found(tmp_path) == old


def test_new_files_take_the_place_of_old_and_stale_ones(tmp_path: Path) -> None:
    for name in ("a.csv", "stale.csv", "mine.txt"):
        (tmp_path / name).write_bytes(b"old")
    told = []
    write_together(NEW, tmp_path, [tmp_path / "stale.csv"], lambda done, of: told.append((done, of)))
    assert found(tmp_path) == {"a.csv": b"new a", "b.csv": b"new b", "mine.txt": b"old"}
    assert told == [(1, 2), (2, 2)]


def test_a_folder_with_the_name_of_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "b.csv").mkdir()
    with pytest.raises(InputError, match=r"b\.csv: is a folder"):
        write_together(NEW, tmp_path)
    assert found(tmp_path) == {}


def test_an_interruption_waits_until_all_files_are_in_their_places(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace, pressed = Path.replace, []

    def interrupted(self: Path, target: Path) -> Path:
        if not pressed:
            pressed.append(True)
            signal.raise_signal(signal.SIGINT)
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_together(NEW, tmp_path / "out")
    assert found(tmp_path / "out") == {"a.csv": b"new a", "b.csv": b"new b"}


def test_an_interruption_before_that_leaves_nothing(tmp_path: Path) -> None:
    def interrupted() -> bytes:
        signal.raise_signal(signal.SIGINT)
        return b""

    with pytest.raises(KeyboardInterrupt):
        write_together({"a.csv": interrupted}, tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_a_process_that_must_end_removes_what_is_not_whole(tmp_path: Path) -> None:
    with part_of(tmp_path / "x") as file, part_of(tmp_path / "y") as folder:
        file.write_bytes(b"half")
        folder.mkdir()
        (folder / "z").write_bytes(b"half")
        remove_parts(1.0)
        assert list(tmp_path.iterdir()) == []


def test_a_file_is_written_whole_or_stays_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.json"
    write_whole(path, b"old")
    monkeypatch.setattr(Path, "write_bytes", lambda *_: full())
    with pytest.raises(OSError, match="space"):
        write_whole(path, b"new")
    assert found(tmp_path) == {"x.json": b"old"}


def test_where_nothing_can_be_written_is_known_before_the_work(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"mine")
    for folder, words in (
        (tmp_path / "file", "is a file"),
        (tmp_path / "file" / "deep", "is under a file"),
        (tmp_path / ("x" * 300), "too long"),
    ):
        with pytest.raises(InputError, match=words):
            check_writable(folder)
    check_writable(tmp_path / "new" / "deep")
    check_writable(tmp_path)
    assert found(tmp_path) == {"file": b"mine"}


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="Windows has other rights")
def test_a_folder_that_may_not_be_written_to_is_refused(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    own = os.geteuid()
    if own == 0:
        # Root may write everywhere.
        os.seteuid(65534)
    try:
        with pytest.raises(InputError, match="cannot be written to"):
            check_writable(closed / "out")
    finally:
        os.seteuid(own)
