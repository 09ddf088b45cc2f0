"""`lubberline statistics`: item statistics from the answers to a locked paper."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from lubberline.commands.options import Command, flag, number, option, out
from lubberline.errors import InputError

if TYPE_CHECKING:
    from lubberline.classroom.records import Sitting
    from lubberline.classroom.statistics import PaperStatistics

MOST_BYTES = 10_000_000


def run(given: argparse.Namespace) -> None:
    """Mark the answers, print the item statistics, write tables and figures."""
    from lubberline.classroom.answers_csv import read_answers, students_in
    from lubberline.classroom.marking import marked
    from lubberline.classroom.statistics import item_statistics
    from lubberline.publish.figures.results_figures import item_map_svg, marks_strip_svg
    from lubberline.publish.folder import write_together
    from lubberline.publish.reports import results_tables as tables
    from lubberline.textfile import text_of

    source = Path(given.answers).name
    text = text_of(given.answers, "a file of answers (CSV)", MOST_BYTES)
    students = students_in(source, text)
    sitting = sitting_of(given.paper)
    read = read_answers(source, text, sitting, students)
    for error in read.refused:
        print(f"lubberline: {error}", file=sys.stderr)
    if read.refused and not given.skip_bad:
        wrong = f"{len(read.refused)} of its rows cannot be used"
        raise InputError(source, wrong, "correct them, or add --skip-bad to continue without them")
    if not read.answers:
        raise InputError(
            source, "there is no answer in it", "write one row for each answer: student,question,answer"
        )
    marks = marked(sitting, read.answers)
    found = item_statistics(marks, by_model=given.by_model)
    _say(sitting.title, found)
    names = {one.id: one.name for one in students}
    mark = given.mark / 100.0 if given.mark is not None else None
    written = write_together(
        {
            "questions.csv": lambda: tables.items_statistics_csv(found),
            "distractors.csv": lambda: tables.distractors_csv(found),
            "marks.csv": lambda: tables.marks_csv(marks, names),
            "totals.csv": lambda: tables.totals_csv(marks, names),
            "questions.svg": lambda: item_map_svg(found, theme="auto").encode(),
            "marks.svg": lambda: marks_strip_svg(marks, names, mark=mark, theme="auto").encode(),
        },
        given.out,
        progress=given.progress.stage("Writing the files"),
    )
    for path in written:
        print(f"wrote {path}")


def sitting_of(path: str) -> Sitting:
    """The forms of a locked paper as one sitting."""
    from lubberline.classroom.records import Asked, Sitting
    from lubberline.questions.locked_papers import read_locked

    papers = read_locked(path)
    asked = tuple(
        Asked(f"{paper.form}{number}", item, paper.form)
        for paper in papers
        for number, item in enumerate(paper.items, start=1)
    )
    return Sitting("sitting", "", "paper", papers[0].title, "", asked=asked, on_paper=True)


def _say(title: str, found: PaperStatistics) -> None:
    print(f"{title}: {found.students} students, {found.questions} questions")
    print(f"mean {found.mean:.2f} points, standard deviation {found.sd:.2f}")
    print(
        f"reliability {found.kr20:.2f} ({found.kr20_low:.2f} to {found.kr20_high:.2f}), "
        f"standard error of measurement {found.error_of_measurement:.2f} points\n"
    )
    wide = max(10, *(len(item.name) + 2 for item in found.items))
    print(f"{'question':<{wide}}{'right':>6}{'interval':>14}{'with rest':>11}{'interval':>17}")
    for item in found.items:
        ease = f"{100 * item.right_low:.0f} to {100 * item.right_high:.0f}%"
        tells = f"{item.rest_low:+.2f} to {item.rest_high:+.2f}"
        print(
            f"{item.name:<{wide}}{100 * item.right_share:>5.0f}%{ease:>14}{item.in_rest:>+11.2f}{tells:>17}"
        )
        for words in item.flags:
            print(f"{'':<{wide}}{words}")
    print()
    for note in found.notes:
        print(f"Note: {note}")


STATISTICS = Command(
    "statistics",
    "item statistics of a paper: difficulty, discrimination, distractors, reliability",
    run,
    "Computing the statistics",
    (
        option("answers", metavar="ANSWERS.csv", help="CSV with student,question,answer: one row per answer"),
        option("--paper", required=True, metavar="LOCKED.json", help="the locked paper"),
        out("folder for tables and figures"),
        flag("--by-model", "pool the forms: all questions of one model count as one"),
        option(
            "--mark",
            type=number(0.0, 100.0, "percent", above_low=True),
            metavar="PERCENT",
            help="pass mark, drawn in the figure",
        ),
        flag("--skip-bad", "continue without rows that cannot be read"),
    ),
)
