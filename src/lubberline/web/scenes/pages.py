"""The page of the scenes, and the small picture of each."""

from functools import cache

from lubberline.publish.figures.scene_pictures import picture_of
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.scenes import library, scene_named
from lubberline.web.kit import Page, Request, Response, file, get, page


def _words(scene: Scene) -> str:
    """What a scene is found by, beside what is printed of it."""
    entry = scene.entry
    captions = [event.caption for event in entry.event]
    return " ".join(
        (entry.id, entry.watch, entry.ask, *captions, *(step.entry.title for step in scene.steps))
    )


def show(request: Request) -> Response:
    """GET /scenes: the tour first, then the scenes in the order of their names."""
    ordered = sorted(library().values(), key=lambda scene: not scene.steps)
    return page(request, "scenes/scenes.html", scenes=[(scene, _words(scene)) for scene in ordered])


@cache
def _drawn(id: str) -> bytes:
    return picture_of(scene_named(id)).encode()


def show_picture(request: Request) -> Response:
    """GET /scenes/NAME/picture.svg: drawn once from the engine's frame, and kept."""
    answer = file("picture.svg", _drawn(request.path_params["scene"]), shown=True)
    answer.headers["cache-control"] = "private, max-age=3600"
    return answer


PAGE = Page(
    "/scenes",
    "Scenes",
    [get("/scenes", show), get("/scenes/{scene}/picture.svg", show_picture)],
)
