"""Slips in reading two faces, in setting from a runway, in the taxi check and after a tumble."""

from lubberline.questions.slip import Slip, always, negated, other

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
}
