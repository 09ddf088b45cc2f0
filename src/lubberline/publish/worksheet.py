"""Worksheets with blank dials: a heading to find, and an empty card to draw it on; with their solutions."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import NamedTuple

from lubberline.publish.answers import paragraphs
from lubberline.publish.pdf import pdf
from lubberline.questions.bank import models
from lubberline.questions.draws import Draw, random_of
from lubberline.questions.figures import heading_dial
from lubberline.questions.generate import generate
from lubberline.questions.item import Item
from lubberline.questions.notation import heading
from lubberline.simulation import CAUTIONS

SIZE = 10.5
TASKS = 8
MOST_DRAWS = 200
INK, PALE = "#1a1a1a", "#9aa1a7"


class Task(NamedTuple):
    """One dial to draw.

    Attributes:
        words: what is given.
        heading_deg: what has to stand under the lubber line.
        reason: why, for the solution.
    """

    words: str
    heading_deg: float
    reason: str


def blank_dial() -> str:
    """An empty heading indicator: its rim, its lubber line, and a pale mark every 30 degrees of its case."""
    parts = [f'<circle cx="110" cy="110" r="104" stroke="{INK}" stroke-width="1.6"/>']
    for mark in range(30, 360, 30):
        sine, cosine = math.sin(math.radians(mark)), math.cos(math.radians(mark))
        ends = [f"{110 + radius * sine:.1f} {110 - radius * cosine:.1f}" for radius in (98, 104)]
        parts.append(f'<path d="M{ends[0]}L{ends[1]}" stroke="{PALE}" stroke-width="1.2"/>')
    parts.append(f'<path d="M110 106v8M106 110h8" stroke="{PALE}" stroke-width="1"/>')
    parts.append(f'<path d="M110 2v16" stroke="{INK}" stroke-width="3.5"/>')
    body = "".join(parts)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 220 220" fill="none">{body}</svg>'


def tasks(seed: int, count: int = TASKS, taken: Collection[str] = ()) -> list[Task]:
    """Dials to draw: first readings, then headings that have to be worked out.

    Args:
        seed: decides every draw.
        count: how many.
        taken: ids of items that are on a paper, and may not be given away here.
    """
    random = random_of("worksheet", seed)
    draw = Draw(random)
    working = [model for model in models().values() if model.notation.circle]
    readings = count if not working else math.ceil(count / 3)
    found: list[Task] = []
    for _ in range(readings):
        reading = draw.heading_deg()
        words = f"The heading indicator reads {heading(reading)}. Draw its card."
        found.append(Task(words, reading, "It stands under the lubber line; headings rise clockwise."))
    seen = set(taken)
    for _ in range(MOST_DRAWS):
        if len(found) == count or not working:
            break
        item = generate(draw.pick(working), random.getrandbits(48))
        if item.id in seen or not _can_be_drawn(item):
            continue
        seen.add(item.id)
        value = item.answer if item.kind == "number" else item.options[item.key].value
        if value is not None:
            found.append(Task(item.stem, value, item.reason))
    return found


def _can_be_drawn(item: Item) -> bool:
    """Whether a question is about this instrument's card, and stands without its drawing and its options."""
    about_it = "heading indicator" in item.stem or "its reading" in item.stem
    return about_it and item.figure is None and "these" not in item.stem


def worksheet_pdf(tasks: list[Task], title: str, *, solved: bool = False) -> bytes:
    """A sheet of tasks, each with a blank dial, or with the dial as it should have been drawn.

    Args:
        tasks: what is to be drawn.
        title: of the lesson or paper.
        solved: for the instructor: the cards drawn, with reasons.
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
                "dial": f"dial-{number}" if solved else "dial",
                "alt": heading_dial(task.heading_deg).alt if solved else blank,
            }
            for number, task in enumerate(tasks, start=1)
        ],
    }
    dials = {
        f"dial-{number}": heading_dial(task.heading_deg).svg for number, task in enumerate(tasks, start=1)
    }
    return pdf(("sheet.typ", "worksheet.typ"), data, dials if solved else {"dial": blank_dial()})
