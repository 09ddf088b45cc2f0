"""Backup and restore: the same file in either database, all or nothing."""

import gzip
import hashlib
import json
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection, Executable, Result, Table, select, text

from lubberline import unfinished
from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.store import backup, export
from lubberline.store.backup import counts_of, line_of_file
from lubberline.store.database import tables
from lubberline.store.database.engines import engine_for
from lubberline.store.school import School, open_school
from lubberline.store.settings import OF_THIS_PLACE
from lubberline.web import passphrase
from tests.store.made import taught
from tests.store.test_migrations import fill_first


def everything(school: School) -> dict[str, list]:
    with school.transactions.engine.connect() as connection:
        return {
            table.name: sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for table in tables.IN_ORDER
        }


def filled(school: School) -> School:
    class_ = taught(school)
    for k, student in enumerate(class_.students):
        school.answers.record(Answer(class_.lesson.id, student.id, "step-2", k, sent=f"s{k}"))
        school.answers.record(Answer(class_.paper.id, student.id, "A2", value=k + 0.1, sent=f"t{k}"))
    school.log.add("ZZ-OAK", {"indicated": "270"}, {"indicated_deg": 270.0})
    school.settings.put("school_name", "Field school")
    return school


def test_a_backup_restores_into_either_database(school: School, tmp_path: Path) -> None:
    before = everything(filled(school))
    path = tmp_path / "school.backup"
    school.backup(path)
    other = open_school("memory")
    other.people.add_group("will be gone")
    other.restore(path)
    assert everything(other) == before
    school.people.add_group("will be gone, too")
    school.restore(path)
    assert everything(school) == before
    # Rows go on being numbered where they were.
    sitting = school.sittings.listing()[-1]
    student = school.people.students(sitting.group)[0]
    school.answers.put_all([Answer(sitting.id, student.id, sitting.asked[0].key, 1)])
    other.close()


def value_of(name: str, letter: str) -> str:
    return f"scrypt${letter * 24}${letter * 88}" if name == passphrase.PASSPHRASE else letter * 43


def _a_passphrase(rows: list[dict]) -> None:
    rows.append({"table": "settings", "row": {"name": "passphrase", "value": value_of("passphrase", "C")}})


def test_who_gets_in_is_not_in_a_backup_and_stays_through_one(school: School, tmp_path: Path) -> None:
    assert set(OF_THIS_PLACE) == {passphrase.PASSPHRASE, passphrase.KEY}
    path = tmp_path / "school.backup"
    filled(school)
    old, own = ({name: value_of(name, letter) for name in OF_THIS_PLACE} for letter in "AB")
    for name, value in old.items():
        school.settings.put(name, value)
    school.backup(path)
    written = gzip.decompress(path.read_bytes()).decode()
    assert not [value for value in old.values() if value in written]
    path.write_bytes(rewritten(path.read_bytes(), _a_passphrase))
    school.settings.put("school_name", "Hangar school")
    for name, value in own.items():
        school.settings.put(name, value)
    school.restore(path)
    assert school.settings.get("school_name") == "Field school"
    assert {name: school.settings.get(name) for name in OF_THIS_PLACE} == own


def test_a_backup_is_not_written_over(school: School, tmp_path: Path) -> None:
    path = tmp_path / "school.backup"
    path.write_text("mine")
    with pytest.raises(InputError, match="exists already"):
        school.backup(path)
    assert path.read_text() == "mine"
    with pytest.raises(InputError, match="folder you can write to"):
        school.backup(tmp_path / "none" / "school.backup")
    assert [one.name for one in tmp_path.iterdir() if one.name.endswith(".part")] == []


def damaged(data: bytes, how: str) -> bytes:
    lines = gzip.decompress(data).splitlines(keepends=True)
    if how == "cut short":
        return data[: len(data) // 2]
    if how == "a row changed":
        lines[2] = lines[2].replace(b"Student", b"Stadent", 1).replace(b"Spring", b"Sprang", 1)
    if how == "a row left out":
        del lines[2]
    if how == "nested deeply":
        # As a part that no row has, which is read over.
        lines.insert(2, b'{"x":' + b"[" * 100_000 + b"]" * 100_000 + b',"table":"classes","row":{}}\n')
    if how == "of another program":
        lines[0] = lines[0].replace(b"lubberline", b"somebody's")
    if how == "not compressed":
        return b"".join(lines)
    if how == "no lines":
        lines = []
    return gzip.compress(b"".join(lines))


DAMAGES = (
    *("cut short", "a row changed", "a row left out", "of another program", "not compressed", "no lines"),
    "nested deeply",
)


def test_a_damaged_backup_is_refused_and_nothing_changes(school: School, tmp_path: Path) -> None:
    path = tmp_path / "school.backup"
    filled(school).backup(path)
    whole = path.read_bytes()
    school.people.add_group("after it")
    before = everything(school)
    for how in DAMAGES:
        path.write_bytes(damaged(whole, how))
        with pytest.raises(InputError, match="backup"):
            school.restore(path)
        assert everything(school) == before, how


def rewritten(data: bytes, change: Callable[[list[dict]], None]) -> bytes:
    """A backup whose rows were changed by somebody who knows how to write its digest."""
    rows = [json.loads(line) for line in gzip.decompress(data).splitlines()[:-1]]
    change(rows)
    lines = b"".join(json.dumps(row).encode() + b"\n" for row in rows)
    digest = json.dumps({"digest": hashlib.sha256(lines).hexdigest()}).encode() + b"\n"
    return gzip.compress(lines + digest)


def first_of(rows: list[dict], table: str) -> dict:
    return next(row["row"] for row in rows if row.get("table") == table)


def _unknown_table(rows: list[dict]) -> None:
    rows.append({"table": "alembic_version", "row": {"version_num": "9999"}})


def _unknown_column(rows: list[dict]) -> None:
    first_of(rows, "students")["title"] = "x"


def _number_for_text(rows: list[dict]) -> None:
    first_of(rows, "students")["name"] = 5


def _text_for_number(rows: list[dict]) -> None:
    first_of(rows, "answers")["chosen"] = "2"


def _number_beyond_all(rows: list[dict]) -> None:
    first_of(rows, "answers")["seconds"] = 10**400


def _answer_of_nobody(rows: list[dict]) -> None:
    first_of(rows, "answers")["student"] = "nobody"


def _answer_twice(rows: list[dict]) -> None:
    rows.append({"table": "answers", "row": first_of(rows, "answers")})


def _questions_that_are_none(rows: list[dict]) -> None:
    first_of(rows, "sittings")["asked"] = '[{"key": 1}]'


def _questions_nested_deeply(rows: list[dict]) -> None:
    first_of(rows, "sittings")["asked"] = "[" * 100_000


def _log_that_is_none(rows: list[dict]) -> None:
    first_of(rows, "log_entries")["typed"] = "[]"


def _not_a_row(rows: list[dict]) -> None:
    rows.insert(3, {"row": 5})


def _a_newer_one(rows: list[dict]) -> None:
    rows[0]["step"] = "9999"


CRAFTED = (
    *(_unknown_table, _unknown_column, _number_for_text, _text_for_number, _number_beyond_all),
    *(
        _answer_of_nobody,
        _answer_twice,
        _questions_that_are_none,
        _questions_nested_deeply,
        _log_that_is_none,
        _not_a_row,
        _a_newer_one,
    ),
)


def test_rows_that_do_not_fit_are_refused_before_anything_changes(school: School, tmp_path: Path) -> None:
    path = tmp_path / "school.backup"
    filled(school).backup(path)
    whole = path.read_bytes()
    before = everything(school)
    for change in CRAFTED:
        path.write_bytes(rewritten(whole, change))
        with pytest.raises(InputError, match=re.escape(str(path))):
            school.restore(path)
        assert everything(school) == before, change
    # Only the changes were refused: the same way of writing without one is taken.
    path.write_bytes(rewritten(whole, lambda rows: None))
    school.restore(path)
    assert everything(school) == before


def test_a_backup_of_an_older_program_is_carried_forward(school: School, tmp_path: Path) -> None:
    address = f"sqlite:///{tmp_path / 'old.sqlite3'}"
    fill_first(address)
    path = tmp_path / "old.backup"
    engine = engine_for(address)
    rows: list[dict] = [{"kind": "lubberline records", "step": "0001"}]
    with engine.connect() as connection:
        for name in ("groups", "students", "sittings", "places", "answers", "sendings"):
            for row in connection.execute(text(f"select * from {name}")).mappings():
                plain = dict(row)
                if "on_paper" in plain:
                    plain["on_paper"] = bool(plain["on_paper"])
                rows.append({"table": name, "row": plain})
    engine.dispose()

    def as_it_was(made: list[dict]) -> None:
        made[:] = rows

    path.write_bytes(rewritten(gzip.compress(b"{}\n{}\n"), as_it_was))
    school.people.add_group("will be gone")
    school.restore(path)
    assert [one.name for one in school.people.students("g")] == ["Ada", "Bo"]
    assert [one.seconds for one in school.answers.trail("p1")] == [0.0, 17.5]


def test_a_restoring_that_fails_half_way_changes_nothing(
    school: School, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "school.backup"
    filled(school).backup(path)
    school.people.add_group("after it")
    before = everything(school)

    class Half:
        """Gives the first tables and breaks then."""

        def __init__(self, source: Connection) -> None:
            self.source, self.left = source, 4

        def execute(self, statement: Executable) -> Result:
            self.left -= 1
            if not self.left:
                raise RuntimeError("half-way")
            return self.source.execute(statement)

    replace = backup.replace
    monkeypatch.setattr(backup, "replace", lambda into, source, folder: replace(into, Half(source), folder))
    with pytest.raises(RuntimeError, match="half-way"):
        school.restore(path)
    assert everything(school) == before


def test_a_backup_is_of_one_moment(opened: Callable[[], School], tmp_path: Path) -> None:
    """Somebody who is deleted while it is written is in all of its tables."""
    school, other = opened(), opened()
    filled(school)
    student = school.people.students(school.people.groups()[0].id)[0]
    read_rows = backup._rows
    met = []

    def slowly(connection: Connection, table: Table) -> Iterator[dict]:
        yield from read_rows(connection, table)
        if table is tables.students and not met:
            met.append(True)
            other.bin.delete_for_good("student", student.id)

    path = tmp_path / "school.backup"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(backup, "_rows", slowly)
        school.backup(path)
    assert student not in school.people.students(student.group)
    school.restore(path)
    assert student in school.people.students(student.group)
    assert len(school.answers.of_student(student.id)) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="owners are another matter there")
def test_a_backup_is_for_its_owner_only(school: School, tmp_path: Path) -> None:
    school.backup(tmp_path / "school.backup")
    assert (tmp_path / "school.backup").stat().st_mode & 0o077 == 0


texts = st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=40)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    title=texts,
    typed=st.dictionaries(texts, texts, max_size=4),
    value=st.floats(allow_nan=False, allow_infinity=False),
)
def test_any_text_and_number_comes_back(
    school: School, title: str, typed: dict[str, str], value: float
) -> None:
    class_ = taught(school, count=1)
    school.sittings.move(class_.lesson.id, step=3)
    if title.strip():
        assert school.people.add_group(title) in school.people.groups()
    entry = school.log.add("ZZ-OAK", typed, {"value": 0.25})
    assert school.log.entries("ZZ-OAK")[-1] == entry
    given_ = Answer(class_.lesson.id, class_.students[0].id, "step-4-1", value=value, sent="s")
    assert school.answers.record(given_).value == value
    assert school.answers.of_sitting(class_.lesson.id)[0].value == value


def test_two_openings_see_each_others_records(opened: Callable[[], School]) -> None:
    first, second = opened(), opened()
    group = first.people.add_group("Spring")
    assert second.people.groups() == (group,)


def test_without_a_backup_of_what_is_here_nothing_is_restored(tmp_path: Path, school: School) -> None:
    """And one that is made first is gone again when the restoring fails."""
    path = tmp_path / "other.backup"
    filled(school).backup(path)
    before = everything(school)

    def full(*_: object) -> None:
        raise InputError("x.backup", "No space left on device", "make room")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(backup, "write", full)
        with pytest.raises(InputError, match="the present records cannot be backed up"):
            school.restore(path)
    assert everything(school) == before
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(backup, "_replace", full)
        with pytest.raises(InputError):
            school.restore(path)
    assert school.copies.kept() == ()
    kept = school.restore(path)
    assert kept is not None
    assert school.copies.kept() == (kept,)
    assert sys.platform == "win32" or kept.stat().st_mode & 0o077 == 0
    other = open_school("memory")
    assert other.restore(kept) is None
    assert everything(other) == before
    other.close()


def test_a_process_that_has_to_end_leaves_no_half_of_a_backup_or_an_export(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where compiled work is under way it ends at once, and only what is noted as unfinished is removed."""
    school = filled(open_school("memory"))
    left: list[Path] = []

    def end(*_: object) -> None:
        assert list(tmp_path.rglob("*.part"))
        unfinished.remove_parts(0.0)
        left.extend(tmp_path.rglob("*.part"))
        raise KeyboardInterrupt

    monkeypatch.setattr(backup, "_lines_of", end)
    monkeypatch.setattr(export, "_write", end)
    for write in (school.backup, school.export_csv):
        with pytest.raises(KeyboardInterrupt):
            write(tmp_path / write.__name__)
    assert left == []
    assert list(tmp_path.iterdir()) == []


def own_folder(folder: Path, **texts: str) -> Path:
    """A school's folder with scenes and their unsaved changes, and a file that is not the school's."""
    for inner, words in (("scenes", "saved"), ("scenes/drafts", "unsaved"), *texts.items()):
        (folder / inner).mkdir(parents=True, exist_ok=True)
        (folder / inner / "ours.toml").write_text(words, encoding="utf-8")
    (folder / "checked.json").write_text("{}", encoding="utf-8")
    return folder


def texts_in(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(folder.rglob("*.*"))
        if path.is_file()
    }


def test_a_backup_has_the_schools_own_files_and_puts_them_back(school: School, tmp_path: Path) -> None:
    here, path = own_folder(tmp_path / "here", words="[parts]"), tmp_path / "whole.backup"
    filled(school).backup(path, here)
    assert counts_of(path)["own files"] == 3
    there = own_folder(tmp_path / "there", lessons="another")
    kept = school.restore(path, there)
    assert texts_in(there) == texts_in(here)
    # What was there before is in the copy, and comes back from it whole.
    assert kept is not None
    assert school.restore(kept, there) is not None
    assert texts_in(there) == texts_in(own_folder(tmp_path / "as before", lessons="another"))
    assert line_of_file("lessons/ours.toml").encode() in gzip.decompress(kept.read_bytes())
    assert kept in school.copies.holding(line_of_file("lessons/ours.toml"))


def test_a_restore_that_fails_leaves_the_own_files(
    school: School, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, there = tmp_path / "whole.backup", own_folder(tmp_path / "there", lessons="another")
    filled(school).backup(path, own_folder(tmp_path / "here", words="[parts]"))
    before = texts_in(there)

    def fails(connection: object) -> None:
        raise OSError(28, "no space")

    monkeypatch.setattr("lubberline.store.backup.belongings.settle_counters", fails)
    with pytest.raises(OSError, match="no space"):
        school.restore(path, there)
    assert texts_in(there) == before


def test_a_backup_without_own_files_leaves_those_that_are_there(school: School, tmp_path: Path) -> None:
    path, there = tmp_path / "records.backup", own_folder(tmp_path / "there")
    filled(school).backup(path)
    assert "own files" not in counts_of(path)
    before = texts_in(there)
    school.restore(path, there)
    assert texts_in(there) == before


@pytest.mark.parametrize(
    "name", ["../x.toml", "scenes/../../x.toml", "/etc/x.toml", "scenes/.x", "other/x.toml"]
)
def test_a_file_of_a_backup_cannot_leave_the_folder(school: School, tmp_path: Path, name: str) -> None:
    path = tmp_path / "made.backup"
    filled(school).backup(path, own_folder(tmp_path / "here"))
    lines = gzip.decompress(path.read_bytes()).splitlines(keepends=True)[:-1]
    lines.append(msgspec.json.encode({"file": name, "data": b"x"}) + b"\n")
    digest = hashlib.sha256(b"".join(lines)).hexdigest()
    path.write_bytes(gzip.compress(b"".join(lines) + msgspec.json.encode({"digest": digest}) + b"\n"))
    with pytest.raises(InputError, match="not a backup of records like these"):
        school.restore(path, tmp_path / "there")
    assert not (tmp_path / "there").exists()
