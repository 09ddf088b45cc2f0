"""True-or-false models: claims with drawn numbers, each decided by a calculation and by a second way."""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from lubberline.questions.draws import Draw
from lubberline.questions.item import Level
from lubberline.questions.model import Drawn, ItemModel, Words, Worked, Wrong

TRUE, FALSE = "true", "false"


class Statement(NamedTuple):
    """One claim.

    Attributes:
        name: a short name that never changes.
        text: the claim, with placeholders.
        idea: the wrong idea of a student who calls it true when it is false.
        draw: its values.
        holds: whether it is true of them.
        second: the same by a second way.
        because: why, with the numbers.
        facts: values as written.
        doubt: the wrong idea of a student who calls it false when it is true; '' for the same one.
    """

    name: str
    text: str
    idea: str
    draw: Callable[[Draw], dict[str, Any]]
    holds: Callable[[Drawn], bool]
    second: Callable[[Drawn], bool]
    because: str
    facts: Callable[[Drawn], dict[str, str]]
    doubt: str = ""


def _word(holds: bool) -> str:
    return TRUE if holds else FALSE


def statements_model(
    *,
    id: str,
    topic: str,
    level: Level,
    claims: Sequence[Statement],
    source: str,
    second_way: str,
    steps: int,
    jurisdiction: str = "",
) -> ItemModel:
    """A model that asks whether one of several claims is true."""
    by_name = {claim.name: claim for claim in claims}

    def draw(source_of_values: Draw) -> dict[str, Any]:
        claim = source_of_values.pick(claims)
        return {"claim": claim.name, **claim.draw(source_of_values)}

    def work(drawn: Drawn) -> Worked:
        claim = by_name[drawn["claim"]]
        holds = claim.holds(drawn)
        idea = (claim.doubt or claim.idea) if holds else claim.idea
        wrong = (Wrong(idea, _word(not holds)),)
        return Worked(_word(holds), wrong, claim.facts(drawn), phrase=claim.name)

    phrases = {claim.name: claim.text for claim in claims}
    phrases.update({f"{claim.name} because": claim.because for claim in claims})
    return ItemModel(
        id=id,
        topic=topic,
        level=level,
        kind="statement",
        draw=draw,
        work=work,
        second=lambda drawn: _word(by_name[drawn["claim"]].second(drawn)),
        second_way=second_way,
        words=Words(
            stem="True or false? {phrase}",
            reason="{because}",
            feedback={idea: "{because}" for claim in claims for idea in (claim.idea, claim.doubt) if idea},
            options={TRUE: "True", FALSE: "False"},
            phrases=phrases,
        ),
        source=source,
        steps=steps,
        least=1,
        most=1,
        jurisdiction=jurisdiction,
    )
