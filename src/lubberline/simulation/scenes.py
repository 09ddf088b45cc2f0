"""The library of scenes: reading and running them, checking their claims, saving new ones."""

from functools import cache
from pathlib import Path
from typing import Any

from lubberline.errors import InputError, nearest_of
from lubberline.flight.motion import STEP_S
from lubberline.simulation.bench import Bench
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live.address import address_of, scene_fields
from lubberline.simulation.live.scene import Claim, Scene, scene_of
from lubberline.textfile import as_toml, text_of, toml_of

FOLDER = Path(__file__).parent.parent / "scenes"
GREATEST_FILE_BYTES = 200_000


def scene_from_text(source: str, text: str) -> Scene:
    """A scene from the text of its file.

    Raises:
        InputError: naming `source` and the field, for anything that is not right.
    """
    return scene_of(source, toml_of(source, text))


def read_scene(path: str | Path) -> Scene:
    """Read a scene file (TOML); see `docs/developers/live.md`.

    Raises:
        InputError: when it cannot be read or is not right, or its id is not its file's name.
    """
    path = Path(path)
    scene = scene_from_text(path.name, text_of(path, "a scene file (TOML)", GREATEST_FILE_BYTES))
    if scene.entry.id != path.stem:
        raise InputError(f"{path.name}, id", f"'{scene.entry.id}'", f"the file's name: {path.stem}")
    return scene


@cache
def library() -> dict[str, Scene]:
    """The scenes of the package by id, in order of their files' names."""
    return {path.stem: read_scene(path) for path in sorted(FOLDER.glob("*.toml"))}


def scene_named(id: str) -> Scene:
    """The scene of the package with this id.

    Raises:
        InputError: when there is none.
    """
    scenes = library()
    if id not in scenes:
        raise InputError("scene, id", f"there is no scene '{id[:40]}'", nearest_of(id, [*scenes]))
    return scenes[id]


def opened(id: str, step: int = 1) -> Scene:
    """What is flown when a scene is opened: of a tour this step, counted from 1.

    Raises:
        InputError: when there is no such scene, or it has no such step.
    """
    scene = scene_named(id)
    last = max(len(scene.steps), 1)
    if step > last:
        raise InputError("scene, step", f"'{id}' has no step {step}", f"at most {last}")
    return scene.steps[step - 1].scene if scene.steps else scene


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
