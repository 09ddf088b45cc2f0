"""The README's sample is what the command prints, to the last figure but one."""

import re
from pathlib import Path

import pytest

from tools.write import readme

NUMBER = re.compile(r"[-+]?\d+\.\d+")
# Other processors round differently; what is printed to 0.01 may differ by a few of those.
TOLERANCE = 0.05


def test_sample_is_what_a_run_prints() -> None:
    sample, run = readme.block(readme.README.read_text(encoding="utf-8")), readme.flown_text()
    assert NUMBER.sub("#", sample) == NUMBER.sub("#", run), "run tools/write/readme.py"
    written = [float(number) for number in NUMBER.findall(sample)]
    assert written == pytest.approx([float(number) for number in NUMBER.findall(run)], abs=TOLERANCE)


def test_documents_that_anything_names_are_there() -> None:
    root = Path(readme.ROOT)
    looked = [root / name for name in ("README.md", "CONTRIBUTING.md", "start.py")]
    looked += [
        path
        for room in ("src", "tools", "tests", "benchmarks", "docs", "demo", "frontend/src")
        for path in (root / room).rglob("*")
    ]
    named = {
        name: path
        for path in looked
        if path.suffix in {".md", ".py", ".ts", ".toml", ".html"} and "node_modules" not in path.parts
        for name in re.findall(r"\bdocs/[\w/-]+\.md", path.read_text(encoding="utf-8"))
    }
    assert len(named) > 20
    assert {name: str(path) for name, path in named.items() if not (root / name).exists()} == {}


def test_files_that_the_readme_names_are_there() -> None:
    root = Path(readme.ROOT)
    named = re.findall(r"`([\w./]+\.(?:md|toml|py))`", readme.README.read_text(encoding="utf-8"))
    named += re.findall(r"\]\(([\w./]+)\)", readme.README.read_text(encoding="utf-8"))
    assert "start.py" in named or "CONTRIBUTING.md" in named
    assert [name for name in named if not (root / name).exists()] == []
