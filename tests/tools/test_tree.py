"""The tree keeps its own rules: sizes, names, one-way imports, docstrings."""

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCES = sorted((ROOT / "src").rglob("*.py"))
TOOLS = sorted((ROOT / "tools" / "start").glob("*.py"))
MODULE_LINES_MAX = 450
FUNCTION_LINES_MAX = 100
DRAWERS = {"utils", "util", "helpers", "helper", "manager", "common", "misc"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def functions(path: Path) -> Iterator[Function]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, Function):
            yield node


def public_definitions(body: list[ast.stmt]) -> Iterator[Function | ast.ClassDef]:
    """Public functions and classes of a module, and the public methods of those classes."""
    for node in body:
        if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public_definitions(node.body)


def test_there_are_sources_to_look_at() -> None:
    assert len(SOURCES) > 50


def too_large(path: Path) -> Iterator[str]:
    """A module that is too long, and its functions that are."""
    lines = len(path.read_text(encoding="utf-8").splitlines())
    if lines > MODULE_LINES_MAX:
        yield f"{named(path)}: {lines} lines; does it still hold one subject?"
    for node in functions(path):
        length = (node.end_lineno or node.lineno) - node.lineno + 1
        if length > FUNCTION_LINES_MAX:
            yield f"{named(path)}: {node.name} has {length} lines"


def bare(path: Path) -> Iterator[str]:
    """Public definitions without a docstring."""
    # A setter speaks through its property; an overload through the function that follows it.
    for node in public_definitions(ast.parse(path.read_text(encoding="utf-8")).body):
        if not ast.get_docstring(node):
            yield f"{named(path)}: {node.name} has no docstring"


def test_modules_are_small_and_their_functions_short() -> None:
    assert [one for path in [*SOURCES, *TOOLS] for one in too_large(path)] == []


def test_every_public_definition_has_a_docstring() -> None:
    assert [one for path in SOURCES for one in bare(path)] == []


def test_no_module_or_folder_is_a_drawer_for_everything() -> None:
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    ).stdout.split("\n")
    names = {Path(part).stem for line in tracked for part in Path(line).parts}
    names |= {part.stem for part in SOURCES}
    assert not names & DRAWERS


def test_rooms_import_one_way_and_kernels_know_no_files_clock_or_web() -> None:
    lint_imports = Path(sys.executable).parent / ("lint-imports.exe" if os.name == "nt" else "lint-imports")
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(
        [lint_imports, "--no-cache"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout
    assert "4 kept, 0 broken" in done.stdout
