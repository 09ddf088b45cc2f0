"""The questions of a lesson's quiz, drawn from the bank with a seed."""

from __future__ import annotations

from lubberline.classroom.lesson_records import Quiz
from lubberline.questions.bank import model_named, models_of
from lubberline.questions.drawing import random_of
from lubberline.questions.generate import generate
from lubberline.questions.item import Item


def quiz_items(quiz: Quiz, seed: int) -> tuple[Item, ...]:
    """The items of a quiz: of its models in their order, or of models drawn from its topics in turn.

    The same quiz and seed give the same items.
    """
    random = random_of("lesson quiz", ",".join([*quiz.models, *quiz.topics, *quiz.levels]), quiz.seed + seed)
    chosen = [model_named(id) for id in quiz.models]
    stacks = []
    for topic in quiz.topics:
        stack = [model for level in quiz.levels for model in models_of(topic, level)]
        random.shuffle(stack)
        stacks.append(stack)
    while len(chosen) < quiz.count and any(stacks):
        chosen += [stack.pop() for stack in stacks if stack][: quiz.count - len(chosen)]
    return tuple(generate(model, quiz.seed + seed) for model in chosen)
