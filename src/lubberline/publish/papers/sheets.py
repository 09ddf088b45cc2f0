"""A question paper as PDF: the paper itself, in ordinary and in large print, and its answer sheet.

Nothing here contains the key, the names of wrong ideas or anything else that reveals an answer;
`key.py` sets what is for the instructor.
"""

import math
from collections import Counter
from collections.abc import Collection, Sequence
from typing import Any, NamedTuple

from lubberline.flight.home import Home
from lubberline.flight.home import Paper as PaperSize
from lubberline.publish.papers.answers import WIDEST_UPRIGHT, key_words, paragraphs, shape_of, unit_words
from lubberline.publish.pdf import pdf
from lubberline.publish.words import many, number, typeset
from lubberline.questions.bank import models
from lubberline.questions.figures import heading_dial
from lubberline.questions.generate import generate
from lubberline.questions.handwritten import is_handwritten
from lubberline.questions.item import LETTERS, Item, Option
from lubberline.questions.model import COMMON, Draw, random_of
from lubberline.questions.notation import heading
from lubberline.questions.papers import Paper
from lubberline.simulation import CAUTIONS

# Points of body text.
ORDINARY, LARGE = 10.5, 18.0
# With options no longer than this, an upright drawing is placed next to them.
LONGEST_BESIDE = {ORDINARY: 44, LARGE: 22}
# Without a drawing, a question with fewer letters than this always fits on a page.
PERHAPS_HIGH = 500


def pictures(paper: Paper) -> dict[str, str]:
    """The drawings of a paper by their names in its data."""
    return {
        f"figure-{number}": item.figure.svg
        for number, item in enumerate(paper.items, start=1)
        if item.figure is not None
    }


def _item(number: int, item: Item, size: float) -> dict[str, Any]:
    data: dict[str, Any] = {
        "number": number,
        "stem": paragraphs(item.stem),
        "options": [option.text for option in item.options],
        "unit": unit_words(item.unit) if item.kind == "number" else "",
    }
    letters = len(item.stem) + sum(len(option.text) for option in item.options)
    data["high"] = item.figure is not None or letters > PERHAPS_HIGH
    if item.figure is not None:
        longest = max((len(option.text) for option in item.options), default=0)
        shape = shape_of(item.figure, f"question {number} ({item.model})")
        beside = shape <= WIDEST_UPRIGHT and longest <= LONGEST_BESIDE[size]
        data["figure"] = {"name": f"figure-{number}", "alt": item.figure.alt, "beside": beside}
        data["figure"]["shape"] = round(shape, 3)
    return data


def instructions(items: Sequence[Item]) -> str:
    """Instructions before the first question."""
    kinds = {item.kind for item in items}
    told = f"{many(len(items), 'question')}, one mark each."
    if kinds & {"choice", "statement"}:
        told += " For each question choose the best answer and mark its letter on the answer sheet."
    if "number" in kinds:
        told += " If a question asks for a number, write it on the answer sheet in the unit given."
    return told


def header(paper: Paper, size: float, foot: str = "") -> dict[str, Any]:
    """The head and foot of every sheet of a paper."""
    return {
        "title": paper.title,
        "paper": f"Paper {paper.form}",
        "foot": foot or f"Paper {paper.form}",
        "size": size,
        "cautions": " ".join(CAUTIONS),
    }


def paper_pdf(paper: Paper, *, large_print: bool = False) -> bytes:
    """The paper for candidates: A4, no question split over a page; in large print 18 points, not 10.5.

    Raises:
        InputError: a drawing is not SVG with a size.
    """
    size = LARGE if large_print else ORDINARY
    data = {
        **header(paper, size),
        "instructions": instructions(paper.items),
        "items": [_item(number, item, size) for number, item in enumerate(paper.items, start=1)],
    }
    return pdf(("sheet.typ", "paper.typ"), data, pictures(paper), paper=paper.blueprint.paper)


def answer_sheet_pdf(paper: Paper, *, large_print: bool = False) -> bytes:
    """The sheet on which a candidate marks a letter or writes a number for each question."""
    rows = [
        {
            "number": number,
            "letters": list(LETTERS[: len(item.options)]),
            "unit": unit_words(item.unit) if item.kind == "number" else "",
        }
        for number, item in enumerate(paper.items, start=1)
    ]
    data = {
        **header(paper, LARGE if large_print else ORDINARY, f"Answer sheet {paper.form}"),
        "rows": rows,
        "numbers": any(item.kind == "number" for item in paper.items),
    }
    return pdf(("sheet.typ", "answer_sheet.typ"), data, paper=paper.blueprint.paper)


KEY_SIZE = 9.5


def _drawn(item: Item) -> str:
    values = [
        f"{name} {value:g}" if isinstance(value, float) else f"{name} {value}"
        for name, value in item.drawn.items()
    ]
    return typeset(", ".join(values))


def _options(item: Item) -> list[dict[str, Any]]:
    def said(letter: str, option: Option, *, right: bool) -> dict[str, Any]:
        return {
            "letter": letter,
            "text": option.text,
            "right": right,
            "said": "" if right else option.feedback,
            "idea": ", ".join(option.ideas),
        }

    if item.kind == "number":
        return [said("", slip, right=False) for slip in item.slips]
    return [
        said(LETTERS[place], option, right=place == item.key) for place, option in enumerate(item.options)
    ]


def _made_by(item: Item) -> str:
    if is_handwritten(item):
        return f"Written by hand: {item.model}."
    return f"Made by {item.model}" + (f" from {_drawn(item)}." if item.drawn else ".")


def _key_item(place: int, item: Item) -> dict[str, Any]:
    made = [
        f"Source: {item.source}." if item.source != COMMON else "",
        f"Rules of {item.jurisdiction}." if item.jurisdiction else "",
        f"{item.topic}, {item.level}, expected difficulty {number(item.difficulty, 2)}.",
        f"Codes: {', '.join(item.codes)}." if item.codes else "",
        _made_by(item),
    ]
    return {
        "number": place,
        "key": key_words(item),
        "stem": paragraphs(item.stem),
        "figure": {"name": f"figure-{place}", "alt": item.figure.alt} if item.figure else None,
        "options": _options(item),
        "reason": item.reason,
        "made": " ".join(part.replace("..", ".") for part in made if part),
    }


def jurisdictions_of(items: Sequence[Item]) -> list[str]:
    """The jurisdictions whose rules the keys of a paper follow."""
    return sorted({item.jurisdiction for item in items} - {""})


def _facts(paper: Paper) -> list[str]:
    items = paper.items
    topics = Counter(item.topic for item in items)
    levels = Counter(item.level for item in items)
    rules = jurisdictions_of(items)
    on_rules = f"Keys to questions on rules follow those of {', '.join(rules)}. Rules change: check them."
    return [
        "Topics: " + ", ".join(f"{topic} {count}" for topic, count in topics.items()) + ".",
        "Levels: " + ", ".join(f"{level} {levels[level]}" for level in ("recall", "apply", "judge")) + ".",
        f"Expected difficulty, mean: {number(paper.difficulty, 2)} (0: everybody right, 1: nobody right).",
        on_rules if rules else "No question depends on one country's rules.",
        f"Made from the blueprint '{paper.title}' with seed {paper.seed}.",
    ]


def _on_practice(items: Sequence[Item]) -> str:
    """A sentence on the questions whose facts no document gives; '' without one."""
    places = [str(place) for place, item in enumerate(items, start=1) if item.source == COMMON]
    return f"Common practice, without a published source: {', '.join(places)}." if places else ""


def key_pdf(paper: Paper) -> bytes:
    """The key: a table of answers, then each question with the reason for each option and its source."""
    data = {
        **header(paper, KEY_SIZE, f"Key to paper {paper.form}"),
        "facts": _facts(paper),
        "items": [_key_item(place, item) for place, item in enumerate(paper.items, start=1)],
        "common": _on_practice(paper.items),
    }
    return pdf(("sheet.typ", "key.typ"), data, pictures(paper), paper=paper.blueprint.paper)


SIZE = 10.5
TASKS = 8
MOST_DRAWS = 200
INK, PALE = "#1a1a1a", "#9aa1a7"


class Task(NamedTuple):
    """One dial to draw.

    Attributes:
        words: the task in words.
        heading_deg: the reading under the lubber line.
        reason: why, for the solution.
        asks: whether the heading has to be worked out.
    """

    words: str
    heading_deg: float
    reason: str
    asks: bool = True


def blank_dial() -> str:
    """An empty heading indicator: its rim, its lubber line, and a pale mark every 30 degrees of its case."""
    parts = [f'<circle cx="110" cy="110" r="104" stroke="{INK}" stroke-width="1.6"/>']
    for mark in range(30, 360, 30):
        sine, cosine = math.sin(math.radians(mark)), math.cos(math.radians(mark))
        ends = [f"{110 + radius * sine:.1f} {110 - radius * cosine:.1f}" for radius in (98, 104)]
        parts.append(f'<path d="M{ends[0]}L{ends[1]}" stroke="{PALE}" stroke-width="1.2"/>')
    parts += [
        f'<path d="M110 106v8M106 110h8" stroke="{PALE}" stroke-width="1"/>',
        f'<path d="M110 2v16" stroke="{INK}" stroke-width="3.5"/>',
    ]
    body = "".join(parts)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 220 220" fill="none">{body}</svg>'


def tasks(seed: int, count: int = TASKS, taken: Collection[str] = (), home: Home | None = None) -> list[Task]:
    """Dials to draw: first readings, then headings to be worked out.

    Args:
        seed: of all draws.
        count: how many.
        taken: ids of items on a paper, which must not be given away here.
        home: where they are set; None for anywhere.
    """
    random = random_of("worksheet", seed)
    draw = Draw(random)
    working = [model for model in models().values() if model.notation.circle]
    readings = count if not working else math.ceil(count / 3)
    why = "The reading is under the lubber line; headings increase clockwise."
    found = [
        Task(f"The heading indicator reads {heading(reading)}. Draw its card.", reading, why, asks=False)
        for reading in [draw.heading_deg() for _ in range(readings)]
    ]
    seen = set(taken)
    for _ in range(MOST_DRAWS):
        if len(found) == count or not working:
            break
        item = generate(draw.pick(working), random.getrandbits(48), home)
        if item.id in seen or not _can_be_drawn(item):
            continue
        seen.add(item.id)
        value = item.answer if item.kind == "number" else item.options[item.key].value
        if value is not None:
            found.append(Task(item.stem, value, item.reason))
    return found


def _can_be_drawn(item: Item) -> bool:
    """Whether a question is about this instrument's card and makes sense without drawing and options."""
    about_it = "heading indicator" in item.stem or "its reading" in item.stem
    return about_it and item.figure is None and "these" not in item.stem


def worksheet_pdf(tasks: list[Task], title: str, *, solved: bool = False, paper: PaperSize = "A4") -> bytes:
    """A sheet of tasks, each with a blank dial or with the correct dial.

    Args:
        tasks: the dials to draw.
        title: of the lesson or paper.
        solved: for the instructor: with the correct cards and reasons.
        paper: its size.
    """
    name = "Worksheet, solved" if solved else "Worksheet"
    blank = "A blank dial to draw on: a rim, and the lubber line at the top."
    data = {
        "title": title,
        "paper": name,
        "foot": name,
        "size": SIZE,
        "cautions": " ".join(CAUTIONS),
        "solved": solved,
        "tasks": [
            {
                "words": paragraphs(task.words),
                "reason": f"{heading(task.heading_deg)}. {task.reason}" if solved else "",
                "asks": task.asks,
                "dial": f"dial-{number}" if solved else "dial",
                "alt": heading_dial(task.heading_deg).alt if solved else blank,
            }
            for number, task in enumerate(tasks, start=1)
        ],
    }
    dials = {
        f"dial-{number}": heading_dial(task.heading_deg).svg for number, task in enumerate(tasks, start=1)
    }
    return pdf(("sheet.typ", "worksheet.typ"), data, dials if solved else {"dial": blank_dial()}, paper=paper)
