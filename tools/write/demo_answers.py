"""Write the demo's paper with the answers of the demo class: `demo/answers/`.

    python tools/write/demo_answers.py

The paper is drawn by a blueprint of the demo class's term and locked; each student answers from what
they believe on the day, with slips and guesses at their own rates.
"""

import csv
import io
from datetime import UTC, datetime
from pathlib import Path

from lubberline.classroom.demo_class import read_class
from lubberline.classroom.demo_term import answer, mind_on
from lubberline.classroom.diagnosis.likelihood import table_of
from lubberline.classroom.marking import answer_words
from lubberline.classroom.records import Answer
from lubberline.questions.blueprint import read_blueprint
from lubberline.questions.locked_papers import locked_text
from lubberline.questions.model import random_of
from lubberline.questions.papers import assemble

DEMO = Path(__file__).parents[2] / "demo"
FOLDER = DEMO / "answers"
SEED, DAY = 11, datetime(2026, 2, 16, 18, tzinfo=UTC)
# Share of questions left blank.
BLANK = 0.03


def main() -> None:
    """Write paper and answers."""
    blueprint = read_blueprint(DEMO / "class" / "papers" / "drift.toml")
    papers = assemble(blueprint, SEED, ("A",))
    held = io.StringIO()
    table = csv.writer(held, lineterminator="\n")
    table.writerow(("student", "question", "answer"))
    for number, student in enumerate(read_class(DEMO / "class").student, start=1):
        mind, random = mind_on(student, DAY, number), random_of("demo answers", SEED, number)
        for place, item in enumerate(papers[0].items, start=1):
            given = answer(mind, table_of(item), random)
            words = answer_words(Answer("", "", "", given.chosen, given.value), item)
            table.writerow((student.name, place, "-" if random.random() < BLANK else words))
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / "paper.json").write_text(locked_text(papers), encoding="utf-8", newline="\n")
    (FOLDER / "answers.csv").write_text(held.getvalue(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
