"""Makes a lesson's steps from the parts of its file."""

import re
from collections.abc import Mapping
from typing import cast, get_args

from lubberline.classroom.lessons.lesson import (
    COMMONEST,
    AnswerKind,
    Choice,
    Question,
    Quiz,
    Show,
    Step,
    StepKind,
    ToldIdea,
)
from lubberline.classroom.lessons.scenes import (
    GHOST_PATHS,
    MOST_GHOSTS,
    PATH,
    flown,
    length_of,
    scene_or_bench,
    show_of,
)
from lubberline.csvfile import plain_number
from lubberline.errors import Faults, InputError
from lubberline.headed_markdown import BoxedOption, Section
from lubberline.questions.bank import LEVELS, TOPICS, models, models_of
from lubberline.questions.handwritten import HandwrittenItem
from lubberline.questions.item import LETTERS, Level
from lubberline.simulation.misconceptions import BY_ID, FLOWN_BY_ID, misconception
from lubberline.simulation.scenes import Library

ANSWERS: tuple[AnswerKind, ...] = get_args(AnswerKind)
MOST_QUIZ, MOST_MINUTES = 20, 60.0
DIAL_TOLERANCE_DEG = 1.0
_BETWEEN = re.compile(r"(\S+)\s+and\s+(\S+)$")
_BELIEF = re.compile(r"([a-z0-9-]+)(?:\s*=\s*(\S+)(?:\s*@\s*(\S+))?)?$")


def steps_of(parts: list[Section], scenes: Library, items: Mapping[str, HandwrittenItem]) -> tuple[Step, ...]:
    """The steps of the parts after the front, which may name scenes and items written by hand.

    Raises:
        InputError: naming source and line.
    """
    steps, faults = list[Step](), Faults()
    for part in parts:
        # What a step would reveal may be a step that is wrong itself.
        if part.kind == "reveal" and faults.found:
            continue
        with faults.noted():
            steps.append(_step(part, steps, scenes, items))
    faults.tell()
    return tuple(steps)


def _step(part: Section, before: list[Step], scenes: Library, items: Mapping[str, HandwrittenItem]) -> Step:
    text = "\n".join(line.text for line in part.body).strip("\n")
    kind = cast(StepKind, part.kind)
    show: Show | None = None
    ghosts: tuple[str, ...] = ()
    reveals = -1
    if kind == "show":
        show, ghosts = show_of(part, scenes), flown(part, "ghosts")
    elif kind in ("say", "explain") and (part.has("scene") or part.has("bench")):
        show = show_of(part, scenes)
    elif kind == "reveal":
        reveals = _revealed(part, before)
        show = _reveal_show(part, before[reveals], scenes)
        ghosts = _reveal_ghosts(part)
    question = _question(part, text, scenes) if kind == "predict" else None
    if question is not None:
        show = _standing(part, question, before)
    if kind in ("say", "explain") and not text:
        raise InputError(part.where(), f"'{part.title}' has no text", "write it below the heading")
    return Step(
        kind=kind,
        title=part.title,
        text=text,
        notes="\n".join(line.text for line in part.notes).strip("\n"),
        short=part.text("short", ""),
        minutes=part.number("minutes", 0.1, MOST_MINUTES, 0.0),
        line=part.line,
        show=show,
        question=question,
        ghosts=ghosts,
        reveals=reveals,
        quiz=_quiz(part, items) if kind == "quiz" else None,
    )


def _standing(part: Section, question: Question, before: list[Step]) -> Show:
    """Where the bench stands during a prediction: where the scene was last left, if it was shown before."""
    scene = question.show
    last = next((step.show for step in reversed(before) if step.show is not None), None)
    left = last.to_s if last is not None and last.scene_ref == scene.scene_ref else 0.0
    default = left if left <= question.at_s else 0.0
    return Show(scene.scene, scene.bench, 0.0, part.number("stands at", 0.0, question.at_s, default))


def _revealed(part: Section, before: list[Step]) -> int:
    """The last prediction not yet revealed by another step."""
    done = {step.reveals for step in before}
    open_ = [place for place, step in enumerate(before) if step.kind == "predict" and place not in done]
    if not open_:
        right = "put a step ## Predict: before it"
        raise InputError(part.where(), "there is no prediction before it to reveal", right)
    return open_[-1]


def _reveal_show(part: Section, predicted: Step, scenes: Library) -> Show:
    """By default, the prediction's own scene up to its moment."""
    assert predicted.question is not None  # a step found by _revealed
    asked = predicted.question
    if part.has("scene") or part.has("bench"):
        return show_of(part, scenes)
    stood = predicted.show.to_s if predicted.show is not None else 0.0
    length = max(length_of(asked.show.scene_ref, part.where(), scenes), asked.at_s)
    from_s = part.number("from", 0.0, length, stood if stood < asked.at_s else 0.0)
    to_s = part.number("to", 0.0, length, asked.at_s)
    if to_s < asked.at_s or from_s > asked.at_s:
        wrong = f"it shows {from_s:g} to {to_s:g} s, but the question is about {asked.at_s:g} s"
        raise InputError(part.where("to" if to_s < asked.at_s else "from"), wrong, "include that moment")
    return Show(asked.show.scene, asked.show.bench, from_s, to_s, part.number("pace", 0.1, 600.0, 0.0))


def _reveal_ghosts(part: Section) -> tuple[str, ...]:
    if part.text("ghosts", COMMONEST) == COMMONEST:
        return (COMMONEST,)
    return () if part.text("ghosts") == "none" else flown(part, "ghosts")


def _question(part: Section, text: str, scenes: Library) -> Question:
    if not text:
        raise InputError(part.where(), "the prediction has no question", "write the question below its head")
    answer = cast(AnswerKind, part.one_of("answer", ANSWERS))
    scene, bench = scene_or_bench(part, scenes)
    length = length_of(scene or bench, part.where(), scenes)
    at_s = part.number("at", 0.0, length)
    asks = part.text("asks", "" if answer == "options" else None)
    if asks and not PATH.fullmatch(asks):
        right = "give the path of a number in a frame, such as shown.indicated_deg"
        raise InputError(part.where("asks"), f"asks '{asks[:40]}'", right)
    choices = _choices(part, answer, bool(asks))
    return Question(
        answer=answer,
        topic=part.one_of("topic", TOPICS),
        level=cast(Level, part.one_of("level", LEVELS, "apply")),
        show=Show(scene, bench, 0.0, at_s),
        at_s=at_s,
        asks=asks,
        tolerance=_tolerance(part, answer),
        unit=part.text("unit", _unit(asks) if answer != "options" else ""),
        beliefs=_beliefs(part, at_s, asks, answer),
        ghosts_from_s=part.number("ghosts from", 0.0, at_s, 0.0),
        choices=choices,
        because=part.text("because", "" if answer == "options" else None),
    )


def _tolerance(part: Section, answer: AnswerKind) -> float:
    if answer == "options":
        if part.has("tolerance"):
            raise InputError(part.where("tolerance"), "options have no tolerance", "remove the line")
        return 0.0
    return part.number("tolerance", 0.001, 100_000.0, DIAL_TOLERANCE_DEG if answer == "dial" else None)


_UNITS = {
    "deg": "degrees", "deg_h": "degrees an hour", "inhg": "inHg", "rpm": "rpm", "kt": "kt", "ft": "ft",
    "deg_s": "degrees a second", "s": "seconds",
}  # fmt: skip


def _unit(asks: str) -> str:
    """The unit at the end of a number's name, in words."""
    endings = [ending for ending in _UNITS if asks.endswith(f"_{ending}")]
    return _UNITS[max(endings, key=len)] if endings else ""


def _beliefs(part: Section, at_s: float, asks: str, answer: AnswerKind) -> tuple[ToldIdea, ...]:
    if not part.has("ideas"):
        return ()
    if answer == "options":
        right = "give an idea below its option: idea: ID"
        raise InputError(part.where("ideas"), "ideas belong to the options", right)
    found = tuple(_belief(part, word.strip(), at_s, asks) for word in part.text("ideas").split(","))
    ids = [belief.idea for belief in found]
    ghosts = [belief for belief in found if not belief.path and belief.value is None]
    if len(set(ids)) < len(ids) or len(ghosts) > MOST_GHOSTS:
        right = f"each once, and at most {MOST_GHOSTS} flown"
        raise InputError(part.where("ideas"), f"{len(ids)} ideas", right)
    return found


def _belief(part: Section, text: str, at_s: float, asks: str) -> ToldIdea:
    where, line = part.where("ideas"), part.head["ideas"].number
    found = _BELIEF.match(text)
    if not found:
        right = "ID, or ID = a number's path, or ID = path @ seconds, or ID = a number"
        raise InputError(where, f"'{text[:60]}' is not an idea", right)
    idea, given, moment = found[1], found[2], found[3]
    misconception(idea, where)
    if given is None:
        return _ghost(where, idea, asks, line)
    value = plain_number(given)
    if value is not None:
        return ToldIdea(idea, value=value, line=line)
    if not PATH.fullmatch(given):
        raise InputError(where, f"'{given[:40]}'", "a number, or the path of one in a frame")
    at = at_s if moment is None else plain_number(moment)
    if at is None or not 0.0 <= at <= at_s:
        raise InputError(where, f"'@ {moment}'", f"give seconds of the scene, from 0 to {at_s:g}")
    return ToldIdea(idea, given, at, line=line)


def _ghost(where: str, idea: str, asks: str, line: int) -> ToldIdea:
    """A wrong idea as a ghost, whose own number is its answer."""
    if idea not in FLOWN_BY_ID:
        wrong = f"the wrong idea '{idea}' is {BY_ID[idea].kind}and cannot be flown"
        raise InputError(where, wrong, f"say what it expects: {idea} = PATH or a number")
    if asks.removeprefix("second.") not in GHOST_PATHS:
        right = f"say what it expects: {idea} = PATH or a number"
        raise InputError(where, f"a ghost does not have '{asks}'", right)
    return ToldIdea(idea, line=line)


def _choices(part: Section, answer: AnswerKind, computed: bool) -> tuple[Choice, ...]:
    if answer == "options":
        part.marked_option(len(LETTERS))
        return tuple(_choice(part.source, boxed, computed) for boxed in part.options)
    if part.options:
        where = f"{part.source}, line {part.options[0].line}"
        raise InputError(where, f"an option, but the answer is a {answer}", "answer: options")
    return ()


def _choice(source: str, boxed: BoxedOption, computed: bool) -> Choice:
    where = f"{source}, line {boxed.line}"
    idea, low, high, reason = "", None, None, []
    for line in boxed.under:
        key, _, value = line.text.partition(":")
        here = f"{source}, line {line.number}"
        if key == "idea":
            idea = misconception(value.strip(), here).id
        elif key == "between":
            low, high = _between(here, value.strip())
        else:
            reason.append(line.text)
    if boxed.marked and idea:
        raise InputError(where, "the key has a wrong idea", "give an idea only to wrong options")
    if computed and low is None:
        raise InputError(where, "its range of numbers is missing", "write below it: between: LOW and HIGH")
    if low is not None and not computed:
        raise InputError(where, "'between' without asks", "write asks: PATH in the head")
    if not reason and not idea:
        raise InputError(where, "no reason below this option", "write it indented by two spaces, or idea: ID")
    return Choice(boxed.text, boxed.marked, " ".join(reason), idea, low, high, boxed.line)


def _between(where: str, text: str) -> tuple[float, float]:
    found = _BETWEEN.match(text)
    low = plain_number(found[1]) if found else None
    high = plain_number(found[2]) if found else None
    if low is None or high is None or low >= high:
        raise InputError(
            where, f"between '{text[:40]}'", "give two numbers, the lower first: between: -1 and 1"
        )
    return low, high


def _quiz(part: Section, items: Mapping[str, HandwrittenItem]) -> Quiz:
    seed = part.number("seed", 0.0, 1e9, 0.0)
    if not seed.is_integer():
        raise InputError(part.where("seed"), f"seed {seed:g}", "a whole number")
    if part.has("models") == part.has("topics"):
        where = part.where("topics" if part.has("topics") else "")
        wrong = "both models and topics" if part.has("topics") else "neither models nor topics"
        raise InputError(
            where, wrong, "give exactly one: models: ID, ID, or topics: NAME, NAME with count: N"
        )
    if part.has("models"):
        ids = part.some_of("models", [*models(), *items], MOST_QUIZ)
        own = tuple(items[id] for id in ids if id in items)
        return Quiz(models=ids, count=len(ids), seed=int(seed), own=own)
    topics = part.some_of("topics", TOPICS, len(TOPICS))
    levels = part.some_of("levels", LEVELS, len(LEVELS)) or LEVELS
    count = part.number("count", 1.0, MOST_QUIZ)
    of_topics = [one for one in items.values() if one.item.topic in topics and one.item.level in levels]
    there = sum(len(models_of(topic, level)) for topic in topics for level in levels) + len(of_topics)
    if not count.is_integer() or count > there:
        right = f"a whole number, at most {there}, the number of kinds of questions"
        raise InputError(part.where("count"), f"count {count:g}", right)
    return Quiz((), topics, cast("tuple[Level, ...]", levels), int(count), int(seed), tuple(of_topics))
