"""A lesson's questions, computed by the engine: predictions as items, quiz, and inserted numbers.

The right answer of a prediction is the number of its scene at its moment; the answer of each wrong idea is
read from its ghost, or from the number given in the lesson.
"""

import hashlib
import math
import re
from collections import OrderedDict
from collections.abc import Sequence
from threading import Lock
from typing import TypeVar

import msgspec

from lubberline.classroom.lessons.lesson import (
    Choice,
    Lesson,
    Question,
    Quiz,
    Step,
    ToldIdea,
    is_of_step,
    key_of,
)
from lubberline.classroom.lessons.scenes import (
    GHOST_PATHS,
    Progress,
    SceneFrames,
    WantedMoments,
    is_southern,
)
from lubberline.classroom.lessons.text import filled, number_text
from lubberline.classroom.records import Asked
from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.questions.bank import meets_enemy, model_named, models_of
from lubberline.questions.generate import generate, measured_at
from lubberline.questions.handwritten import is_handwritten, said_at
from lubberline.questions.item import STEPS, Item, Option, in_own_words, prior_difficulty
from lubberline.questions.model import ItemModel, random_of
from lubberline.questions.notation import apart
from lubberline.questions.slips import mend_of
from lubberline.simulation.misconceptions import FLOWN_BY_ID, misconception
from lubberline.simulation.misconceptions.idea import SPOKEN, spoken

T = TypeVar("T", bound=msgspec.Struct)


# How many other seeds are tried for a question that answers another, or that another answers.
MOST_SEEDS = 30


def quiz_items(quiz: Quiz, seed: int, home: Home | None = None) -> tuple[Item, ...]:
    """The items of a quiz: from its models in order, or from models drawn from its topics in turn.

    The same quiz, seed and home give the same items. None answers another, as far as other values help.
    """
    random = random_of("lesson quiz", ",".join([*quiz.models, *quiz.topics, *quiz.levels]), quiz.seed + seed)
    own = {record.item.model: record.item for record in quiz.own}
    items: list[Item] = []
    if quiz.models:
        for id in quiz.models:
            made = own.get(id) or _no_enemy(model_named(id), quiz.seed + seed, home, items)
            items.append(made or generate(model_named(id), quiz.seed + seed, home))
        return tuple(items)
    stacks: list[list[ItemModel | Item]] = []
    for topic in quiz.topics:
        stack: list[ItemModel | Item] = [one for level in quiz.levels for one in models_of(topic, level)]
        stack += [item for item in own.values() if item.topic == topic]
        random.shuffle(stack)
        stacks.append(stack)
    while len(items) < quiz.count and any(stacks):
        for stack in stacks:
            while stack and len(items) < quiz.count:
                kind = stack.pop()
                if isinstance(kind, ItemModel):
                    made = _no_enemy(kind, quiz.seed + seed, home, items)
                else:
                    made = None if meets_enemy(kind, items) else kind
                if made is not None:
                    items.append(made)
                    break
    return tuple(items)


def _no_enemy(model: ItemModel, seed: int, home: Home | None, company: Sequence[Item]) -> Item | None:
    """An item that neither answers one of the others nor is answered by one; None if there is none."""
    made = (generate(model, seed + 1000 * more, home) for more in range(MOST_SEEDS))
    return next((item for item in made if not meets_enemy(item, company)), None)


BY_ENGINE = "computed by the engine from the scene"


def prediction_item(lesson: Lesson, step: Step, question: Question, seen: SceneFrames) -> Item:
    """The item of a prediction.

    Args:
        lesson: for the names of its file.
        step: with its numbers inserted.
        question: of the step.
        seen: the frames of the scenes.

    Raises:
        InputError: a number that no frame has, an idea that cannot be told from the truth, an option that
            the engine does not bear out; names file and line.
    """
    where = f"{lesson.source}, line {step.line}"
    right = _number(where, question, seen, question.asks, question.at_s) if question.asks else None
    drawn: dict[str, float | str] = {"scene": question.show.scene_ref, "at_s": question.at_s}
    drawn |= {"asks": question.asks, "text": hashlib.sha256(step.text.encode()).hexdigest()[:12]}
    options: tuple[Option, ...] = ()
    slips: tuple[Option, ...] = ()
    key, reason, answer = -1, question.because, None
    if question.answer == "options":
        options = tuple(_option(lesson, question, choice, right, seen) for choice in question.choices)
        key = next(place for place, choice in enumerate(question.choices) if choice.right)
        reason = options[key].feedback
    else:
        assert right is not None  # the reader makes sure that every dial and number has `asks`
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


def _slug(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:60] or "prediction"


def _number(
    where: str, question: Question, seen: SceneFrames, path: str, at_s: float, idea: str = ""
) -> float:
    return seen.number(where, question.show.scene_ref, at_s, path, question.ghosts_from_s, idea)


def _written(value: float, question: Question) -> float:
    """A number rounded for its question: to a tenth of the tolerance, as a power of ten."""
    size = math.log10(question.tolerance)
    digits = 1 - math.floor(size) if size >= 0.0 else math.floor(1.0 - size)
    shown = round(value, digits) + 0.0
    return shown % 360.0 if question.answer == "dial" else shown


def _slip(lesson: Lesson, question: Question, belief: ToldIdea, answer: float, seen: SceneFrames) -> Option:
    where = f"{lesson.source}, line {belief.line}"
    if belief.value is not None:
        value = belief.value
    elif belief.path:
        value = _number(where, question, seen, belief.path, belief.at_s)
    else:
        value = _number(where, question, seen, question.asks, question.at_s, belief.idea)
    value = _written(value, question)
    if _is_flown(question, belief):
        flown = _number(where, question, seen, question.asks, question.at_s, belief.idea)
        if apart(value, flown, question.answer == "dial") > question.tolerance:
            wrong = (
                f"{value:g} is given for '{belief.idea}', which gives {_written(flown, question):g} as flown"
            )
            raise InputError(where, wrong, "name the idea alone: its answer is computed")
    if apart(value, answer, question.answer == "dial") <= question.tolerance:
        wrong = (
            f"'{belief.idea}' gives {value:g}; the right answer is {answer:g} within {question.tolerance:g}"
        )
        raise InputError(where, wrong, "choose a moment or a tolerance that tells them apart")
    unit = f" {question.unit}" if question.unit else ""
    mend = spoken(mend_of(belief.idea, southern=is_southern(question.show.scene_ref, where, lesson.scenes)))
    feedback = f"{mend} This idea gives {value:g}{unit}; the right answer is {answer:g}{unit}."
    return Option(f"{value:g}", belief.idea, feedback, value)


def _is_flown(question: Question, belief: ToldIdea) -> bool:
    """Whether the ghost of an idea has the number that is asked for."""
    return belief.idea in FLOWN_BY_ID and question.asks.removeprefix("second.") in GHOST_PATHS


def _option(
    lesson: Lesson, question: Question, choice: Choice, right: float | None, seen: SceneFrames
) -> Option:
    where = f"{lesson.source}, line {choice.line}"
    if right is not None and choice.low is not None and choice.high is not None:
        span = f"{choice.low:g} to {choice.high:g}"
        holds = choice.low <= right <= choice.high
        if holds != choice.right:
            wrong = f"it is for {span}, and {question.asks} is {right:.4g}"
            fault = "it is marked right" if choice.right else "it is not marked right"
            raise InputError(where, f"{fault}; {wrong}", "correct the mark or the numbers")
        if choice.idea in FLOWN_BY_ID:
            believed = _number(where, question, seen, question.asks, question.at_s, choice.idea)
            if not choice.low <= believed <= choice.high:
                wrong = f"it is for {span}, and '{choice.idea}' gives {believed:.4g}"
                raise InputError(where, wrong, "change the idea or the numbers")
            key = next(one for one in question.choices if one.right)
            if key.low is not None and key.high is not None and key.low <= believed <= key.high:
                wrong = f"'{choice.idea}' gives {believed:.4g}, which is right: {key.low:g} to {key.high:g}"
                raise InputError(where, wrong, "give the options ranges that do not overlap")
    southern = is_southern(question.show.scene_ref, where, lesson.scenes)
    mend = spoken(misconception(choice.idea).mend_at(southern=southern)) if choice.idea else ""
    feedback = " ".join(part for part in (mend, choice.reason) if part)
    return Option(choice.text, choice.idea, feedback)


MOST_KEPT = 40


class TaughtLesson(msgspec.Struct, frozen=True):
    """A lesson ready to be taught.

    Attributes:
        lesson: with every number in its texts inserted.
        asked: its predictions and quiz questions, in order.
    """

    lesson: Lesson
    asked: tuple[Asked, ...]

    def of_step(self, index: int) -> tuple[Asked, ...]:
        """The questions of a step, by its index from 0."""
        return tuple(one for one in self.asked if is_of_step(one.key, index))


_kept: OrderedDict[tuple[object, ...], TaughtLesson] = OrderedDict()
_lock = Lock()


def taught_lesson(
    lesson: Lesson, seed: int = 0, progress: Progress | None = None, home: Home | None = None
) -> TaughtLesson:
    """A lesson with its numbers inserted and its questions made; cached by its text, scenes, seed and home.

    Args:
        lesson: as read.
        seed: of the quiz's questions.
        progress: called with the number of scenes run and the total.
        home: where the quiz's questions are set; None for anywhere.

    Raises:
        InputError: a number that no frame has, an idea that cannot be told from the truth, an option that
            the engine does not bear out; names file and line.
    """
    versions = map(lesson.scenes.version_of, lesson.scene_refs)
    own = "".join(str(one) for step in lesson.steps if step.quiz for one in step.quiz.own)
    key = (lesson.source, lesson.text, seed, home, own, *SPOKEN.get()().terms.items(), *versions)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    made = _worked(lesson, seed, progress, home)
    with _lock:
        _kept[key] = made
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return made


def _worked(lesson: Lesson, seed: int, progress: Progress | None, home: Home | None) -> TaughtLesson:
    wanted = WantedMoments(lesson.scenes)
    for number in lesson.numbers:
        wanted.want(number.scene_ref, number.at_s, _ghost_in(number.path))
    for step in lesson.steps:
        if step.question is not None:
            _want(wanted, step.question)
    seen = wanted.run(progress)
    told, asked = _told(lesson, seen), []
    # A lesson that is taught has its home with it.
    here = home or lesson.scenes.home
    for index, step in enumerate(told.steps):
        if step.question is not None:
            item = prediction_item(told, step, step.question, seen)
            asked.append(Asked(key_of(index), measured_at(here, item) if here else item))
        elif step.quiz is not None:
            items = [
                said_at(home, item) if is_handwritten(item) else in_own_words(item)
                for item in quiz_items(step.quiz, seed, home)
            ]
            asked += [Asked(key_of(index, place), item) for place, item in enumerate(items, start=1)]
    return TaughtLesson(_measured(told, here) if here else told, tuple(asked))


def _measured(lesson: Lesson, home: Home) -> Lesson:
    """A lesson with its pressures in the unit of home."""
    if home.suction == "inHg":
        return lesson
    steps = []
    for step in lesson.steps:
        question = step.question
        if question is not None:
            choices = tuple(_said(home, choice, "text", "reason") for choice in question.choices)
            question = _said(home, msgspec.structs.replace(question, choices=choices), "because", "unit")
        said = _said(home, step, "title", "text", "notes", "short")
        steps.append(msgspec.structs.replace(said, question=question))
    return msgspec.structs.replace(_said(home, lesson, "aim", "needs"), steps=tuple(steps))


def _said(home: Home, thing: T, *names: str) -> T:
    return msgspec.structs.replace(thing, **{name: home.said(getattr(thing, name)) for name in names})


def _ghost_in(path: str) -> tuple[str, ...]:
    """The wrong idea in a path such as `ghosts.ID.indicated_deg`."""
    parts = path.removeprefix("second.").split(".")
    return (parts[1],) if parts[0] == "ghosts" and len(parts) > 1 and parts[1] in FLOWN_BY_ID else ()


def _want(wanted: WantedMoments, question: Question) -> None:
    scene_ref, from_s = question.show.scene_ref, question.ghosts_from_s
    if not question.asks:
        return
    flying = [
        belief.idea
        for belief in question.beliefs
        if _is_flown(question, belief) or (not belief.path and belief.value is None)
    ]
    flying += [choice.idea for choice in question.choices if choice.idea in FLOWN_BY_ID]
    wanted.want(scene_ref, question.at_s, flying, from_s)
    for belief in question.beliefs:
        if belief.path:
            wanted.want(scene_ref, belief.at_s, _ghost_in(belief.path), from_s)


def _told(lesson: Lesson, seen: SceneFrames) -> Lesson:
    values = {
        one.written: number_text(
            one, seen.number(f"{lesson.source}, line {one.line}", one.scene_ref, one.at_s, one.path)
        )
        for one in lesson.numbers
    }
    return msgspec.structs.replace(lesson, steps=tuple(_told_step(step, values) for step in lesson.steps))


def _told_step(step: Step, values: dict[str, str]) -> Step:
    question = step.question
    if question is not None:
        choices = tuple(_with_texts(choice, values, "text", "reason") for choice in question.choices)
        question = _with_texts(msgspec.structs.replace(question, choices=choices), values, "because")
    return msgspec.structs.replace(_with_texts(step, values, "text", "notes", "short"), question=question)


def _with_texts(thing: T, values: dict[str, str], *names: str) -> T:
    """A record with the numbers put into those of its texts."""
    return msgspec.structs.replace(thing, **{name: filled(getattr(thing, name), values) for name in names})
