"""Files of the records: a backup to take, one to restore, everything as CSV. Nothing is left behind."""

from __future__ import annotations

import tempfile
import zipfile
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.web.sent import SentFile


def _stamp() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%d")


def backup_of(school: School) -> tuple[str, bytes]:
    """A backup's name and bytes."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch, "records")
        school.backup(path)
        return f"lubberline-records-{_stamp()}.backup", path.read_bytes()


def restore_from(school: School, file: SentFile | None) -> None:
    """Puts the records of a backup in the place of those that are here.

    Raises:
        InputError: none was chosen, or it is none; nothing has changed then. The file's own name is told,
            not where it lay meanwhile.
    """
    if file is None:
        raise InputError("file", "none was chosen", "choose a backup")
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch, "records")
        path.write_bytes(file.data)
        try:
            school.restore(path)
        except InputError as error:
            where = file.name if error.where == str(path) else error.where
            raise InputError(where, error.wrong, error.right) from None


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
