"""Other words for item models, from an instructor's TOML file: the sums stay as they are.

`read_words(path)` gives the changed models by id, for `assemble(..., changed=...)`; `words_toml(model)`
gives a model's own words as such a file, to begin from. A text may be changed alone; its placeholders in
braces must all stay.

    ["wander-rate"]
    stem = "At {latitude} a heading indicator stands still. ..."

    ["wander-rate".feedback]
    wander-at-the-equator = "..."
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from string import Formatter
from typing import Any

from lubberline.errors import InputError, nearest_of
from lubberline.questions.bank import models
from lubberline.questions.model import ItemModel, Words
from lubberline.textfile import text_of, toml_of

GROUPS = ("feedback", "options", "phrases")
LONGEST_TEXT = 2000


def placeholders(template: str) -> set[str]:
    """The names in braces of a template."""
    return {name for _, name, _, _ in Formatter().parse(template) if name}


def texts_of(words: Words) -> dict[str, str]:
    """Every text by its place: 'stem', 'reason', 'feedback.IDEA', 'options.NAME', 'phrases.NAME'."""
    found = {"stem": words.stem, "reason": words.reason}
    for group in GROUPS:
        texts: Mapping[str, str] = getattr(words, group)
        found.update({f"{group}.{name}": text for name, text in texts.items()})
    return found


def allowed_in(words: Words, place: str) -> set[str]:
    """The placeholders that a text may use: its own, those of the stem, and the key where it is explained."""
    allowed = placeholders(texts_of(words)[place]) | (placeholders(words.stem) - {"phrase", "because"})
    if place == "reason" or place.startswith("feedback."):
        allowed.add("key")
    if place.startswith("feedback."):
        allowed.add("this")
    return allowed


def reworded(model: ItemModel, changes: Mapping[str, str], where: str = "words") -> ItemModel:
    """The model with other words and the same sums.

    Args:
        model: the model.
        changes: new texts by place, as in `texts_of`.
        where: file, for messages.

    Raises:
        InputError: for a place that the model does not have, a placeholder that is missing or that the
            place does not know, an empty text, or two options that read alike.
    """
    old = texts_of(model.words)
    new = dict(old)
    for place, text in changes.items():
        if place not in old:
            raise InputError(f"{where}, {model.id}", f"no text '{place[:60]}'", nearest_of(place, list(old)))
        _check(f"{where}, {model.id}, {place}", old[place], text, allowed_in(model.words, place))
        new[place] = text
    groups: dict[str, dict[str, str]] = {group: {} for group in GROUPS}
    for place, text in new.items():
        group, dot, name = place.partition(".")
        if dot:
            groups[group][name] = text
    _check_options(f"{where}, {model.id}", groups["options"])
    return replace(model, words=Words(new["stem"], new["reason"], **groups))


def _check(where: str, old: str, new: str, allowed: set[str]) -> None:
    """Hold a new text against the one that it takes the place of."""
    if not new.strip() and old.strip():
        raise InputError(where, "the text is empty", f"write a text, as: {old}")
    if len(new) > LONGEST_TEXT or not all(sign.isprintable() or sign in " \n\xa0" for sign in new):
        raise InputError(where, "too long, or holds signs that cannot be printed", f"{LONGEST_TEXT} letters")
    try:
        parts = [part[1:] for part in Formatter().parse(new) if part[1] is not None]
    except ValueError as problem:
        raise InputError(where, f"a brace is wrong: {problem}", "write {name}, or {{ for a brace") from None
    told = "allowed here: " + (", ".join(f"{{{name}}}" for name in sorted(allowed)) or "none")
    for name, form, conversion in parts:
        if form or conversion or name not in allowed:
            sign = f"!{conversion}" if conversion else f":{form}" if form else ""
            raise InputError(where, f"there is no value {{{name}{sign}}}", told)
    missing = sorted(placeholders(old) - {str(name) for name, _, _ in parts})
    if missing:
        raise InputError(where, f"{{{missing[0]}}} is missing", f"it must hold what was there: {old}")


def _check_options(where: str, options: Mapping[str, str]) -> None:
    seen: dict[str, str] = {}
    for name, text in options.items():
        same = seen.setdefault(" ".join(text.casefold().split()), name)
        if same != name:
            raise InputError(f"{where}, options.{name}", f"it reads as '{same}' does", "write another text")


def read_words(path: str | Path) -> dict[str, ItemModel]:
    """The models that a file of words changes, by id.

    Raises:
        InputError: naming file, model and place.
    """
    return words_from_text(Path(path).name, text_of(path, "a file of words (TOML)"))


def words_from_text(source: str, text: str) -> dict[str, ItemModel]:
    """The models that the text of such a file changes, by id.

    Raises:
        InputError: naming source, model and place.
    """
    changed = {}
    for id, table in toml_of(source, text).items():
        if id not in models():
            raise InputError(source, f"there is no model '{id[:60]}'", nearest_of(id, list(models())))
        changed[id] = reworded(models()[id], _flat(f"{source}, {id}", table), source)
    return changed


def _flat(where: str, table: Any) -> dict[str, str]:
    """A table of texts, and of tables of texts, as texts by place."""
    if not isinstance(table, dict):
        raise InputError(where, "it is no table", f'write ["{where.rsplit(", ", 1)[-1]}"] and texts below it')
    found: dict[str, str] = {}
    for key, value in table.items():
        inner = (
            {f"{key}.{name}": text for name, text in value.items()}
            if isinstance(value, dict)
            else {key: value}
        )
        for place, text in inner.items():
            if not isinstance(text, str):
                raise InputError(f"{where}, {place[:80]}", "it is no text", 'write a text in quotes: "..."')
            found[place] = text
    return found


def words_toml(model: ItemModel) -> str:
    """The words of a model as a file that `read_words` reads."""
    texts = texts_of(model.words)
    lines = [f"[{_quoted(model.id)}]", *(f"{key} = {_quoted(texts[key])}" for key in ("stem", "reason"))]
    for group in GROUPS:
        entries: Mapping[str, str] = getattr(model.words, group)
        if entries:
            lines += ["", f"[{_quoted(model.id)}.{group}]"]
            lines += [f"{_quoted(name)} = {_quoted(text)}" for name, text in entries.items()]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A text as a basic string of TOML, which a string of JSON is but for the sign of deletion."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
