"""What to do and in what order, from the table of procedures."""

from typing import Any, NamedTuple

from lubberline.questions.belief import Belief
from lubberline.questions.model import Draw, Drawn, ItemModel, Words, Worked, Wrong, facts


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


BOOK = "FAA-H-8083-15B, Instrument Flying Handbook, chapter 5"

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
        "AC 91-46 (1977), on partial panel",
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
        BOOK,
    ),
)
BY_ID = {procedure.id: procedure for procedure in PROCEDURES}

# What the steps of a procedure say in passing.
TOLD = {"set-in-flight": ("moment to set",), "after-upset": ("after a tumble",)}

SOURCE = "; ".join(sorted({procedure.source for procedure in PROCEDURES}))
NEEDS = "what each step needs before it, sorted by that alone"
# By their first letters, so that the place of an option tells nothing.
TEXTS = dict(
    sorted(
        ((f"{procedure.id} {step.id}", step.text) for procedure in PROCEDURES for step in procedure.steps),
        key=lambda entry: entry[1].lower(),
    )
)


def sorted_by_needs(steps: tuple[Step, ...]) -> list[str]:
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


def _next(d: Drawn) -> Worked:
    procedure, after = BY_ID[d["procedure"]], d["after"]
    steps, key = procedure.steps, d["after"] + 1
    ideas = {key + 1: "step-left-out", after - 1: "step-done-again"}
    wrong = [(ideas.get(place, "steps-in-another-order"), place) for place in range(len(steps))]
    wrong += [("straight-to-the-last-step", len(steps) - 1), ("begun-again", 0)]
    # Those with a law first: where two ideas give one step, the option bears them both.
    wrong.sort(key=lambda one: one[0] == "steps-in-another-order")
    return Worked(
        f"{procedure.id} {steps[key].id}",
        tuple(
            Wrong(idea, f"{procedure.id} {steps[place].id}")
            for idea, place in wrong
            if place not in (key, after)
        ),
        {"title": procedure.title, "done": steps[after].text, "why": steps[key].why},
    )


def _next_second(d: Drawn, believed: Belief) -> str:
    order = sorted_by_needs(BY_ID[d["procedure"]].steps[::-1])
    after = d["after"]
    found = believed.step("step that follows", order[after + 1], order[min(after + 2, len(order) - 1)])
    found = believed.step("step that went before", found, order[max(after - 1, 0)])
    found = believed.step("last step", found, order[-1])
    return f"{d['procedure']} {believed.step('first step', found, order[0])}"


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
        feedback=dict.fromkeys(
            (
                *("step-left-out", "step-done-again", "straight-to-the-last-step", "begun-again"),
                "steps-in-another-order",
            ),
            "The next step is: {key}. The reason is that {why}.",
        ),
        options=TEXTS,
    ),
    source=SOURCE,
    steps=2,
    asks=facts("procedure {procedure}"),
    tells=lambda d: TOLD.get(d["procedure"], ()),
)


def _first(d: Drawn) -> Worked:
    procedure = BY_ID[d["procedure"]]
    steps, first = procedure.steps, procedure.steps[0]
    wrong = {steps[-1].id: "straight-to-the-last-step", steps[1].id: "step-left-out"}
    return Worked(
        f"{procedure.id} {first.id}",
        tuple(
            Wrong(wrong.get(step.id, "steps-in-another-order"), f"{procedure.id} {step.id}")
            for step in steps[1:]
        ),
        {"title": procedure.title, "why": first.why},
    )


def _first_second(d: Drawn, believed: Belief) -> str:
    order = sorted_by_needs(BY_ID[d["procedure"]].steps[::-1])
    found = believed.step("step that follows", order[0], order[1])
    return f"{d['procedure']} {believed.step('last step', found, order[-1])}"


FIRST = ItemModel(
    id="procedure-first-step",
    topic="procedures",
    level="recall",
    kind="choice",
    draw=lambda draw: {"procedure": draw.pick(PROCEDURES).id},
    work=_first,
    second=_first_second,
    second_way=NEEDS,
    words=Words(
        stem="A pilot {title}. Which of these comes first?",
        reason="The first step is: {key}. The reason is that {why}.",
        feedback=dict.fromkeys(
            ("step-left-out", "straight-to-the-last-step", "steps-in-another-order"),
            "The first step is: {key}. The reason is that {why}.",
        ),
        options=TEXTS,
    ),
    source=SOURCE,
    steps=1,
    most=2,
    asks=facts("procedure {procedure}"),
    tells=lambda d: TOLD.get(d["procedure"], ()),
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
    facts = {
        name: procedure.steps[place].text for name, place in zip(("one", "two", "three"), shown, strict=True)
    }
    told = [procedure.steps[place] for place in sorted(shown)]
    facts.update(
        title=procedure.title, first=told[0].text, then=told[1].text, last=told[2].text, why=told[2].why
    )
    return Worked(
        key,
        (
            Wrong("step-left-out", key[0] + key[2] + key[1]),
            Wrong("straight-to-the-last-step", key[2] + key[0] + key[1]),
            Wrong("order-as-listed", "abc"),
        ),
        facts,
        signs=1,
    )


def _order_second(d: Drawn, believed: Belief) -> str:
    procedure = BY_ID[d["procedure"]]
    order = sorted_by_needs(procedure.steps[::-1])
    ids = [procedure.steps[place].id for place in d["shown"]]
    first, then, last = sorted(ids, key=order.index)
    found = believed.step("step that follows", [first, then, last], [first, last, then])
    found = believed.step("last step", found, [last, first, then])
    return "".join("abc"[ids.index(id)] for id in believed.step("order", found, ids))


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
        feedback=dict.fromkeys(
            ("step-left-out", "straight-to-the-last-step", "order-as-listed"),
            "The order is {key}: first, {first}; then, {then}; last, {last}.",
        ),
        options=ORDERS,
    ),
    source=SOURCE,
    steps=3,
    most=2,
    asks=facts("procedure {procedure}"),
    tells=lambda d: TOLD.get(d["procedure"], ()),
)

MODELS = (NEXT, FIRST, ORDER)
