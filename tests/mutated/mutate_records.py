"""Changes of structured files: JSON, locked papers, backups and databases."""

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

from tests.mutated.extremes import JSON_VALUES, PLAIN
from tests.mutated.mutate import ANY, one_of


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
        text = one_of(re.compile(r'(?<=: )("[^"\\]*"|[\d.e+-]+|null|true|false)'), text, random, token)
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
