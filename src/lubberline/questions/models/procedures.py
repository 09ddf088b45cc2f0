"""What to do, and in what order: keyed from the table of procedures."""

from __future__ import annotations

from typing import Any

from lubberline.questions.drawing import Draw
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong
from lubberline.questions.procedures import BY_ID, PROCEDURES, Procedure, Step

SOURCE = "table of procedures: " + "; ".join(sorted({procedure.source for procedure in PROCEDURES}))
NEEDS = "what each step needs before it, sorted by that alone"
# By their first letters, so that the place of an option tells nothing.
TEXTS = dict(
    sorted(
        ((f"{procedure.id} {step.id}", step.text) for procedure in PROCEDURES for step in procedure.steps),
        key=lambda entry: entry[1].lower(),
    )
)


def _sorted_by_needs(steps: tuple[Step, ...]) -> list[str]:
    """Steps in an order that their needs force, whatever order they are listed in."""
    left = {step.id: set(step.needs) for step in steps}
    done: list[str] = []
    while left:
        ready = sorted(id for id, needs in left.items() if needs <= set(done))
        if len(ready) != 1:
            raise RuntimeError(f"the needs leave the order open after {done}")
        done.append(ready[0])
        del left[ready[0]]
    return done


def _draw_next(draw: Draw) -> dict[str, Any]:
    procedure = draw.pick(PROCEDURES)
    return {"procedure": procedure.id, "after": draw.random.randrange(len(procedure.steps) - 1)}


def _idea(procedure: Procedure, key: int, place: int) -> str:
    return "step-left-out" if place > key else "step-done-again"


def _next(d: Drawn) -> Worked:
    procedure, after = BY_ID[d["procedure"]], d["after"]
    steps, key = procedure.steps, d["after"] + 1
    others = [place for place in range(len(steps)) if place not in (key, after)]
    return Worked(
        f"{procedure.id} {steps[key].id}",
        tuple(Wrong(_idea(procedure, key, place), f"{procedure.id} {steps[place].id}") for place in others),
        {"title": procedure.title, "done": steps[after].text, "why": steps[key].why},
    )


def _next_second(d: Drawn) -> str:
    procedure = BY_ID[d["procedure"]]
    order = _sorted_by_needs(procedure.steps[::-1])
    return f"{procedure.id} {order[d['after'] + 1]}"


NEXT = ItemModel(
    id="procedure-next-step",
    topic="procedures",
    level="apply",
    kind="choice",
    draw=_draw_next,
    work=_next,
    second=_next_second,
    second_way=NEEDS,
    words=Words(
        stem="A pilot {title}. The last step was: {done}. Which step comes next?",
        reason="Next: {key}. Its place follows from this: {why}.",
        feedback={
            "step-left-out": "Before that: {key}; {why}.",
            "step-done-again": "That is done by now. Next: {key}.",
        },
        options=TEXTS,
    ),
    source=SOURCE,
    steps=2,
)


def _draw_first(draw: Draw) -> dict[str, Any]:
    return {"procedure": draw.pick(PROCEDURES).id}


def _first(d: Drawn) -> Worked:
    procedure = BY_ID[d["procedure"]]
    steps, first = procedure.steps, procedure.steps[0]
    return Worked(
        f"{procedure.id} {first.id}",
        tuple(Wrong("step-left-out", f"{procedure.id} {step.id}") for step in steps[1:]),
        {"title": procedure.title, "why": first.why},
    )


FIRST = ItemModel(
    id="procedure-first-step",
    topic="procedures",
    level="recall",
    kind="choice",
    draw=_draw_first,
    work=_first,
    second=lambda d: f"{d['procedure']} {_sorted_by_needs(BY_ID[d['procedure']].steps[::-1])[0]}",
    second_way=NEEDS,
    words=Words(
        stem="A pilot {title}. Which of these comes first?",
        reason="First: {key}, for {why}.",
        feedback={"step-left-out": "First: {key}, for {why}."},
        options=TEXTS,
    ),
    source=SOURCE,
    steps=1,
)

ORDERS = {
    "abc": "1, 2, 3",
    "acb": "1, 3, 2",
    "bac": "2, 1, 3",
    "bca": "2, 3, 1",
    "cab": "3, 1, 2",
    "cba": "3, 2, 1",
}


def _draw_order(draw: Draw) -> dict[str, Any]:
    procedure = draw.pick(PROCEDURES)
    places = sorted(draw.random.sample(range(len(procedure.steps)), 3))
    shown = draw.random.sample(places, 3)
    return {"procedure": procedure.id, "shown": shown}


def _order_name(shown: list[int]) -> str:
    """Which listed step comes first, second, third: by letters of the list."""
    return "".join("abc"[shown.index(place)] for place in sorted(shown))


def _order(d: Drawn) -> Worked:
    procedure, shown = BY_ID[d["procedure"]], d["shown"]
    key = _order_name(shown)
    swapped = {
        "swap first": key[1] + key[0] + key[2],
        "swap last": key[0] + key[2] + key[1],
        "turned": key[::-1],
    }
    facts = {
        name: procedure.steps[place].text for name, place in zip(("one", "two", "three"), shown, strict=True)
    }
    told = [procedure.steps[place] for place in sorted(shown)]
    facts.update(
        title=procedure.title, first=told[0].text, then=told[1].text, last=told[2].text, why=told[2].why
    )
    return Worked(
        key,
        tuple(Wrong("steps-in-another-order", name) for name in swapped.values()),
        facts,
        signs=1,
    )


def _order_second(d: Drawn) -> str:
    procedure = BY_ID[d["procedure"]]
    order = _sorted_by_needs(procedure.steps[::-1])
    ids = [procedure.steps[place].id for place in d["shown"]]
    return "".join("abc"[ids.index(id)] for id in sorted(ids, key=order.index))


ORDER = ItemModel(
    id="procedure-order",
    topic="procedures",
    level="judge",
    kind="choice",
    draw=_draw_order,
    work=_order,
    second=_order_second,
    second_way=NEEDS,
    words=Words(
        stem="A pilot {title}. In which order are these steps taken? (1) {one}. (2) {two}. (3) {three}.",
        reason="The order is {key}: first {first}; then {then}; last {last}, for {why}.",
        feedback={"steps-in-another-order": "The order is {key}: first {first}; then {then}; last {last}."},
        options=ORDERS,
    ),
    source=SOURCE,
    steps=3,
)

MODELS = (NEXT, FIRST, ORDER)
