"""What the statistics of a question should make an instructor look at, in plain words.

Bounds are common practice, no source. In a small class they are said only where the interval bears them.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lubberline.classroom.statistics_records import ItemStatistics

# Fewer answers than this say next to nothing of a question.
FEW = 8
# An option that this share of a class would choose by chance should have been chosen by somebody.
EXPECTED_BY_CHANCE = 3.0
WEAK_DISCRIMINATION, GOOD_DISCRIMINATION = 0.1, 0.3
SMALL_CLASS = 30
WIDE = 0.3


def flags_of(item: ItemStatistics) -> tuple[str, ...]:
    """What to look at; the first is the most serious."""
    if item.count < FEW:
        return (f"Only {item.count} answered it: too few to say anything of the question.",)
    found = [*_key_flags(item), *_ease_flags(item), *_option_flags(item), *_blank_flags(item)]
    return tuple(found)


def _key_flags(item: ItemStatistics) -> list[str]:
    found = []
    for line in item.table:
        best, key_best = line.by_third[2], _key_third(item, 2)
        if not line.is_key and line.label not in "-*" and best > key_best and best >= EXPECTED_BY_CHANCE:
            words = f"The best third chose {_called(line.label, line.text)} {best} times and the key "
            found.append(words + f"{key_best} times: check the key and the wording.")
    if math.isfinite(item.rest_high) and item.rest_high < 0.0:
        found.append("Those who know more got it wrong more often than those who know less: check the key.")
    elif item.in_rest < WEAK_DISCRIMINATION and item.rest_high < 2.0 * WEAK_DISCRIMINATION:
        found.append("It hardly tells those who know more from those who know less.")
    elif item.in_rest < 0.0 and item.rest_high < GOOD_DISCRIMINATION:
        found.append(
            "Those who know more got it right less often than the others; in so small a class that may be "
            "chance."
        )
    return found


def _key_third(item: ItemStatistics, third: int) -> int:
    return sum(line.by_third[third] for line in item.table if line.is_key)


def _called(label: str, text: str) -> str:
    return f"option {label}" if label.isalpha() and len(label) == 1 else f"'{text}'"


def _ease_flags(item: ItemStatistics) -> list[str]:
    if item.right_share == 1.0:
        return ["Everybody got it right: it tells nobody from another."]
    if item.right_share == 0.0:
        return ["Nobody got it right: check the key, or whether it was taught."]
    options = sum(1 for line in item.table if line.label.isalpha() and len(line.label) == 1)
    if options > 1 and item.right_high < 1.0 / options:
        return [f"Fewer got it right than would by guessing among {options} options."]
    return []


def _option_flags(item: ItemStatistics) -> list[str]:
    options = [line for line in item.table if line.label.isalpha() and len(line.label) == 1]
    wrong = sum(line.count for line in options if not line.is_key)
    distractors = [line for line in options if not line.is_key]
    enough = distractors and wrong / len(distractors) >= EXPECTED_BY_CHANCE
    never = [line.label for line in distractors if line.count == 0]
    if not never or not enough:
        return []
    names = " and ".join(never)
    return [
        f"Option{'s' if len(never) > 1 else ''} {names} {'were' if len(never) > 1 else 'was'} never chosen."
    ]


def _blank_flags(item: ItemStatistics) -> list[str]:
    blank = sum(line.count for line in item.table if line.label == "-")
    if blank >= EXPECTED_BY_CHANCE and blank >= 0.2 * item.count:
        return [f"{blank} of {item.count} left it blank: too long a paper, or unclear?"]
    return []


def notes_of(points: NDArray[np.float64], found: float, low: float, high: float) -> tuple[str, ...]:
    """How much the numbers of a paper are worth."""
    students, questions = points.shape
    notes = []
    if students < SMALL_CLASS:
        counted = f"{students} student{'' if students == 1 else 's'}"
        notes.append(
            f"{counted}: read the intervals, not the numbers. A question that looks bad once may look "
            "good in the next class."
        )
    if questions < 2 or students < 3:
        notes.append("Too little for any reliability.")
    elif not math.isfinite(found):
        notes.append("All totals are alike: there is no reliability to compute.")
    elif high - low > WIDE:
        notes.append(f"The reliability may be anything from {low:.2f} to {high:.2f}.")
    gaps = int((~np.isfinite(points)).sum())
    if gaps:
        notes.append(
            f"{gaps} of {points.size} places are empty, since not everybody was asked everything (forms, or "
            "late to a lesson): each number takes the students it has."
        )
    return tuple(notes)
