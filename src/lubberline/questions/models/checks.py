"""The check of heading instruments in its order, faces in a taxi turn, and what each kind of flight asks."""

from typing import Any, NamedTuple

from lubberline.questions.models import (
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    facts,
    hanging_card_deg,
)
from lubberline.questions.models.procedures import BOOK, Step, sorted_by_needs
from lubberline.questions.panel_figures import Taxiing, taxi_panel

SOURCE = "preflight procedures: FAA-H-8083-15A, Instrument Flying Handbook, chapter 3"
# Each step of the check, and what it proves (`why`).
CHECK = (
    Step("compass", "looking at the compass", (), "its liquid is there and its card is free"),
    Step("switch", "listening after the master switch is on", ("compass",), "electric gyros start smoothly"),
    Step("started", "reading the suction gauge after the start", ("switch",), "the pump draws air"),
    Step("knob", "setting the heading indicator before taxiing", ("started",), "the knob turns the card"),
    Step("turn", "watching the faces in taxi turns", ("knob",), "the gyros follow a turn to the right side"),
    Step(
        "run-up",
        "reading the suction gauge at the run-up, by the runway",
        ("turn",),
        "the regulator does its work",
    ),
    Step(
        "line-up",
        "comparing the heading indicator with the runway",
        ("run-up",),
        "it has kept its setting while taxiing",
    ),
    Step(
        "aloft",
        "comparing the heading indicator with the compass in flight",
        ("line-up",),
        "its drift is within the allowance",
    ),
    Step("stop", "listening after the engine has stopped", ("aloft",), "the rotor runs down freely"),
)
BY_STEP = {step.id: step for step in CHECK}
IDEAS = (
    *("step-left-out", "step-done-again", "straight-to-the-last-step", "begun-again"),
    "steps-in-another-order",
)


def _draw_check(draw: Draw) -> dict[str, Any]:
    """A step, and four others but the first: some that come before it, the rest after it."""
    at = draw.random.randrange(len(CHECK) - 1)
    earlier, later = range(1, at), range(at + 1, len(CHECK))
    before = draw.pick([n for n in (0, 1, 1, 1, 2, 2, 2, 3) if n <= len(earlier) and 4 - n <= len(later)])
    shown = [*draw.random.sample(earlier, before), *draw.random.sample(later, 4 - before)]
    return {"done": CHECK[at].id, "shown": "+".join(CHECK[place].id for place in sorted(shown))}


def _proves(d: Drawn) -> Worked:
    ids, shown = list(BY_STEP), d["shown"].split("+")
    before = [id for id in shown if ids.index(id) < ids.index(d["done"])]
    key, *later = shown[len(before) :]
    ideas = {
        "step-left-out": later[:1],
        "step-done-again": before[-1:],
        "straight-to-the-last-step": later[-1:],
        "begun-again": before[:1],
        "steps-in-another-order": [*before[1:-1], *later[1:-1]],
    }
    return Worked(
        key,
        tuple(Wrong(idea, answer) for idea, answers in ideas.items() for answer in answers),
        {"done": BY_STEP[d["done"]].text, "step": BY_STEP[key].text, "why": BY_STEP[key].why},
    )


def _by_needs(d: Drawn, believed: Belief) -> str:
    """What each step needs before it, sorted by that alone."""
    order = sorted_by_needs(CHECK[::-1])
    rank = {id: order.index(id) for id in (*d["shown"].split("+"), d["done"])}
    line = sorted(rank, key=lambda id: rank[id])
    at = line.index(d["done"])
    found = believed.step("step that follows", line[at + 1], line[min(at + 2, len(line) - 1)])
    found = believed.step("step that went before", found, line[max(at - 1, 0)])
    found = believed.step("last step", found, line[-1])
    return str(believed.step("first step", found, line[0]))


PROVES = ItemModel(
    id="check-what-it-proves",
    topic="procedures",
    level="recall",
    kind="choice",
    draw=_draw_check,
    work=_proves,
    second=_by_needs,
    second_way="what each step of the check needs before it, sorted by that alone",
    words=Words(
        stem="A pilot checks the heading instruments from the pre-flight check to the shut-down. The last "
        "step was {done}. Which of these steps comes next, and what does it prove?",
        reason="The next of these steps is {step}: it proves that {why}.",
        feedback=dict.fromkeys(IDEAS, "The next of these steps is {step}: it proves that {why}."),
        options={step.id: f"{step.text}: {step.why}" for step in sorted(CHECK, key=lambda step: step.text)},
    ),
    source=SOURCE,
    steps=1,
    needs_options=True,
    asks=facts("heading check"),
)


class _Moment(NamedTuple):
    """A moment of a kind of flight.

    Attributes:
        text: what the pilot does.
        key: what to do with the heading indicator.
        set_min: how many minutes ago it was set, as drawn.
        bank_deg, along_g: how the aircraft flies.
        tumbled: whether the gyro has just tumbled.
        aerobatics: whether aerobatics are about to begin.
    """

    text: str
    key: str
    set_min: tuple[float, ...] = (18.0, 20.0, 25.0)
    bank_deg: float = 0.0
    along_g: float = 0.0
    tumbled: bool = False
    aerobatics: bool = False


STEADY, RECENT = "flies straight and level at a steady speed", (3.0, 5.0, 8.0)
MOMENTS = {
    "circuit before": _Moment("before local circuits, a pilot stands at the holding point", "compass"),
    "circuit downwind": _Moment(f"in the circuit, on the downwind leg, a pilot {STEADY}", "compass"),
    "route leg": _Moment(f"on a cross-country flight a pilot {STEADY}", "compass"),
    "approach before": _Moment(f"shortly before an instrument approach a pilot {STEADY}", "compass"),
    "circuit base": _Moment("in the circuit a pilot turns from downwind to base", "wait", bank_deg=18.0),
    "route turn": _Moment(
        "on a cross-country flight a pilot turns on to the next leg", "wait", bank_deg=-15.0
    ),
    "approach turn": _Moment(
        "on an instrument approach a pilot turns on to the final track", "wait", bank_deg=15.0
    ),
    "approach after": _Moment(
        "after an instrument approach a pilot goes around and speeds up fast", "wait", along_g=0.25
    ),
    "aerobatics after": _Moment(
        f"just after aerobatics, in which the card swung round and round, a pilot {STEADY}",
        "level",
        RECENT,
        tumbled=True,
    ),
    "upset after": _Moment(
        "on a cross-country flight, just after an upset in which the card swung round and round, a pilot "
        f"{STEADY}",
        "level",
        RECENT,
        tumbled=True,
    ),
    "circuit final": _Moment(
        "in the circuit, on final, a pilot flies straight at a steady speed", "leave", RECENT
    ),
    "approach final": _Moment(
        "on an instrument approach, on the final track, a pilot flies straight at a steady speed",
        "leave",
        RECENT,
    ),
    "route recent": _Moment(f"on a cross-country flight a pilot {STEADY}", "leave", RECENT),
    "aerobatics before": _Moment(
        f"shortly before aerobatics, with a heading indicator that can be caged, a pilot {STEADY}",
        "cage",
        RECENT,
        aerobatics=True,
    ),
}
TO_DO = {
    "cage": "cage it before going on",
    "level": "fly level for some minutes, then set it to the compass",
    "leave": "leave it as it is set for now",
    "wait": "let the compass come to rest first, then set it",
    "compass": "set it to the compass now, with the deviation applied",
}
# What other students would do where each of these is right.
DONE = {
    "compass": {
        "setting-lasts-the-flight": "leave",
        "every-setting-needs-level-flight": "level",
        "compass-never-steady-in-flight": "wait",
        "caged-when-it-is-not-used": "cage",
    },
    "wait": {
        "set-it-in-the-turn": "compass",
        "setting-lasts-the-flight": "leave",
        "caged-when-it-is-not-used": "cage",
    },
    "level": {
        "gyro-levels-at-once": "compass",
        "card-comes-back-after-a-tumble": "leave",
        "caged-when-it-is-not-used": "cage",
    },
    "leave": {
        "set-at-every-chance": "compass",
        "every-setting-needs-level-flight": "level",
        "caged-when-it-is-not-used": "cage",
    },
    "cage": {"housing-never-meets-its-stop": "leave", "fresh-setting-survives-aerobatics": "compass"},
}
OFTEN = (*["compass"] * 9, *["leave"] * 4, *["cage", "level"] * 3, "wait")
INTERVAL_MIN, LEVEL_ENOUGH_DEG, STEADY_ENOUGH_DEG = 15.0, 5.0, 5.0


def _draw_flight(draw: Draw) -> dict[str, Any]:
    """Each thing to do is right about as often as it is wrong where it is offered."""
    key = draw.pick(OFTEN)
    name = draw.pick([name for name, moment in MOMENTS.items() if moment.key == key])
    return {"moment": name, "set_min": draw.pick(MOMENTS[name].set_min)}


def _flight(d: Drawn) -> Worked:
    moment = MOMENTS[d["moment"]]
    done = dict(DONE[moment.key])
    if moment.along_g:
        done["no-acceleration-error"] = done.pop("set-it-in-the-turn")
    text = moment.text[0].upper() + moment.text[1:]
    return Worked(
        moment.key,
        tuple(Wrong(idea, answer) for idea, answer in done.items()),
        {"text": text, "ago": f"{d['set_min']:.0f}"},
        phrase=moment.key,
    )


def _flight_second(d: Drawn, believed: Belief) -> str:
    """By the state of gyro, compass and setting: the first thing that is missing comes first."""
    moment = MOMENTS[d["moment"]]
    if moment.aerobatics:
        # Every stop is within reach of a loop.
        met = believed.step("stop", True)
        found = "cage" if met else "leave"
        return believed.step("before aerobatics", found)
    if believed.step("need of the cage", False):
        return "cage"
    tumbled = moment.tumbled and believed.step("card after a tumble", True)
    tilt = believed.step("tilt left after a time", 30.0 if tumbled else 0.0)
    overdue = believed.step("age of the setting", d["set_min"]) >= believed.step("interval", INTERVAL_MIN)
    if tilt > LEVEL_ENOUGH_DEG:
        return "level"
    if not (tumbled or overdue):
        return "leave"
    heading_deg = 90.0 if moment.along_g else 0.0
    shown = hanging_card_deg(heading_deg, moment.bank_deg, moment.along_g, 65.0, believed)
    away = abs((shown - heading_deg + 180.0) % 360.0 - 180.0)
    return "wait" if believed.step("error of the compass", away) > STEADY_ENOUGH_DEG else "compass"


FLIGHT = ItemModel(
    id="procedure-by-kind-of-flight",
    topic="procedures",
    level="apply",
    kind="choice",
    draw=_draw_flight,
    work=_flight,
    second=_flight_second,
    second_way="the tilt of the gyro, the age of the setting and the error of a card hung by vectors",
    words=Words(
        stem="{text}. The heading indicator was last set {ago} minutes ago. What should the pilot do with it "
        "first?",
        reason="{because}",
        feedback=dict.fromkeys(
            sorted({"no-acceleration-error", *(idea for done in DONE.values() for idea in done)}),
            "{because}",
        ),
        options=TO_DO,
        phrases={
            **dict.fromkeys(TO_DO, ""),
            "compass because": "After {ago} minutes the setting is due, and the compass is steady.",
            "wait because": "After {ago} minutes the setting is due, but just now the compass is wrong.",
            "level because": "The gyro has tumbled and is still tilted, so a setting would not hold.",
            "leave because": "After {ago} minutes the setting still holds; it is due every 15 minutes or so.",
            "cage because": "Aerobatics would drive the gyro against its stops.",
        },
    ),
    source=BOOK,
    steps=2,
    most=2,
    asks=facts("moment to set"),
    tells=facts("after a tumble"),
)


def _taxi(d: Drawn) -> Taxiing:
    side = 1 if d["side"] == "right" else -1
    turned = 50.0 + 10.0 * (d["before_deg"] % 3.0)
    wrong = d["wrong"]
    by = {"heading": -turned, "stuck": 0.0}.get(wrong, turned)
    return Taxiing(
        right=side > 0,
        before_deg=d["before_deg"],
        now_deg=(d["before_deg"] + side * by) % 360.0,
        turn_shown=0 if wrong == "turn" else side,
        ball=side if wrong == "ball" else -side,
        horizon_deg=16.0 * side if wrong == "horizon" else 0.0,
    )


WRONGS = ("", "", "", "", "heading", "turn", "ball", "horizon")
FELT = {
    "heading": "heading-falls-in-a-right-turn",
    "turn": "turn-indicator-needs-bank",
    "ball": "ball-moves-into-the-turn",
    "horizon": "horizon-leans-in-a-taxi-turn",
}


def _faces(d: Drawn) -> Worked:
    wrong = d["wrong"]
    ideas = (FELT[wrong],) if wrong else tuple(FELT.values())
    said = "false" if wrong else "true"
    return Worked(
        said,
        tuple(Wrong(idea, "true" if wrong else "false") for idea in ideas),
        {"side": d["side"], "outside": "left" if d["side"] == "right" else "right"},
        phrase=wrong or "sound",
        figure=taxi_panel(_taxi(d)),
    )


def _faces_second(d: Drawn, believed: Belief) -> str:
    """Each face against what a student expects of it in that turn."""
    shown = _taxi(d)
    side = 1 if shown.right else -1
    rise = (shown.now_deg - shown.before_deg + 180.0) % 360.0 - 180.0
    good = (
        rise * believed.step("heading in a taxi turn", side) > 20.0,
        shown.turn_shown == believed.step("turn indicator in a taxi turn", side),
        shown.ball == believed.step("ball in a taxi turn", -side),
        abs(abs(shown.horizon_deg) - believed.step("horizon in a taxi turn", 0.0)) < 5.0,
    )
    return "true" if all(good) else "false"


def _draw_faces(draw: Draw) -> dict[str, Any]:
    return {
        "side": draw.pick(("left", "right")),
        "before_deg": draw.step(10.0, 350.0, 10.0),
        "wrong": draw.pick(WRONGS),
    }


FACES = ItemModel(
    id="check-taxi-faces",
    pictured=True,
    topic="procedures",
    level="apply",
    kind="statement",
    draw=_draw_faces,
    work=_faces,
    second=_faces_second,
    second_way="each drawn face against what it should show in that turn",
    words=Words(
        stem="The drawing shows the path of an aeroplane that taxies, seen from above, and what its "
        "instruments show in the turn. True or false? The instruments show what they should.",
        reason="{because}",
        feedback=dict.fromkeys(FELT.values(), "{because}"),
        options={"true": "True", "false": "False"},
        phrases={
            "sound": "",
            "sound because": "In a {side} turn on the ground the heading changes to the {side}, the turn "
            "indicator shows a turn to the {side}, the ball lies to the {outside} and the horizon is level.",
            "heading": "",
            "heading because": "In a {side} turn the heading has to change to the {side}; here it did the "
            "opposite.",
            "turn": "",
            "turn because": "In a {side} turn the turn indicator has to show a turn to the {side}. Here it "
            "shows none.",
            "ball": "",
            "ball because": "In a {side} turn on the ground the ball has to lie to the {outside}. Here it "
            "lies to the {side}.",
            "horizon": "",
            "horizon because": "A turn on the ground may tilt the horizon by 5° at most; here it leans by "
            "far more.",
        },
    ),
    source=SOURCE,
    steps=3,
    least=1,
    most=1,
)

MODELS = (PROVES, FLIGHT, FACES)
