"""A lesson's steps, made of the parts of its file."""

from __future__ import annotations

import re
from typing import cast, get_args

from lubberline.classroom.lessons.fields import (
    MOST_GHOSTS,
    PATH,
    Fields,
    flown,
    length_of,
    plain_number,
    scene_or_bench,
    show_of,
)
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
from lubberline.classroom.lessons.lines import OptionPart, Part
from lubberline.classroom.lessons.moments import GHOST_PATHS
from lubberline.errors import InputError, nearest_of
from lubberline.questions.bank import LEVELS, TOPICS, models, models_of
from lubberline.questions.item import Level
from lubberline.simulation.misconceptions import BY_ID, FLOWN_BY_ID

ANSWERS: tuple[AnswerKind, ...] = get_args(AnswerKind)
MOST_CHOICES, MOST_QUIZ, MOST_MINUTES = 8, 20, 60.0
DIAL_TOLERANCE_DEG = 1.0
_BETWEEN = re.compile(r"(\S+)\s+and\s+(\S+)$")
_BELIEF = re.compile(r"([a-z0-9-]+)(?:\s*=\s*(\S+)(?:\s*@\s*(\S+))?)?$")


def steps_of(source: str, parts: list[Part]) -> tuple[Step, ...]:
    """The steps of the parts after the front.

    Raises:
        InputError: naming source and line.
    """
    steps: list[Step] = []
    for part in parts:
        steps.append(_step(source, part, steps))
    return tuple(steps)


def _step(source: str, part: Part, before: list[Step]) -> Step:
    fields = Fields(source, part)
    text = "\n".join(line.text for line in part.body).strip("\n")
    kind = cast(StepKind, part.kind)
    show: Show | None = None
    ghosts: tuple[str, ...] = ()
    reveals = -1
    if kind == "show":
        show, ghosts = show_of(fields), flown(fields, "ghosts")
    elif kind == "reveal":
        reveals = _revealed(fields, before)
        show = _reveal_show(fields, before[reveals])
        ghosts = _reveal_ghosts(fields)
    question = _question(fields, text) if kind == "predict" else None
    if question is not None:
        show = _standing(fields, question, before)
    if kind in ("say", "explain") and not text:
        raise InputError(fields.where(), f"nothing is said in '{part.title}'", "write it below the heading")
    return Step(
        kind=kind,
        title=part.title,
        text=text,
        notes="\n".join(line.text for line in part.notes).strip("\n"),
        short=fields.text("short", ""),
        minutes=fields.number("minutes", 0.1, MOST_MINUTES, 0.0),
        line=part.line,
        show=show,
        question=question,
        ghosts=ghosts,
        reveals=reveals,
        quiz=_quiz(fields) if kind == "quiz" else None,
    )


def _standing(fields: Fields, question: Question, before: list[Step]) -> Show:
    """Where the bench stands while a prediction is made: where the scene was last left, if it was seen."""
    scene = question.show
    last = next((step.show for step in reversed(before) if step.show is not None), None)
    left = last.to_s if last is not None and last.scene_ref == scene.scene_ref else 0.0
    default = left if left <= question.at_s else 0.0
    return Show(scene.scene, scene.bench, 0.0, fields.number("stands at", 0.0, question.at_s, default))


def _revealed(fields: Fields, before: list[Step]) -> int:
    """The last prediction, which no other step has revealed."""
    done = {step.reveals for step in before}
    open_ = [place for place, step in enumerate(before) if step.kind == "predict" and place not in done]
    if not open_:
        right = "put a step ## Predict: before it"
        raise InputError(fields.where(), "there is no prediction before it to reveal", right)
    return open_[-1]


def _reveal_show(fields: Fields, predicted: Step) -> Show:
    """The prediction's own scene up to its moment, where nothing else is said."""
    assert predicted.question is not None  # a step found by _revealed
    asked = predicted.question
    if fields.has("scene") or fields.has("bench"):
        return show_of(fields)
    stood = predicted.show.to_s if predicted.show is not None else 0.0
    length = max(length_of(asked.show.scene_ref, fields.where()), asked.at_s)
    from_s = fields.number("from", 0.0, length, stood if stood < asked.at_s else 0.0)
    to_s = fields.number("to", 0.0, length, asked.at_s)
    if to_s < asked.at_s or from_s > asked.at_s:
        wrong = f"it shows {from_s:g} to {to_s:g} s, and the question is about {asked.at_s:g} s"
        raise InputError(fields.where("to" if to_s < asked.at_s else "from"), wrong, "show that moment")
    return Show(asked.show.scene, asked.show.bench, from_s, to_s, fields.number("pace", 0.1, 600.0, 0.0))


def _reveal_ghosts(fields: Fields) -> tuple[str, ...]:
    if fields.text("ghosts", COMMONEST) == COMMONEST:
        return (COMMONEST,)
    return () if fields.text("ghosts") == "none" else flown(fields, "ghosts")


def _question(fields: Fields, text: str) -> Question:
    if not text:
        raise InputError(fields.where(), "the prediction asks nothing", "write the question below its head")
    answer = cast(AnswerKind, fields.one_of("answer", ANSWERS))
    scene, bench = scene_or_bench(fields)
    length = length_of(scene or bench, fields.where())
    at_s = fields.number("at", 0.0, length)
    asks = fields.text("asks", "" if answer == "options" else None)
    if asks and not PATH.fullmatch(asks):
        right = "the path of a number in a frame, as shown.indicated_deg"
        raise InputError(fields.where("asks"), f"asks '{asks[:40]}'", right)
    choices = _choices(fields, answer, bool(asks))
    return Question(
        answer=answer,
        topic=fields.one_of("topic", TOPICS),
        level=cast(Level, fields.one_of("level", LEVELS, "apply")),
        show=Show(scene, bench, 0.0, at_s),
        at_s=at_s,
        asks=asks,
        tolerance=_tolerance(fields, answer),
        unit=fields.text("unit", _unit(asks) if answer != "options" else ""),
        beliefs=_beliefs(fields, at_s, asks, answer),
        ghosts_from_s=fields.number("ghosts from", 0.0, at_s, 0.0),
        choices=choices,
        because=fields.text("because", "" if answer == "options" else None),
    )


def _tolerance(fields: Fields, answer: AnswerKind) -> float:
    if answer == "options":
        if fields.has("tolerance"):
            raise InputError(fields.where("tolerance"), "options have no tolerance", "take the line out")
        return 0.0
    return fields.number("tolerance", 0.001, 100_000.0, DIAL_TOLERANCE_DEG if answer == "dial" else None)


_UNITS = {
    "deg": "degrees", "deg_h": "degrees an hour", "inhg": "inHg", "rpm": "rpm", "kt": "kt", "ft": "ft",
    "deg_s": "degrees a second", "s": "seconds",
}  # fmt: skip


def _unit(asks: str) -> str:
    """The unit that the name of a number ends with, in words."""
    endings = [ending for ending in _UNITS if asks.endswith(f"_{ending}")]
    return _UNITS[max(endings, key=len)] if endings else ""


def _beliefs(fields: Fields, at_s: float, asks: str, answer: AnswerKind) -> tuple[ToldIdea, ...]:
    if not fields.has("ideas"):
        return ()
    if answer == "options":
        right = "give an idea below its option: idea: ID"
        raise InputError(fields.where("ideas"), "options name their ideas themselves", right)
    found = tuple(_belief(fields, word.strip(), at_s, asks) for word in fields.text("ideas").split(","))
    ids = [belief.idea for belief in found]
    ghosts = [belief for belief in found if not belief.path and belief.value is None]
    if len(set(ids)) < len(ids) or len(ghosts) > MOST_GHOSTS:
        right = f"each once, and at most {MOST_GHOSTS} that fly"
        raise InputError(fields.where("ideas"), f"{len(ids)} ideas", right)
    return found


def _belief(fields: Fields, text: str, at_s: float, asks: str) -> ToldIdea:
    where, line = fields.where("ideas"), fields.line("ideas").number
    found = _BELIEF.match(text)
    if not found:
        right = "ID, or ID = a number's path, or ID = path @ seconds, or ID = a number"
        raise InputError(where, f"'{text[:60]}' is no idea", right)
    idea, given, moment = found[1], found[2], found[3]
    if idea not in BY_ID:
        raise InputError(where, f"there is no wrong idea '{idea[:60]}'", nearest_of(idea, list(BY_ID)))
    if given is None:
        return _ghost(where, idea, asks, line)
    value = plain_number(given)
    if value is not None:
        return ToldIdea(idea, value=value, line=line)
    if not PATH.fullmatch(given):
        raise InputError(where, f"'{given[:40]}'", "a number, or the path of one in a frame")
    at = at_s if moment is None else plain_number(moment)
    if at is None or not 0.0 <= at <= at_s:
        raise InputError(where, f"'@ {moment}'", f"seconds of the scene, from 0 to {at_s:g}")
    return ToldIdea(idea, given, at, line=line)


def _ghost(where: str, idea: str, asks: str, line: int) -> ToldIdea:
    """A wrong idea that flies beside, whose own number is asked for."""
    if idea not in FLOWN_BY_ID:
        wrong = f"the wrong idea '{idea}' is {BY_ID[idea].kind}, and can't be flown"
        raise InputError(where, wrong, f"say what it expects: {idea} = PATH or a number")
    if asks.removeprefix("second.") not in GHOST_PATHS:
        right = f"say what it expects: {idea} = PATH or a number"
        raise InputError(where, f"a ghost has no '{asks}' of its own", right)
    return ToldIdea(idea, line=line)


def _choices(fields: Fields, answer: AnswerKind, computed: bool) -> tuple[Choice, ...]:
    parts = fields.part.options
    if answer != "options":
        if parts:
            where = f"{fields.source}, line {parts[0].line}"
            raise InputError(where, f"an option, but the answer is a {answer}", "answer: options")
        return ()
    if not 2 <= len(parts) <= MOST_CHOICES:
        wrong = f"{len(parts) or 'no'} option{'' if len(parts) == 1 else 's'}"
        raise InputError(fields.where(), wrong, f"two to {MOST_CHOICES}, each as: - [ ] text")
    choices = tuple(_choice(fields.source, part, computed) for part in parts)
    keys = [choice for choice in choices if choice.right]
    if len(keys) != 1:
        where = f"{fields.source}, line {keys[1].line}" if keys else fields.where()
        raise InputError(where, f"{len(keys) or 'no'} options are marked right", "mark one: - [x] text")
    seen: dict[str, int] = {}
    for choice in choices:
        if seen.setdefault(choice.text.casefold(), choice.line) != choice.line:
            where = f"{fields.source}, line {choice.line}"
            raise InputError(where, f"the option of line {seen[choice.text.casefold()]}", "write another")
    return choices


def _choice(source: str, part: OptionPart, computed: bool) -> Choice:
    where = f"{source}, line {part.line}"
    if part.box not in (" ", "x", "X"):
        raise InputError(where, f"the box holds '{part.box}'", "[x] for the right one, [ ] for the others")
    if not part.text:
        raise InputError(where, "the option is empty", "write it after the box")
    idea, low, high, reason = "", None, None, []
    for line in part.under:
        key, _, value = line.text.partition(":")
        here = f"{source}, line {line.number}"
        if key == "idea":
            idea = _idea(here, value.strip())
        elif key == "between":
            low, high = _between(here, value.strip())
        else:
            reason.append(line.text)
    right = part.box != " "
    if right and idea:
        raise InputError(where, "the right option has a wrong idea", "give an idea to wrong options alone")
    if computed and low is None:
        raise InputError(where, "nothing says for which numbers it stands", "below it: between: LOW and HIGH")
    if low is not None and not computed:
        raise InputError(where, "'between' of what?", "write asks: PATH in the head")
    if not reason and not idea:
        raise InputError(where, "no reason below this option", "write it two spaces in, or idea: ID")
    return Choice(part.text, right, " ".join(reason), idea, low, high, part.line)


def _idea(where: str, name: str) -> str:
    if name not in BY_ID:
        raise InputError(where, f"there is no wrong idea '{name[:60]}'", nearest_of(name, list(BY_ID)))
    return name


def _between(where: str, text: str) -> tuple[float, float]:
    found = _BETWEEN.match(text)
    low = plain_number(found[1]) if found else None
    high = plain_number(found[2]) if found else None
    if low is None or high is None or low >= high:
        raise InputError(where, f"between '{text[:40]}'", "two numbers, the lower first: between: -1 and 1")
    return low, high


def _quiz(fields: Fields) -> Quiz:
    seed = fields.number("seed", 0.0, 1e9, 0.0)
    if not seed.is_integer():
        raise InputError(fields.where("seed"), f"seed {seed:g}", "a whole number")
    if fields.has("models") == fields.has("topics"):
        where = fields.where("topics" if fields.has("topics") else "")
        wrong = "both models and topics" if fields.has("topics") else "neither models nor topics"
        raise InputError(where, wrong, "one of: models: ID, ID, or topics: NAME, NAME with count: N")
    if fields.has("models"):
        ids = fields.some_of("models", models(), MOST_QUIZ)
        return Quiz(models=ids, count=len(ids), seed=int(seed))
    topics = fields.some_of("topics", TOPICS, len(TOPICS))
    levels = fields.some_of("levels", LEVELS, len(LEVELS)) or LEVELS
    count = fields.number("count", 1.0, MOST_QUIZ)
    there = sum(len(models_of(topic, level)) for topic in topics for level in levels)
    if not count.is_integer() or count > there:
        right = f"a whole number, at most {there}: so many kinds of questions there are"
        raise InputError(fields.where("count"), f"count {count:g}", right)
    return Quiz((), topics, cast("tuple[Level, ...]", levels), int(count), int(seed))
