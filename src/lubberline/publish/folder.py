"""Writes several files into a folder, all or none."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from lubberline.errors import InputError
from lubberline.unfinished import moving, part_of, refusal

Progress = Callable[[int, int], None]


def write_together(
    contents: Mapping[str, Callable[[], bytes]],
    folder: Path | str,
    stale: Sequence[Path] = (),
    progress: Progress | None = None,
) -> list[Path]:
    """Write files into a folder: made separately, moved in at the end, and moved back if one fails.

    Args:
        contents: the function that makes each file, by its name.
        folder: created if necessary.
        stale: older files, removed when the new ones are moved in.
        progress: called with (done, files) after each file is made.

    Returns:
        The files written.

    Raises:
        InputError: the folder cannot be written to, the disk is full, or one of the names is a folder's.
    """
    folder = Path(folder)
    at = folder.absolute()
    made: list[Path] = []
    try:
        if folder.exists() and not folder.is_dir():
            raise InputError(str(folder), "is a file", "give a folder to write to")
        for one in (*reversed(at.parents), at):
            if not one.exists():
                one.mkdir()
                made.append(one)
        # Inside it, as the parent folder may not be writable.
        with part_of(at / "made") as part:
            part.mkdir()
            for done, (name, make) in enumerate(contents.items(), start=1):
                (part / name).write_bytes(make())
                if progress:
                    progress(done, len(contents))
            _take_places(at, part, list(contents), stale)
        made = []
    except OSError as error:
        raise refusal(folder, error) from error
    finally:
        for one in reversed(made):
            with suppress(OSError):
                one.rmdir()
    return [folder / name for name in contents]


def _take_places(folder: Path, part: Path, names: Sequence[str], stale: Sequence[Path]) -> None:
    """Replace old files by new ones; after a failure the old ones are restored.

    Raises:
        InputError: a name is a folder's, or another program holds the file.
        OSError: a move failed.
    """
    for name in names:
        if (folder / name).is_dir():
            raise InputError(str(folder / name), "is a folder", "move it, or choose another folder")
    old = part / "replaced"
    old.mkdir()
    moved: list[tuple[Path, Path]] = []

    def move(source: Path, target: Path) -> None:
        try:
            source.replace(target)
        except PermissionError as error:
            where = str(source if target.parent == old else target)
            raise InputError(where, "cannot be replaced", "close it in other programs") from error
        moved.append((source, target))

    with moving():
        try:
            for path in (*stale, *(folder / name for name in names)):
                if path.exists():
                    move(path, old / path.name)
            for name in names:
                move(part / name, folder / name)
        except BaseException:
            for source, target in reversed(moved):
                target.replace(source)
            raise
