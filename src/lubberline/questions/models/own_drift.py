"""What remains of an observed drift as the instrument's own, and whether it is too much."""

from lubberline.questions.models import (
    TRUTH,
    Belief,
    Draw,
    Drawn,
    ItemModel,
    Words,
    Worked,
    Wrong,
    facts,
    laws_of,
    notation,
    rates,
    under,
    wander_deg_h,
)
from lubberline.questions.models.wander import KERNEL, THEORY, earth_facts
from lubberline.questions.panel_figures import then_and_now

LIMIT_DEG_15MIN = 3.0
SOURCE = "about 3 degrees in 15 minutes, without apparent wander: FAA-H-8083-15B, chapter 5"
PERIOD_MIN = 15.0


def _facts(d: Drawn) -> dict[str, str]:
    latitude = d["latitude_deg"]
    earth = wander_deg_h(latitude) * PERIOD_MIN / 60.0
    return {
        **earth_facts(latitude),
        "observed": notation.change(d["observed_deg"], 1),
        "earth": notation.change(earth, 1),
        "left": notation.change(d["observed_deg"] - earth, 1),
    }


def _draw_observed(draw: Draw) -> dict[str, float]:
    latitude = draw.latitude_deg(30, 70, 5)
    real = draw.signed(0.5, 2.0, 0.5) if draw.random.random() < 0.5 else draw.signed(4.5, 7.0, 0.5)
    return {
        "latitude_deg": latitude,
        "observed_deg": round(wander_deg_h(latitude) * PERIOD_MIN / 60.0 + real, 1),
    }


def _left(d: Drawn) -> Worked:
    latitude, observed = d["latitude_deg"], d["observed_deg"]
    ideas = ("no-earth-wander", "same-wander-everywhere", "rises-in-the-north", "falls-in-both-hemispheres")
    return Worked(
        observed - wander_deg_h(latitude) * PERIOD_MIN / 60.0,
        under(ideas, lambda laws: observed - wander_deg_h(latitude, laws=laws) * PERIOD_MIN / 60.0),
        _facts(d),
        signs=2,
        figure=then_and_now(10.0 * (abs(latitude) % 36.0), observed, PERIOD_MIN),
    )


LEFT = ItemModel(
    id="wander-real-left-over",
    pictured=True,
    topic="wander",
    level="apply",
    kind="choice",
    draw=_draw_observed,
    work=_left,
    second=lambda d, believed: (
        d["observed_deg"] - rates(d["latitude_deg"], believed=believed).earth_deg_h / 4.0
    ),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude} on a constant heading. The drawing shows its heading "
        "indicator, which has no latitude nut, and again a quarter of an hour later. About how would its "
        "reading change in that time from real wander (friction and imbalance) alone?",
        reason="The reading {observed}. In a quarter of an hour at {latitude} the reading {earth} from "
        "apparent wander alone. The rest is real wander: from it the reading {key}.",
        feedback=dict.fromkeys(
            ("no-earth-wander", "same-wander-everywhere", "rises-in-the-north", "falls-in-both-hemispheres"),
            "In a quarter of an hour at {latitude} the reading {earth} from apparent wander alone.",
        ),
    ),
    source=THEORY,
    steps=3,
    notation=notation.CHANGE_TENTHS,
    apart=1.5,
    agree=0.1,
    most=2,
    tells=facts("term real-wander"),
)

OPTIONS = {"good": "within the allowance", "bad": "beyond the allowance"}


def _verdict_by(real_deg: float) -> str:
    return "good" if abs(real_deg) <= LIMIT_DEG_15MIN else "bad"


def _verdict(d: Drawn) -> Worked:
    real = d["observed_deg"] - wander_deg_h(d["latitude_deg"]) * PERIOD_MIN / 60.0
    key = _verdict_by(real)
    earth = wander_deg_h(d["latitude_deg"], laws=laws_of("rises-in-the-north")) * PERIOD_MIN / 60.0
    believed = (
        Wrong("three-degrees-means-worn", _verdict_by(d["observed_deg"])),
        Wrong("rises-in-the-north", _verdict_by(d["observed_deg"] - earth)),
    )
    return Worked(key, tuple(wrong for wrong in believed if wrong.value != key), _facts(d), signs=1)


def _verdict_second(d: Drawn, believed: Belief) -> str:
    """By what the student takes for the instrument's own, with the Earth's share that the student expects."""
    expected, true = (
        one.seen_drift_deg_15min - one.drift_cruise_deg_15min for one in (believed.seen(), TRUTH.seen())
    )
    earth_deg_h = rates(d["latitude_deg"], believed=believed).earth_deg_h
    own_deg = d["observed_deg"] - earth_deg_h / 4.0 * expected / true
    return "bad" if abs(own_deg) > 3.0 else "good"


def _draw_verdict(draw: Draw) -> dict[str, float]:
    """Observations whose raw number gives the right verdict as often as the wrong one."""
    misleads = draw.pick((True, False))
    while True:
        drawn = _draw_observed(draw)
        real = drawn["observed_deg"] - wander_deg_h(drawn["latitude_deg"]) * PERIOD_MIN / 60.0
        whole = drawn["observed_deg"]
        if (_verdict_by(real) != _verdict_by(whole)) == misleads and abs(abs(whole) - LIMIT_DEG_15MIN) > 0.2:
            return drawn


VERDICT = ItemModel(
    id="wander-verdict",
    topic="wander",
    level="judge",
    kind="choice",
    draw=_draw_verdict,
    work=_verdict,
    second=_verdict_second,
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude}, engine running, on a constant heading. In a quarter "
        "of an hour the reading of its heading indicator, which has no latitude nut, {observed}. The "
        "usual allowance for real wander, which leaves out apparent wander, is 3° in a quarter of an hour. "
        "What is the real wander of this instrument?",
        reason="From apparent wander alone the reading {earth}. The rest is the instrument's own real "
        "wander: from it the reading {left}.",
        feedback=dict.fromkeys(
            ("three-degrees-means-worn", "rises-in-the-north"),
            "From apparent wander alone the reading {earth}. The rest is the instrument's own real wander: "
            "from it the reading {left}.",
        ),
        options=OPTIONS,
    ),
    source=SOURCE,
    steps=4,
    least=1,
    most=1,
)

MODELS = (LEFT, VERDICT)
