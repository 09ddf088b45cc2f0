"""The key to a paper as PDF: for the instructor alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from lubberline.publish.answers import LETTERS, key_words, paragraphs
from lubberline.publish.paper import header, pictures
from lubberline.publish.pdf import pdf
from lubberline.publish.words import number, typeset
from lubberline.questions.handwritten import is_handwritten
from lubberline.questions.item import Item, Option
from lubberline.questions.papers import Paper

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
            "idea": option.misconception,
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


def _item(place: int, item: Item) -> dict[str, Any]:
    made = [
        f"Source: {item.source}.",
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
    """Whose rules the items of a paper are keyed by."""
    return sorted({item.jurisdiction for item in items} - {""})


def _facts(paper: Paper) -> list[str]:
    items = paper.items
    topics = Counter(item.topic for item in items)
    levels = Counter(item.level for item in items)
    rules = jurisdictions_of(items)
    facts = [
        "Topics: " + ", ".join(f"{topic} {count}" for topic, count in topics.items()) + ".",
        "Levels: " + ", ".join(f"{level} {levels[level]}" for level in ("recall", "apply", "judge")) + ".",
        f"Expected difficulty, mean: {number(paper.difficulty, 2)} (0: everybody is right, 1: nobody).",
    ]
    if rules:
        facts.append(f"Questions on rules are keyed by those of {', '.join(rules)}; they change: check them.")
    else:
        facts.append("No question depends on the rules of one country.")
    return [*facts, f"Made from the blueprint '{paper.title}' with seed {paper.seed}."]


def key_pdf(paper: Paper) -> bytes:
    """The key: all answers at a glance, then each question with the reason for each option and its source."""
    data = {
        **header(paper, KEY_SIZE, f"Key to paper {paper.form}"),
        "facts": _facts(paper),
        "items": [_item(place, item) for place, item in enumerate(paper.items, start=1)],
    }
    return pdf(("sheet.typ", "key.typ"), data, pictures(paper))
