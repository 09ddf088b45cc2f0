"""Answers from paper as CSV: `student,question,answer`, good rows kept and bad ones listed."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from lubberline.classroom.marking import concerns, read_answer
from lubberline.classroom.records import Answer, Sitting, Student
from lubberline.csvfile import SEPARATORS, csv_rows
from lubberline.errors import InputError, nearest_of

COLUMNS = ("student", "question", "answer")
MOST_ROWS = 100_000


class Read(NamedTuple):
    """What a file holds.

    Attributes:
        answers: of the good rows.
        forms: by student's id, the form of the paper they had.
        refused: of the bad rows: where, what is wrong, what would be right.
    """

    answers: tuple[Answer, ...]
    forms: dict[str, str]
    refused: tuple[InputError, ...]


def _rows(source: str, text: str) -> Iterable[tuple[int, dict[str, str]]]:
    rows = csv_rows(source, text, SEPARATORS)
    head = [name.strip().lower() for name in rows[0][1]] if rows else []
    missing = [name for name in COLUMNS if name not in head]
    if missing:
        wrong = f"there is no column '{missing[0]}'"
        raise InputError(f"{source} line 1", wrong, f"begin with the line {','.join(COLUMNS)}")
    if len(rows) > MOST_ROWS:
        raise InputError(source, f"more than {MOST_ROWS} rows", "give the answers of one sitting")
    for line, row in rows[1:]:
        yield line, dict(zip(head, (cell.strip() for cell in row), strict=False))


def _named(word: str, students: Sequence[Student], where: str) -> Student:
    found = [one for one in students if word in (one.id, one.number)] if word else []
    found = found or [one for one in students if one.name.casefold() == word.casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError(
            where, f"{len(found)} students are called '{word[:40]}'", "give the student's number"
        )
    right = nearest_of(word, [one.name for one in students]) if students else "add the student first"
    raise InputError(where, f"'{word[:40]}' is not in this class", right)


def students_in(source: str, text: str) -> tuple[Student, ...]:
    """The students that a file names, in its order, for a class that is not in the records.

    Raises:
        InputError: without the three columns.
    """
    names = dict.fromkeys(row.get("student", "") for _, row in _rows(source, text))
    known = {name.casefold(): name for name in reversed(names) if name}
    return tuple(Student(name, "", name) for name in names if known.get(name.casefold()) == name)


def read_answers(source: str, text: str, sitting: Sitting, students: Sequence[Student]) -> Read:
    """The answers of a file; a student's form is that of the first question answered.

    Args:
        source: the file's name, for messages.
        text: its content; comma, semicolon or tab between cells.
        sitting: which they belong to. Questions by their keys ('A7'), or by number alone with one form.
        students: of the class; by name, number or id.

    Raises:
        InputError: without the three columns. Bad rows are in `refused`.
    """
    by_key: Mapping[str, int] = {asked.key.upper(): k for k, asked in enumerate(sitting.asked)}
    forms: dict[str, str] = {}
    seen: dict[tuple[str, str], int] = {}
    answers: list[Answer] = []
    refused: list[InputError] = []
    for line, row in _rows(source, text):
        where = f"{source} line {line}"
        try:
            student = _named(row.get("student", ""), students, where)
            key = row.get("question", "").upper()
            place = by_key.get(
                key, by_key.get(f"A{key}") if len({asked.form for asked in sitting.asked}) < 2 else None
            )
            if place is None:
                right = nearest_of(key, [asked.key for asked in sitting.asked])
                raise InputError(where, f"there is no question '{key[:20]}'", right)
            asked = sitting.asked[place]
            form = forms.setdefault(student.id, asked.form)
            if not concerns(asked, form):
                wrong = f"{student.name} has answers of form {form}, and here one of form {asked.form}"
                raise InputError(where, wrong, "give one form for each student")
            if (student.id, asked.key) in seen:
                wrong = f"{student.name} answered {asked.key} in line {seen[student.id, asked.key]} already"
                raise InputError(where, wrong, "give one row for each question")
            chosen, value = read_answer(row.get("answer", ""), asked.item, where)
            seen[student.id, asked.key] = line
            answers.append(Answer(sitting.id, student.id, asked.key, chosen, value))
        except InputError as error:
            refused.append(error)
    return Read(tuple(answers), forms, tuple(refused))
