"""What a lesson says and asks, worked out by the engine: its numbers put in, its predictions as items.

The right answer of a prediction is the number of its scene at its moment; what each wrong idea answers is
read off the ghost that flies beside, or off the number that the lesson says its believer goes by.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

import msgspec

from lubberline.classroom.lesson_moments import Progress, Seen, Wanted
from lubberline.classroom.lesson_numbers import filled, number_text
from lubberline.classroom.lesson_predictions import prediction_item
from lubberline.classroom.lesson_quiz import quiz_items
from lubberline.classroom.lesson_records import Choice, Lesson, Question, Step, key_of
from lubberline.classroom.records import Asked
from lubberline.errors import InputError
from lubberline.simulation.misconceptions import FLOWN_BY_ID
from lubberline.simulation.scenes import number_in

MOST_KEPT = 40


class Worked(msgspec.Struct, frozen=True):
    """A lesson as it is taught.

    Attributes:
        lesson: with every number in its texts put in.
        asked: its predictions and quiz questions, in order.
    """

    lesson: Lesson
    asked: tuple[Asked, ...]

    def of_step(self, index: int) -> tuple[Asked, ...]:
        """What is asked in a step, by its index from 0."""
        key = key_of(index)
        return tuple(one for one in self.asked if one.key == key or one.key.startswith(f"{key}-"))


_kept: OrderedDict[tuple[str, str, int], Worked] = OrderedDict()
_lock = Lock()


def worked(lesson: Lesson, seed: int = 0, progress: Progress | None = None) -> Worked:
    """A lesson with its numbers put in and its questions made; kept in memory by its text and the seed.

    Args:
        lesson: as read.
        seed: of the quiz's questions.
        progress: called with the number of scenes run and of all.

    Raises:
        InputError: a number that no frame has, an idea that cannot be told from the truth, an option that
            the engine does not bear out; names file and line.
    """
    key = (lesson.source, lesson.text, seed)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    made = _worked(lesson, seed, progress)
    with _lock:
        _kept[key] = made
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return made


def asked_of(lesson: Lesson, seed: int = 0, progress: Progress | None = None) -> tuple[Asked, ...]:
    """The predictions and quiz questions of a lesson, in order; see `worked`.

    Raises:
        InputError: as `worked`.
    """
    return worked(lesson, seed, progress).asked


def _worked(lesson: Lesson, seed: int, progress: Progress | None) -> Worked:
    wanted = Wanted()
    for number in lesson.numbers:
        wanted.want(number.place, number.at_s, _ghost_in(number.path))
    for step in lesson.steps:
        if step.question is not None:
            _want(wanted, step.question)
    seen = wanted.run(progress)
    told = _told(lesson, seen)
    asked = []
    for index, step in enumerate(told.steps):
        if step.question is not None:
            asked.append(Asked(key_of(index), prediction_item(told, step, step.question, seen)))
        elif step.quiz is not None:
            items = quiz_items(step.quiz, seed)
            asked += [Asked(key_of(index, place), item) for place, item in enumerate(items, start=1)]
    return Worked(told, tuple(asked))


def _ghost_in(path: str) -> tuple[str, ...]:
    """The wrong idea that a path such as `ghosts.ID.indicated_deg` speaks of."""
    parts = path.removeprefix("second.").split(".")
    return (parts[1],) if parts[0] == "ghosts" and len(parts) > 1 and parts[1] in FLOWN_BY_ID else ()


def _want(wanted: Wanted, question: Question) -> None:
    place, from_s = question.show.place, question.ghosts_from_s
    if not question.asks:
        return
    flying = [belief.idea for belief in question.beliefs if not belief.path and belief.value is None]
    flying += [choice.idea for choice in question.choices if choice.idea in FLOWN_BY_ID]
    wanted.want(place, question.at_s, flying, from_s)
    for belief in question.beliefs:
        if belief.path:
            wanted.want(place, belief.at_s, _ghost_in(belief.path), from_s)


def _told(lesson: Lesson, seen: Seen) -> Lesson:
    values = {}
    for number in lesson.numbers:
        frame = seen.at(number.place, number.at_s)
        try:
            found = number_in(frame, number.path)
        except InputError as error:
            raise InputError(f"{lesson.source}, line {number.line}", error.wrong, error.right) from None
        values[number.written] = number_text(number, found)
    return msgspec.structs.replace(lesson, steps=tuple(_told_step(step, values) for step in lesson.steps))


def _told_step(step: Step, values: dict[str, str]) -> Step:
    question = step.question
    if question is not None:
        choices = tuple(_told_choice(choice, values) for choice in question.choices)
        because = filled(question.because, values)
        question = msgspec.structs.replace(question, choices=choices, because=because)
    text, notes = filled(step.text, values), filled(step.notes, values)
    short = filled(step.short, values)
    return msgspec.structs.replace(step, text=text, notes=notes, short=short, question=question)


def _told_choice(choice: Choice, values: dict[str, str]) -> Choice:
    text, reason = filled(choice.text, values), filled(choice.reason, values)
    return msgspec.structs.replace(choice, text=text, reason=reason)
