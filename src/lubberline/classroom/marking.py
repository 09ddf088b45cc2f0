"""Marking: whether an answer is right, and the wrong idea that it fits."""

import math
import re
from collections.abc import Iterable, Sequence

import msgspec

from lubberline.classroom.records import NOT_CHOSEN, Answer, Asked, Correction, Marked, Sitting
from lubberline.errors import InputError
from lubberline.questions.item import LETTERS, Item, Option

# A number without a tolerance must be given exactly as written.
LEAST_TOLERANCE = 1e-9
# Letters of an option's beginning that name it; one alone is taken for a paper's letter.
LEAST_BEGINNING = 3
# '1,234', but not '0,125' or '1234,567'.
_TWO_WAYS = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}°?", re.ASCII)
STRUCK, COUNTS = "struck", "counts"


def near_of(item: Item) -> float:
    """How far from a number another one is still the same answer."""
    return max(item.tolerance or 0.0, LEAST_TOLERANCE)


def is_right(answer: Answer, item: Item) -> bool:
    """Whether an answer is the key, or within the tolerance of the right number."""
    if item.kind != "number":
        return answer.chosen == item.key
    if answer.value is None or item.answer is None or not math.isfinite(answer.value):
        return False
    return item.apart(answer.value, item.answer) <= near_of(item)


def idea_of(answer: Answer, item: Item) -> str:
    """The wrong idea or slip that this answer fits, the nearest of several; '' for none."""
    if answer.blank or is_right(answer, item):
        return ""
    if item.kind != "number":
        inside = 0 <= answer.chosen < len(item.options)
        return item.options[answer.chosen].misconception if inside else ""
    near = near_of(item)
    value = answer.value
    if value is None or not math.isfinite(value):
        return ""
    far = [(item.apart(value, slip.value), slip) for slip in item.slips if slip.value is not None]
    found = min(far, key=lambda one: one[0], default=(math.inf, Option("", "", "")))
    return found[1].misconception if found[0] <= near else ""


def feedback_of(answer: Answer, item: Item) -> str:
    """The correction of the idea behind an answer, with this question's numbers; the reason if right."""
    if is_right(answer, item):
        return item.reason
    if item.kind != "number":
        inside = 0 <= answer.chosen < len(item.options)
        return item.options[answer.chosen].feedback if inside else item.reason
    idea = idea_of(answer, item)
    slip = next((one for one in item.slips if idea and one.misconception == idea), None)
    return slip.feedback if slip is not None else item.reason


def marked_answer(answer: Answer, item: Item) -> Marked:
    """An answer with its marks, nothing corrected."""
    return Marked(answer, item, float(is_right(answer, item)), idea_of(answer, item))


def answer_words(answer: Answer, item: Item) -> str:
    """An answer as a marker writes it: an option's letter, a number, '-' for none."""
    if answer.chosen != NOT_CHOSEN:
        return LETTERS[answer.chosen] if 0 <= answer.chosen < len(LETTERS) else str(answer.chosen)
    return "-" if answer.value is None else f"{answer.value:g}"


def option_words(letter: str, item: Item) -> str:
    """An answer as written by `answer_words`, with an option's text in place of its letter.

    In a lesson each class sees the options in another order: a letter would name another option.
    """
    place = LETTERS.find(letter) if len(letter) == 1 else NOT_CHOSEN
    return item.options[place].text if 0 <= place < len(item.options) else letter


def read_option(text: str, item: Item, where: str) -> tuple[int, float | None]:
    """As `read_answer`, with an option by its text or the beginning of it, never by a letter.

    Raises:
        InputError: no option, or more than one, begins so; names `where`.
    """
    word = " ".join(text.split()).casefold()
    if item.kind == "number" or word in ("", "-"):
        return read_answer(text, item, where)
    texts = [" ".join(option.text.split()).casefold() for option in item.options]
    found = [k for k, one in enumerate(texts) if one == word]
    found = found or [
        k for k, one in enumerate(texts) if len(word) >= LEAST_BEGINNING and one.startswith(word)
    ]
    if len(found) != 1:
        raise InputError(
            where, f"'{text.strip()[:40]}' is not one of the options", "give an option's words, as listed"
        )
    return found[0], None


def read_answer(text: str, item: Item, where: str) -> tuple[int, float | None]:
    """The option's index and the number that a text gives: a letter, a number, or '' and '-' for none.

    A comma is a decimal mark, but not where it may separate thousands.

    Raises:
        InputError: for anything else; names `where`.
    """
    word = text.strip()
    if word in ("", "-"):
        return NOT_CHOSEN, None
    if item.kind != "number":
        letters = LETTERS[: len(item.options)]
        if len(word) == 1 and word.upper() in letters:
            return letters.index(word.upper()), None
        raise InputError(
            where, f"'{word[:20]}' is not an option", f"give a letter from A to {letters[-1]}, or -"
        )
    if _TWO_WAYS.fullmatch(word):
        right = f"write {word.replace(',', '.')} or {word.replace(',', '')}, without a comma"
        raise InputError(where, f"'{word}' can be read in two ways", right)
    try:
        value = float(word.removesuffix("°").replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(where, f"'{word[:20]}' is not a number", "give a number such as 274 or 3.5, or -")
    return NOT_CHOSEN, value


def corrected(mark: Marked, corrections: Iterable[Correction]) -> Marked:
    """A mark with its corrections, in the order in which they were made."""
    for one in corrections:
        if one.key != mark.answer.key or one.student not in ("", mark.answer.student):
            continue
        if one.field == "struck":
            mark = msgspec.structs.replace(mark, struck=one.after == STRUCK, corrected=True)
        elif one.field == "points":
            mark = msgspec.structs.replace(mark, points=float(one.after), corrected=True)
        else:
            chosen, value = read_answer(one.after, mark.item, "correction")
            answer = msgspec.structs.replace(mark.answer, chosen=chosen, value=value)
            fresh = marked_answer(answer, mark.item)
            mark = msgspec.structs.replace(fresh, struck=mark.struck, corrected=True)
    return mark


def concerns(asked: Asked, form: str) -> bool:
    """Whether a question is put to students with this form of the paper."""
    return not asked.form or asked.form == form


def marked(
    sitting: Sitting, answers: Sequence[Answer], corrections: Sequence[Correction] = ()
) -> tuple[Marked, ...]:
    """Every answer of a sitting with its marks: corrections applied, struck questions marked.

    Questions that a student was asked and left blank count, with 0 points: of the form from which the
    student answered anything, or of all forms where there is only one.

    Args:
        sitting: with its questions.
        answers: those that count.
        corrections: in the order in which they were made.
    """
    by_key = {one.key: one for one in sitting.asked}
    given: dict[str, dict[str, Answer]] = {}
    for answer in answers:
        if answer.key in by_key:
            given.setdefault(answer.student, {})[answer.key] = answer
    found = []
    for student, own in given.items():
        form = next((by_key[key].form for key in own if by_key[key].form), "")
        for asked in sitting.asked:
            if not concerns(asked, form):
                continue
            # In a lesson a student may have come late: a missing answer means nothing.
            if sitting.kind == "lesson" and asked.key not in own:
                continue
            answer = own.get(asked.key, Answer(sitting.id, student, asked.key))
            found.append(corrected(marked_answer(answer, asked.item), corrections))
    return tuple(found)


def score(marks: Iterable[Marked]) -> tuple[float, int]:
    """Points, and the number of questions that count."""
    counted = [mark for mark in marks if not mark.struck]
    return sum(mark.points for mark in counted), len(counted)
