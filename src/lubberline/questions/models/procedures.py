"""What to do and in what order, from the table of procedures."""

from typing import Any, NamedTuple

from lubberline.questions.model import Draw, Drawn, ItemModel, Words, Worked, Wrong


class Step(NamedTuple):
    """One step.

    Attributes:
        id: short.
        text: what to do.
        needs: ids of the steps that must come before it.
        why: why it comes after those.
    """

    id: str
    text: str
    needs: tuple[str, ...]
    why: str


class Procedure(NamedTuple):
    """Steps in one right order.

    Attributes:
        id: short.
        title: the task, to follow 'A pilot'.
        steps: in order.
        source: where that is published.
    """

    id: str
    title: str
    steps: tuple[Step, ...]
    source: str


BOOK = "FAA-H-8083-15B, Instrument Flying Handbook, chapter 5 (from memory); common practice"

PROCEDURES: tuple[Procedure, ...] = (
    Procedure(
        "before-take-off",
        "prepares an air-driven heading indicator for take-off",
        (
            Step("start", "start the engine", (), "without the engine there is no suction"),
            Step(
                "wait",
                "allow about five minutes for the rotor to reach full speed",
                ("start",),
                "the rotor spins up only while the engine provides suction",
            ),
            Step(
                "set",
                "set the heading indicator to the compass while standing still",
                ("wait",),
                "with a slow rotor the card would soon drift",
            ),
            Step(
                "taxi",
                "watch that it follows the turns while taxiing",
                ("set",),
                "only an instrument that is up to speed and set can be checked in a turn",
            ),
            Step(
                "runway",
                "compare it with the runway's heading when lined up",
                ("taxi",),
                "it is the last check against a known direction",
            ),
        ),
        BOOK,
    ),
    Procedure(
        "set-in-flight",
        "sets a heading indicator to the compass in flight",
        (
            Step(
                "steady",
                "fly straight and level at a steady speed",
                (),
                "the compass is right only in straight, unaccelerated flight",
            ),
            Step(
                "settle",
                "let the compass card come to rest",
                ("steady",),
                "a card that is still swinging gives no reliable reading",
            ),
            Step("read", "read the compass", ("settle",), "the card can be read only when it is steady"),
            Step(
                "card",
                "apply the deviation from the correction card",
                ("read",),
                "the deviation depends on the heading that was read",
            ),
            Step(
                "knob",
                "set the heading indicator with its knob",
                ("card",),
                "the heading to set is the corrected one",
            ),
            Step(
                "release",
                "see that the knob is released and that the card follows a small turn",
                ("knob",),
                "this can be checked only after setting",
            ),
        ),
        BOOK,
    ),
    Procedure(
        "suction-lost",
        "sees in cloud that the suction has fallen to zero",
        (
            Step(
                "believe",
                "go over to the instruments that work without suction, and keep control",
                (),
                "flying the aircraft comes first",
            ),
            Step(
                "cover",
                "cover the air-driven instruments that are failing",
                ("believe",),
                "instruments that fail slowly mislead the pilot",
            ),
            Step(
                "tell",
                "tell air traffic control that instruments have failed",
                ("cover",),
                "communicating comes after flying",
            ),
        ),
        "AC 91-46 (1977), on partial panel; common practice: aviate, navigate, communicate",
    ),
    Procedure(
        "after-upset",
        "brings a heading indicator back into use after it has tumbled",
        (
            Step(
                "level",
                "fly straight and level",
                (),
                "the gyro levels itself to the attitude of the aircraft",
            ),
            Step(
                "erect",
                "wait some minutes until the gyro is level, or cage and uncage it if it can be caged",
                ("level",),
                "the gyro levels correctly only in level flight",
            ),
            Step(
                "set", "set it to the compass", ("erect",), "a tilted gyro goes on drifting after it is set"
            ),
            Step(
                "watch",
                "compare it with the compass again after a few minutes",
                ("set",),
                "damage shows as renewed drift",
            ),
        ),
        BOOK,
    ),
    Procedure(
        "drift-report",
        "checks whether a heading indicator drifts too much",
        (
            Step(
                "set",
                "set it correctly in straight, steady flight",
                (),
                "drift is measured from a correct setting",
            ),
            Step("hold", "fly on straight for a quarter of an hour", ("set",), "drift takes time to show"),
            Step(
                "compare",
                "compare it with the corrected compass",
                ("hold",),
                "the difference is the total drift",
            ),
            Step(
                "earth",
                "take away apparent wander and transport wander",
                ("compare",),
                "even a perfect instrument has them",
            ),
            Step(
                "report",
                "write the rest in the log for the engineer",
                ("earth",),
                "only the rest is the instrument's own drift",
            ),
        ),
        "about 3 degrees in 15 minutes, without apparent wander: FAA-H-8083-15B, chapter 5 (from memory)",
    ),
)
BY_ID = {procedure.id: procedure for procedure in PROCEDURES}

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
    """Steps in the order that their needs require, in whatever order they are listed."""
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
        reason="The next step is: {key}. The reason is that {why}.",
        feedback={
            "step-left-out": "The next step is: {key}. The reason is that {why}.",
            "step-done-again": "The next step is: {key}.",
        },
        options=TEXTS,
    ),
    source=SOURCE,
    steps=2,
)


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
    draw=lambda draw: {"procedure": draw.pick(PROCEDURES).id},
    work=_first,
    second=lambda d: f"{d['procedure']} {_sorted_by_needs(BY_ID[d['procedure']].steps[::-1])[0]}",
    second_way=NEEDS,
    words=Words(
        stem="A pilot {title}. Which of these comes first?",
        reason="The first step is: {key}. The reason is that {why}.",
        feedback={"step-left-out": "The first step is: {key}. The reason is that {why}."},
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
    """Which listed step comes first, second and third, by letters of the list."""
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
        stem="A pilot {title}. In which order are these steps taken? (1) {one}; (2) {two}; (3) {three}.",
        reason="The order is {key}: first, {first}; then, {then}; last, {last}. The last step comes last "
        "because {why}.",
        feedback={
            "steps-in-another-order": "The order is {key}: first, {first}; then, {then}; last, {last}."
        },
        options=ORDERS,
    ),
    source=SOURCE,
    steps=3,
)

MODELS = (NEXT, FIRST, ORDER)
