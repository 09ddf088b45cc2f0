"""An instructor's changes to the bank, from TOML files: retired questions, and other words."""

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from string import Formatter
from typing import Any

import msgspec

from lubberline.errors import InputError, check_known
from lubberline.questions.bank import models
from lubberline.questions.handwritten import PREFIX
from lubberline.questions.item import Item
from lubberline.questions.model import ItemModel, Words
from lubberline.textfile import text_of, toml_of
from lubberline.typed_fields import typed

ITEM_ID = re.compile(r"(.+)-[0-9a-f]{8}")


class Retired(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Questions that are no longer used.

    Attributes:
        models: ids of models.
        items: ids of items.
    """

    models: tuple[str, ...] = ()
    items: tuple[str, ...] = ()

    def holds(self, item: Item) -> bool:
        """Whether an item is retired, on its own or with its model."""
        return item.model in (*self.models, *self.items) or item.id in self.items


def read_retired(path: str | Path) -> Retired:
    """The retired models and items of a file.

    Raises:
        InputError: naming file and field.
    """
    return retired_from_text(Path(path).name, text_of(path, "a file of retired questions (TOML)"))


def retired_from_text(source: str, text: str) -> Retired:
    """The retired models and items of the text of such a file.

    Raises:
        InputError: naming source and field, also for a model that does not exist.
    """
    right = 'write models = ["ID"] and items = ["ID"] only'
    found = typed(source, toml_of(source, text), Retired, right)
    for id in found.models:
        check_known(f"{source}, models", "model", id, models())
    for id in found.items:
        _check_item(f"{source}, items", id)
    return found


def retired_toml(retired: Retired) -> str:
    """The text of a file that `read_retired` reads."""
    rows = {"models": retired.models, "items": retired.items}
    return "".join(f"{name} = [{', '.join(map(_quoted, ids))}]\n" for name, ids in rows.items())


def _check_item(where: str, id: str) -> None:
    if re.fullmatch(rf"{PREFIX}[a-z0-9-]+", id):
        return
    found = ITEM_ID.fullmatch(id)
    if not found:
        right = (
            "give a model, a hyphen and eight characters, as wander-rate-1a2b3c4d; put a model under models"
        )
        raise InputError(where, f"'{id[:60]}' is not the id of an item", right)
    check_known(where, "model", found[1], models())


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
    """The placeholders that a text may use: its own, those of the stem, and the key in explanations."""
    allowed = placeholders(texts_of(words)[place]) | (placeholders(words.stem) - {"phrase", "because"})
    if place == "reason" or place.startswith("feedback."):
        allowed.add("key")
    if place.startswith("feedback."):
        allowed.add("this")
    return allowed


def reworded(model: ItemModel, changes: Mapping[str, str], where: str = "words") -> ItemModel:
    """The model with other words and the same calculations.

    Args:
        model: the model.
        changes: new texts by place, as in `texts_of`.
        where: file, for messages.

    Raises:
        InputError: for a text that the model does not have, a missing or unknown placeholder, an empty text,
            or two options with the same words.
    """
    old = texts_of(model.words)
    new = dict(old)
    for place, text in changes.items():
        check_known(f"{where}, {model.id}", "text", place, old)
        _check(f"{where}, {model.id}, {place}", old[place], text, allowed_in(model.words, place))
        new[place] = text
    groups = {
        group: {place.partition(".")[2]: text for place, text in new.items() if place.startswith(f"{group}.")}
        for group in GROUPS
    }
    _check_options(f"{where}, {model.id}", groups["options"])
    return replace(model, words=Words(new["stem"], new["reason"], **groups))


def _check(where: str, old: str, new: str, allowed: set[str]) -> None:
    """Check a new text against the one that it replaces."""
    if not new.strip() and old.strip():
        raise InputError(where, "the text is empty", f"write a text, such as: {old}")
    if len(new) > LONGEST_TEXT or not all(sign.isprintable() or sign in " \n\xa0" for sign in new):
        right = f"give at most {LONGEST_TEXT} printable characters"
        raise InputError(where, "the text is too long, or has characters that cannot be printed", right)
    try:
        parts = [part[1:] for part in Formatter().parse(new) if part[1] is not None]
    except ValueError as problem:
        raise InputError(
            where, f"a brace is wrong: {problem}", "write {name} for a value, or {{ for a brace"
        ) from None
    told = "allowed here: " + (", ".join(f"{{{name}}}" for name in sorted(allowed)) or "none")
    for name, form, conversion in parts:
        if form or conversion or name not in allowed:
            sign = f"!{conversion}" if conversion else f":{form}" if form else ""
            raise InputError(where, f"there is no value {{{name}{sign}}}", told)
    missing = sorted(placeholders(old) - {str(name) for name, _, _ in parts})
    if missing:
        raise InputError(where, f"{{{missing[0]}}} is missing", f"keep every value of the original: {old}")


def _check_options(where: str, options: Mapping[str, str]) -> None:
    seen: dict[str, str] = {}
    for name, text in options.items():
        same = seen.setdefault(" ".join(text.casefold().split()), name)
        if same != name:
            raise InputError(
                f"{where}, options.{name}", f"it has the same words as '{same}'", "write another text"
            )


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
        check_known(source, "model", id, models())
        changed[id] = reworded(models()[id], _flat(f"{source}, {id}", table), source)
    return changed


def _flat(where: str, table: Any) -> dict[str, str]:
    """A table of texts, and of tables of texts, as texts by place."""
    if not isinstance(table, dict):
        raise InputError(
            where, "it is not a table", f'write ["{where.rsplit(", ", 1)[-1]}"] and texts below it'
        )
    found: dict[str, str] = {}
    for key, value in table.items():
        inner = (
            {f"{key}.{name}": text for name, text in value.items()}
            if isinstance(value, dict)
            else {key: value}
        )
        for place, text in inner.items():
            if not isinstance(text, str):
                raise InputError(
                    f"{where}, {place[:80]}", "it is not a text", 'write a text in quotes: "..."'
                )
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
    """A text as a basic string of TOML: a JSON string, except for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
