"""`lubberline own`: checks the school's own scenes, items, words and lessons with this program."""

import argparse
from pathlib import Path

from lubberline.commands.home import library_in_use
from lubberline.commands.options import Command, option
from lubberline.errors import InputError


def school_folder_of(given: str | None) -> Path:
    """The folder named by an option, else the school's.

    Raises:
        InputError: the named one is not a folder.
    """
    from lubberline.store.database.engines import school_folder

    if given is None:
        return school_folder()
    if not Path(given).is_dir():
        raise InputError(given, "there is no such folder", "name a school's folder")
    return Path(given)


def run(given: argparse.Namespace) -> None:
    """Check all files, and say of each what does not hold."""
    from lubberline.classroom.own_files import check_files

    folder = school_folder_of(given.folder)
    library = library_in_use(folder / "scenes")
    checked = check_files(folder, given.progress.stage("Checking the files"), library)
    broken = {one.file for one in checked.findings}
    for file in checked.files:
        print(f"{file}: {'does not hold' if file in broken else 'holds'}")
        for one in checked.of(file):
            print(f"    {one.where}: {one.wrong}; {one.right}")
    if not checked.files:
        print(f"{folder}: there are no own files yet")
    if broken:
        wrong = f"{len(broken)} of {len(checked.files)} files do not hold with this program"
        raise InputError("own files", wrong, "correct them as said above")


OWN = Command(
    "own",
    "check the school's own scenes, items, words and lessons",
    run,
    "Checking the school's own files",
    (option("--folder", metavar="DIR", help="the school's folder; default: beside its records"),),
)
