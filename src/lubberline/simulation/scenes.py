"""The library of scenes: reading and running them, checking their claims, saving new ones."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from lubberline.errors import Faults, FieldError, InputError, check_known, nearest_of
from lubberline.flight.home import Home, Suction
from lubberline.flight.motion import STEP_S
from lubberline.simulation import home_scenes
from lubberline.simulation.bench import Bench
from lubberline.simulation.fitted import Frame
from lubberline.simulation.home_scenes import FIFTEEN
from lubberline.simulation.live.address import (
    Crafts,
    address_of,
    carried_by,
    carrying,
    fitted_address,
    scene_fields,
)
from lubberline.simulation.live.scene import Claim, Scene, scene_of
from lubberline.textfile import as_toml, text_of, toml_of
from lubberline.toml_lines import line_of
from lubberline.units import hpa_text

FOLDER = Path(__file__).parent.parent / "scenes"
GREATEST_FILE_BYTES = 200_000
MOST_FAULTS = 20
SCENE_FILE = "a scene file (TOML)"
Texts = Mapping[str, str | InputError]
DRAFTS = "drafts"
DRAFT = "~"  # before the name of a draft: no id begins with it


def scene_from_text(source: str, text: str, aircraft: Crafts | None = None) -> Scene:
    """A scene from the text of its file, which may name aircraft.

    Raises:
        InputError: naming `source`, line and field, for anything that is not right.
    """
    try:
        return scene_of(source, carrying(source, toml_of(source, text), aircraft or {}))
    except FieldError:
        Faults(*_faults_of(source, text, aircraft)).tell()
        raise


def _at_line(source: str, text: str, error: FieldError) -> InputError:
    line = f"{source}, line {line_of(text, error.path)}"
    return InputError(line + error.where.removeprefix(source), error.wrong, error.right)


def faults_in(name: str, text: str, aircraft: Crafts | None = None) -> tuple[InputError, ...]:
    """All that is wrong with the text of a school's scene, each with its line."""
    noted = Faults(*_faults_of(f"{name}.toml", text, aircraft))
    if not noted.found:
        with noted.noted():
            own_scene(name, text, aircraft)
    return tuple(noted.found)


def _faults_of(source: str, text: str, aircraft: Crafts | None) -> tuple[InputError, ...]:
    faults = list[InputError]()
    try:
        fields = toml_of(source, text)
    except InputError as error:
        return (_at_line(source, text, error) if isinstance(error, FieldError) else error,)
    while len(faults) < MOST_FAULTS:
        try:
            scene_of(source, carrying(source, fields, aircraft or {}))
            break
        except FieldError as error:
            faults.append(_at_line(source, text, error))
            if not _leave_out(fields, error.path):
                break
    return tuple(faults)


# What stands in the place of a wrong entry of a list while the rest is read.
_NOTHING: dict[str | int, dict[str, Any]] = {
    "event": {"at_s": 0.0},
    "camera": {},
    "claim": {"at_s": 0.0, "name": "time_s", "low": 0.0, "high": 0.0},
    "step": {"title": "-", "say": "-", "try": "-"},
}


def _leave_out(fields: dict[str, Any], path: tuple[str | int, ...]) -> bool:
    """Leaves out what is at a path, or the entry of a list around it; False if nothing can be left out."""
    if not path:
        missing = {key: word for key, word in {"id": "a", "title": "-"}.items() if key not in fields}
        fields |= missing
        return bool(missing)
    entries = [place for place in range(1, len(path)) if isinstance(path[place], int)]
    known = [place for place in entries if path[place - 1] in _NOTHING]
    last = known[-1] if known else 0 if 1 in entries else min(1, len(path) - 1)
    there: Any = fields
    for part in path[:last]:
        there = there[part]
    if known:
        there[path[last]] = _NOTHING[path[last - 1]]
    else:
        del there[path[last]]
    return True


def read_scene(path: str | Path) -> Scene:
    """Read a scene file (TOML); see `docs/developers/live.md`.

    Raises:
        InputError: when it cannot be read or is not right, or its id is not its file's name.
    """
    path = Path(path)
    return _of_file(path.name, path.stem, text_of(path, SCENE_FILE, GREATEST_FILE_BYTES))


def _of_file(source: str, name: str, text: str, aircraft: Crafts | None = None) -> Scene:
    scene = scene_from_text(source, text, aircraft)
    if scene.entry.id != name:
        raise InputError(f"{source}, id", f"'{scene.entry.id}'", f"the file's name: {name}")
    return scene


@cache
def _package(suction: Suction) -> dict[str, Scene]:
    """The scenes of the program, with pressures in a unit."""
    texts = ((path, text_of(path, SCENE_FILE, GREATEST_FILE_BYTES)) for path in sorted(FOLDER.glob("*.toml")))
    said = str if suction == "inHg" else hpa_text
    return {path.stem: _of_file(path.name, path.stem, said(text)) for path, text in texts}


@lru_cache(maxsize=4)
def _at_home(home: Home) -> dict[str, Scene]:
    """The scenes of the program that are flown at a school's home."""
    package = _package(home.suction)
    text = as_toml(home_scenes.fifteen_minutes(package[home_scenes.FIFTEEN_LIKE], home))
    flown = {
        id: home_scenes.at_home(scene, home)
        for id, scene in package.items()
        if home_scenes.is_anywhere(scene)
    }
    return {FIFTEEN: scene_from_text(f"{FIFTEEN}.toml", text), **flown}


class Library(Mapping[str, Scene]):
    """The scenes by id: a school's own, then the package's, whose ids no other scene takes.

    Args:
        own: texts of the school's scenes by the names of their files; of one that cannot be read, why.
        drafts: texts of their unsaved changes, which are opened as '~NAME' and are not listed.
        home: of the school: scenes of the program whose words name no place are flown there, all in its unit.
        aircraft: what each aircraft carries, by its name, for scenes and benches that name one.

    Attributes:
        own: ids of the school's scenes that can be flown.
        faults: why the others cannot, by the names of their files.
    """

    def __init__(
        self,
        own: Texts | None = None,
        drafts: Texts | None = None,
        home: Home | None = None,
        aircraft: Crafts | None = None,
    ) -> None:
        self.home, self.aircraft = home, aircraft or {}
        self._usual = home.aircraft if home else ""
        self.faults: dict[str, InputError] = {}
        self._texts = {**(own or {}), **{f"{DRAFT}{name}": text for name, text in (drafts or {}).items()}}
        read: dict[str, Scene] = {}
        for name, text in self._texts.items():
            try:
                read[name] = own_scene(name.removeprefix(DRAFT), text, self.aircraft)
            except InputError as error:
                self.faults[name] = error
        self._drafts = {name: scene for name, scene in read.items() if name.startswith(DRAFT)}
        self._scenes = {name: scene for name, scene in read.items() if name not in self._drafts}
        self.own = tuple(self._scenes)
        program = {**_package(home.suction), **_at_home(home)} if home else _package("inHg")
        self._scenes = {**self._scenes, **program, **self._scenes}

    def __getitem__(self, id: str) -> Scene:
        """The scene with this id; a tour's step, counted from 1, as 'TOUR/STEP'."""
        tour, slash, step = id.partition("/")
        scene = self._scenes[tour]
        if not slash:
            return scene
        if not step.isdecimal() or not 1 <= int(step) <= len(scene.steps):
            raise KeyError(id)
        return scene.steps[int(step) - 1].scene

    def __iter__(self) -> Iterator[str]:
        """The ids of the scenes that are listed."""
        return iter(self._scenes)

    def __len__(self) -> int:
        """How many scenes are listed."""
        return len(self._scenes)

    def with_drafts(self) -> dict[str, Scene]:
        """All that can be opened by their ids, the drafts last."""
        return {**self._scenes, **self._drafts}

    def named(self, id: str) -> Scene:
        """The scene with this id.

        Raises:
            InputError: when there is none, or its file has an error.
        """
        if id in self.faults:
            fault = self.faults[id]
            raise InputError("scene, id", f"'{id}' has an error ({fault.where}: {fault.wrong})", fault.right)
        check_known("scene, id", "scene", id, self)
        return self[id]

    def opened(self, id: str, step: int = 1) -> Scene:
        """What is flown when a scene or a draft is opened: of a tour this step, counted from 1.

        Raises:
            InputError: when there is no such scene, or it has no such step.
        """
        scene = self._drafts.get(id) or self.named(id)
        last = max(len(scene.steps), 1)
        if step > last:
            raise InputError("scene, step", f"'{id}' has no step {step}", f"at most {last}")
        return scene.steps[step - 1].scene if scene.steps else scene

    def edition(self, id: str) -> "Edition":
        """What is to be made once of a scene or a draft.

        Raises:
            InputError: as `named`.
        """
        return Edition(id, self.version_of(id), self._drafts.get(id) or self.named(id))

    def texts(self, ids: Iterable[str]) -> dict[str, str]:
        """The texts of those of these scenes that are the school's own."""
        return {
            id: str(self._texts[id]) for id in (one.partition("/")[0] for one in ids) if id in self._texts
        }

    def version_of(self, id: str) -> str:
        """A digest of all that a scene depends on beside the program; '' for nothing."""
        name = id.partition("/")[0]
        depends: list[object] = []
        if text := str(self._texts.get(name, "")):
            depends = [text, *self.aircraft_in(text).items()]
        elif self.home and (name in _at_home(self.home) or self.home.suction != "inHg"):
            depends = [self.home]
        return hashlib.sha256(repr(depends).encode()).hexdigest()[:16] if depends else ""

    def aircraft_in(self, text: str) -> dict[str, dict[str, Any]]:
        """What those of the school's aircraft carry that a text names, and its usual one."""
        said = text.casefold()
        return {
            name: one for name, one in self.aircraft.items() if name == self._usual or name.casefold() in said
        }

    def fitted(self, address: str, name: str = "", where: str = "aircraft") -> str:
        """A bench's address with an aircraft of the school: the named one, or the usual one.

        Without a name, an address that has instruments of its own, or of a scene, stays as it is.

        Raises:
            InputError: there is no aircraft of that name.
        """
        if name:
            return fitted_address(address, carried_by(where, name, self.aircraft), replaced=True)
        return fitted_address(address, self.aircraft.get(self._usual, {}), replaced=False)

    # A folder that has not changed gives the same library again.
    __eq__ = object.__eq__
    __hash__ = object.__hash__


@dataclass(frozen=True)
class Edition:
    """A scene that is known again by its id, or a bench's address, and the version of its file."""

    ref: str
    version: str
    scene: Scene = field(compare=False)


class SchoolScenes:
    """The library with the scenes of a school's folder, read again whenever a file in it has changed.

    Args:
        folder: of the scenes, which need not exist; their unsaved changes are in its folder 'drafts'.
        home: the school's, where some of the scenes are flown; None for none.
        aircraft: what the school's aircraft carry, by their names.
    """

    def __init__(
        self,
        folder: Path,
        home: Callable[[], Home | None] = lambda: None,
        aircraft: Callable[[], Crafts] = dict,
    ) -> None:
        self.folder = folder
        self._home = home
        self._aircraft = aircraft
        self._seen: object = None
        self._library = library()

    def library(self) -> Library:
        """The scenes as their files are now."""
        paths = [sorted(folder.glob("*.toml")) for folder in (self.folder, self.folder / DRAFTS)]
        files = [(path, *written_at(path)) for listed in paths for path in listed]
        seen = files, self._home(), self._aircraft()
        if seen != self._seen:
            own, drafts = (dict(_texts(listed)) for listed in paths)
            self._library = Library(own, drafts, *seen[1:]) if any((own, drafts, *seen[1:])) else library()
            self._seen = seen
        return self._library


def written_at(path: Path) -> tuple[int, int]:
    """When a file was written, and its size; zeros if it is just gone."""
    try:
        stat = path.stat()
    except OSError:
        return 0, 0
    return stat.st_mtime_ns, stat.st_size


def _texts(paths: list[Path]) -> Iterator[tuple[str, str | InputError]]:
    for path in paths:
        try:
            yield path.stem, text_of(path, SCENE_FILE, GREATEST_FILE_BYTES)
        except InputError as error:
            yield path.stem, error


def own_scene(name: str, text: str | InputError, aircraft: Crafts | None = None) -> Scene:
    """A school's scene from the text of its file, or why it could not be read.

    Raises:
        InputError: as `scene_from_text`; an id that is not its file's name, or that the package has.
    """
    if isinstance(text, InputError):
        raise text
    scene = _of_file(f"{name}.toml", name, text, aircraft)
    if name in _package("inHg"):
        right = "give the file and the id another name"
        raise InputError(f"{name}.toml, id", f"the program has a scene '{name}'", right)
    return scene


@cache
def library() -> Library:
    """The scenes of the package by id, in order of their files' names."""
    return Library()


def scene_named(id: str) -> Scene:
    """The scene of the package with this id.

    Raises:
        InputError: when there is none.
    """
    return library().named(id)


def begun(scene: Scene, happened: int = 0) -> Bench:
    """A bench at the moment at which a scene opens."""
    bench = Bench(scene, happened=happened)
    bench.advance(round(scene.entry.from_s / STEP_S))
    return bench


def moments_of(scene: Scene, every_s: float) -> list[int]:
    """Steps at which a scene is looked at: evenly, and when it claims something."""
    last = round(scene.length_s / STEP_S)
    stride = max(round(every_s / STEP_S), 1)
    claimed = {round(claim.at_s / STEP_S) for claim in scene.entry.claim}
    return sorted({*range(0, last + 1, stride), last, *claimed})


def run_scene(scene: Scene, every_s: float = 1.0) -> list[Frame]:
    """The frames of a scene from its start to its end, without a clock.

    Args:
        scene: from `scene_named` or `read_scene`.
        every_s: time between frames; there is a frame at each claim's time, too.

    Raises:
        InputError: an order of the scene that cannot be done.
    """
    bench = Bench(scene)
    frames = []
    for step in moments_of(scene, every_s):
        bench.advance(step - bench.state.step)
        frames.append(bench.frame())
    if bench.failures:
        raise bench.failures[0]
    return frames


def number_in(frame: Frame, name: str) -> float:
    """The number of a frame by its path, as `shown.error_deg`; a ghost's as `ghosts.ID.indicated_deg`.

    Raises:
        InputError: when the frame has no such number.
    """
    value: Any = frame
    for part in name.split("."):
        if isinstance(value, list):
            value = {entry["id"]: entry for entry in value}
        if not isinstance(value, dict) or part not in value:
            allowed = [*value] if isinstance(value, dict) else []
            raise InputError(
                f"claim, {name}",
                f"a frame has no '{part}' here",
                nearest_of(part, allowed),
            )
        value = value[part]
    if isinstance(value, str | dict | list) or value is None:
        raise InputError(f"claim, {name}", "this is not a number", "give the path of a number or a flag")
    return float(value)


def broken_claims(scene: Scene, frames: list[Frame]) -> list[tuple[Claim, float]]:
    """Claims that a run does not meet, each with the number found.

    Raises:
        InputError: a claim on a number that frames do not have.
    """
    by_step = {round(frame["time_s"] / STEP_S): frame for frame in frames}
    broken = []
    for claim in scene.entry.claim:
        found = number_in(by_step[round(claim.at_s / STEP_S)], claim.name)
        if not claim.low <= found <= claim.high:
            broken.append((claim, found))
    return broken


def state_address(bench: Bench, pace: float = 1.0) -> str:
    """The text of the bench's state for an address."""
    return address_of(scene_fields(bench.state, bench.scene.entry.start), pace)


def state_toml(bench: Bench, id: str = "my-scene", title: str = "My scene") -> str:
    """The bench's state as the text of a scene file."""
    words = {"id": id, "title": title, "aim": "", "watch": "", "ask": ""}
    return as_toml({**words, **scene_fields(bench.state, bench.scene.entry.start)})
