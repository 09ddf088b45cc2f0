"""The sentences of a diagnosis: the answers behind it and its probabilities."""

from collections.abc import Sequence

from lubberline.classroom.diagnosis.likelihood import IdeaAnswer, reading_of
from lubberline.classroom.diagnosis.records import Evidence, Held, Verdict
from lubberline.classroom.records import Marked
from lubberline.questions.item import Item
from lubberline.simulation.misconceptions import BY_ID

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
# An answer fits the number that an idea leads to if it is within so many times the scatter of answers.
FITS_WITHIN = 2.0
# Fewer answers than this do not show whether a student knows a law.
FEW = 2


def counted(count: int, one: str, many: str) -> str:
    """'one answer', 'three answers', '12 answers'."""
    word = NUMBERS[count] if count < len(NUMBERS) else str(count)
    return f"{word} {one if count == 1 else many}"


def percent(share: float) -> str:
    """A share or a probability in whole percent; never 0 or 100, which cannot be certain."""
    return "over 99%" if share > 0.99 else "under 1%" if share < 0.01 else f"{100.0 * share:.0f}%"


def quoted(ideas: Sequence[str]) -> str:
    """What a student with one of these ideas would say, in quotation marks for a sentence."""
    return " or ".join(f"“{BY_ID[idea].statement.removesuffix('.')}”" for idea in ideas)


def written(item: Item, chosen: int, value: float | None) -> str:
    """An answer as a person would write it."""
    if item.kind != "number":
        return item.options[chosen].text
    assert value is not None
    number = f"{value % 360.0:03.0f}" if item.circle else f"{value:g}"
    return f"{number}°" if item.unit in ("deg", "°") or item.circle else f"{number} {item.unit}".strip()


def fits(marked: Marked, said: IdeaAnswer) -> bool:
    """Whether an answer is the one that a student with an idea gives."""
    answer = marked.answer
    if marked.item.kind != "number":
        return answer.chosen in said.options
    if answer.value is None or said.value is None:
        return False
    return marked.item.apart(answer.value, said.value) <= FITS_WITHIN * reading_of(marked.item)


def evidence_of(marked: Marked, ideas: Sequence[str], said: IdeaAnswer) -> Evidence:
    """An answer that could show an idea, and whether it fits."""
    answer = marked.answer
    answered = written(marked.item, answer.chosen, answer.value)
    agrees = fits(marked, said)
    begin = f"In question {answer.key} the answer was “{answered.removesuffix('.')}”"
    if agrees:
        sentence = f"{begin}, which is the answer of a student who thinks {quoted(ideas)}."
    elif (said.text and marked.item.kind == "number") or said.options:
        sentence = (
            f"{begin}; a student who thinks {quoted(ideas)} would answer “{said.text.removesuffix('.')}”."
        )
    else:
        sentence = f"{begin}; for a student who thinks {quoted(ideas)}, no option fits."
    return Evidence(
        key=answer.key,
        sitting=answer.sitting,
        model=marked.item.model,
        answered=answered,
        expected=said.text,
        fits=agrees,
        right=marked.points > 0.0,
        sentence=sentence,
    )


def held_sentence(ideas: Sequence[str], p: float, evidence: Sequence[Evidence]) -> str:
    """How likely an idea is, and the answers that speak for or against it."""
    fitting = [one for one in evidence if one.fits]
    told = "" if len(ideas) == 1 else " No question so far tells these ideas apart."
    places = ", ".join(f"{one.key} ({one.answered})" for one in fitting)
    after = f": {places}" if places else ""
    shown = f"{_share_that_fits(len(fitting), len(evidence))}{after}"
    return f"{quoted(ideas)} (probability {percent(p)}). {shown}.{told}"


def _share_that_fits(fitting: int, asked: int) -> str:
    if asked == 1:
        return f"The one answer that could show it {'fits' if fitting else 'does not fit'}"
    if fitting == asked:
        every = "Both answers" if asked == 2 else f"All {counted(asked, 'answer', 'answers')}"
        return f"{every} that could show it fit"
    share = NUMBERS[fitting] if 0 < fitting < len(NUMBERS) else str(fitting) if fitting else "none"
    verb = "fits" if fitting <= 1 else "fit"
    return f"Of the {counted(asked, 'answer', 'answers')} that could show it, {share} {verb}"


def law_sentence(title: str, verdict: Verdict, held: Sequence[Held], asked: int, right: int) -> str:
    """What a student seems to think about one law."""
    score = f"{right} of {asked} right"
    if verdict == "not-asked":
        return f"On {title}: no question so far could show a wrong idea."
    if verdict == "knows":
        return f"On {title}: no wrong idea shows; {score}."
    if verdict == "other":
        return f"On {title}: the answers ({score}) fit no known idea. Ask the student for the reasoning."
    if verdict == "unclear" and asked < FEW:
        return f"On {title}: too few answers to tell ({score})."
    if verdict == "unclear":
        return f"On {title}: the answers are not conclusive yet ({score})."
    likely = "a likely" if verdict == "holds" else "a possible"
    return f"On {title}, {likely} wrong idea: {held[0].sentence}"


def whole_sentence(answers: int, likely: int, maybe: int, laws: int) -> str:
    """A diagnosis in one sentence."""
    if answers == 0:
        return "There are no answers yet."
    read = f"From {counted(answers, 'answer', 'answers')} on {counted(laws, 'subject', 'subjects')}"
    if likely == 0 and maybe == 0:
        return f"{read}: no wrong idea shows."
    found = counted(likely, "wrong idea is likely", "wrong ideas are likely")
    more = f", {counted(maybe, 'is possible', 'are possible')}" if maybe else ""
    return f"{read}: {found}{more}."
