"""Files as they come when something went wrong: seeded changes that know how a file is built.

`texts(kind, seeds, random)` and its fellows give one changed file from whole ones. Each change keeps most of
the file as it was, so that it is read far before anything is found.
"""

import re
from collections.abc import Callable, Sequence
from random import Random

from tests.mutated.extremes import NUMBERS, PLAIN, TOML_VALUES

Change = Callable[[str, Random], str]

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
_WORD = re.compile(r"[A-Za-z_][A-Za-z_-]*")


def _at(text: str, random: Random) -> int:
    return random.randrange(len(text) + 1)


def _part(text: str, random: Random, most: int = 80) -> tuple[int, int]:
    first = _at(text, random)
    return first, min(len(text), first + random.randrange(1, most))


def one_of(pattern: re.Pattern[str], text: str, random: Random, new: str) -> str:
    found = list(pattern.finditer(text))
    if not found:
        return text + new
    place = random.choice(found)
    return text[: place.start()] + new + text[place.end() :]


def number_changed(text: str, random: Random) -> str:
    return one_of(_NUMBER, text, random, random.choice(NUMBERS))


def word_changed(text: str, random: Random) -> str:
    return one_of(_WORD, text, random, random.choice(PLAIN))


def word_borrowed(text: str, random: Random) -> str:
    return one_of(_WORD, text, random, random.choice(_WORD.findall(text) or [""]))


def put_in(text: str, random: Random) -> str:
    place = _at(text, random)
    return text[:place] + random.choice(PLAIN) + text[place:]


def cut_out(text: str, random: Random) -> str:
    first, last = _part(text, random)
    return text[:first] + text[last:]


def cut_short(text: str, random: Random) -> str:
    return text[: _at(text, random)]


def doubled(text: str, random: Random) -> str:
    first, last = _part(text, random, 300)
    return text[:last] + text[first:last] * random.choice((1, 1, 1, 2, 50)) + text[last:]


def moved(text: str, random: Random) -> str:
    first, last = _part(text, random)
    rest = text[:first] + text[last:]
    place = _at(rest, random)
    return rest[:place] + text[first:last] + rest[place:]


def sign_changed(text: str, random: Random) -> str:
    place = _at(text, random)
    return (
        text[:place]
        + chr(random.choice((random.randrange(128), random.randrange(0xD7FF))))
        + text[place + 1 :]
    )


def lines_changed(text: str, random: Random) -> str:
    lines = text.split("\n")
    k, other = random.randrange(len(lines)), random.randrange(len(lines))
    match random.randrange(5):
        case 0:
            del lines[k]
        case 1:
            lines.insert(other, lines[k])
        case 2:
            lines[k], lines[other] = lines[other], lines[k]
        case 3:
            lines[k:k] = [lines[k]] * random.choice((2, 20, 300))
        case _:
            lines[k] = random.choice(PLAIN)
    return "\n".join(lines)


def ends_changed(text: str, random: Random) -> str:
    ending = random.choice(("\r", "\r\n", "\n\r", "\u2028", "\x85", "\x0b", "\n\n"))
    if random.random() < 0.5:
        return text.replace("\n", ending)
    return "".join(ending if sign == "\n" and random.random() < 0.3 else sign for sign in text)


def marked(text: str, random: Random) -> str:
    return random.choice(("\ufeff", "\ufeff\ufeff", "\n", " ", "\0", "\x1a")) + text


ANY: tuple[Change, ...] = (
    *(
        number_changed,
        number_changed,
        word_changed,
        word_borrowed,
        put_in,
        cut_out,
        cut_short,
        doubled,
        moved,
    ),
    *(sign_changed, lines_changed, ends_changed, marked),
)

# TOML


def toml_value(text: str, random: Random) -> str:
    new = random.choice(TOML_VALUES)
    return one_of(re.compile(r"(?<== )[^\n]+|(?<==)[^\n ][^\n]*"), text, random, new)


def toml_key(text: str, random: Random) -> str:
    new = random.choice(
        ('""', "a.b", "a." * 30 + "b", "a." * 9000 + "b", "'x'", "[x]", "x", "title", "\\u0000", "name")
    )
    return one_of(re.compile(r"^[\w-]+(?= *=)", re.M), text, random, new)


def toml_table(text: str, random: Random) -> str:
    new = random.choice(
        ("[x]", "[[x]]", "[", "[a.b.c]", "[" + "a." * 9000 + "b]", "[]", "[leg]", "[topic]", "[[event.do]]")
    )
    return one_of(re.compile(r"^\[.*\]$", re.M), text, random, new)


TOML: tuple[Change, ...] = (*ANY, toml_value, toml_value, toml_value, toml_key, toml_table)

# CSV


def _cell(text: str, random: Random) -> str:
    new = random.choice(PLAIN)
    return one_of(
        re.compile(r"(?<=[,;\n])[^,;\n]*"), text, random, random.choice((new, f'"{new}"', f'"{new}'))
    )


def _column(text: str, random: Random) -> str:
    rows = [line.split(",") for line in text.split("\n")]
    k = random.randrange(max(len(rows[0]), 1))
    how = random.randrange(4)
    for row in rows:
        if k < len(row):
            if how == 0:
                del row[k]
            elif how == 1:
                row.insert(k, row[k])
            elif how == 2:
                row[k] = rows[0][k]
            else:
                row[0], row[k] = row[k], row[0]
    return "\n".join(map(",".join, rows))


def _separators(text: str, random: Random) -> str:
    return text.replace(",", random.choice((";", "\t", ",,", "|", ", ", '","')))


CSV: tuple[Change, ...] = (*ANY, _cell, _cell, _cell, _column, _separators)

# XML


def _attribute(text: str, random: Random) -> str:
    return one_of(
        re.compile(r'(?<==")[^"]*'), text, random, random.choice(PLAIN).replace('"', "").replace("<", "")
    )


def _element(text: str, random: Random) -> str:
    new = random.choice(
        ("", "<a>", "</a>", "<a>" * 5000, "<!DOCTYPE a>", "<![CDATA[x]]>", "<?a b?>", "<!--", "<rte/>")
    )
    return one_of(re.compile(r"<[^>]*>"), text, random, new)


def _inner(text: str, random: Random) -> str:
    return one_of(re.compile(r"(?<=>)[^<\n]+(?=<)"), text, random, random.choice(PLAIN).replace("<", ""))


XML: tuple[Change, ...] = (*ANY, _attribute, _attribute, _element, _inner, _inner)

# Markdown


def _line_put(text: str, random: Random) -> str:
    new = random.choice(
        (
            *(
                "# Another",
                "## Say: x",
                "## Predict: x",
                "## Quiz: x",
                "##",
                "```",
                "~~~",
                "> note",
                "- [x] yes",
                "- [ ] no",
            ),
            *(
                "  idea: x",
                "topic: wander",
                "key:",
                "at: 9e9",
                "scene: x",
                "minutes: 1e400",
                "[x](javascript:1)",
                "{{x}}",
            ),
            *(
                "> " * 2000 + "a",
                "- " * 2000 + "a",
                "[" * 3000,
                "*" * 5000,
                "|" * 500,
                "&" * 500,
                "![" * 500,
                "<" * 500,
            ),
        )
    )
    lines = text.split("\n")
    lines.insert(random.randrange(len(lines) + 1), new)
    return "\n".join(lines)


def _head_value(text: str, random: Random) -> str:
    return one_of(re.compile(r"(?<=: )[^\n]+"), text, random, random.choice(PLAIN))


MARKDOWN: tuple[Change, ...] = (*ANY, _line_put, _line_put, _head_value, _head_value)

CHANGES: dict[str, tuple[Change, ...]] = {
    "toml": TOML,
    "csv": CSV,
    "xml": XML,
    "markdown": MARKDOWN,
    "lines": ANY,
}


def text_changed(kind: str, seeds: Sequence[str], random: Random) -> str:
    """One of some texts with one to three changes; now and then with a part of another."""
    text = random.choice(seeds)
    if random.random() < 0.05:
        other = random.choice(seeds)
        text = text[: _at(text, random)] + other[_at(other, random) :]
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        text = random.choice(CHANGES[kind])(text, random)
    return text


def bytes_of(text: str, random: Random) -> bytes:
    """A text as a file, now and then in another encoding or with a byte of none."""
    data = text.encode("utf-8", "surrogatepass")
    chance = random.random()
    if chance < 0.01:
        return text.encode("utf-16", "surrogatepass")
    if chance < 0.03 and data:
        place = random.randrange(len(data))
        return data[:place] + bytes([random.randrange(256)]) + data[place + 1 :]
    return data


# JSON
