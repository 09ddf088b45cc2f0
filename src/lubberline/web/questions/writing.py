"""Items written by hand: previewed and advised on at once, kept nowhere but in the writer's own file."""

from __future__ import annotations

from typing import Any

from lubberline.errors import InputError
from lubberline.questions.advice import advice_on, advice_on_paper
from lubberline.questions.handwritten import items_from_text
from lubberline.web.questions.asked import TEXT_LIMIT_BYTES
from lubberline.web.questions.looks import item_look

FILE_NAME = "items.md"
SAMPLE = """# Where the Earth's turning does nothing

topic: wander
level: recall
codes: ZZ 1

At which place does the Earth's turning leave the reading of a heading indicator as it is?

- [x] at the equator
  Apparent wander goes by the sine of the latitude, which is zero there.
- [ ] at 45° N
  The sine of the latitude is 0.71 there, so the reading falls by about 11° an hour.
- [ ] at 90° N, the pole
  idea: no-wander-at-poles
"""


def previewed(text: str) -> dict[str, Any]:
    """The items of a text as the template reads them, each with its advice, and advice on them together.

    Raises:
        InputError: what is wrong with the text, with its line.
    """
    if len(text.encode("utf-8", "replace")) > TEXT_LIMIT_BYTES:
        raise InputError("text", "too large for a file of items", "give one under 200 kB")
    records = items_from_text("text", text)
    looks = [
        {
            "title": record.title,
            "line": record.line,
            "item": item_look(record.item, place),
            "advice": advice_on(record.item),
        }
        for place, record in enumerate(records, start=1)
    ]
    return {"records": looks, "together": advice_on_paper([record.item for record in records])}
