"""Papers locked in a file: their items as given, so that they print the same whatever the bank becomes.

`write_locked(papers, path)` writes the file (JSON), `read_locked(path)` gives the papers again. A digest
shows that nothing in the file was changed since; it is a guard against accidents, not a signature. A file
holds all answers: keep it from candidates.
"""

import hashlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from lubberline.errors import InputError
from lubberline.questions.item import LETTERS, Item
from lubberline.questions.papers import Paper
from lubberline.textfile import text_of
from lubberline.unfinished import check_writable, refusal, write_whole

KIND, VERSION = "lubberline locked papers", 1
GREATEST_BYTES = 20_000_000


class _File(msgspec.Struct, forbid_unknown_fields=True):
    """The file as it stands: the papers are read when the digest is right."""

    kind: str
    version: int
    digest: str
    papers: list[dict[str, Any]]


def digest_of(papers: Sequence[Paper]) -> str:
    """The digest of papers: the same for the same questions in the same order, and no others."""
    return _digest(msgspec.to_builtins(list(papers)))


def _digest(papers: Any) -> str:
    return hashlib.sha256(msgspec.json.encode(papers, order="sorted")).hexdigest()


def locked_text(papers: Sequence[Paper]) -> str:
    """The text of a file that holds these papers."""
    plain = msgspec.to_builtins(list(papers))
    file = _File(KIND, VERSION, _digest(plain), plain)
    return msgspec.json.format(msgspec.json.encode(file), indent=1).decode() + "\n"


def check_new(path: str | Path) -> None:
    """Locked papers are never written over.

    Raises:
        InputError: when there is a file already, or no folder for it that can be written to.
    """
    if not Path(path).parent.is_dir():
        raise InputError(str(path), "there is no folder for it", "name a file in a folder that is there")
    if Path(path).exists():
        raise InputError(str(path), "is there already", "name a new file; locked papers are not written over")
    check_writable(Path(path).parent)


def write_locked(papers: Sequence[Paper], path: str | Path) -> None:
    """Write papers into a new file, whole or not at all.

    Raises:
        InputError: when there is a file already, or it cannot be written.
    """
    check_new(path)
    try:
        write_whole(Path(path), locked_text(papers).encode())
    except OSError as error:
        raise refusal(path, error) from None


def read_locked(path: str | Path) -> tuple[Paper, ...]:
    """The papers of a file.

    Raises:
        InputError: when it cannot be read, is no such file, or was changed since it was locked.
    """
    return locked_from_text(Path(path).name, text_of(path, "a file of locked papers (JSON)", GREATEST_BYTES))


def locked_from_text(source: str, text: str) -> tuple[Paper, ...]:
    """The papers of the text of such a file.

    Raises:
        InputError: as `read_locked`.
    """
    right = "give a file that was written by ask --lock, as it was written"
    try:
        file = msgspec.json.decode(text.encode(), type=_File)
        if (file.kind, file.version) != (KIND, VERSION):
            raise InputError(source, f"'{file.kind[:40]}', version {file.version}", right)
        if _digest(file.papers) != file.digest:
            raise InputError(source, "it was changed since it was locked: its digest is another", right)
        papers = tuple(_paper(fields) for fields in file.papers)
    except (msgspec.MsgspecError, UnicodeEncodeError, RecursionError) as error:
        raise InputError(source, f"no locked papers: {error}", right) from None
    if not papers:
        raise InputError(source, "there is no paper in it", right)
    if len({paper.form for paper in papers}) != len(papers):
        raise InputError(source, "two papers have one letter", right)
    for paper in papers:
        _check(source, paper, right)
    return papers


def _paper(fields: dict[str, Any]) -> Paper:
    """A paper from plain fields; drawn values, which may be lists, stay as they were."""
    items = fields.get("items")
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        raise msgspec.ValidationError("a paper needs a list of items")
    drawn = [item.get("drawn", {}) for item in items]
    paper = msgspec.convert({**fields, "items": [{**item, "drawn": {}} for item in items]}, Paper)
    whole = [
        msgspec.structs.replace(item, drawn=values) for item, values in zip(paper.items, drawn, strict=True)
    ]
    return msgspec.structs.replace(paper, items=tuple(whole))


def _check(source: str, paper: Paper, right: str) -> None:
    """What printing relies on, for files that were made by other means."""
    if not re.fullmatch(r"[A-Za-z0-9]{1,8}", paper.form) or not paper.items:
        raise InputError(f"{source}, paper '{paper.form[:20]}'", "no letter, or no questions", right)
    for number, item in enumerate(paper.items, start=1):
        if not _is_whole(item):
            raise InputError(f"{source}, paper {paper.form}, question {number}", "it has no key", right)


def _is_whole(item: Item) -> bool:
    if not isinstance(item.drawn, dict):
        return False
    if item.kind == "number":
        return item.answer is not None and not item.options
    return 0 <= item.key < len(item.options) <= len(LETTERS)
