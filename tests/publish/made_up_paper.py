"""Papers made up by hand, with everything an item may have."""

from lubberline.questions.blueprint import Blueprint
from lubberline.questions.item import Figure, Item, Option
from lubberline.questions.papers import Paper

DIAL = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 200"><circle cx="100" cy="100" r="90" '
    'fill="none" stroke="#1c2126" stroke-width="4"/><path d="M100 4l-8-4h16z"/>'
    '<text x="100" y="48" text-anchor="middle" font-size="24">N</text></svg>'
)
TRACE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="600" height="200"><path d="M10 190L590 20" fill="none" '
    'stroke="#1c2126" stroke-width="3"/><text x="300" y="60" font-size="18">error</text></svg>'
)


def choice(number: int = 1, *, options: int = 4, figure: Figure | None = None, words: int = 0) -> Item:
    """A choice with the key at a place that moves on with the number."""
    key = number % options
    more = " and so on, as it is said at length" * words
    return Item(
        model="made-up-choice",
        topic="wander",
        level="apply",
        kind="choice",
        stem=f"A perfect heading indicator stands at {number}° N. What does its card do in an hour?",
        options=tuple(
            Option(
                text=f"falls by {place + number}.5°{more}",
                misconception="" if place == key else f"idea-{place}",
                feedback="The sine is right." if place == key else f"Idea {place} leaves out the sine.",
                value=-(place + number + 0.5),
            )
            for place in range(options)
        ),
        key=key,
        reason=f"15 × sin {number}° is the rate.",
        source="common practice, no source",
        drawn={"latitude_deg": float(number), "kind": "still"},
        difficulty=0.4,
        unit="deg/h",
        figure=figure,
    )


def number(answer: float = 7.1, tolerance: float = 0.2, unit: str = "deg") -> Item:
    """A number to write down, with two slips."""
    return Item(
        model="made-up-number",
        topic="setting",
        level="judge",
        kind="number",
        stem="The card drifts.\n\nBy how much in half an hour?",
        options=(),
        key=-1,
        reason="Half of the hourly rate.",
        source="common practice, no source",
        drawn={"answer": answer},
        difficulty=0.6,
        answer=answer,
        tolerance=tolerance,
        unit=unit,
        codes=("HI 3.2",),
        slips=(
            Option(f"{2 * answer}", "hour-for-half", "That is the whole hour.", 2.0 * answer),
            Option(f"{answer - 5.0}", "sign", "It adds up.", answer - 5.0),
        ),
    )


def statement() -> Item:
    """True or false, by the rules of one country."""
    return Item(
        model="made-up-statement",
        topic="regulations",
        level="recall",
        kind="statement",
        stem="A heading indicator sets itself to north.",
        options=(
            Option("True", "finds-north", "A free gyro keeps its direction in space."),
            Option("False", "", "It must be set by hand."),
        ),
        key=1,
        reason="It has no sense of north.",
        source="common practice, no source",
        drawn={},
        difficulty=0.2,
        jurisdiction="XX",
    )


def paper(*items: Item, form: str = "A", title: str = "Heading instruments, week 3") -> Paper:
    """A paper of these items."""
    return Paper(title, form, items, 7, Blueprint(title, ()))


def whole(count: int = 12) -> Paper:
    """A paper of every kind of item, with drawings of both shapes."""
    dial = Figure(DIAL, "A dial with N under the lubber line.")
    trace = Figure(TRACE, "The error rises evenly from 0 to 10 degrees.")
    choices = [
        choice(place, figure=dial if place % 5 == 2 else trace if place % 5 == 4 else None)
        for place in range(1, count - 1)
    ]
    return paper(*choices, number(), statement())
