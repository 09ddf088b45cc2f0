"""A lesson's prediction as an item: the key and every wrong idea's answer as the engine has them."""

from __future__ import annotations

import hashlib
import math
import re

from lubberline.classroom.lesson_moments import Seen, ghost_number
from lubberline.classroom.lesson_records import Belief, Choice, Lesson, Question, Step
from lubberline.errors import InputError
from lubberline.questions.difficulty import prior_difficulty
from lubberline.questions.ideas import mend_of
from lubberline.questions.item import Item, Option
from lubberline.simulation.misconceptions import FLOWN_BY_ID, misconception
from lubberline.simulation.scenes import number_in

BY_ENGINE = "computed by the engine from the scene"
# Steps of thought, for the prior difficulty.
STEPS = {"recall": 1, "apply": 2, "judge": 3}


def prediction_item(lesson: Lesson, step: Step, question: Question, seen: Seen) -> Item:
    """The item of a prediction.

    Args:
        lesson: for the names of its file.
        step: with its numbers put in.
        question: of the step.
        seen: what the scenes showed.

    Raises:
        InputError: a number that no frame has, an idea that cannot be told from the truth, an option that
            the engine does not bear out; names file and line.
    """
    where = f"{lesson.source}, line {step.line}"
    right = _number(where, question, seen, question.asks) if question.asks else None
    drawn: dict[str, float | str] = {"scene": question.show.place, "at_s": question.at_s}
    drawn |= {"asks": question.asks, "text": _digest(step.text)}
    options: tuple[Option, ...] = ()
    slips: tuple[Option, ...] = ()
    key, reason, answer = -1, question.because, None
    if question.answer == "options":
        options = tuple(_option(lesson, question, choice, right, seen) for choice in question.choices)
        key = next(place for place, choice in enumerate(question.choices) if choice.right)
        reason = options[key].feedback
    else:
        assert right is not None  # the reader holds every dial and number to what it asks
        answer = _written(right, question)
        slips = tuple(_slip(lesson, question, belief, answer, seen) for belief in question.beliefs)
    return Item(
        model=f"lesson-{lesson.id}-{_slug(step.title)}",
        topic=question.topic,
        level=question.level,
        kind="choice" if question.answer == "options" else "number",
        stem=step.text,
        options=options,
        key=key,
        reason=reason,
        source=BY_ENGINE,
        drawn=drawn,
        difficulty=prior_difficulty(STEPS[question.level], 0, max(len(slips), len(options) - 1)),
        answer=answer,
        tolerance=question.tolerance if answer is not None else None,
        unit=question.unit,
        slips=slips,
        circle=question.answer == "dial",
    )


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _slug(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:60] or "prediction"


def _number(where: str, question: Question, seen: Seen, path: str, at_s: float | None = None) -> float:
    frame = seen.at(question.show.place, question.at_s if at_s is None else at_s, question.ghosts_from_s)
    try:
        return number_in(frame, path)
    except InputError as error:
        raise InputError(where, error.wrong, error.right) from None


def _written(value: float, question: Question) -> float:
    """A number as finely as it can be asked for: a tenth of the tolerance, to a power of ten."""
    size = math.log10(question.tolerance)
    digits = 1 - math.floor(size) if size >= 0.0 else math.floor(1.0 - size)
    shown = round(value, digits) + 0.0
    return shown % 360.0 if question.answer == "dial" else shown


def _apart(one: float, other: float, question: Question) -> float:
    return abs(math.remainder(one - other, 360.0)) if question.answer == "dial" else abs(one - other)


def _believed(where: str, question: Question, idea: str, seen: Seen) -> float:
    """What a ghost shows of the number asked for."""
    frame = seen.at(question.show.place, question.at_s, question.ghosts_from_s)
    try:
        return ghost_number(frame, question.asks, idea)
    except InputError as error:
        raise InputError(where, error.wrong, error.right) from None


def _slip(lesson: Lesson, question: Question, belief: Belief, answer: float, seen: Seen) -> Option:
    where = f"{lesson.source}, line {belief.line}"
    if belief.value is not None:
        value = belief.value
    elif belief.path:
        value = _number(where, question, seen, belief.path, belief.at_s)
    else:
        value = _believed(where, question, belief.idea, seen)
    value = _written(value, question)
    if _apart(value, answer, question) <= question.tolerance:
        wrong = f"'{belief.idea}' expects {value:g}, and right is {answer:g} within {question.tolerance:g}"
        raise InputError(where, wrong, "choose a moment or a tolerance that tells them apart")
    unit = f" {question.unit}" if question.unit else ""
    feedback = f"{mend_of(belief.idea)} This idea expects {value:g}{unit}; right is {answer:g}{unit}."
    return Option(f"{value:g}", belief.idea, feedback, value)


def _option(lesson: Lesson, question: Question, choice: Choice, right: float | None, seen: Seen) -> Option:
    where = f"{lesson.source}, line {choice.line}"
    if right is not None and choice.low is not None and choice.high is not None:
        span = f"{choice.low:g} to {choice.high:g}"
        holds = choice.low <= right <= choice.high
        if holds != choice.right:
            wrong = f"it stands for {span}, and {question.asks} is {right:.4g}"
            fault = "it is marked right" if choice.right else "it is not marked right"
            raise InputError(where, f"{fault}; {wrong}", "mend the mark or the numbers")
        if choice.idea in FLOWN_BY_ID:
            believed = _believed(where, question, choice.idea, seen)
            if not choice.low <= believed <= choice.high:
                wrong = f"it stands for {span}, and '{choice.idea}' expects {believed:.4g}"
                raise InputError(where, wrong, "give it the idea, or the numbers, that belong to it")
    mend = misconception(choice.idea).mend if choice.idea else ""
    feedback = " ".join(part for part in (mend, choice.reason) if part)
    return Option(choice.text, choice.idea, feedback)
