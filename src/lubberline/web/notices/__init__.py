"""The notices page: the libraries in the pages, and their licences."""

from lubberline.web.kit import STATIC, Page, Refused, Request, Response, get, page

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
    told = [one.partition("\n") for one in text.split("\n## ")[1:]]
    libraries = [(name, terms.strip().split("\n\n")) for name, _, terms in told]
    return page(request, "notices/notices.html", libraries=libraries)


PAGE = Page("/notices", "", [get("/notices", show)])
