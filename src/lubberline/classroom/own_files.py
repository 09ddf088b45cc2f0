"""Whether a school's own files still hold: each is read, and what it claims is flown by the engine.

What was found is kept in the folder with a digest of the program and of each file, so that a file is looked
at again only when it or the program has changed.
"""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path

import msgspec

from lubberline.classroom.lessons.file import lesson_from_text
from lubberline.classroom.lessons.questions import taught_lesson
from lubberline.errors import InputError
from lubberline.questions.handwritten import HandwrittenItem, items_from_text, items_of_folder, read_items
from lubberline.simulation.scenes import (
    Library,
    SchoolScenes,
    broken_claims,
    faults_in,
    own_scene,
    run_scene,
)
from lubberline.simulation.words import words_from_text
from lubberline.textfile import text_of
from lubberline.unfinished import write_whole

PACKAGE = Path(__file__).parent.parent
# What decides whether a file holds.
ENGINE = ("earth", "flight", "instruments", "simulation", "questions", "classroom", "scenes")
KEPT = "checked.json"
Progress = Callable[[int, int], None]


class Finding(msgspec.Struct, frozen=True):
    """What does not hold: in which file of the folder, where in it, what was found, what would be right."""

    file: str
    where: str
    wrong: str
    right: str


class Checked(msgspec.Struct, frozen=True):
    """What the last check found.

    Attributes:
        program: digest of the program that checked.
        files: digest of each file, with all that it depends on.
        findings: what does not hold.
    """

    program: str = ""
    files: dict[str, str] = {}
    findings: tuple[Finding, ...] = ()

    def of(self, file: str) -> tuple[Finding, ...]:
        """What does not hold of a file."""
        return tuple(one for one in self.findings if one.file == file)


@cache
def program_digest() -> str:
    """A digest of the part of the program that decides whether a file holds."""
    digest = hashlib.sha256()
    for path in sorted(path for room in ENGINE for path in (PACKAGE / room).rglob("*")):
        if path.is_file() and path.suffix != ".pyc":
            digest.update(path.relative_to(PACKAGE).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def own_files(folder: Path) -> dict[str, Path]:
    """A school's own files by their names in its folder, scenes first: lessons play them."""
    sorts = (("scenes", "*.toml"), ("items", "*.md"), ("words", "*.toml"), ("lessons", "*.md"))
    paths = (path for name, shape in sorts for path in sorted((folder / name).glob(shape)))
    return {path.relative_to(folder).as_posix(): path for path in paths}


def last_check(folder: Path) -> Checked:
    """What was found when the files were last checked; nothing if they never were."""
    with suppress(OSError, msgspec.DecodeError):
        return msgspec.json.decode((folder / KEPT).read_bytes(), type=Checked)
    return Checked()


def waiting(folder: Path) -> list[str]:
    """The files that have not been checked since they, or the program, changed."""
    last, now = last_check(folder), _digests(own_files(folder))
    return (
        [name for name, digest in now.items() if last.files.get(name) != digest]
        if (last.program == program_digest())
        else [*now]
    )


def check_files(folder: Path, progress: Progress | None = None, library: Library | None = None) -> Checked:
    """Checks the files that wait for it, and keeps what was found.

    Args:
        folder: the school's.
        progress: called with the number of files done and the total.
        library: scenes and aircraft that the files may name; without one, the scenes of the folder.
    """
    paths, last, wait = own_files(folder), last_check(folder), waiting(folder)
    scenes, items = library or SchoolScenes(folder / "scenes").library(), items_of_folder(folder / "items")
    findings: list[Finding] = []
    digests = _digests(paths)
    for done, (name, path) in enumerate(paths.items()):
        if progress:
            progress(done, len(paths))
        found = _faults(name, path, scenes, items) if name in wait else last.of(name)
        findings += [
            one if isinstance(one, Finding) else Finding(name, one.where, one.wrong, one.right)
            for one in found
        ]
    checked = Checked(program_digest(), digests, tuple(findings))
    if paths or last.files:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / KEPT, msgspec.json.format(msgspec.json.encode(checked)))
    return checked


def _digests(paths: Mapping[str, Path]) -> dict[str, str]:
    """Digests of files; a lesson's, with all scenes and items that it may name."""
    own = {name: hashlib.sha256(_bytes(path)).hexdigest()[:16] for name, path in paths.items()}
    named = "".join(digest for name, digest in own.items() if name.startswith(("scenes/", "items/")))
    shelf = hashlib.sha256(named.encode()).hexdigest()[:16]
    return {
        name: f"{digest}-{shelf}" if name.startswith("lessons/") else digest for name, digest in own.items()
    }


def _bytes(path: Path) -> bytes:
    with suppress(OSError):
        return path.read_bytes()
    return b""


def _faults(
    name: str, path: Path, scenes: Library, items: Mapping[str, HandwrittenItem]
) -> tuple[InputError, ...]:
    """All that does not hold of a file."""
    try:
        text = text_of(path, "a file of the school")
        if name.startswith("scenes/"):
            return faults_in(path.stem, text, scenes.aircraft) or tuple(_broken(path.stem, text, scenes))
        if name.startswith("items/"):
            return tuple(_taken(path, items_from_text(path.name, text)))
        if name.startswith("words/"):
            words_from_text(path.name, text)
        else:
            taught_lesson(lesson_from_text(path.name, text, scenes, items))
    except InputError as error:
        return (error,)
    return ()


def _taken(path: Path, records: Iterable[HandwrittenItem]) -> Iterator[InputError]:
    """Items whose titles an earlier file of the folder has: they are never drawn."""
    for other in sorted(path.parent.glob("*.md")):
        if other == path:
            return
        with suppress(InputError):
            there = {one.item.model for one in read_items(other)}
            for record in records:
                if record.item.model in there:
                    where, wrong = (
                        f"{path.name}, line {record.line}",
                        f"{other.name} has an item of this title",
                    )
                    yield InputError(where, wrong, "give the item another title")


def _broken(name: str, text: str, scenes: Library) -> Iterator[InputError]:
    """The claims of a scene that do not hold, and orders that cannot be done."""
    scene = own_scene(name, text, scenes.aircraft)
    flown = [(f", step {number}", step.scene) for number, step in enumerate(scene.steps, start=1)]
    for place, one in flown or [("", scene)]:
        try:
            broken = broken_claims(one, run_scene(one, max(one.length_s, 1.0)))
        except InputError as error:
            yield InputError(f"{name}.toml{place}, {error.where}", error.wrong, error.right)
            continue
        for claim, found in broken:
            number = one.entry.claim.index(claim) + 1
            wrong = f"{claim.name} at {claim.at_s:g} s is {found:.5g}"
            right = f"the scene claims {claim.low:g} to {claim.high:g}; correct the flight or the claim"
            yield InputError(f"{name}.toml{place}, claim {number}", wrong, right)
