"""What a slip is, and the slips in reading faces and gauges, in a check, and after a tumble."""

from collections.abc import Callable
from typing import Any, NamedTuple


class Slip(NamedTuple):
    """A slip.

    Attributes:
        statement: what went wrong, as the student would put it.
        mend: the sentence that corrects it.
        step: the step of working that it replaces, by the name that second ways ask for.
        instead: what it makes of the right outcome of that step, and of what else the second way offers.
    """

    statement: str
    mend: str
    step: str = ""
    instead: Callable[..., Any] | None = None


def negated(value: float) -> float:
    """The other sign."""
    return -value


def times(factor: float) -> Callable[[float], float]:
    """So many times as much."""
    return lambda value: factor * value


def plus(more: float) -> Callable[[float], float]:
    """So much more."""
    return lambda value: value + more


def always(fixed: Any) -> Callable[..., Any]:
    """One outcome, whatever is right."""
    return lambda *_: fixed


def other(_: Any, instead: Any) -> Any:
    """The other of a pair."""
    return instead


FACE_SLIPS: dict[str, Slip] = {
    "difference-the-wrong-way-round": Slip(
        "I subtracted the reading from the heading.",
        "An instrument that shows more than the heading reads too high.",
        step="sense of a difference",
        instead=negated,
    ),
    "runway-number-is-its-bearing": Slip(
        "The runway's number times ten is its heading.",
        "The number of a runway is rounded to ten degrees. Take the bearing from the chart.",
        step="bearing of the runway",
        instead=other,
    ),
    "ball-moves-into-the-turn": Slip(
        "In a taxi turn the ball moves into the turn.",
        "The aircraft does not bank on the ground, so the ball moves to the outside of the turn.",
        step="ball in a taxi turn",
        instead=negated,
    ),
    "heading-falls-in-a-right-turn": Slip(
        "In a right turn the card turns to the left, so the heading falls.",
        "Headings count clockwise: in a turn to the right they rise.",
        step="heading in a taxi turn",
        instead=negated,
    ),
    "turn-indicator-needs-bank": Slip(
        "Without bank the turn indicator shows no turn.",
        "The turn indicator shows the rate of turn, on the ground too.",
        step="turn indicator in a taxi turn",
        instead=always(0),
    ),
    "horizon-leans-in-a-taxi-turn": Slip(
        "In a taxi turn the horizon leans over.",
        "In a taxi turn the horizon stays level to within 5 degrees if the instrument is good.",
        step="horizon in a taxi turn",
        instead=always(16.0),
    ),
    "gyro-levels-at-once": Slip(
        "With the wings level again, the gyro is level too.",
        "The jets level a tilted gyro slowly: it takes many minutes.",
        step="tilt left after a time",
        instead=always(0.0),
    ),
    "jets-level-in-a-bank": Slip(
        "The jets level the gyro in a bank too.",
        "In a bank the jets level the gyro to a plane that is not level.",
        step="tilt in a bank",
        instead=always(0.0),
    ),
    "caging-needs-time-too": Slip(
        "After caging it needs a quarter of an hour to level.",
        "The caging mechanism levels the gyro at once, to the attitude that the aircraft has at that moment.",
        step="tilt after caging",
        instead=other,
    ),
    "caging-finds-the-level": Slip(
        "Caging levels the gyro, whatever the attitude.",
        "Caging levels the gyro to the aircraft, not to the horizon. Cage it with the wings level.",
        step="bank while caging",
        instead=always(0.0),
    ),
    "setting-lasts-the-flight": Slip(
        "Once it is set, it is right for the whole flight.",
        "Apparent wander and friction move the card all the time: set it about every 15 minutes.",
        step="age of the setting",
        instead=always(0.0),
    ),
    "set-at-every-chance": Slip(
        "I set it whenever I look at it.",
        "Each setting brings in the error of the compass at that moment. About every 15 minutes is enough.",
        step="interval",
        instead=always(0.0),
    ),
    "every-setting-needs-level-flight": Slip(
        "Before every setting the gyro needs some minutes of level flight.",
        "A gyro that has not tumbled is level already, and can be set at once in steady flight.",
        step="tilt left after a time",
        instead=always(30.0),
    ),
    "compass-never-steady-in-flight": Slip(
        "In an aeroplane the compass is never steady enough.",
        "Standing still, or in straight flight at a steady speed, the compass is right but for deviation.",
        step="error of the compass",
        instead=always(10.0),
    ),
    "card-comes-back-after-a-tumble": Slip(
        "When the card has stopped turning, it shows what it was set to.",
        "A card that has swung round stops at any reading. It must be set again.",
        step="card after a tumble",
        instead=always(False),
    ),
    "fresh-setting-survives-aerobatics": Slip(
        "I set it just before the aerobatics, then it holds.",
        "No setting survives a tumble. Cage the gyro, and set it again afterwards.",
        step="before aerobatics",
        instead=always("compass"),
    ),
    "caged-when-it-is-not-used": Slip(
        "I cage it whenever I do not need it.",
        "A caged gyro turns with the aircraft and loses its setting. Cage it only where it would tumble.",
        step="need of the cage",
        instead=always(True),
    ),
}

GAUGE_SLIPS: dict[str, Slip] = {
    "gauge-mark-is-a-tenth": Slip(
        "I took each small mark for a tenth of a figure.",
        "On this gauge the small marks are half way between the figures.",
        step="marks of the gauge",
        instead=times(0.2),
    ),
    "gauge-mark-is-an-inch": Slip(
        "I took each small mark for a whole figure.",
        "On this gauge the small marks are half way between the figures.",
        step="marks of the gauge",
        instead=times(2.0),
    ),
    "gauge-counted-back": Slip(
        "I counted back from the figure above.",
        "Count from the figure below the needle towards the needle.",
        step="marks of the gauge",
        instead=lambda part: 1.0 - part,
    ),
    "gauge-figure-above": Slip(
        "I started from the figure above the needle.",
        "Start from the last figure that the needle has passed.",
        step="figure of the gauge",
        instead=plus(1.0),
    ),
    "gauge-figure-before": Slip(
        "I started one figure too low.",
        "Start from the last figure that the needle has passed.",
        step="figure of the gauge",
        instead=plus(-1.0),
    ),
    "high-suction-is-healthy": Slip(
        "The more suction, the better for the gyros.",
        "Above the green the regulator does not limit the suction: the rotors run too fast and wear.",
        step="suction above the green",
        instead=always("healthy"),
    ),
    "low-suction-comes-up-in-flight": Slip(
        "It will come up once we fly.",
        "At run-up power a healthy system has its full suction. If it has not, more speed does not help.",
        step="low suction at power",
        instead=always("go"),
    ),
    "low-suction-needs-power": Slip(
        "When suction is low, add power.",
        "More power helps only where the engine turns slowly. At cruise and run-up power the regulator, not "
        "the engine, limits the suction.",
        step="low suction at power",
        instead=always("power"),
    ),
    "low-suction-stops-the-gyros": Slip(
        "With so little suction the gyros have stopped.",
        "With low suction the rotors turn more slowly and drift more, but they do not stop.",
        step="low suction at power",
        instead=always("partial"),
    ),
    "zero-is-the-gauges-fault": Slip(
        "The instruments still read right, so the gauge has failed.",
        "The rotors take about ten minutes to run down, so the instruments look right at first. Believe the "
        "gauge.",
        step="suction at zero",
        instead=always("go"),
    ),
    "zero-needs-power": Slip(
        "When suction is zero, add power.",
        "A pump that moves no air at all has failed, and more power does not bring it back.",
        step="suction at zero",
        instead=always("power"),
    ),
    "below-the-green-means-the-pump": Slip(
        "Any reading below the green means a weak pump.",
        "Below the green at idle is normal. A weak pump lowers the reading at idle much further, a regulator "
        "that is set low lowers it at power.",
        step="reading below the green",
        instead=always("pump"),
    ),
    "below-the-green-means-the-filter": Slip(
        "Any reading below the green means a clogged filter.",
        "A gauge from the manifold to the cabin does not fall with a clogged filter: at idle it rises.",
        step="reading below the green",
        instead=always("filter"),
    ),
    "green-at-idle-is-best": Slip(
        "With the needle in the green even at idle, all is well.",
        "At idle a healthy pump cannot bring this gauge into the green. If it is there, the pump draws "
        "through a smaller opening: the filter is clogged.",
        step="reading in the green at idle",
        instead=always("healthy"),
    ),
    "high-at-idle-means-the-regulator": Slip(
        "A reading too high at idle means that the regulator is set too high.",
        "At idle the suction does not reach the regulator's setting, so the regulator changes nothing there.",
        step="reading in the green at idle",
        instead=always("high"),
    ),
    "idle-reading-means-a-fault": Slip(
        "The needle is below the green, so the system is faulty.",
        "At idle a healthy pump cannot bring the needle into the green. Look again with the engine faster.",
        step="reading at idle",
        instead=lambda _, flying: "watch" if flying else "back",
    ),
    "idle-reading-is-enough": Slip(
        "Any suction will do.",
        "Below the green the rotors slow down and the gyros drift more. Bring the needle into the green "
        "before you rely on them.",
        step="reading at idle",
        instead=always("go"),
    ),
    "more-than-green-by-power": Slip(
        "In the green it could still be more, so I add power.",
        "The regulator limits the suction. Anywhere in the green is normal, whatever the power.",
        step="reading in the green at power",
        instead=always("power"),
    ),
    "green-must-be-the-same-every-time": Slip(
        "The needle does not stand where it stood on my last flight.",
        "Anywhere in the green is normal; where in it depends on engine speed and height.",
        step="reading in the green at power",
        instead=lambda _, flying: "watch" if flying else "back",
    ),
    "high-suction-comes-down-in-flight": Slip(
        "It will come down once we are up.",
        "The regulator sets the suction at any height. If it lets through too much now, it will do so in "
        "flight.",
        step="suction above the green",
        instead=always("watch"),
    ),
    "high-suction-stops-the-gyros": Slip(
        "With too much suction the gyros show nothing useful any more.",
        "With too much suction the gyros still work; their rotors run too fast and wear.",
        step="suction above the green",
        instead=always("partial"),
    ),
}
