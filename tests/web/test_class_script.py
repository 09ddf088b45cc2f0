"""The script of the page on a phone: small, and of a syntax that old phones know."""

import gzip
import re

import pytest

from lubberline.web.kit import STATIC

# Of 2020 and later: optional chaining, nullish coalescing, private members, logical assignment.
NEWER = re.compile(r"\?\.[A-Za-z_$\[(]|\?\?|this\.#|\|\|=|&&=")


def parts(name: str, found: dict[str, str]) -> dict[str, str]:
    """A script and all that it brings along."""
    if name not in found:
        found[name] = (STATIC / name).read_text(encoding="utf-8")
        for other in re.findall(r"from\s*\"\./([\w-]+\.js)\"", found[name]):
            parts(other, found)
    return found


def test_the_phones_script_is_small_and_old_enough():
    if not (STATIC / "class.js").is_file():
        pytest.skip("the pages are not built: python -m tools.start.pages")
    scripts = parts("class.js", {})
    assert {"class.js", "theme.js"} <= set(scripts)
    assert "bench.js" not in scripts
    assert "cutaway.js" not in scripts
    assert sum(len(gzip.compress(text.encode())) for text in scripts.values()) < 40_000
    # Words in quotes may hold anything.
    quoted = re.compile(r"`(?:[^`\\]|\\.)*`|\"(?:[^\"\\]|\\.)*\"")
    bare = {name: quoted.sub("", text) for name, text in scripts.items()}
    assert {name: NEWER.findall(text) for name, text in bare.items()} == {name: [] for name in bare}
