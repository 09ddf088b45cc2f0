"""The school's own words for what its class reads, in files that are edited here."""

from lubberline.simulation.live.parts import PARTS
from lubberline.simulation.words import words_from_text
from lubberline.web.editor import Editor, Look
from lubberline.web.kit import Request

SAMPLE = """\
# Own names of parts, and own wordings of wrong ideas, by their ids; own terms.

[parts]
card = "compass card"

[ideas]

# The program's terms, as its questions, corrections and captions have them.
[terms]
"""


def _look(request: Request, name: str, text: str) -> Look:
    words = words_from_text(f"{name}.toml", text)
    return Look([*words.parts.items(), *words.ideas.items(), *words.terms.items()])


EDITOR = Editor(
    "words",
    "/school/words",
    "school/words.html",
    lambda _: SAMPLE,
    _look,
    title="Own words",
    about="The class’s own words, in its own language, for parts, wrong ideas and terms",
    given={"parts": PARTS},
)
ROUTES = [*EDITOR.list_routes(), *EDITOR.routes(".toml")]
