"""Kinds of options: each is checked when it is read, before any work begins."""

import argparse
import math
from collections.abc import Callable
from datetime import date
from pathlib import Path

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
