"""Papers locked in a file with their items, so that they print the same even if the bank changes.

`write_locked(papers, path)` writes the file (JSON) and `read_locked(path)` reads it. A digest shows whether
the file was changed later; it guards against accidents and is not a signature. The file contains all answers:
keep it away from candidates.
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
    """The file: the papers are read after the digest is checked."""

    kind: str
    version: int
    digest: str
    papers: list[dict[str, Any]]


def digest_of(papers: Sequence[Paper]) -> str:
    """The digest of papers: equal only for the same questions in the same order."""
    return _digest(msgspec.to_builtins(list(papers)))


def _digest(papers: Any) -> str:
    return hashlib.sha256(msgspec.json.encode(papers, order="sorted")).hexdigest()


def locked_text(papers: Sequence[Paper]) -> str:
    """The text of a file that holds these papers."""
    plain = msgspec.to_builtins(list(papers))
    file = _File(KIND, VERSION, _digest(plain), plain)
    return msgspec.json.format(msgspec.json.encode(file), indent=1).decode() + "\n"


def check_new(path: str | Path) -> None:
    """Refuse to overwrite a file of locked papers.

    Raises:
        InputError: if the file exists, or its folder does not exist or cannot be written to.
    """
    if not Path(path).parent.is_dir():
        raise InputError(str(path), "its folder does not exist", "give a file in an existing folder")
    if Path(path).exists():
        raise InputError(
            str(path), "the file exists already", "give a new file; locked papers are not overwritten"
        )
    check_writable(Path(path).parent)


def write_locked(papers: Sequence[Paper], path: str | Path) -> None:
    """Write papers to a new file, completely or not at all.

    Raises:
        InputError: if the file exists, or cannot be written.
    """
    check_new(path)
    try:
        write_whole(Path(path), locked_text(papers).encode())
    except OSError as error:
        raise refusal(path, error) from None


def read_locked(path: str | Path) -> tuple[Paper, ...]:
    """The papers of a file.

    Raises:
        InputError: if it cannot be read, is not such a file, or was changed after it was locked.
    """
    return locked_from_text(Path(path).name, text_of(path, "a file of locked papers (JSON)", GREATEST_BYTES))


def locked_from_text(source: str, text: str) -> tuple[Paper, ...]:
    """The papers of the text of such a file.

    Raises:
        InputError: as `read_locked`.
    """
    right = "give a file written by ask --lock, unchanged"
    try:
        file = msgspec.json.decode(text.encode(), type=_File)
        if (file.kind, file.version) != (KIND, VERSION):
            raise InputError(source, f"'{file.kind[:40]}', version {file.version}", right)
        if _digest(file.papers) != file.digest:
            raise InputError(
                source, "the file was changed after it was locked: the digest does not match", right
            )
        papers = tuple(_paper(fields) for fields in file.papers)
    except (msgspec.MsgspecError, UnicodeEncodeError, RecursionError) as error:
        raise InputError(source, f"not a file of locked papers: {error}", right) from None
    if not papers:
        raise InputError(source, "there are no papers in it", right)
    if len({paper.form for paper in papers}) != len(papers):
        raise InputError(source, "two papers have the same letter", right)
    for paper in papers:
        _check(source, paper, right)
    return papers


def _paper(fields: dict[str, Any]) -> Paper:
    """A paper from plain fields; drawn values, which may be lists, are kept as they are."""
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
    """Check what printing relies on, for files that were not made by this program."""
    if not re.fullmatch(r"[A-Za-z0-9]{1,8}", paper.form) or not paper.items:
        raise InputError(
            f"{source}, paper '{paper.form[:20]}'",
            "the letter is not valid, or there are no questions",
            right,
        )
    for number, item in enumerate(paper.items, start=1):
        if not _is_whole(item):
            raise InputError(f"{source}, paper {paper.form}, question {number}", "there is no key", right)


def _is_whole(item: Item) -> bool:
    if not isinstance(item.drawn, dict):
        return False
    if item.kind == "number":
        return item.answer is not None and not item.options
    return 0 <= item.key < len(item.options) <= len(LETTERS)
