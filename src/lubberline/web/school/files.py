"""Files of the records: a backup to take, one to restore, everything as CSV. Nothing is left behind."""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from lubberline.errors import InputError
from lubberline.store.backup import counts_of
from lubberline.store.school import School
from lubberline.store.times import now
from lubberline.web.forms import SentFile


def _stamp() -> str:
    return now().strftime("%Y-%m-%d")


def backup_of(school: School) -> tuple[str, bytes]:
    """A backup's name and bytes."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch, "records")
        school.backup(path)
        return f"lubberline-records-{_stamp()}.backup", path.read_bytes()


@contextmanager
def _laid_down(file: SentFile) -> Iterator[Path]:
    """A backup that was sent, as a file; what is wrong names its own name, not where it lies meanwhile."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch, "records")
        path.write_bytes(file.data)
        try:
            yield path
        except InputError as error:
            where = file.name if error.where == str(path) else error.where
            raise InputError(where, error.wrong, error.right, error.code) from None


def counts_in(file: SentFile | None) -> tuple[dict[str, int], SentFile]:
    """How many there are of each kind in a backup that was sent, and the backup.

    Raises:
        InputError: none was chosen, or it is none.
    """
    if file is None:
        raise InputError("file", "none was chosen", "choose a backup")
    with _laid_down(file) as path:
        return counts_of(path), file


def restore_from(school: School, file: SentFile) -> None:
    """Puts the records of a backup in the place of those that are here.

    Raises:
        InputError: it is none, or no backup of what is here can be made; nothing has changed then.
    """
    with _laid_down(file) as path:
        school.restore(path)


def csv_zip(school: School) -> tuple[str, bytes]:
    """All tables as CSV in one zip."""
    packed = BytesIO()
    with (
        tempfile.TemporaryDirectory() as scratch,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as zipped,
    ):
        for path in school.export_csv(scratch):
            zipped.write(path, path.name)
    return f"lubberline-records-{_stamp()}.zip", packed.getvalue()
