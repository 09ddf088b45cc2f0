"""Writes the tables of docs/methods/lesson-times.md: `python tools/write/lessons_page.py`."""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "src"))

from lubberline.classroom.lessons.file import lessons_of  # noqa: E402
from lubberline.classroom.lessons.lesson import Lesson  # noqa: E402
from lubberline.classroom.lessons.questions import taught_lesson  # noqa: E402
from lubberline.classroom.lessons.timing import timed  # noqa: E402

PAGE = ROOT / "docs" / "methods" / "lesson-times.md"
BEGIN, END = "<!-- times: written by tools/write/lessons_page.py -->", "<!-- end of times -->"


def table_of(lesson: Lesson) -> list[str]:
    """The rows of one lesson."""
    rows = timed(taught_lesson(lesson).lesson)
    lines = [
        "",
        f"### {lesson.title}",
        "",
        "| step | kind | title | aloud | shown | class | estimated | planned |",
        "|---:|---|---|---:|---:|---:|---:|---:|",
    ]
    for row in rows:
        lines.append(
            f"| {row.step} | {row.kind} | {row.title} | {row.spoken_min:.1f} | {row.shown_min:.1f} | "
            f"{row.class_min:.1f} | {row.estimated_min:.1f} | {row.planned_min:.1f} |"
        )
    estimated, planned = sum(row.estimated_min for row in rows), sum(row.planned_min for row in rows)
    return [*lines, f"| | | all | | | | {estimated:.1f} | {planned:.1f} |"]


def page_with_tables(page: str) -> str:
    """The page with new tables."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    lines = [line for lesson in lessons_of(ROOT / "demo" / "lessons") for line in table_of(lesson)]
    return f"{before}{BEGIN}\n" + "\n".join(lines) + f"\n\n{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(page_with_tables(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
