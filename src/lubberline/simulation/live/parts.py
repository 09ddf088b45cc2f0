"""The parts of the drawn instrument: the one list of ids and names, and texts that name parts as links."""

import re
from importlib.resources import files
from typing import Final, NamedTuple

import msgspec

from lubberline.errors import check_known

# Id -> name as people read it. Whatever names a part (a label, a text's link, a camera) uses these ids.
PARTS: Final[dict[str, str]] = msgspec.json.decode(
    files("lubberline.simulation.live").joinpath("parts.json").read_bytes(), type=dict[str, str]
)
# A part named in a text, as [the inner gimbal](part:inner-gimbal).
LINK: Final = re.compile(r"\[([^\[\]]+)\]\(part:([^()\s]*)\)")


class Piece(NamedTuple):
    """A piece of a text.

    Attributes:
        text: as people read it.
        part: the id of the part that it names; '' for none.
    """

    text: str
    part: str = ""


def pieces_of(text: str, where: str) -> tuple[Piece, ...]:
    """A text in pieces: what names a part, and what is between.

    Raises:
        InputError: naming `where`, for a part that does not exist.
    """
    pieces, end = [], 0
    for link in LINK.finditer(text):
        check_known(where, "part", link[2], PARTS)
        pieces += [Piece(text[end : link.start()]), Piece(link[1], link[2])]
        end = link.end()
    return tuple(piece for piece in (*pieces, Piece(text[end:])) if piece.text)


def plain_of(text: str) -> str:
    """The same text as people read it, without its links."""
    return LINK.sub(r"\1", text)
