"""The page of the scenes with the small picture of each, the editor of the school's own, and 'Keep this'."""

import re
from contextlib import suppress
from functools import lru_cache

import msgspec

from lubberline.classroom.own_files import check_files, last_check, waiting
from lubberline.publish.figures.scene_pictures import picture_of
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live.scene import Claim, Scene
from lubberline.simulation.scenes import (
    DRAFT,
    GREATEST_FILE_BYTES,
    Edition,
    Library,
    broken_claims,
    faults_in,
    number_in,
    run_scene,
    scene_from_text,
)
from lubberline.web.editor import Editor, Look
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Page,
    Request,
    Response,
    file,
    get,
    go_to,
    page,
    post,
    shared,
)
from lubberline.web.shelf import digest_of

SAMPLE = """\
id = "{name}"
title = "A new scene"
aim = "What the class should understand after it."
watch = "What to watch for."

[start]
latitude_deg = 45.0
heading_deg = 90.0

[[event]]
at_s = 0.0
do = {{ do = "reference", true = true }}
caption = "The card reads what it was set to."

[[event]]
at_s = 10.0
do = {{ do = "pace", factor = 60.0 }}

[[event]]
at_s = 900.0
do = {{ do = "pause", on = true }}
caption = "Nobody touched it."

[[claim]]
at_s = 900.0
name = "shown.error_deg"
low = -3.3
high = -2.9
"""
_ID = re.compile(r'^id\s*=\s*("[^"\n]*"|\'[^\'\n]*\')', re.MULTILINE)


def _library(request: Request) -> Library:
    return shared(request).shelves.scenes_now()


def _words(scene: Scene) -> str:
    """What a scene is found by, beside what is printed of it."""
    entry = scene.entry
    captions = [event.caption for event in entry.event]
    return " ".join(
        (entry.id, entry.watch, entry.ask, *captions, *(step.entry.title for step in scene.steps))
    )


def show(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /scenes: the school's own first, then the tour, then the others in the order of their names."""
    library, shelves = _library(request), shared(request).shelves
    ordered = sorted(library.items(), key=lambda item: (item[0] not in library.own, not item[1].steps))
    drafts = [one for one in EDITOR.shelf(request).listed() if one.draft or one.name in library.faults]
    return page(
        request,
        "scenes/scenes.html",
        error,
        scenes=[(scene, _words(scene), library.version_of(id)) for id, scene in ordered],
        own=library.own,
        faults={id: fault for id, fault in library.faults.items() if not id.startswith(DRAFT)},
        drafts=drafts,
        checked=last_check(shelves.folder),
        waiting=waiting(shelves.folder),
    )


def check(request: Request, form: Form) -> Response:
    """POST /scenes/all/check: flies what the school's own files claim, if they or the program changed."""
    shelves = shared(request).shelves
    check_files(shelves.folder, library=shelves.scenes_now())
    return go_to("/scenes", "checked", at="#checked")


@lru_cache(maxsize=600)
def _drawn(edition: Edition) -> bytes:
    return picture_of(edition.scene).encode()


def show_picture(request: Request) -> Response:
    """GET /scenes/NAME/picture.svg: drawn once from the engine's frame, and kept; of a draft with '~NAME'."""
    answer = file("picture.svg", _drawn(_library(request).edition(request.path_params["name"])), shown=True)
    answer.headers["cache-control"] = "private, max-age=3600"
    return answer


class Claimed(msgspec.Struct, frozen=True):
    """A claim with the number that was found, and whether it holds; `step` of a tour, from 1."""

    step: int
    claim: Claim
    found: float
    holds: bool


class SceneLook(msgspec.Struct, frozen=True):
    """What the editor shows of a scene.

    Attributes:
        title: of it.
        aim: of it.
        scene: as read.
        claims: each with the number found.
        ends: numbers at the end, with which claims can be written.
        version: of the text, so that its picture is not an earlier one.
    """

    title: str
    aim: str
    scene: Scene
    claims: tuple[Claimed, ...]
    ends: dict[str, float]
    version: str


ENDS = ("shown.indicated_deg", "shown.error_deg", "shown.compass_deg", "shown.gauge_inhg", "shown.rotor_rpm")


def _claimed(step: int, scene: Scene, frames: list[Frame]) -> list[Claimed]:
    broken = dict(broken_claims(scene, frames))
    at = {frame["time_s"]: frame for frame in frames}
    return [
        Claimed(
            step,
            claim,
            broken.get(claim, number_in(at[round(claim.at_s, 3)], claim.name)),
            claim not in broken,
        )
        for claim in scene.entry.claim
    ]


@lru_cache(maxsize=60)
def _looked(name: str, text: str, library: Library) -> SceneLook:
    """The look of a scene, which is flown for it."""
    scene = scene_from_text(f"{name}.toml", text, library.aircraft)
    claims: list[Claimed] = []
    frames: list[Frame] = []
    for step, flown in enumerate((one.scene for one in scene.steps), start=1):
        claims += _claimed(step, flown, run_scene(flown, max(flown.length_s, 1.0)))
    if not scene.steps:
        frames = run_scene(scene, max(scene.length_s, 1.0))
        claims = _claimed(0, scene, frames)
    ends = {path: found for path in ENDS if frames and (found := _found(frames[-1], path)) is not None}
    return SceneLook(scene.entry.title, scene.entry.aim, scene, tuple(claims), ends, digest_of(text))


def _found(frame: Frame, path: str) -> float | None:
    """A number of a frame; None where this instrument has none."""
    with suppress(InputError):
        return number_in(frame, path)
    return None


def _look(request: Request, name: str, text: str) -> Look:
    """A scene beside its text; one of the package is shown as it is."""
    is_given = name in EDITOR.shelf(request).sort.given()
    library = shared(request).shelves.scenes_now()
    is_whole = is_given and text == EDITOR.shelf(request).saved(name)
    faults = () if is_whole else faults_in(name, text, library.aircraft)
    return Look(None if faults else _looked(name, text, library), faults)


def _renamed(text: str, name: str) -> str:
    return _ID.sub(f'id = "{name}"', text, count=1)


EDITOR = Editor(
    "scene", "/scenes", "scenes/edit.html", lambda name: SAMPLE.format(name=name), _look, _renamed
)

PAGE = Page(
    "/scenes",
    "Scenes",
    [
        get("/scenes", show),
        post("/scenes", EDITOR.begin, show, file_bytes=GREATEST_FILE_BYTES),
        post("/scenes/all/check", check, show),
        get("/scenes/{name}/picture.svg", show_picture),
        *EDITOR.routes(".toml"),
    ],
)
