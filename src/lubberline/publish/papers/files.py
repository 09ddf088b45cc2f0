"""All files of a set of parallel papers, written together."""

import json
import re
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from lubberline.csvfile import csv_text
from lubberline.publish.folder import Progress, write_together
from lubberline.publish.papers.answers import plain_number
from lubberline.publish.papers.qti import identifier_of, package_files, qti_package
from lubberline.publish.papers.qti_names import DIALECTS, Dialect
from lubberline.publish.papers.qti_schema import Schemas
from lubberline.publish.papers.sheets import answer_sheet_pdf, key_pdf, paper_pdf, tasks, worksheet_pdf
from lubberline.questions.item import LETTERS, Item
from lubberline.questions.papers import Paper

FEWEST_OPTIONS = 4
BEFORE = ("form", "number", "identifier", "model", "topic", "level", "kind", "stem", "figure")
AFTER = ("answer", "tolerance", "unit", "slips", "reason", "source", "jurisdiction", "codes", "difficulty")


def items_csv(papers: Sequence[Paper]) -> bytes:
    """All questions of all forms as CSV, in UTF-8 with a byte order mark for spreadsheets.

    Columns: form, number on the paper, identifier as in QTI, model, topic, level, kind, stem, the figure's
    text alternative; option_A and on, key (a letter), idea_A and on (the wrong idea behind each option),
    feedback_A and on; answer, tolerance, unit and slips (value, idea and feedback as JSON) of numbers;
    reason, source, jurisdiction, codes, difficulty, and the values drawn as JSON.
    """
    count = max([FEWEST_OPTIONS, *(len(item.options) for paper in papers for item in paper.items)])
    letters = LETTERS[:count]
    columns = [
        *BEFORE,
        *(f"option_{letter}" for letter in letters),
        "key",
        *(f"idea_{letter}" for letter in letters),
        *(f"feedback_{letter}" for letter in letters),
        *AFTER,
        "drawn",
    ]
    rows = [
        _row(paper.form, number, item, count)
        for paper in papers
        for number, item in enumerate(paper.items, start=1)
    ]
    return csv_text(columns, rows).encode("utf-8-sig")


def _row(form: str, number: int, item: Item, count: int) -> list[str]:
    blank = [""] * (count - len(item.options))
    slips = [
        {"value": slip.value, "idea": " ".join(slip.ideas), "feedback": slip.feedback} for slip in item.slips
    ]
    return [
        form,
        str(number),
        identifier_of(item),
        item.model,
        item.topic,
        item.level,
        item.kind,
        item.stem,
        item.figure.alt if item.figure else "",
        *(option.text for option in item.options),
        *blank,
        LETTERS[item.key] if item.key >= 0 else "",
        *(" ".join(option.ideas) for option in item.options),
        *blank,
        *(option.feedback for option in item.options),
        *blank,
        _number(item.answer),
        _number(item.tolerance),
        item.unit if item.kind == "number" else "",
        json.dumps(slips, ensure_ascii=False) if slips else "",
        item.reason,
        item.source,
        item.jurisdiction,
        " ".join(item.codes),
        f"{item.difficulty:.3f}",
        json.dumps(item.drawn, ensure_ascii=False, sort_keys=True),
    ]


def _number(value: float | None) -> str:
    return "" if value is None else plain_number(value)


OURS = re.compile(r"(paper|answer_sheet|key|qti30|qti21)_([A-Za-z0-9]{1,8})(_large_print)?\.(pdf|zip)")


def contents(
    papers: Sequence[Paper], *, large_print: bool = False, worksheet: bool = False
) -> dict[str, Callable[[], bytes]]:
    """The function that makes each file of a set of papers, by its name.

    Args:
        papers: the parallel forms.
        large_print: papers and answer sheets in large print as well.
        worksheet: a worksheet with blank dials, and its solution.
    """
    made: dict[str, Callable[[], bytes]] = {}
    for paper in papers:
        form = paper.form
        made[f"paper_{form}.pdf"] = partial(paper_pdf, paper)
        made[f"answer_sheet_{form}.pdf"] = partial(answer_sheet_pdf, paper)
        if large_print:
            made[f"paper_{form}_large_print.pdf"] = partial(paper_pdf, paper, large_print=True)
            made[f"answer_sheet_{form}_large_print.pdf"] = partial(answer_sheet_pdf, paper, large_print=True)
        made[f"key_{form}.pdf"] = partial(key_pdf, paper)
        for dialect in DIALECTS:
            name = f"qti{dialect.version.replace('.', '')}_{form}.zip"
            made[name] = partial(qti_package, paper.items, titled(paper), dialect)
    made["items.csv"] = partial(items_csv, papers)
    if worksheet:
        taken = {item.id for paper in papers for item in paper.items}
        title, plan = papers[0].title, papers[0].blueprint
        to_draw = tasks(papers[0].seed, taken=taken, home=plan.set_at)
        made["worksheet.pdf"] = partial(worksheet_pdf, to_draw, title, paper=plan.paper)
        made["worksheet_solved.pdf"] = partial(worksheet_pdf, to_draw, title, solved=True, paper=plan.paper)
    return made


def titled(paper: Paper) -> str:
    """The title of a paper with its form."""
    return f"{paper.title}, paper {paper.form}"


def write_papers(
    papers: Sequence[Paper],
    folder: Path | str,
    *,
    large_print: bool = False,
    worksheet: bool = False,
    progress: Progress | None = None,
) -> list[Path]:
    """Write all files of a set of papers into a folder, all or none.

    Args:
        papers: the parallel forms.
        folder: created if necessary.
        large_print: as in `contents`.
        worksheet: as in `contents`.
        progress: called with (done, files) after each file is made.

    Raises:
        InputError: the folder cannot be written to, or a drawing is not SVG.
    """
    made = contents(papers, large_print=large_print, worksheet=worksheet)
    return write_together(made, folder, progress=progress)


def left_from_before(folder: Path | str, written: Sequence[Path]) -> list[str]:
    """Names of papers, keys and packages of an earlier set in a folder."""
    names = {path.name for path in written}
    return sorted(
        path.name for path in Path(folder).iterdir() if OURS.fullmatch(path.name) and path.name not in names
    )


def check_packages(papers: Sequence[Paper], schemas: Schemas) -> list[str]:
    """Hold every file of every package against schemas; returns a line for each dialect.

    Raises:
        InputError: at the first file that is not valid, and when the schemas fit no dialect.
    """
    return schemas.told([(dialect, _all_files(papers, dialect)) for dialect in DIALECTS])


def _all_files(papers: Sequence[Paper], dialect: Dialect) -> dict[str, bytes]:
    return {
        f"{paper.form}/{name}": data
        for paper in papers
        for name, data in package_files(paper.items, titled(paper), dialect).items()
        if name.endswith(".xml")
    }
