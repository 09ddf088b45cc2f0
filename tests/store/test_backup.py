"""Backup, restore and export: the same file in either database, all or nothing."""

from __future__ import annotations

import csv
import gzip
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from lubberline.classroom.records import Answer
from lubberline.errors import InputError
from lubberline.store import tables
from lubberline.store.school import School, open_school
from tests.store.made import taught


def everything(school: School) -> dict[str, list]:
    with school._engine.connect() as connection:
        return {
            table.name: sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for table in tables.IN_ORDER
        }


def filled(school: School) -> School:
    class_ = taught(school)
    for k, student in enumerate(class_.students):
        school.record(Answer(class_.lesson.id, student.id, "step-2", k, sent=f"s{k}"))
        school.record(Answer(class_.paper.id, student.id, "A2", value=k + 0.1, sent=f"t{k}"))
    school.add_log_entry("ZZ-OAK", {"indicated": "270"}, {"indicated_deg": 270.0})
    school.set_setting("name", "Field school")
    return school


def test_a_backup_restores_into_either_database(school: School, tmp_path: Path) -> None:
    before = everything(filled(school))
    path = tmp_path / "school.backup"
    school.backup(path)
    other = open_school("memory")
    other.add_group("will be gone")
    other.restore(path)
    assert everything(other) == before
    school.add_group("will be gone, too")
    school.restore(path)
    assert everything(school) == before
    # Rows go on being numbered where they were.
    sitting = school.sittings()[-1]
    student = school.students(sitting.group)[0]
    school.record_many([Answer(sitting.id, student.id, sitting.asked[0].key, 1)])
    other.close()


def test_a_backup_is_not_written_over(school: School, tmp_path: Path) -> None:
    path = tmp_path / "school.backup"
    path.write_text("mine")
    with pytest.raises(InputError, match="is there already"):
        school.backup(path)
    assert path.read_text() == "mine"
    with pytest.raises(InputError, match="folder that you may write to"):
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
    if how == "of another program":
        lines[0] = lines[0].replace(b"lubberline", b"somebody's")
    if how == "not compressed":
        return b"".join(lines)
    if how == "no lines":
        lines = []
    return gzip.compress(b"".join(lines))


@pytest.mark.parametrize(
    "how",
    ["cut short", "a row changed", "a row left out", "of another program", "not compressed", "no lines"],
)
def test_a_damaged_backup_is_refused_and_nothing_changes(school: School, tmp_path: Path, how: str) -> None:
    path = tmp_path / "school.backup"
    filled(school).backup(path)
    school.add_group("after it")
    before = everything(school)
    path.write_bytes(damaged(path.read_bytes(), how))
    with pytest.raises(InputError, match="backup"):
        school.restore(path)
    assert everything(school) == before


def test_the_export_has_every_row_and_no_formula_or_secret(school: School, tmp_path: Path) -> None:
    class_ = taught(filled(school))
    school.add_student(class_.paper.group, '=HYPERLINK("x")', "@1")
    school.enter(class_.lesson.id, "-Bo", "", "the digest")
    written = school.export_csv(tmp_path / "out")
    tables_read = {
        path.stem: list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")))
        for path in written
    }
    asked = sum(len(sitting.asked) for sitting in school.sittings())
    assert len(tables_read.pop("questions")) == asked
    found = everything(school)
    assert {name: len(rows) for name, rows in tables_read.items()} == {
        name: len(rows) for name, rows in found.items() if name != "settings"
    }
    cells = [cell for rows in tables_read.values() for row in rows for cell in row.values()]
    assert not [cell for cell in cells if cell.startswith(("=", "@"))]
    assert "'-Bo" in cells
    assert "the digest" not in cells
    names = {row["name"] for row in tables_read["students"]}
    assert '\'=HYPERLINK("x")' in names


texts = st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=40)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    title=texts,
    typed=st.dictionaries(texts, texts, max_size=4),
    value=st.floats(allow_nan=False, allow_infinity=False),
)
def test_any_text_and_number_comes_back(
    school: School, title: str, typed: dict[str, str], value: float
) -> None:
    class_ = taught(school, count=1)
    school.move_sitting(class_.lesson.id, step=3)
    if title.strip():
        assert school.add_group(title) in school.groups()
    entry = school.add_log_entry("ZZ-OAK", typed, {"value": 0.25})
    assert school.log_entries("ZZ-OAK")[-1] == entry
    given_ = Answer(class_.lesson.id, class_.students[0].id, "step-4-1", value=value, sent="s")
    assert school.record(given_).value == value
    assert school.answers(class_.lesson.id)[0].value == value


def test_two_openings_see_each_others_records(opened: Callable[[], School]) -> None:
    first, second = opened(), opened()
    group = first.add_group("Spring")
    assert second.groups() == (group,)
