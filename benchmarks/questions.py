"""Checked items a second on one core, compared with the same items by straightforward Python with SciPy.

    python -m benchmarks.questions [--count N] [--report N]

The baseline makes what four closed-form models make (drawn values, the key, distractors that keep apart,
texts) as somebody would write it who has SciPy and no bank of models: rotations of Earth and card by
`scipy.spatial.transform.Rotation`, the latitude of an observed drift by `scipy.optimize.brentq`. It gives
no reasons and no feedback, and checks nothing.

`--report` makes and checks so many items of all models and prints the counts.
"""

import argparse
import math
import random
import time

import numpy as np
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from benchmarks.machine import heading, median_s, table
from lubberline.questions.bank import model_named, models
from lubberline.questions.generate import make
from lubberline.questions.model import ItemModel
from tests.questions.item_checks import check_many

SIDEREAL_DEG_H = 15.041067
SAME = ("wander-rate", "wander-reading-after", "wander-find-latitude", "turning-through-north-or-south")
# Models whose key or second way is an engine flight, worked out once in a process and kept.
FLOWN = ("balance", "gimballing", "suction", "tumbling", "traces", "terms", "rotor", "setting")


def wander_deg_h(latitude_deg: float) -> float:
    """Drift of a level card: the part of the Earth's rotation about the vertical, by rotating its axis."""
    axis = Rotation.from_euler("y", latitude_deg - 90.0, degrees=True).apply([0.0, 0.0, SIDEREAL_DEG_H])
    return -float(axis[2]) if latitude_deg < 0.0 else -abs(float(axis[2]))


def options_of(key: float, wrong: list[float], apart: float) -> list[float] | None:
    """Four options that differ enough, rising; None if there are too few."""
    taken = [key]
    for value in wrong:
        if all(abs(value - other) >= apart for other in taken):
            taken.append(value)
    return sorted(taken[:4]) if len(taken) >= 3 else None


def rate_item(seed: int) -> tuple[str, list[str], int]:
    """An item on apparent wander."""
    rng = random.Random(seed)
    while True:
        latitude = rng.choice((1, -1)) * rng.randint(15, 75)
        key = round(wander_deg_h(latitude), 1)
        cosine = round(-15.0 * math.cos(math.radians(latitude)), 1)
        options = options_of(key, [-15.0, cosine, -abs(key), 0.0, -key], 1.0)
        if options:
            texts = [f"{'falls' if v < 0 else 'rises'} by {abs(v):.1f} deg an hour" for v in options]
            return f"An aircraft stands still at {latitude} deg. Its reading?", texts, options.index(key)


def reading_item(seed: int) -> tuple[str, list[str], int]:
    """An item on the reading after a time."""
    rng = random.Random(seed)
    while True:
        latitude, minutes = rng.choice((1, -1)) * rng.randint(30, 70), rng.choice((30, 40, 45, 60))
        start, moved = 10 * rng.randint(1, 36), wander_deg_h(latitude) * minutes / 60.0
        key = round(start + moved)
        options = options_of(key, [start, round(start - moved), round(start - 0.25 * minutes)], 3.0)
        if options:
            texts = [f"{v % 360:03.0f}" for v in options]
            stem = f"At {latitude} deg, set to {start:03d}: what does it read after {minutes} min?"
            return stem, texts, options.index(key)


def place_item(seed: int) -> tuple[str, list[str], int]:
    """An item on the latitude of an observed drift."""
    rng = random.Random(seed)
    while True:
        latitude = 5 * rng.randint(3, 14)
        seen = wander_deg_h(latitude)
        key = round(brentq(lambda place, seen=seen: wander_deg_h(place) - seen, 0.5, 89.0, xtol=1e-3))
        options = options_of(key, [90.0 - key, -key, round(90.0 * seen / -15.0)], 5.0)
        if options:
            return (
                f"Its reading falls by {-seen:.1f} deg an hour. Where?",
                [f"{v:g}" for v in options],
                options.index(key),
            )


def compass_item(seed: int) -> tuple[str, list[str], int]:
    """An item on what a compass shows passing north or south in a turn, by rotating field and card."""
    rng = random.Random(seed)
    while True:
        nose, bank = rng.choice((360, 180)), rng.choice((1, -1)) * rng.randint(10, 18)
        dip = rng.choice((1, 1, -1)) * 5 * rng.randint(10, 14)
        field = np.array([math.cos(math.radians(dip)), 0.0, math.sin(math.radians(dip))])
        body = Rotation.from_euler("ZYX", [nose, 0.0, bank], degrees=True)
        seen = body.apply(field, inverse=True)
        key = round(math.degrees(math.atan2(-seen[1], seen[0])) % 360.0)
        error = (key - nose + 180.0) % 360.0 - 180.0
        options = options_of(key, [nose, round((nose - error) % 360.0)], 5.0)
        if options:
            texts = [f"{v:03.0f}" for v in options]
            return (
                f"Dip {dip}, bank {bank}: what does the compass show passing {nose}?",
                texts,
                options.index(key),
            )


BASELINE = (rate_item, reading_item, place_item, compass_item)


def baseline(count: int) -> None:
    for number in range(count):
        BASELINE[number % len(BASELINE)](number)


def closed_form() -> list[ItemModel]:
    return [model for model in models().values() if model.topic not in FLOWN]


def only_made(count: int, of: list[ItemModel]) -> None:
    for number in range(count):
        make(of[number % len(of)], number)


def rates(count: int) -> list[tuple[str, ...]]:
    same = [model_named(name) for name in SAME]
    everything = list(models().values())
    for chosen in (same, closed_form(), everything):
        check_many(40 * len(chosen), 1, chosen)
    baseline(8)
    cases = (
        (f"the same {len(SAME)} kinds, made and checked", lambda: check_many(count, 7, same)),
        (
            f"all {len(closed_form())} closed-form models, made and checked",
            lambda: check_many(count, 7, closed_form()),
        ),
        (f"all {len(everything)} models, made and checked", lambda: check_many(count, 7, everything)),
        (f"the same {len(SAME)} kinds, made only", lambda: only_made(count, same)),
        ("baseline: Python with SciPy, made only", lambda: baseline(count)),
    )
    return [(name, f"{count / median_s(run, 3):,.0f}") for name, run in cases]


def first_use_s() -> float:
    """Wall time of the first item of every model, with flights and tables that are kept afterwards."""
    begun = time.perf_counter()
    check_many(len(models()), 1)
    return time.perf_counter() - begun


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=4000)
    parser.add_argument("--report", type=int, default=0, help="items to make and check of all models")
    chosen = parser.parse_args()
    print(heading(("numpy", "scipy")))
    print(f"First item of each of {len(models())} models: {first_use_s():.1f} s.")
    print(table(("items", "a second of processor time"), rates(chosen.count)))
    if chosen.report:
        report = check_many(chosen.report, 1)
        print(report.sentence())
        print("Key at place 1, 2, 3, 4:", [report.key_places[place] for place in range(4)])


if __name__ == "__main__":
    main()
