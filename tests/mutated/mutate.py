"""Files as they come when something went wrong: seeded changes that know how a file is built.

`texts(kind, seeds, random)` and its fellows give one changed file from whole ones. Each change keeps most of
the file as it was, so that it is read far before anything is found.
"""

import gzip
import hashlib
import json
import re
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from pathlib import Path
from random import Random
from typing import Any

from tests.mutated.extremes import JSON_VALUES, NUMBERS, PLAIN, TOML_VALUES

Change = Callable[[str, Random], str]

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
_WORD = re.compile(r"[A-Za-z_][A-Za-z_-]*")


def _at(text: str, random: Random) -> int:
    return random.randrange(len(text) + 1)


def _part(text: str, random: Random, most: int = 80) -> tuple[int, int]:
    first = _at(text, random)
    return first, min(len(text), first + random.randrange(1, most))


def _one_of(pattern: re.Pattern[str], text: str, random: Random, new: str) -> str:
    found = list(pattern.finditer(text))
    if not found:
        return text + new
    place = random.choice(found)
    return text[: place.start()] + new + text[place.end() :]


def number_changed(text: str, random: Random) -> str:
    return _one_of(_NUMBER, text, random, random.choice(NUMBERS))


def word_changed(text: str, random: Random) -> str:
    return _one_of(_WORD, text, random, random.choice(PLAIN))


def word_borrowed(text: str, random: Random) -> str:
    return _one_of(_WORD, text, random, random.choice(_WORD.findall(text) or [""]))


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
    return _one_of(re.compile(r"(?<== )[^\n]+|(?<==)[^\n ][^\n]*"), text, random, new)


def toml_key(text: str, random: Random) -> str:
    new = random.choice(
        ('""', "a.b", "a." * 30 + "b", "a." * 9000 + "b", "'x'", "[x]", "x", "title", "\\u0000", "name")
    )
    return _one_of(re.compile(r"^[\w-]+(?= *=)", re.M), text, random, new)


def toml_table(text: str, random: Random) -> str:
    new = random.choice(
        ("[x]", "[[x]]", "[", "[a.b.c]", "[" + "a." * 9000 + "b]", "[]", "[leg]", "[topic]", "[[event.do]]")
    )
    return _one_of(re.compile(r"^\[.*\]$", re.M), text, random, new)


TOML: tuple[Change, ...] = (*ANY, toml_value, toml_value, toml_value, toml_key, toml_table)

# CSV


def _cell(text: str, random: Random) -> str:
    new = random.choice(PLAIN)
    return _one_of(
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
    return _one_of(
        re.compile(r'(?<==")[^"]*'), text, random, random.choice(PLAIN).replace('"', "").replace("<", "")
    )


def _element(text: str, random: Random) -> str:
    new = random.choice(
        ("", "<a>", "</a>", "<a>" * 5000, "<!DOCTYPE a>", "<![CDATA[x]]>", "<?a b?>", "<!--", "<rte/>")
    )
    return _one_of(re.compile(r"<[^>]*>"), text, random, new)


def _inner(text: str, random: Random) -> str:
    return _one_of(re.compile(r"(?<=>)[^<\n]+(?=<)"), text, random, random.choice(PLAIN).replace("<", ""))


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
    return _one_of(re.compile(r"(?<=: )[^\n]+"), text, random, random.choice(PLAIN))


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


def _places(tree: Any) -> list[tuple[Any, Any]]:
    """Every container with a key in it."""
    found: list[tuple[Any, Any]] = []
    waiting = [tree]
    while waiting:
        one = waiting.pop()
        for key, value in one.items() if isinstance(one, dict) else enumerate(one):
            found.append((one, key))
            if isinstance(value, dict | list):
                waiting.append(value)
    return found


def json_changed(tree: Any, random: Random) -> Any:
    """A tree of plain values, changed in place at one of its places."""
    places = _places(tree)
    if not places:
        return tree
    inside, key = random.choice(places)
    match random.randrange(8):
        case 0:
            del inside[key]
        case 1:
            other, of = random.choice(places)
            with suppress(KeyError, IndexError):
                inside[key] = (
                    other[of] if not isinstance(other[of], dict | list) else json.loads(json.dumps(other[of]))
                )
        case 2 if isinstance(inside, dict):
            inside[random.choice(("x", "", "name", "id", *inside))] = inside.pop(key)
        case 2 | 3 if isinstance(inside, list):
            inside.insert(random.randrange(len(inside) + 1), json.loads(json.dumps(inside[key])))
        case 4 if isinstance(inside[key], str):
            inside[key] = random.choice(ANY)(inside[key], random)
        case 5 if isinstance(inside[key], str) and inside[key][:1] in ("[", "{"):
            # A text that is JSON itself, as some columns are.
            try:
                inside[key] = json.dumps(json_changed(json.loads(inside[key]), random))
            except (ValueError, RecursionError):
                inside[key] = "[" * 5000
        case _:
            inside[key] = random.choice(JSON_VALUES)
    return tree


_TOKENS = {"NaN": "NaN", "deep": "[" * 100_000 + "]" * 100_000, "digits": "9" * 5000, "float": "1e400"}


def json_text(tree: Any, random: Random) -> str:
    """JSON, now and then with what only a text can hold: endless numbers, depth, keys twice."""
    text = json.dumps(tree)
    if random.random() < 0.06:
        token = random.choice([*_TOKENS.values(), '{"a":' * 50_000, '"\\ud800"', "[1,]", "00", "-", "tru"])
        text = _one_of(re.compile(r'(?<=: )("[^"\\]*"|[\d.e+-]+|null|true|false)'), text, random, token)
    elif random.random() < 0.02:
        text = re.sub(r'("[a-z_]+": )', r"\1null, \1", text, count=1)
    return text


def locked_changed(seeds: Sequence[str], random: Random, digest_of: Callable[[Any], str]) -> str:
    """Locked papers, mostly with the digest of what they are now."""
    file = json.loads(random.choice(seeds))
    if random.random() < 0.1:
        return random.choice(ANY)(json_text(file, random), random)
    for _ in range(random.choice((1, 1, 2))):
        file["papers"] = json_changed(file["papers"], random)
    if random.random() < 0.1:
        json_changed(file, random)
    with suppress(Exception):
        file["digest"] = digest_of(file["papers"])
    return json_text(file, random)


def backup_changed(rows: Sequence[str], random: Random) -> bytes:
    """A backup of these lines with rows changed, mostly with its digest right."""
    lines = list(rows)
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        k = random.choice((0, random.randrange(len(lines)), random.randrange(len(lines))))
        how = random.randrange(12)
        if how == 0:
            del lines[k]
        elif how == 1:
            lines.insert(random.randrange(len(lines) + 1), lines[k])
        elif how == 2:
            lines[k] = random.choice(ANY)(lines[k], random)
        elif how == 3:
            lines.insert(
                k, random.choice(("", "[]", "{}", "null", "[" * 100_000, '{"table":' * 50_000, "9" * 5000))
            )
        else:
            try:
                tree = json.loads(lines[k])
            except (ValueError, RecursionError):
                continue
            if isinstance(tree, dict | list) and tree:
                row = (
                    tree["row"]
                    if isinstance(tree, dict) and random.random() < 0.85 and "row" in tree
                    else tree
                )
                if isinstance(row, dict | list):
                    json_changed(row, random)
            lines[k] = json_text(tree, random)
        lines = lines or ["{}"]
    data = b"".join(line.encode("utf-8", "surrogatepass") + b"\n" for line in lines)
    digest = hashlib.sha256(data).hexdigest() if random.random() < 0.95 else "0" * 64
    packed = gzip.compress(data + json.dumps({"digest": digest}).encode() + b"\n", 1, mtime=0)
    if random.random() < 0.05:
        packed = damaged(packed, random)
    return packed


def damaged(data: bytes, random: Random) -> bytes:
    """Bytes with a few of them changed, left out or put in."""
    changed = bytearray(data)
    for _ in range(random.choice((1, 1, 2, 8))):
        place = random.randrange(len(changed) + 1)
        match random.randrange(5):
            case 0:
                del changed[place:]
            case 1:
                del changed[place : place + random.randrange(1, 64)]
            case 2:
                changed[place:place] = random.randbytes(random.randrange(1, 64))
            case _:
                changed[place : place + 1] = bytes([random.randrange(256)])
        if not changed:
            break
    return bytes(changed)


# SQLite

PAGE = 4096


def _pages(data: bytes, random: Random) -> bytes:
    changed = bytearray(data)
    count = max(len(data) // PAGE, 1)
    one, other = random.randrange(count) * PAGE, random.randrange(count) * PAGE
    match random.randrange(7):
        case 0:
            changed[one : one + PAGE] = bytes(PAGE)
        case 1:
            changed[one : one + PAGE] = data[other : other + PAGE]
        case 2:
            changed[one : one + PAGE] = random.randbytes(PAGE)
        case 3:
            del changed[random.choice((one, one + random.randrange(PAGE), 0, 16, 100)) :]
        case 4:
            # What a page says of itself: kind, first free place, count of cells.
            changed[one + random.randrange(16)] = random.randrange(256)
        case 5:
            changed[random.randrange(100)] = random.randrange(256)
        case _:
            changed += random.randbytes(random.choice((1, PAGE)))
    return bytes(changed)


def _statement(names: dict[str, list[str]], random: Random) -> tuple[str, tuple[Any, ...]]:
    table = random.choice(list(names))
    column = random.choice(names[table])
    match random.randrange(10):
        case 0:
            return f'drop table "{table}"', ()
        case 1:
            return f'alter table "{table}" rename to "x"', ()
        case 2:
            return f'alter table "{table}" rename column "{column}" to "x"', ()
        case 3:
            return f'alter table "{table}" add column "x" text', ()
        case 4:
            return f'delete from "{table}" where rowid = (select min(rowid) from "{table}")', ()
        case 5:
            return "update alembic_version set version_num = ?", (
                random.choice(("0001", "9999", "", "x", None)),
            )
        case _:
            value: Any = random.choice(
                (None, -1, 2**62, 1e308, b"\xff\xfe", b"", "x", "[", "{}", "[]", *PLAIN)
            )
            return f'update "{table}" set "{column}" = ? where rowid = (select max(rowid) from "{table}")', (
                value,
            )


def database_changed(data: bytes, path: Path, random: Random) -> None:
    """A database file at this path: damaged, or changed by somebody who knows SQL."""
    chance = random.random()
    if chance < 0.35:
        changed = damaged(data, random)
    elif chance < 0.65:
        changed = _pages(data, random)
    else:
        changed = data
    path.touch(mode=0o600)
    path.write_bytes(changed)
    if changed is not data:
        return
    if chance > 0.97:
        path.with_name(path.name + "-wal").write_bytes(random.randbytes(random.choice((1, 32, 5000))))
        return
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        tables = [row[0] for row in file.execute("select name from sqlite_master where type = 'table'")]
        names = {name: [row[1] for row in file.execute(f'pragma table_info("{name}")')] for name in tables}
        for _ in range(random.choice((1, 1, 2))):
            with suppress(sqlite3.Error, OverflowError, UnicodeEncodeError):
                file.execute(*_statement(names, random))
