"""Files that belong together, written into a folder: all of them or none."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from lubberline.errors import InputError


def write_together(
    contents: Mapping[str, Callable[[], bytes]], folder: Path | str, stale: Sequence[Path] = ()
) -> list[Path]:
    """Write files into a folder by way of a folder beside it, from which they are moved at the end.

    Args:
        contents: what makes each file, by its name.
        folder: made if it is not there.
        stale: files of an earlier time, removed before the new ones are moved in.

    Returns:
        The files written.

    Raises:
        InputError: when the folder cannot be written to.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise InputError(str(folder), "is a file", "name a folder to write to")
    target = folder.absolute()
    beside = target.parent / f".{target.name}.{secrets.token_hex(4)}.part"
    try:
        beside.mkdir(parents=True)
        for name, make in contents.items():
            (beside / name).write_bytes(make())
        folder.mkdir(exist_ok=True)
        for path in stale:
            path.unlink()
        for name in contents:
            (beside / name).replace(folder / name)
    except PermissionError as error:
        raise InputError(
            str(folder), "cannot be written to", "name a folder that you may write to"
        ) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return [folder / name for name in contents]
