"""`lubberline lesson`: check a lesson, estimate its time, print its handout."""

import argparse
import sys
from pathlib import Path
from typing import Any

from lubberline.commands import terminal
from lubberline.commands.home import HOME_OPTION, home_in_use, library_in_use, paper_in_use
from lubberline.commands.options import Command, option, out, seed
from lubberline.commands.own import school_folder_of
from lubberline.errors import InputError


def run(given: argparse.Namespace) -> None:
    """Run the verb."""
    from lubberline.classroom.lessons.file import read_lesson
    from lubberline.classroom.lessons.questions import taught_lesson
    from lubberline.questions.handwritten import items_of_folder
    from lubberline.simulation.misconceptions.idea import SPOKEN
    from lubberline.simulation.words import words_of_folder

    folder = school_folder_of(None)
    scenes = folder / "scenes" if given.scenes is None else Path(given.scenes)
    if given.scenes is not None and not scenes.is_dir():
        raise InputError("--scenes", f"there is no folder '{given.scenes}'", "name a folder of scenes")
    speech = words_of_folder(folder / "words").speech
    SPOKEN.set(lambda: speech)
    home, notes = home_in_use(given.home)
    own = (library_in_use(scenes, home), items_of_folder(folder / "items"))
    given.verb.act(taught_lesson(read_lesson(given.file, *own), given.seed, home=home), given)
    for note in notes:
        print(note)


def _check(made: Any, _: argparse.Namespace) -> None:
    from lubberline.classroom.diagnosis.likelihood import proved_ideas
    from lubberline.classroom.lessons.reference import mixed_references

    for one in made.asked:
        item = one.item
        proved = {idea for ideas in proved_ideas(item) for idea in ideas}
        print(f"{one.key}  {item.stem.splitlines()[0][:90]}")
        if item.kind == "number":
            near = f" within {item.tolerance:g}" if item.tolerance else ""
            print(f"    right: {item.answer:g} {item.unit}{near}")
            for slip in item.slips:
                print(f"    {slip.text}: {_named(slip.misconception, proved)}")
        for place, offered in enumerate(item.options):
            mark = "right" if place == item.key else _named(offered.misconception, proved)
            print(f"    {'ABCDEFGH'[place]}. {offered.text}  ({mark})")
    for mixed in mixed_references(made.lesson):
        print(f"Warning: {made.lesson.source}, line {mixed.line}: {mixed.words}.", file=sys.stderr)
    _total(made)


def _named(idea: str, proved: set[str]) -> str:
    """A wrong idea, and whether the diagnosis counts it: only one that was flown on this very question."""
    return f"{idea}; by your word, not diagnosed" if idea and idea not in proved else idea or "-"


def _time(made: Any, _: argparse.Namespace) -> None:
    from lubberline.classroom.lessons.timing import timed

    print(f"{'step':>4}  {'':8}{'spoken':>7}{'shown':>7}{'class':>7}{'all':>7}{'plan':>7}  title")
    for row in timed(made.lesson):
        mark = " *" if row.plan_is_off else "  "
        print(
            f"{row.step:>4}  {row.kind:8}{row.spoken_min:>7.1f}{row.shown_min:>7.1f}{row.class_min:>7.1f}"
            f"{row.estimated_min:>7.1f}{row.planned_min:>7.1f}{mark}{row.title}"
        )
    _total(made)
    print(
        "All times in minutes, text at 130 words a minute (common practice, no source). "
        "A star: plan and estimate differ by a lot."
    )


def _total(made: Any) -> None:
    from lubberline.classroom.lessons.timing import timed

    rows, lesson = timed(made.lesson), made.lesson
    estimated, planned = (sum(row.estimated_min for row in rows), sum(row.planned_min for row in rows))
    print(
        f"\n{lesson.title}: {len(rows)} steps, {len(made.asked)} questions; about {estimated:.0f} minutes, "
        f"{planned:.0f} planned step by step, {lesson.minutes:g} for the class."
    )


def _handout(made: Any, given: argparse.Namespace) -> None:
    from lubberline.publish.folder import write_together
    from lubberline.publish.reports.handout import instructor_pdf, student_pdf
    from lubberline.simulation import CAUTIONS

    name = made.lesson.id
    written = write_together(
        {
            f"{name}-handout.pdf": lambda: student_pdf(made, paper_in_use(given.home)),
            f"{name}-instructor.pdf": lambda: instructor_pdf(made, paper_in_use(given.home)),
        },
        given.out,
        progress=given.progress.stage("Writing the files"),
    )
    terminal.say_written(written, CAUTIONS)


_OF_ALL = (
    option("file", metavar="FILE.md", help="lesson file (Markdown); see docs/instructors/lessons.md"),
    option("--seed", type=seed, default=0, help="decides the questions of the quiz"),
    option("--scenes", metavar="DIR", help="folder of own scenes; default: the school's"),
    HOME_OPTION,
)
LESSON = Command(
    "lesson",
    "check a lesson, estimate its time, print its handout",
    run,
    "Computing the lesson",
    verbs=(
        Command(
            "check",
            "list questions and answers, or the faults of the file",
            _check,
            options=_OF_ALL,
        ),
        Command("time", "estimate how long each step takes", _time, options=_OF_ALL),
        Command(
            "handout",
            "write the students' and the instructor's sheet as PDF",
            _handout,
            options=(*_OF_ALL, out("folder for the two PDFs")),
        ),
    ),
)
