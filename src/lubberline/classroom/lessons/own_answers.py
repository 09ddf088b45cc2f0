"""One student's own answers in a lesson: in words, as saved, and with what is right."""

from collections.abc import Sequence

import msgspec

from lubberline.classroom.lessons.order import Order, place_of
from lubberline.classroom.lessons.teaching import Standing
from lubberline.classroom.lessons.text import lesson_html
from lubberline.classroom.marking import feedback_of, idea_of, is_right
from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked
from lubberline.questions.item import LETTERS, Item
from lubberline.questions.slips import SLIPS
from lubberline.simulation.misconceptions import BY_ID


class OwnAnswer(msgspec.Struct, frozen=True):
    """A student's own answer as saved: the place of an option, or a number."""

    place: int = NOT_CHOSEN
    value: float | None = None


class Feedback(msgspec.Struct, frozen=True):
    """The private result of a question for a student.

    Attributes:
        key: of the question.
        heading: the question's text, as HTML.
        how: 'dial', 'number' or 'options'.
        right: whether the answer was right.
        own: the student's answer in words; '' for none.
        own_value: as a number; None for options.
        truth: the right answer in words.
        truth_value: as a number; None for options.
        idea: the wrong idea that fits the answer, in a student's words; '' for none.
        why: why the idea fails, or why the right answer is right.
    """

    key: str
    heading: str
    how: str
    right: bool
    own: str
    own_value: float | None
    truth: str
    truth_value: float | None
    idea: str
    why: str


class CameLate(msgspec.Struct, frozen=True):
    """A student's own late answer: its question, in words too, and 'waiting', 'taken' or 'not taken'."""

    key: str
    where: str
    words: str
    state: str


class StudentView(msgspec.Struct, frozen=True):
    """One student's own view.

    Attributes:
        name: of the student.
        given: answers as saved, by question.
        told: results of the questions that this step has shown.
        expects: what the student answered, in words, while the projector plays what happens.
        late: late answers, the last of each question, and what was decided.
        before: how many joined earlier.
    """

    name: str
    given: dict[str, OwnAnswer]
    told: tuple[Feedback, ...] = ()
    expects: tuple[str, ...] = ()
    late: tuple[CameLate, ...] = ()
    before: int = 0


def how_of(item: Item) -> str:
    """How an item is answered: by a dial, a number or options."""
    if item.kind != "number":
        return "options"
    return "dial" if item.circle else "number"


def words_of(item: Item, chosen: int, value: float | None, order: Order = ()) -> str:
    """An answer in words: an option's text, or a number with its unit; '' for none.

    Args:
        item: that was asked.
        chosen: index of the option.
        value: the number.
        order: in which whoever reads this saw the options, for a letter before the text; without one, none.
    """
    if item.kind != "number":
        if not 0 <= chosen < len(item.options):
            return ""
        letter = f"{LETTERS[place_of(order, chosen)]}: " if order else ""
        return letter + item.options[chosen].text
    if value is None:
        return ""
    if item.circle:
        return f"{round(value) % 360:03d}°"
    text = f"{value:.6g}".replace("-", "−")
    unit = unit_of(item)
    return f"{text}{unit}" if unit.startswith("°") else f"{text} {unit}".strip()


def unit_of(item: Item) -> str:
    """The unit of a number for people: 'deg' as a degree sign; '' for words."""
    if item.kind != "number":
        return ""
    return {"deg": "°", "deg/h": "° an hour", "degrees": "°"}.get(item.unit, item.unit)


def statement_of(idea: str) -> str:
    """A wrong idea or slip in a student's words; '' for none."""
    thought = SLIPS.get(idea) or BY_ID.get(idea)
    return thought.statement if thought else ""


def told_of(asked: Asked, answer: Answer | None, order: Order) -> Feedback:
    """The result of a question for a student, with their own answer and the right one."""
    item = asked.item
    given = answer if answer is not None else Answer("", "", asked.key)
    right = is_right(given, item)
    return Feedback(
        key=asked.key,
        heading=lesson_html(item.stem),
        how=how_of(item),
        right=right,
        own=words_of(item, given.chosen, given.value, order),
        own_value=given.value,
        truth=words_of(item, item.key, item.answer, order),
        truth_value=item.answer,
        idea="" if right else statement_of(idea_of(given, item)),
        why=item.reason if given.blank else feedback_of(given, item),
    )


def seen_alone(
    name: str,
    stands: Standing,
    answers: Sequence[Answer],
    late: Sequence[CameLate] = (),
    before: int = 0,
) -> StudentView:
    """One student's own view.

    Args:
        name: of the student.
        stands: the state of the lesson.
        answers: of this student in this sitting.
        late: of this student, in order of arrival.
        before: how many joined earlier.
    """
    by_key = {answer.key: answer for answer in answers}
    asked = {one.key: one for one in (*stands.asked, *stands.revealed)}
    given = {
        key: OwnAnswer(place_of(stands.order_of(asked[key]), by_key[key].chosen), by_key[key].value)
        for key in sorted(set(asked) & set(by_key))
    }
    revealed = () if stands.over else stands.revealed
    told = revealed if stands.told else ()
    watched = [one for one in revealed if one not in told and one not in stands.asked and one.key in by_key]
    return StudentView(
        name,
        given,
        tuple(told_of(one, by_key.get(one.key), stands.order_of(one)) for one in told),
        tuple(
            words_of(one.item, own.chosen, own.value, stands.order_of(one))
            for one in watched
            for own in (by_key[one.key],)
        ),
        tuple({one.key: one for one in late}.values()),
        before,
    )
