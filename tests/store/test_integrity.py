"""Opening a damaged file says that it is damaged and what to do; nothing is made of it."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from lubberline.errors import InputError
from lubberline.store import integrity
from lubberline.store.school import open_school
from tests.mutated.records import database_bytes

PAGE = 4096


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "school.sqlite3"
    path.touch(mode=0o600)
    path.write_bytes(database_bytes())
    return path


def _folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _of_another_kind(path: Path) -> None:
    path.write_bytes(b"no database at all" * 100)


def _truncated(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: 7 * PAGE + 100])


def _page_zeroed(path: Path) -> None:
    data = bytearray(path.read_bytes())
    root = _root_of(path, "answers")
    data[(root - 1) * PAGE : root * PAGE] = bytes(PAGE)
    path.write_bytes(data)


def _root_of(path: Path, name: str) -> int:
    with closing(sqlite3.connect(path)) as file:
        return int(file.execute("select rootpage from sqlite_master where name = ?", (name,)).fetchone()[0])


def _index_broken(path: Path) -> None:
    data = bytearray(path.read_bytes())
    root, other = _root_of(path, "students_of_group"), _root_of(path, "answers_of_student")
    data[(root - 1) * PAGE : root * PAGE] = data[(other - 1) * PAGE : other * PAGE]
    path.write_bytes(data)


def _schema_of_no_text(path: Path) -> None:
    # SQLite's own error then holds the byte, and the driver cannot read it.
    data = path.read_bytes()
    path.write_bytes(
        data.replace(b"answers_of_student", b"answers_of_\x85tudent", 1).replace(b"CREATE", b"CREA\x85E")
    )


def _sql(*statements: str) -> Callable[[Path], None]:
    def change(path: Path) -> None:
        with closing(sqlite3.connect(path, isolation_level=None)) as file:
            for statement in statements:
                file.execute(statement)

    return change


DAMAGES = {
    "a folder": _folder,
    "empty": _empty,
    "of another kind": _of_another_kind,
    "truncated": _truncated,
    "a page zeroed": _page_zeroed,
    "an index broken": _index_broken,
    "a schema that is no text": _schema_of_no_text,
    "a table missing": _sql("drop table log_changes"),
    "a column missing": _sql("alter table answers drop column seconds"),
    "a reference to nothing": _sql("update answers set student = 'nobody' where rowid = 1"),
    "a time that is none": _sql("update answers set answered_utc = 'yesterday'"),
    "questions that are none": _sql("update sittings set asked = '[{\"key\": 1}]'"),
    "bytes that are no text": _sql("update students set name = cast(x'ff41' as text)"),
    "a number for a text": _sql("update places set extra_min = 'much'"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_file_is_refused_with_what_to_do(
    path: Path, damage: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(integrity, "BEING_MADE_S", 0.05)
    DAMAGES[damage](path)
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(InputError, match=r"school\.sqlite3") as caught:
        open_school(f"sqlite:///{path}")
    told = str(caught.value)
    assert "restore" in told or damage == "a folder"
    assert "Ada" not in told
    assert (path.read_bytes() if path.is_file() else b"") == before


def test_a_whole_file_opens(path: Path) -> None:
    school = open_school(f"sqlite:///{path}")
    assert len(school.people.groups()) == 1
    school.close()


def test_a_copy_beside_it_is_named(path: Path) -> None:
    path.with_name("school.before-step-0009.sqlite3").write_bytes(path.read_bytes())
    _page_zeroed(path)
    with pytest.raises(InputError, match=r"school\.before-step-0009\.sqlite3"):
        open_school(f"sqlite:///{path}")


def test_rows_of_a_large_file_are_read_if_not_looked_at(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(integrity, "MOST_BYTES_READ", 100)
    _sql("update answers set answered_utc = 'yesterday'")(path)
    open_school(f"sqlite:///{path}").close()
    DAMAGES["bytes that are no text"](path)
    with pytest.raises(InputError, match="damaged"):
        open_school(f"sqlite:///{path}")
