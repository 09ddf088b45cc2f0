"""The page of the stage: any bench or scene, with the instrument as large as the room."""

from lubberline.web.bench.pages import known_causes
from lubberline.web.kit import Page, Request, Response, get, page, shared


def show(request: Request) -> Response:
    """GET /stage: the page; its script reads the bench, scene or state from the address."""
    return page(request, "stage/stage.html", causes=known_causes(), own=shared(request).shelves.words())


PAGE = Page("/stage", "Stage", [get("/stage", show)])
