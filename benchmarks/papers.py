"""A 40-question paper in three forms with answer sheets, keys, QTI 3.0 and 2.1 and the table of items.

    python -m benchmarks.papers

Run from the repository's root on a quiet machine. The target is 3 s for the whole command, imports and all,
after a first start.
"""

import argparse
import sys
import tempfile
from collections.abc import Callable
from itertools import cycle
from pathlib import Path

from benchmarks.machine import heading, load, median_s, table
from benchmarks.whole_process import run_s
from lubberline.publish.papers.files import items_csv
from lubberline.publish.papers.qti import qti_package
from lubberline.publish.papers.qti_names import QTI_21, QTI_30
from lubberline.publish.papers.sheets import answer_sheet_pdf, key_pdf, paper_pdf
from lubberline.questions.bank import LEVELS, TOPICS, models_of
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.papers import assemble

QUESTIONS = 40
FORMS = ("A", "B", "C")


def blueprint_text(count: int = QUESTIONS) -> str:
    """A blueprint over all topics and levels that need no jurisdiction, in turn."""
    cells = [(topic, level) for topic in TOPICS for level in LEVELS if models_of(topic, level)]
    asked = dict.fromkeys(cells, 0)
    for _, cell in zip(range(count), cycle(cells), strict=False):
        asked[cell] += 1
    lines = ['title = "Forty questions"', f"forms = {list(FORMS)}", "difficulty_tolerance = 0.05"]
    for topic in dict.fromkeys(topic for topic, _ in cells):
        lines += ["[[topic]]", f'name = "{topic}"']
        lines += [f"{level} = {asked[name, level]}" for name, level in cells if name == topic]
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--repeats", type=int, default=7)
    given = parser.parse_args()
    print(heading(("typst", "msgspec")), end="\n\n")
    blueprint = blueprint_from_text("forty.toml", blueprint_text())
    papers = assemble(blueprint, 7)
    parts: dict[str, Callable[[], object]] = {
        "three forms drawn and checked": lambda: assemble(blueprint, 7),
        "three papers as PDF": lambda: [paper_pdf(paper) for paper in papers],
        "three answer sheets": lambda: [answer_sheet_pdf(paper) for paper in papers],
        "three keys": lambda: [key_pdf(paper) for paper in papers],
        "three packages, QTI 3.0": lambda: [qti_package(paper.items, "Paper", QTI_30) for paper in papers],
        "three packages, QTI 2.1": lambda: [qti_package(paper.items, "Paper", QTI_21) for paper in papers],
        "the table of items": lambda: items_csv(papers),
    }
    rows = [[name, f"{median_s(part, given.repeats):.3f}"] for name, part in parts.items()]
    print(table(["40 questions, 3 forms, warm", "median s of processor"], rows), end="\n\n")
    columns = ["the whole command", "median s", "least", "greatest", "median s of processor"]
    print(table(columns, [_command(given.repeats)]))
    print(f"\nLoad {load()} at the end.")


def _command(repeats: int) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        blueprint = Path(folder) / "forty.toml"
        blueprint.write_text(blueprint_text(), encoding="utf-8")
        ask = [sys.executable, "-m", "lubberline.cli", "ask", "--blueprint", str(blueprint)]
        command = [*ask, "--seed", "7", "--out", str(Path(folder) / "out")]
        run_s(command)
        runs = [run_s(command) for _ in range(repeats)]
    (walls, works) = (sorted(times) for times in zip(*runs, strict=True))
    return [
        "`lubberline ask`",
        *(f"{value:.2f}" for value in (walls[repeats // 2], walls[0], walls[-1], works[repeats // 2])),
    ]


if __name__ == "__main__":
    main()
