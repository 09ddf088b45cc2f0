"""`lubberline ask`: question papers with keys, for print and for learning systems."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from lubberline.commands.home import HOME_OPTION, InUse, home_in_use
from lubberline.commands.options import Command, flag, one_of, option, out, seed
from lubberline.errors import InputError

if TYPE_CHECKING:
    from lubberline.questions.handwritten import HandwrittenItem
    from lubberline.questions.papers import Paper


def run(given: argparse.Namespace) -> None:
    """Make the papers, write them, and print a summary."""
    from lubberline.publish.papers.files import check_packages, left_from_before
    from lubberline.publish.papers.qti_schema import Schemas

    schemas = Schemas(given.check_qti) if given.check_qti else None
    papers, told = _papers(given)
    checked = check_packages(papers, schemas) if schemas else []
    written = _write(papers, given)
    title, seed, home = papers[0].title, papers[0].seed, papers[0].blueprint.set_at
    at = f", set at {home.place} ({home.position})" if home else ""
    print(f"{title}, seed {seed}{at}: {len(papers[0].items)} questions in each paper\n")
    print(f"{'paper':>7}{'numbers':>9}{'choices':>9}{'drawings':>10}{'expected difficulty':>21}")
    for paper in papers:
        numbers = sum(item.kind == "number" for item in paper.items)
        drawings = sum(item.figure is not None for item in paper.items)
        choices = len(paper.items) - numbers
        print(f"{paper.form:>7}{numbers:>9}{choices:>9}{drawings:>10}{paper.difficulty:>21.2f}")
    print()
    locked = [f"wrote {given.lock}"] if given.lock else []
    for line in [*told, *checked, *(f"wrote {path}" for path in written), *locked]:
        print(line)
    for name in left_from_before(given.out, written):
        print(f"Note: {name} is from an earlier set and does not belong to these papers.")
    print(
        "The keys, items.csv, the QTI packages and locked papers contain the answers: "
        "keep them away from candidates."
    )


def _write(papers: Sequence[Paper], given: argparse.Namespace) -> list[Path]:
    """The papers' files, and the locked file: both or neither."""
    from lubberline.publish.papers.files import write_papers
    from lubberline.questions.locked_papers import write_locked

    progress = given.progress.stage("Drawing the papers")
    if given.lock:
        write_locked(papers, given.lock)
    try:
        return write_papers(
            papers,
            given.out,
            large_print=given.large_print,
            worksheet=given.worksheet,
            progress=progress,
        )
    except BaseException:
        if given.lock:
            Path(given.lock).unlink(missing_ok=True)
        raise


def _papers(given: argparse.Namespace) -> tuple[tuple[Paper, ...], list[str]]:
    """The papers that are asked for, made or locked, and what there is to say about questions by hand."""
    from lubberline.questions.bank_changes import read_retired, read_words
    from lubberline.questions.blueprint import read_blueprint
    from lubberline.questions.handwritten import items_of_folder, read_items
    from lubberline.questions.locked_papers import check_new, read_locked
    from lubberline.questions.papers import assemble, with_school_items
    from lubberline.simulation.misconceptions.idea import SPOKEN
    from lubberline.simulation.words import words_of_folder
    from lubberline.store.database.engines import school_folder

    if given.locked:
        for name in ("seed", "forms", "jurisdiction", "items", "words", "retired", "lock", "home"):
            if getattr(given, name) is not None:
                raise InputError(f"--{name}", "it cannot be used with locked papers", "leave it out")
        return read_locked(given.locked), []
    if given.lock:
        check_new(given.lock)
    blueprint = read_blueprint(given.blueprint, given.jurisdiction)
    speech = words_of_folder(school_folder() / "words").speech
    SPOKEN.set(lambda: speech)
    own = read_items(given.items) if given.items else ()
    school = [one.item for one in items_of_folder(school_folder() / "items").values()]
    at = InUse(blueprint.set_at) if blueprint.set_at else home_in_use(given.home)
    papers = assemble(
        blueprint,
        given.seed or 0,
        [form.strip() for form in given.forms.split(",")] if given.forms is not None else (),
        own=with_school_items(blueprint, [record.item for record in own], school),
        drawn=school,
        changed=read_words(given.words) if given.words else None,
        retired=read_retired(given.retired) if given.retired else None,
        home=at.home,
    )
    return papers, [*_said_of_own(given.items, own, papers), *at.notes]


def _said_of_own(file: str, own: Sequence[HandwrittenItem], papers: Sequence[Paper]) -> list[str]:
    """Advice on questions written by hand and on papers that hold them, and a note on those left out."""
    from lubberline.questions.advice import advice_on, advice_on_paper

    if not own:
        return []
    told = [
        f"Advice: {file}, line {record.line}, {advice.where}: {advice.words}."
        for record in own
        for advice in advice_on(record.item)
    ]
    told += [
        f"Advice: paper {paper.form}, {advice.where}: {advice.words}."
        for paper in papers
        for advice in advice_on_paper(paper.items)
    ]
    used = {item.id for paper in papers for item in paper.items}
    left = [record for record in own if record.item.id not in used]
    return [
        *told,
        *(f"Note: {file}, line {record.line}: '{record.title}' is in none of the papers." for record in left),
    ]


ASK = Command(
    "ask",
    "question papers with keys, for print and for learning systems",
    run,
    "Making the questions",
    (
        one_of(
            option("--blueprint", metavar="FILE", help="blueprint of the papers (TOML)"),
            option("--locked", metavar="FILE", help="print locked papers again, unchanged"),
            required=True,
        ),
        option("--seed", type=seed, metavar="N", help="decides every question; default 0"),
        option("--forms", metavar="A,B", help="letters of the parallel papers; default: as in the blueprint"),
        out("folder for papers, keys, packages and table"),
        flag("--large-print", "also write the papers in large print"),
        flag("--worksheet", "also write a worksheet with blank dials"),
        option(
            "--jurisdiction",
            metavar="XX",
            help="jurisdiction of the questions on rules; default: as in the blueprint",
        ),
        HOME_OPTION,
        option("--items", metavar="FILE", help="questions written by hand (Markdown)"),
        option("--words", metavar="FILE", help="other words for models (TOML)"),
        option("--retired", metavar="FILE", help="retired models and questions (TOML)"),
        option("--lock", metavar="FILE", help="save the papers in this file, to print them again"),
        option(
            "--check-qti", metavar="DIR", help="check the packages against the schema files in this folder"
        ),
    ),
)
