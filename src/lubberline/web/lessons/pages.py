"""The Lessons pages: the shelf, the editor with its preview, the sheets to print; complete without script."""

from typing import Any

from lubberline.classroom.lessons.file import GREATEST_BYTES
from lubberline.classroom.lessons.lesson import Lesson, Step
from lubberline.classroom.lessons.questions import TaughtLesson, taught_lesson
from lubberline.classroom.lessons.reference import mixed_references
from lubberline.classroom.lessons.text import lesson_html
from lubberline.classroom.lessons.timing import timed
from lubberline.classroom.records import Asked
from lubberline.publish.papers.answers import key_words
from lubberline.publish.reports.handout import instructor_pdf, student_pdf
from lubberline.questions.item import LETTERS
from lubberline.web.editor import Editor, Look
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Page,
    Refused,
    Request,
    Response,
    file,
    get,
    home_for,
    page,
    post,
    shared,
)

SAMPLE = """# A new lesson

minutes: 10
aim: Say what the class can do after it.

## Say: What we ask today
minutes: 1

Write here what you will say.

> Lines that start with > are notes for you only.

## Predict: Fifteen minutes at 45 north
answer: dial
scene: fifteen_minutes_45n
at: 900
asks: shown.indicated_deg
topic: wander
ideas: no-earth-wander
because: The Earth turns under the gyro.

We fly north with a perfect gyro for fifteen minutes. What will the card read?

## Reveal: A quarter of an hour
"""
_PDF = {"handout": student_pdf, "instructor": instructor_pdf}


def show_list(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /lessons: demo lessons and own lessons."""
    return page(request, "lessons/list.html", error, lessons=EDITOR.shelf(request).listed())


def _taught(request: Request, name: str, text: str) -> TaughtLesson:
    return taught_lesson(shared(request).shelves.lesson(f"{name}.md", text), home=home_for(request))


def _look(request: Request, name: str, text: str) -> Look:
    return Look(lesson_look(_taught(request, name, text)))


EDITOR = Editor("lesson", "/lessons", "lessons/edit.html", lambda _: SAMPLE, _look)


def _worked(request: Request, name: str) -> TaughtLesson:
    return _taught(request, name, EDITOR.text(request, name))


def show_print(request: Request) -> Response:
    """GET /lessons/NAME/print: the sheets for students and for the instructor."""
    name = EDITOR.name(request)
    title, error = name, None
    try:
        title = _worked(request, name).lesson.title
    except InputError as found:
        error = found
    return page(request, "lessons/print.html", error, 200, name=name, title=title)


def take_pdf(request: Request) -> Response:
    """GET /lessons/NAME/print/SHEET.pdf: one of them."""
    name, sheet = EDITOR.name(request), request.path_params["sheet"]
    if sheet not in _PDF:
        raise Refused(404, "sheet", f"there is no sheet '{sheet[:40]}'", "use handout or instructor")
    made = _PDF[sheet](_worked(request, name), home_for(request).paper)
    return file(f"{name}-{sheet}.pdf", made, shown=True)


def lesson_look(taught_lesson: TaughtLesson) -> dict[str, Any]:
    """The data for the template of the preview."""
    lesson = taught_lesson.lesson
    rows = timed(lesson)
    return {
        "title": lesson.title,
        "aim": lesson.aim,
        "needs": lesson.needs,
        "minutes": lesson.minutes,
        "estimated": sum(row.estimated_min for row in rows),
        "mixed": mixed_references(lesson),
        "questions": len(taught_lesson.asked),
        "steps": [
            _step(lesson, index, step, taught_lesson.of_step(index))
            | {"estimated": row.estimated_min, "off": row.plan_is_off}
            for index, (step, row) in enumerate(zip(lesson.steps, rows, strict=True))
        ],
    }


def _step(lesson: Lesson, index: int, step: Step, asked: tuple[Asked, ...]) -> dict[str, Any]:
    show = step.show
    return {
        "number": index + 1,
        "kind": step.kind,
        "title": step.title,
        "line": step.line,
        "html": lesson_html(step.text),
        "notes": lesson_html(step.notes),
        "planned": step.minutes,
        "scene": show.scene if show else "",
        "bench": show.bench if show else "",
        "from": show.from_s if show else 0.0,
        "to": show.to_s if show else 0.0,
        "reveals": lesson.steps[step.reveals].title if step.reveals >= 0 else "",
        "asked": [_asked(one, predicted=step.question is not None) for one in asked],
    }


def _asked(one: Asked, *, predicted: bool) -> dict[str, Any]:
    item = one.item
    return {
        "stem": "" if predicted else lesson_html(item.stem),
        "right": key_words(item),
        "reason": item.reason,
        "rows": [
            {
                "answer": option.text if item.kind == "number" else f"{LETTERS[place]}. {option.text}",
                "right": place == item.key,
                "idea": option.misconception,
                "means": option.feedback,
            }
            for place, option in enumerate(item.slips if item.kind == "number" else item.options)
        ],
    }


PAGE = Page(
    "/lessons",
    "Lessons",
    [
        get("/lessons", show_list),
        post("/lessons", EDITOR.begin, show_list, file_bytes=GREATEST_BYTES),
        *EDITOR.routes(".md"),
        get("/lessons/{name}/print", show_print),
        get("/lessons/{name}/print/{sheet}.pdf", take_pdf),
    ],
)
