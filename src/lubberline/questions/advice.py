"""Advice on the wording of items: faults that give the key away, or mislead a student who knows the answer.

`advice_on(item)` checks one question, `advice_on_paper(items)` the positions of the keys in a paper. It is
advice and never a refusal: each `Advice` says what was found, where, and what would be better.

After the item-writing guidelines in T. M. Haladyna, S. M. Downing, M. C. Rodriguez, 'A review of
multiple-choice item-writing guidelines for classroom assessment', Applied Measurement in Education 15(3),
309-334, 2002 (its list of guidelines from memory); the limits in numbers are ours.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from lubberline.questions.item import LETTERS, Item

NUMBER = r"[-−+]?\d+(?:[.,]\d+)?"
RANGE = re.compile(
    rf"^(?P<before>.*?)(?P<low>{NUMBER})(?P<unit>[^\w\s]*)\s*(?:to|and|–|-)\s*(?P<high>{NUMBER})(?P<after>."
    "*)$"
)
SINGLE = re.compile(rf"^(?P<before>.*?)(?P<value>{NUMBER})(?P<after>.*)$")
# Words before a number that open a range: whether it goes up, and whether it includes the number.
OPENERS: dict[str, tuple[bool, bool]] = {
    "more than": (True, False),
    "greater than": (True, False),
    "over": (True, False),
    "above": (True, False),
    "at least": (True, True),
    "no less than": (True, True),
    "less than": (False, False),
    "fewer than": (False, False),
    "under": (False, False),
    "below": (False, False),
    "at most": (False, True),
    "no more than": (False, True),
    "up to": (False, True),
}
AFTER = {
    "or more": (True, True),
    "and more": (True, True),
    "or less": (False, True),
    "or fewer": (False, True),
}


class Interval(NamedTuple):
    """The numbers that an option covers.

    Attributes:
        low, high: its ends, infinite if it is open.
        holds_low, holds_high: whether the end is included.
        before, after: the words around it; only options with the same words can be compared.
    """

    low: float
    high: float
    holds_low: bool
    holds_high: bool
    before: str
    after: str

    def meets(self, other: Interval) -> bool:
        """Whether a number is in both."""
        if (self.before, self.after) != (other.before, other.after):
            return False
        first, second = sorted((self, other), key=lambda one: (one.low, not one.holds_low))
        if first.high == second.low:
            return first.holds_high and second.holds_low
        return second.low < first.high


def _value(text: str) -> float:
    return float(text.replace("−", "-").replace(",", "."))


def _bare(text: str) -> str:
    return " ".join(text.casefold().strip(" .").removeprefix("between").removeprefix("from").split())


def interval_of(text: str) -> Interval | None:
    """The range or the single number of an option; None for words or more numbers."""
    found = RANGE.match(text)
    if found:
        low, high = _value(found["low"]), _value(found["high"])
        if re.search(r"\d", found["after"]) or low > high:
            return None
        after = (
            f"{found['unit']} {found['after']}"
            if not found["after"].startswith(found["unit"])
            else found["after"]
        )
        return Interval(low, high, True, True, _bare(found["before"]), _bare(after))
    found = SINGLE.match(text)
    if not found or re.search(r"\d", found["after"]):
        return None
    return _opened(_value(found["value"]), _bare(found["before"]), _bare(found["after"]))


def _opened(value: float, before: str, after: str) -> Interval:
    opener = next((words for words in OPENERS if before == words or before.endswith(f" {words}")), "")
    closer = next((words for words in AFTER if after == words or after.endswith(f" {words}")), "")
    if not opener and not closer:
        return Interval(value, value, True, True, before, after)
    up, holds = OPENERS[opener] if opener else AFTER[closer]
    before = before.removesuffix(opener).strip() if opener else before
    after = after.removesuffix(closer).strip() if closer else after
    if up:
        return Interval(value, math.inf, holds, False, before, after)
    return Interval(-math.inf, value, False, holds, before, after)


NEGATIVE = re.compile(
    r"\b(?:which|what|who|when|where|all|each|every)\b.*?\b(not|except|never|cannot|incorrect|untrue|false|"
    r"least|\w+n['’]t)\b",
    re.IGNORECASE | re.DOTALL,
)
OTHERS = r"(?:the )?(?:above|below|others?|answers|options|choices)"
ABOVE = re.compile(
    rf"\b(?:all|none|both|neither|any|each|two) of {OTHERS}\b|\b(?:all|none|any) of (?:these|those|them)\.?$"
    r"|^(?:both |neither )?[A-H](?:,? (?:and|or|nor) [A-H])+\.?$|^(?:all|none) (?:above|below)\b",
    re.IGNORECASE,
)
ABSOLUTE = re.compile(
    r"\b(always|never|all|none|every|only|completely|entirely|impossible|absolutely|totally|in no case|"
    r"in any case|under no circumstances)\b",
    re.IGNORECASE,
)
MARKS = re.compile(r"\*\*|__|`|\[[^\]]*\]\(|(?<!\w)\*\w|<\w+>")
WORD = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+(?:['’-][^\W\d_]+)*")
# Words that count as a number among numbers.
ZERO = re.compile(r"\b(?:no|not|none|zero|equator|same)\b", re.IGNORECASE)
# A key is noticeably longer than the next option if it is longer by this factor and so many characters.
LONGER_BY, LONGER_LETTERS = 1.35, 12
# So many words in a row, copied from the stem or at the start of all options, belong in the stem only.
COPIED_WORDS, OPENING_WORDS = 5, 3
TELLING_LETTERS = 7
LONGEST_RUN, CYCLE_LENGTH, FEWEST_FOR_SHARES, GREATEST_SHARE = 3, 8, 10, 0.6


class Advice(NamedTuple):
    """A fault of wording.

    Attributes:
        fault: its short name, a key of `FAULTS` or `PAPER_FAULTS`.
        where: 'stem', 'option B', 'options', 'questions 3 to 7'.
        words: what was found and what would be better.
    """

    fault: str
    where: str
    words: str


def _letters(places: Sequence[int]) -> str:
    named = ", ".join(LETTERS[place] for place in places)
    return f"option{'s' if len(places) > 1 else ''} {named}"


def _texts(item: Item) -> list[str]:
    return [option.text for option in item.options]


def _words(text: str) -> list[str]:
    return [word.casefold() for word in WORD.findall(text)]


def _question(stem: str) -> str:
    """The last sentence of a stem: what is asked."""
    return re.split(r"(?<=[.?!:])\s+", stem.strip())[-1]


def longest_key(item: Item) -> Advice | None:
    """Whether the key is noticeably long."""
    lengths = [len(text) for text in _texts(item)]
    rest = max(length for place, length in enumerate(lengths) if place != item.key)
    if lengths[item.key] < max(rest * LONGER_BY, rest + LONGER_LETTERS):
        return None
    words = f"the key is by far the longest option ({lengths[item.key]} characters; the next has {rest})"
    return Advice("longest-key", _letters([item.key]), f"{words}: shorten it, or make the others as long")


def unmarked_negative(item: Item) -> Advice | None:
    """Whether the question depends on a 'not' that is easily overlooked."""
    found = NEGATIVE.search(_question(item.stem))
    if not found or found[1].isupper():
        return None
    better = f"ask a positive question, or write {found[1].upper()} in capitals"
    return Advice(
        "unmarked-negative",
        "stem",
        f"the question depends on '{found[1]}', which is easily overlooked: {better}",
    )


def of_the_above(item: Item) -> Advice | None:
    """Whether an option refers to other options."""
    places = [place for place, text in enumerate(_texts(item)) if ABOVE.search(text)]
    if not places:
        return None
    words = "a student who knows one option can work out the rest, and letters may change places"
    return Advice(
        "of-the-above", _letters(places), f"it refers to other options: {words}. Write what it means"
    )


def overlapping(item: Item) -> Advice | None:
    """Whether a number would make two options right."""
    intervals = [interval_of(text) for text in _texts(item)]
    known = [(place, found) for place, found in enumerate(intervals) if isinstance(found, Interval)]
    for index, (place, one) in enumerate(known):
        for other_place, other in known[index + 1 :]:
            if one.meets(other):
                words = "some numbers are in both: begin each range after the other ends, as 1 to 4, 5 to 9"
                return Advice("overlapping", _letters([place, other_place]), words)
    return None


def unlike(item: Item) -> Advice | None:
    """Whether an option differs in form from the others: numbers or words, full stops, capitals."""
    texts = _texts(item)
    forms: dict[str, tuple[str, Callable[[str], bool]]] = {
        "number": (
            "has a number",
            lambda text: any(sign.isdigit() for sign in text) or bool(ZERO.search(text)),
        ),
        "stop": ("ends with a full stop", lambda text: text.endswith(".")),
        "capital": ("begins with a capital letter", lambda text: text[0].isupper()),
    }
    for form, (words, has) in forms.items():
        places = [place for place, text in enumerate(texts) if has(text)]
        if (form == "capital" and not all(text[0].isalpha() for text in texts)) or (
            form == "number" and not any(sign.isdigit() for sign in "".join(texts))
        ):
            continue
        if len(places) in (1, len(texts) - 1) and len(texts) > 2:
            alone = places if len(places) == 1 else sorted(set(range(len(texts))) - set(places))
            told = f"only this option {words}" if len(places) == 1 else f"each of the others {words}"
            return Advice("unlike", _letters(alone), f"{told}: write all options in the same form")
    return None


def unordered(item: Item) -> Advice | None:
    """Whether numbers as options neither rise nor fall."""
    values = [interval_of(text) for text in _texts(item)]
    known = [found for found in values if found is not None]
    if len(known) < len(values) or len(known) < 3 or len({(k.before, k.after) for k in known}) > 1:
        return None
    lows = [found.low for found in known]
    if lows in (sorted(lows), sorted(lows, reverse=True)):
        return None
    return Advice("unordered", "options", "the numbers are not in order: write them in rising order")


def absolute(item: Item) -> Advice | None:
    """Whether a sweeping word gives an option away."""
    if item.kind == "statement":
        return None
    found = {place: ABSOLUTE.findall(text) for place, text in enumerate(_texts(item))}
    places = [place for place, words in found.items() if words]
    if not places or len(places) == len(found):
        return None
    said = ", ".join(sorted({f"'{word.lower()}'" for words in found.values() for word in words}))
    words = f"{said}: such words show guessers that an option is wrong; leave them out, or use them in all"
    return Advice("absolute", _letters(places), words)


def repeated_stem(item: Item) -> Advice | None:
    """Whether words of the options belong in the stem, or are in it already."""
    options = [_words(text) for text in _texts(item)]
    shared = 0
    while (
        all(len(words) > shared + 1 for words in options) and len({words[shared] for words in options}) == 1
    ):
        shared += 1
    if shared >= OPENING_WORDS:
        begun = " ".join(options[0][:shared])
        return Advice("repeated-stem", "options", f"each begins with '{begun}': put that into the stem")
    stem = f" {' '.join(_words(item.stem))} "
    for place, words in enumerate(options):
        for start in range(len(words) - COPIED_WORDS + 1):
            run = " ".join(words[start : start + COPIED_WORDS])
            if f" {run} " in stem:
                return Advice(
                    "repeated-stem", _letters([place]), f"'{run}' is already in the stem: leave it out here"
                )
    return None


def echoed(item: Item) -> Advice | None:
    """Whether a striking word of the stem is repeated in the key only."""
    if item.kind == "statement":
        return None
    stem = {word for word in _words(item.stem) if len(word) >= TELLING_LETTERS}
    others = {word for place, text in enumerate(_texts(item)) if place != item.key for word in _words(text)}
    found = sorted(stem & set(_words(item.options[item.key].text)))
    if not found or stem & others:
        return None
    words = f"only the key repeats '{found[0]}' from the stem: use it in other options too, or in none"
    return Advice("echoed", _letters([item.key]), words)


def markdown_left(item: Item) -> Advice | None:
    """Whether Markdown characters would be printed."""
    for where, text in [("stem", item.stem), *((_letters([n]), text) for n, text in enumerate(_texts(item)))]:
        found = MARKS.search(text)
        if found:
            return Advice(
                "markdown-left", where, f"'{found[0]}' would be printed as it is: use capitals for emphasis"
            )
    return None


FAULTS: dict[str, Callable[[Item], Advice | None]] = {
    "longest-key": longest_key,
    "unmarked-negative": unmarked_negative,
    "of-the-above": of_the_above,
    "overlapping": overlapping,
    "unlike": unlike,
    "unordered": unordered,
    "absolute": absolute,
    "repeated-stem": repeated_stem,
    "echoed": echoed,
    "markdown-left": markdown_left,
}


def advice_on(item: Item) -> tuple[Advice, ...]:
    """What could be better in the wording of a question; nothing for a question that asks for a number."""
    if not item.options:
        return ()
    return tuple(advice for look in FAULTS.values() if (advice := look(item)) is not None)


def advice_on_paper(items: Sequence[Item]) -> tuple[Advice, ...]:
    """What the positions and lengths of the keys in a paper give away."""
    choices = [(number, item) for number, item in enumerate(items, start=1) if item.kind == "choice"]
    found = [look(choices) for look in PAPER_FAULTS.values()]
    return tuple(advice for advice in found if advice is not None)


Numbered = Sequence[tuple[int, Item]]


def same_place(choices: Numbered) -> Advice | None:
    """Whether one letter is right many times in a row."""
    for place, group in groupby(choices, key=lambda pair: pair[1].key):
        run = [number for number, _ in group]
        if len(run) > LONGEST_RUN:
            words = f"{LETTERS[place]} is right {len(run)} times in a row: use another seed or order"
            return Advice("same-place", f"questions {run[0]} to {run[-1]}", words)
    return None


def in_turn(choices: Numbered) -> Advice | None:
    """Whether the letters follow a cycle, as A B C A B C or A B A B."""
    keys = [item.key for _, item in choices]
    for period in (2, 3, 4):
        same = [one == other for one, other in zip(keys, keys[period:], strict=False)]
        start = 0
        for is_same, group in groupby(same):
            length = len(list(group))
            run = range(start, start + length + period)
            start += length
            letters = [LETTERS[keys[place]] for place in run]
            if is_same and len(letters) >= max(CYCLE_LENGTH, 2 * period) and len(set(letters)) > 1:
                where = f"questions {choices[run[0]][0]} to {choices[run[-1]][0]}"
                told = " ".join(letters[:CYCLE_LENGTH])
                return Advice(
                    "in-turn", where, f"the keys follow a cycle ({told}): use another seed or order"
                )
    return None


def mostly_one_place(choices: Numbered) -> Advice | None:
    """Whether one letter is right in most questions."""
    if len(choices) < FEWEST_FOR_SHARES:
        return None
    place, count = Counter(item.key for _, item in choices).most_common(1)[0]
    if count <= GREATEST_SHARE * len(choices):
        return None
    words = (
        f"{LETTERS[place]} is right in {count} of {len(choices)} questions: use the other letters more often"
    )
    return Advice("mostly-one-place", "paper", words)


def mostly_longest(choices: Numbered) -> Advice | None:
    """Whether always choosing the longest option would get most questions right."""
    if len(choices) < FEWEST_FOR_SHARES:
        return None
    count = 0
    for _, item in choices:
        lengths = sorted(((len(text), place) for place, text in enumerate(_texts(item))), reverse=True)
        count += lengths[0][1] == item.key and any(one[0] > other[0] for one, other in pairwise(lengths[:2]))
    if count <= GREATEST_SHARE * len(choices):
        return None
    words = (
        f"the key is the longest option in {count} of {len(choices)} questions: lengthen some wrong options"
    )
    return Advice("mostly-longest", "paper", words)


PAPER_FAULTS: dict[str, Callable[[Numbered], Advice | None]] = {
    "same-place": same_place,
    "in-turn": in_turn,
    "mostly-one-place": mostly_one_place,
    "mostly-longest": mostly_longest,
}
