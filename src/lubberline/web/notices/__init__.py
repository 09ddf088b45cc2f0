"""The notices page: the libraries in the pages, and their licences."""

from starlette.requests import Request
from starlette.responses import Response

from lubberline.web.kit import STATIC, Page, get, page
from lubberline.web.refusals import Refused

FILE = STATIC / "notices.md"


def show(request: Request) -> Response:
    """GET /notices: the licence of each library that is bundled with the pages.

    Raises:
        Refused: the pages are not built.
    """
    try:
        text = FILE.read_text(encoding="utf-8")
    except OSError:
        raise Refused(404, "notices", "missing from this copy", "build the pages first") from None
    libraries = []
    for one in text.split("\n## ")[1:]:
        name, _, terms = one.partition("\n")
        libraries.append((name, terms.strip().split("\n\n")))
    return page(request, "notices/notices.html", libraries=libraries)


PAGE = Page("/notices", "", [get("/notices", show)])
