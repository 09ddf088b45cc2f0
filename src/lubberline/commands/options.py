"""What a command is and takes: its options, each checked when it is read, before any work begins."""

import argparse
import math
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from lubberline.errors import InputError
from lubberline.unfinished import check_writable

GREATEST_SEED = 2**32 - 1
GREATEST_PORT = 65535


def whole(low: int, high: int) -> Callable[[str], int]:
    """A whole number from `low` to `high`."""

    def read(text: str) -> int:
        try:
            # Python refuses longer ones with a message of its own.
            value = int(text) if len(text) <= 20 else high + 1
        except ValueError:
            value = low - 1
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"'{text[:40]}'; give a whole number from {low} to {high}")
        return value

    return read


def number(low: float, high: float, unit: str, *, above_low: bool = False) -> Callable[[str], float]:
    """A number in a unit from `low` to `high`, or above `low`."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high or (above_low and value == low):
            begin = f"more than {low:g}, up to" if above_low else f"{low:g} to"
            raise argparse.ArgumentTypeError(f"'{text[:40]}'; give {begin} {high:g} {unit}")
        return value

    return read


seed = whole(0, GREATEST_SEED)
port = whole(0, GREATEST_PORT)


def day(text: str) -> str:
    """A day written YYYY-MM-DD."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text[:40]}' is not a day; write it as 2026-05-12") from None


def folder(text: str) -> str:
    """A folder that files can be written to, existing or not."""
    try:
        if not text.strip():
            raise InputError("DIR", "it has no name", "name a folder to write to")
        check_writable(Path(text))
    except InputError as error:
        raise argparse.ArgumentTypeError(f"{error.where}: {error.wrong}; {error.right}") from None
    return text


class Option(NamedTuple):
    """An argument or an option: its names, and what argparse is told of it."""

    names: tuple[str, ...]
    told: dict[str, Any]

    def add(self, parser: Any) -> None:
        """Make it known to a parser, or to a group of one."""
        parser.add_argument(*self.names, **self.told)


class OneOf(NamedTuple):
    """Options of which one may be given, or has to be."""

    options: tuple[Option, ...]
    required: bool

    def add(self, parser: Any) -> None:
        """Make them known to a parser."""
        group = parser.add_mutually_exclusive_group(required=self.required)
        for one in self.options:
            one.add(group)


def option(*names: str, **told: Any) -> Option:
    """An argument or an option, in the words of `ArgumentParser.add_argument`."""
    return Option(names, told)


def flag(name: str, words: str) -> Option:
    """An option that is given or not."""
    return Option((name,), {"action": "store_true", "help": words})


def one_of(*options: Option, required: bool = False) -> OneOf:
    """Options that exclude each other."""
    return OneOf(options, required)


def out(words: str, *, required: bool = True) -> Option:
    """The folder that a command writes its files to."""
    return option("--out", type=folder, required=required, metavar="DIR", help=words)


class Command(NamedTuple):
    """A command of the command line, or a verb of one.

    Attributes:
        name: as it is typed.
        words: what help says of it.
        act: does it; of a verb, with what its command hands on before the options.
        doing: what is said of it when it takes long.
        options: in the order in which help lists them.
        verbs: of which one is given.
        verb_needed: whether it does nothing without one.
    """

    name: str
    words: str
    act: Callable[..., None]
    doing: str = ""
    options: Sequence[Option | OneOf] = ()
    verbs: Sequence["Command"] = ()
    verb_needed: bool = True

    def add(self, commands: Any, kept_as: str = "command") -> None:
        """Make it known to a parser, which keeps the one that is given under that name."""
        parser = commands.add_parser(self.name, help=self.words)
        parser.set_defaults(**{kept_as: self})
        for one in self.options:
            one.add(parser)
        if self.verbs:
            names = "|".join(verb.name for verb in self.verbs)
            below = parser.add_subparsers(required=self.verb_needed, metavar=names)
            for verb in self.verbs:
                verb.add(below, "verb")


AIRCRAFT = option(
    "--aircraft",
    metavar="FILE",
    help="aircraft file (TOML) or name; default: a healthy aircraft",
)
