"""The pre-flight and taxi check of heading instruments: what each step proves, and faces in a taxi turn."""

from typing import Any

from lubberline.questions.models import Belief, Draw, Drawn, ItemModel, Words, Worked, Wrong
from lubberline.questions.models.procedures import Step
from lubberline.questions.panel_figures import Taxiing, taxi_panel

SOURCE = (
    "FAA-H-8083-15A, Instrument Flying Handbook, chapter 3, preflight procedures; run-down: "
    "common practice, no source"
)
# Each step of the check in its order, and what it proves (`why`).
CHECK = (
    Step("compass", "looking at the compass before the start", (), "that its bowl is full and its card free"),
    Step("switch", "listening after the master switch is on", (), "that the electric gyros start smoothly"),
    Step("run-up", "reading the suction gauge at the run-up", (), "that pump and regulator do their work"),
    Step("knob", "setting the heading indicator after 5 minutes", (), "that its knob turns the card"),
    Step("turn", "watching the faces in taxi turns", (), "that the gyros follow a turn to the right side"),
    Step("line-up", "comparing it with the runway when lined up", (), "that it has kept its setting so far"),
    Step("stop", "listening after the engine has stopped", (), "that the rotor runs down freely"),
)
PLACES = {step.id: place for place, step in enumerate(CHECK)}
IDEAS = ("step-left-out", "step-done-again", "straight-to-the-last-step", "begun-again")


def _others(place: int) -> dict[str, int]:
    """The place that a student with each idea thinks of."""
    last = len(CHECK) - 1
    return dict(zip(IDEAS, (min(place + 1, last), max(place - 1, 0), last, 0), strict=True))


def _proves(d: Drawn) -> Worked:
    place = PLACES[d["step"]]
    wrong = {idea: other for idea, other in _others(place).items() if other != place}
    return Worked(
        CHECK[place].id,
        tuple(Wrong(idea, CHECK[other].id) for idea, other in wrong.items()),
        {"step": CHECK[place].text},
    )


def _by_steps(d: Drawn, believed: Belief) -> str:
    ids = [step.id for step in CHECK]
    place = ids.index(d["step"])
    found = believed.step("step that follows", ids[place], ids[min(place + 1, len(ids) - 1)])
    found = believed.step("step that went before", found, ids[max(place - 1, 0)])
    found = believed.step("last step", found, ids[-1])
    return str(believed.step("first step", found, ids[0]))


PROVES = ItemModel(
    id="check-what-it-proves",
    topic="procedures",
    level="recall",
    kind="choice",
    draw=lambda draw: {"step": draw.pick(tuple(PLACES))},
    work=_proves,
    second=_by_steps,
    second_way="the list of the check, step by step",
    words=Words(
        stem="What does this step of the check of heading instruments prove: {step}?",
        reason="It proves {key}.",
        feedback=dict.fromkeys(IDEAS, "It proves {key}; {this} is what another step of the check proves."),
        options={step.id: step.why for step in sorted(CHECK, key=lambda step: step.why)},
    ),
    source=SOURCE,
    steps=1,
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
            "horizon because": "In a taxi turn the horizon may lean by 5° at most; here it leans by more.",
        },
    ),
    source=SOURCE,
    steps=3,
    least=1,
    most=1,
)

MODELS = (PROVES, FACES)
