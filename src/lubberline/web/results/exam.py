"""The exam that readiness is meant for: as the instructor set it, kept among the school's settings."""

from collections.abc import Mapping

import msgspec

from lubberline.classroom.exam import Exam, ExamSection, check_exam, usual_exam
from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.settings import EXAM
from lubberline.web.forms import number_in

SETTING = EXAM
MOST_ROWS = 8
UNREADABLE = "Your exam cannot be read. The default exam is used; set yours again on Readiness."


def exam_of(school: School) -> Exam:
    """The exam that was set; the usual one where none was, or where it cannot be read."""
    return _kept(school.settings.get(SETTING)) or usual_exam()


def note_of(school: School) -> str:
    """What to tell somebody who is shown the usual exam although another was set; '' otherwise."""
    text = school.settings.get(SETTING)
    return UNREADABLE if text and _kept(text) is None else ""


def _kept(text: str) -> Exam | None:
    try:
        found = msgspec.json.decode(text.encode(), type=Exam)
        check_exam(found)
    except (msgspec.MsgspecError, RecursionError, InputError):
        return None
    return found


def _percent(text: str, where: str) -> float:
    found = number_in(text.strip().removesuffix("%") or "0") / 100.0
    if not 0.0 <= found <= 1.0:
        raise InputError(where, f"'{text.strip()[:20]}'", "enter percent, from 0 to 100")
    return found


def _whole(text: str, where: str) -> int:
    if not (text.strip().isascii() and text.strip().isdigit() and len(text.strip()) < 4):
        raise InputError(where, f"'{text.strip()[:20]}'", "enter a whole number of questions")
    return int(text)


def exam_from(fields: Mapping[str, str]) -> Exam:
    """The exam of a form: rows with a title, topics, a number of questions and a mark; empty ones left out.

    Raises:
        InputError: what is wrong, with its row.
    """
    sections = []
    for row in range(1, MOST_ROWS + 1):
        title = " ".join(fields.get(f"title{row}", "").split())[:60]
        topics = tuple(part for part in fields.get(f"topics{row}", "").replace(",", " ").split() if part)
        if not title and not topics:
            continue
        where = f"section {row}"
        questions = _whole(fields.get(f"questions{row}", ""), f"{where}, questions")
        mark = _percent(fields.get(f"mark{row}", ""), f"{where}, mark")
        sections.append(ExamSection(title, topics, questions, mark))
    title = " ".join(fields.get("title", "").split())[:60] or "Written exam"
    exam = Exam(tuple(sections), title, _percent(fields.get("mark", ""), "pass mark"))
    check_exam(exam)
    return exam


def keep_exam(school: School, exam: Exam) -> None:
    """Keeps the exam for the next time."""
    school.settings.put(SETTING, msgspec.json.encode(exam).decode())


def rows_of(exam: Exam, typed: Mapping[str, str]) -> list[dict[str, str]]:
    """The rows of the form: as they were typed, else as the exam has them, and empty ones after them."""
    rows = []
    for row in range(1, MOST_ROWS + 1):
        section = exam.sections[row - 1] if row <= len(exam.sections) else None
        kept = {
            "title": section.title if section else "",
            "topics": ", ".join(section.topics) if section else "",
            "questions": str(section.questions) if section else "",
            "mark": f"{100 * section.mark:g}" if section else "",
        }
        rows.append({name: typed.get(f"{name}{row}", value) for name, value in kept.items()})
    filled = sum(bool(row["title"] or row["topics"]) for row in rows)
    return rows[: min(filled + 2, MOST_ROWS)]
