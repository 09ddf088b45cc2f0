"""What an instructor does not want asked any more: single items by id, and whole models.

A file of TOML:

    models = ["suction-next-check"]
    items = ["wander-rate-1a2b3c4d"]

The id of an item stands in the preview and, of what is written by hand, is 'hand-' and its title.
"""

from __future__ import annotations

import re
from pathlib import Path

import msgspec

from lubberline.errors import InputError, nearest_of
from lubberline.questions.bank import models
from lubberline.questions.handwritten import PREFIX
from lubberline.questions.item import Item
from lubberline.textfile import text_of, toml_of

ITEM_ID = re.compile(r"(.+)-[0-9a-f]{8}")


class Retired(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is not asked any more.

    Attributes:
        models: ids of models.
        items: ids of items.
    """

    models: tuple[str, ...] = ()
    items: tuple[str, ...] = ()

    def holds(self, item: Item) -> bool:
        """Whether an item is retired, by itself or with its model."""
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
    try:
        found = msgspec.convert(toml_of(source, text), Retired)
    except msgspec.ValidationError as error:
        raise InputError(
            source, str(error), 'write models = ["ID"] and items = ["ID"], nothing else'
        ) from None
    for id in found.models:
        if id not in models():
            wrong = f"there is no model '{id[:60]}'"
            raise InputError(f"{source}, models", wrong, nearest_of(id, list(models())))
    for id in found.items:
        _check_item(f"{source}, items", id)
    return found


def retired_toml(retired: Retired) -> str:
    """The text of a file that `read_retired` reads."""
    rows = {"models": retired.models, "items": retired.items}
    return "".join(f"{name} = [{', '.join(map(_quoted, ids))}]\n" for name, ids in rows.items())


def _quoted(id: str) -> str:
    return f'"{id}"'


def _check_item(where: str, id: str) -> None:
    if re.fullmatch(rf"{PREFIX}[a-z0-9-]+", id):
        return
    found = ITEM_ID.fullmatch(id)
    if not found:
        right = "a model, a dash and eight signs, as wander-rate-1a2b3c4d; a whole model goes to models"
        raise InputError(where, f"'{id[:60]}' is no id of an item", right)
    if found[1] not in models():
        wrong = f"there is no model '{found[1][:60]}'"
        raise InputError(where, wrong, nearest_of(found[1], list(models())))
