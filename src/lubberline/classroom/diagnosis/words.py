"""The sentences of a diagnosis: the answers that led to it, and how sure it is."""

from collections.abc import Sequence

from lubberline.classroom.diagnosis.likelihood import IdeaAnswer, reading_of
from lubberline.classroom.diagnosis.records import Evidence, Held, Verdict
from lubberline.classroom.records import Marked
from lubberline.questions.item import Item
from lubberline.simulation.misconceptions import BY_ID

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
# An answer fits a number that an idea comes to when it is within so many times the scatter of answers.
FITS_WITHIN = 2.0
# Fewer answers than this do not tell whether somebody knows a law.
FEW = 2


def counted(count: int, one: str, many: str) -> str:
    """'one answer', 'three answers', '12 answers'."""
    word = NUMBERS[count] if count < len(NUMBERS) else str(count)
    return f"{word} {one if count == 1 else many}"


def percent(p: float) -> str:
    """A probability in words that claim no more than it does: '87 in 100'."""
    hundred = round(100.0 * p)
    if hundred >= 100:
        return "more than 99 in 100"
    return "fewer than 1 in 100" if hundred <= 0 else f"{hundred} in 100"


def written(item: Item, chosen: int, value: float | None) -> str:
    """An answer as a person would read it."""
    if item.kind != "number":
        return item.options[chosen].text
    assert value is not None
    number = f"{value % 360.0:03.0f}" if item.circle else f"{value:g}"
    return f"{number}°" if item.unit in ("deg", "°") or item.circle else f"{number} {item.unit}".strip()


def fits(marked: Marked, said: IdeaAnswer) -> bool:
    """Whether an answer is what somebody with an idea gives."""
    answer = marked.answer
    if marked.item.kind != "number":
        return answer.chosen in said.options
    if answer.value is None or said.value is None:
        return False
    return marked.item.apart(answer.value, said.value) <= FITS_WITHIN * reading_of(marked.item)


def evidence_of(marked: Marked, ideas: Sequence[str], said: IdeaAnswer) -> Evidence:
    """An answer that could show an idea, and whether it does."""
    answer = marked.answer
    answered = written(marked.item, answer.chosen, answer.value)
    agrees = fits(marked, said)
    thinks = " or ".join(f"“{BY_ID[idea].statement}”" for idea in ideas)
    begin = f"In question {answer.key} the answer was “{answered}”"
    if agrees:
        sentence = f"{begin}, which is what one gets who thinks: {thinks}"
    elif (said.text and marked.item.kind == "number") or said.options:
        sentence = f"{begin}; one who thinks {thinks} gets “{said.text}”."
    else:
        sentence = f"{begin}; one who thinks {thinks} finds none of the options."
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
    """Why an idea is thought to be held, or not."""
    fitting = [one for one in evidence if one.fits]
    thinks = " or ".join(f"“{BY_ID[idea].statement}”" for idea in ideas)
    told = "" if len(ideas) == 1 else " Nothing asked so far can tell these apart."
    places = ", ".join(f"{one.key} ({one.answered})" for one in fitting)
    after = f": {places}" if places else ""
    shown = f"{_share_that_fits(len(fitting), len(evidence))}{after}"
    return f"{thinks} {shown}. Probability {percent(p)}.{told}"


def _share_that_fits(fitting: int, asked: int) -> str:
    if asked == 1:
        return f"The one answer that could show it {'fits' if fitting else 'does not fit'}"
    if fitting == asked:
        every = "Both answers" if asked == 2 else f"All {counted(asked, 'answer', 'answers')}"
        return f"{every} that could show it fit"
    share = counted(fitting, "", "").strip() if fitting else "none"
    verb = "fits" if fitting <= 1 else "fit"
    return f"{share.capitalize()} of {counted(asked, 'answer', 'answers')} that could show it {verb}"


def law_sentence(title: str, verdict: Verdict, held: Sequence[Held], asked: int, right: int) -> str:
    """What a student seems to think of one law."""
    score = f"{right} right of {asked}"
    if verdict == "not-asked":
        return f"On {title}: nothing asked so far could tell."
    if verdict == "knows":
        return f"On {title}: no wrong idea shows; {score}."
    if verdict == "other":
        return f"On {title}: the answers ({score}) fit no known idea; ask what the thought was."
    if verdict == "unclear" and asked < FEW:
        return f"On {title}: too few answers to tell ({score})."
    if verdict == "unclear":
        return f"On {title}: the answers do not tell yet ({score})."
    likely = "likely" if verdict == "holds" else "perhaps"
    return f"On {title}, {likely}: {held[0].sentence}"


def whole_sentence(answers: int, likely: int, maybe: int, laws: int) -> str:
    """What a whole diagnosis comes to."""
    if answers == 0:
        return "There are no answers yet."
    read = f"From {counted(answers, 'answer', 'answers')} on {counted(laws, 'subject', 'subjects')}"
    if likely == 0 and maybe == 0:
        return f"{read}: no wrong idea shows."
    found = counted(likely, "wrong idea is likely", "wrong ideas are likely")
    more = f", {counted(maybe, 'is possible', 'are possible')}" if maybe else ""
    return f"{read}: {found}{more}."
