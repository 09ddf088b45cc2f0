"""Accuracy of bank and heading from recorded fixes: the tables of `docs/methods/smoothing.md`.

python -m benchmarks.smoothing            print the tables
python -m benchmarks.smoothing --write    and write them into the document
"""

import sys
from pathlib import Path

import numpy as np

from lubberline.flight.tracks.motion import Wind, motion_of
from tests.flight.synthetic_tracks import (
    KINDS,
    flight,
    manoeuvre,
    rate_one_bank_deg,
    recorded,
    rms_errors_deg,
)

DOCUMENT = Path(__file__).parent.parent / "docs" / "methods" / "smoothing.md"
BEGIN, END = "<!-- smoothing: begin -->\n", "<!-- smoothing: end -->\n"
STEPS_S = (1.0, 5.0, 10.0, 30.0)
SPEEDS_KT = (60.0, 100.0, 150.0)
SEEDS = (1, 2, 3)


def cell(kind: str, speed_kt: float, step_s: float, speed_and_track: bool) -> str:
    """Rms error of bank / heading in degrees, over the seeds; starred where most of it is sparse."""
    truth = manoeuvre(kind, speed_kt)
    errors, sparse = [], []
    for seed in SEEDS:
        motion = motion_of(recorded(truth, step_s, speed_and_track=speed_and_track, seed=seed))
        errors.append(rms_errors_deg(truth, motion))
        sparse.append(motion.sparse.mean())
    bank, heading = np.sqrt(np.mean(np.square(errors), axis=0))
    return f"{bank:.1f} / {heading:.1f}" + ("*" if np.mean(sparse) > 0.25 else "")


def table(speed_and_track: bool) -> list[str]:
    head = " | ".join(f"{step:g} s" for step in STEPS_S)
    lines = [f"| flight | kt | {head} |", "|---|---|" + "---|" * len(STEPS_S)]
    for kind in KINDS:
        for speed_kt in SPEEDS_KT:
            cells = " | ".join(cell(kind, speed_kt, step, speed_and_track) for step in STEPS_S)
            lines.append(f"| {kind.replace('_', ' ')} | {speed_kt:.0f} | {cells} |")
    return lines


def wind_table() -> list[str]:
    """A rate-one turn at 100 kt in 20 kt of wind, with the wind given and without."""
    bank = rate_one_bank_deg(100.0)
    turns = [(0.0, 120.0), (bank, 130.0), (0.0, 120.0), (-bank, 130.0), (0.0, 120.0)]
    truth = flight(100.0, turns, wind_from_deg=270.0, wind_kt=20.0)
    lines = ["| wind | " + " | ".join(f"{step:g} s" for step in STEPS_S[:3]) + " |", "|---|---|---|---|"]
    for name, wind in (("given", Wind(270.0, 20.0)), ("not given", None)):
        cells = []
        for step in STEPS_S[:3]:
            motion = motion_of(recorded(truth, step, speed_and_track=True, seed=1), wind)
            cells.append("{:.1f} / {:.1f}".format(*rms_errors_deg(truth, motion)))
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return lines


def text() -> str:
    lines = ["With ground speed (whole knots) and track (whole degrees) in the file:", "", *table(True), ""]
    lines += ["With positions only:", "", *table(False), ""]
    lines += ["Rate-one turns at 100 kt in a wind of 20 kt, with ground speed and track:", "", *wind_table()]
    return "\n".join(lines) + "\n"


def main() -> None:
    made = text()
    print(made)
    if "--write" in sys.argv[1:]:
        whole = DOCUMENT.read_text(encoding="utf-8")
        before, after = whole.split(BEGIN)[0], whole.split(END)[1]
        DOCUMENT.write_text(before + BEGIN + made + END + after, encoding="utf-8")


if __name__ == "__main__":
    main()
