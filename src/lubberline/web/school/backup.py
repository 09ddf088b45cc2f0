"""Files of the records: a backup, everything as CSV, and a restore in two steps.

A comparison is shown first, then one press restores. No file is left on the disk.
"""

import secrets
import tempfile
import threading
import time
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from lubberline.store.backup import OWN_FILES, count_of_files, counts_of
from lubberline.store.database.engines import IN_MEMORY
from lubberline.store.fleet import home_of
from lubberline.store.times import now
from lubberline.web.kit import (
    Form,
    InputError,
    Refused,
    Request,
    Response,
    School,
    SentFile,
    file,
    get,
    go_to,
    page,
    post,
    records,
    required,
    shared,
)

RESTORE_LIMIT_BYTES = 90_000_000
HELD_S = 15 * 60.0


def _stamp(school: School) -> str:
    return home_of(school).day(now())


def backup_of(school: School, folder: Path) -> tuple[str, bytes]:
    """Name and bytes of a backup, with the own files in the school's folder."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch, "records")
        school.backup(path, folder)
        return f"lubberline-records-{_stamp(school)}.backup", path.read_bytes()


@contextmanager
def _laid_down(file: SentFile) -> Iterator[Path]:
    """An uploaded backup as a file; errors give its own name, not the temporary one."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch, "records")
        path.write_bytes(file.data)
        try:
            yield path
        except InputError as error:
            where = file.name if error.where == str(path) else error.where
            raise InputError(where, error.wrong, error.right, error.code) from None


def counts_in(file: SentFile | None) -> tuple[dict[str, int], SentFile]:
    """The counts of each kind in an uploaded backup, and the backup.

    Raises:
        InputError: none was chosen, or it is not a backup.
    """
    if file is None:
        raise InputError("file", "none was chosen", "choose a backup")
    with _laid_down(file) as path:
        return counts_of(path), file


def restore_from(school: School, file: SentFile, folder: Path) -> None:
    """Replaces the present records, and the own files in the school's folder, by those of a backup.

    Raises:
        InputError: it is not a backup, or the present records cannot be backed up; nothing has changed then.
    """
    with _laid_down(file) as path:
        school.restore(path, folder)


def csv_zip(school: School) -> tuple[str, bytes]:
    """All tables as CSV in one zip."""
    packed = BytesIO()
    with (
        tempfile.TemporaryDirectory() as scratch,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as zipped,
    ):
        for path in school.export_csv(scratch):
            zipped.write(path, path.name)
    return f"lubberline-records-{_stamp(school)}.zip", packed.getvalue()


class HeldBackup:
    """The last uploaded backup, kept in memory until it is restored or for 15 minutes."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: tuple[str, float, SentFile] | None = None

    def hold(self, file: SentFile) -> str:
        """Keeps it instead of any other; returns its key."""
        key = secrets.token_urlsafe(12)
        with self._lock:
            self._held = key, time.monotonic() + HELD_S, file
        return key

    def here(self) -> SentFile | None:
        """The backup kept."""
        with self._lock:
            return self._held[2] if self._held and time.monotonic() <= self._held[1] else None

    @contextmanager
    def taken(self, key: str) -> Iterator[SentFile]:
        """Lends it once; if the restore fails it is kept.

        Raises:
            InputError: another was uploaded since, it was restored, or it has expired.
        """
        with self._lock:
            held = self._held
            if held is None or held[1] < time.monotonic():
                raise InputError("backup", "it is no longer in memory", "choose the file again")
            if not secrets.compare_digest(held[0].encode(), key.encode("utf-8", "replace")):
                raise InputError(
                    "backup", "it is not the one last shown", "look at its contents, then restore it"
                )
            self._held = None
        try:
            yield held[2]
        except BaseException:
            with self._lock:
                self._held = self._held or held
            raise


# The pages


def show_records(request: Request) -> Response:
    """GET /school/records: where the records are, with the ways to a backup and back."""
    school = records(request)
    return page(
        request,
        "school/backup.html",
        where=school.where,
        folder=shared(request).shelves.folder,
        copies=school.copies.kept()[::-1],
    )


def take_backup(request: Request) -> Response:
    """GET /school/backup: everything in one file."""
    return file(*backup_of(records(request), shared(request).shelves.folder))


def take_csv(request: Request) -> Response:
    """GET /school/csv: everything as CSV in a zip."""
    return file(*csv_zip(records(request)))


def _shown(request: Request, sent: SentFile | None, error: InputError | None = None) -> Response:
    school = records(request)
    comes, sent = counts_in(sent)
    here, files = school.counts(), count_of_files(shared(request).shelves.folder)
    # A backup without own files leaves the present ones as they are.
    stays = files[OWN_FILES] if OWN_FILES not in comes else 0
    here |= {} if OWN_FILES not in comes else files
    return page(
        request,
        "school/restore.html",
        error,
        kinds=[(kind, here.get(kind, 0), comes.get(kind, 0)) for kind in {**here, **comes}],
        file_name=sent.name,
        stays=stays,
        files=files[OWN_FILES],
        keeps=any(here.values()) and school.where != IN_MEMORY,
        something=any(here.values()),
        where=school.where,
        key=shared(request).held_backup.hold(sent),
    )


def show(request: Request, form: Form) -> Response:
    """POST /school/restore: uploads a backup and compares it with the present records. Nothing is changed."""
    return _shown(request, form.file)


def restore(request: Request, form: Form) -> Response:
    """POST /school/restore/now: replaces the present records by those of the backup shown."""
    with shared(request).held_backup.taken(form.get("key", "")) as sent:
        restore_from(records(request), sent, shared(request).shelves.folder)
    return go_to("/school/records", "restored")


def _show_held(request: Request, form: Form, error: InputError | None) -> Response:
    kept = shared(request).held_backup.here()
    if kept is None and error is not None:
        raise error
    return _shown(request, kept, error)


def take_copy(request: Request) -> Response:
    """GET /school/copies/NAME: one of the program's own copies."""
    wanted = request.path_params["name"]
    found = required(
        next((one for one in records(request).copies.kept() if one.name == wanted), None),
        Refused(404, "copy", "there is no copy with this name", "choose one on the Backup page"),
    )
    return file(found.name, found.read_bytes())


ROUTES = [
    get("/school/records", show_records),
    get("/school/backup", take_backup),
    get("/school/csv", take_csv),
    post("/school/restore", show, file_bytes=RESTORE_LIMIT_BYTES),
    post("/school/restore/now", restore, _show_held),
    get("/school/copies/{name}", take_copy),
]
