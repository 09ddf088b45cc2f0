"""A PDF from a template and data: tagged, reproducible, with the typesetter's own fonts."""

import contextlib
import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from lubberline.errors import InputError
from lubberline.flight.home import Paper
from lubberline.publish.figures.svg import FORBIDDEN


@cache
def _source(templates: tuple[str, ...]) -> bytes:
    folder = files("lubberline.publish") / "typst"
    return b"\n".join(folder.joinpath(name).read_bytes() for name in templates)


def printable(value: Any) -> Any:
    """Texts without the characters that XML forbids, in lists and mappings too."""
    if isinstance(value, str):
        return FORBIDDEN.sub("\ufffd", value)
    if isinstance(value, (list, tuple)):
        return [printable(item) for item in value]
    if isinstance(value, dict):
        return {key: printable(item) for key, item in value.items()}
    return value


SIZES: Mapping[Paper, str] = {"A4": "a4", "Letter": "us-letter"}
HALVES: Mapping[Paper, str] = {"A4": "a5", "Letter": "us-statement"}


def pdf(
    templates: Sequence[str], data: Any, pictures: Mapping[str, str] | None = None, *, paper: Paper = "A4"
) -> bytes:
    """Typeset data with templates from the folder `typst`, in order, as PDF/UA-1.

    Characters missing in these fonts are set in the system's fonts. It has no date: the same data give the
    same bytes.

    Args:
        templates: names of '.typ' files; they read the data from `sys.inputs.data` and each picture under
            its name.
        data: texts and numbers, never read as markup.
        pictures: SVG by name.
        paper: its size, which a template finds under `paper`, and the half of it under `half`.

    Raises:
        InputError: no font has a character of the data, which would be printed as a box.
        typst.TypstError: a template has an error.
    """
    import typst

    source = _source(tuple(templates))
    inputs = {"data": json.dumps(printable(data), ensure_ascii=False), **(pictures or {})}
    inputs |= {"paper": SIZES[paper], "half": HALVES[paper]}

    def compiled(standard: Literal["ua-1"] | None, *, system_fonts: bool) -> bytes:
        made: bytes = typst.compile(
            source,
            format="pdf",
            sys_inputs=inputs,
            ignore_system_fonts=not system_fonts,
            pdf_standards=standard,
        )
        return made

    for system_fonts in (False, True):
        # PDF/UA-1 forbids a character without a glyph; an error in a template is raised again below.
        with contextlib.suppress(typst.TypstError):
            return compiled("ua-1", system_fonts=system_fonts)
    made = compiled(None, system_fonts=True)
    missing = without_glyph("".join(_texts(data)))
    if missing:
        right = "leave them out, or write the words that they stand for"
        raise InputError("the text to be printed", f"no font has the characters {' '.join(missing)}", right)
    return made


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    for inner in (
        value.values() if isinstance(value, dict) else value if isinstance(value, (list, tuple)) else ()
    ):
        yield from _texts(inner)


def without_glyph(text: str) -> list[str]:
    """The characters of a text that neither the typesetter's fonts nor the system's have."""
    return [sign for sign in sorted(set(text)) if not sign.isascii() and not _has_glyph(sign)]


@cache
def _has_glyph(sign: str) -> bool:
    """Whether a page with this character can be set; PDF/UA-1 forbids one without a glyph."""
    import typst

    page = b'#set document(title: "a")\n#set text(lang: "en")\n#sys.inputs.sign'
    try:
        typst.compile(page, format="pdf", sys_inputs={"sign": f"a{sign}"}, pdf_standards="ua-1")
    except typst.TypstError:
        return False
    return True
