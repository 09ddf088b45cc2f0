"""Nothing hangs on the wording of a sentence: errors are told apart by code, in both languages."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# What an error says to people.
SENTENCES = frozenset({"wrong", "right", "args", "strerror", "detail"})
READS = frozenset(
    ("startswith", "endswith", "partition", "rpartition", "split", "rsplit", "removeprefix", "removesuffix")
) | {"find", "rfind", "index", "count", "match", "search", "fullmatch", "findall"}
# These name the place of a wrong value in their words alone: what is read of them is shown and no more.
WITHOUT_CODE = frozenset({"msgspec.ValidationError", "tomllib.TOMLDecodeError"})


def _is_sentence(node: ast.AST, names: set[str]) -> bool:
    """Whether an expression is what a caught error says."""
    if isinstance(node, ast.Attribute):
        return node.attr in SENTENCES and isinstance(node.value, ast.Name) and node.value.id in names
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("str", "repr"):
        return any(isinstance(one, ast.Name) and one.id in names for one in node.args)
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
        # Such as `str(error).lower()`.
        return _is_sentence(node.func.value, names)
    return False


def _reads(node: ast.AST, names: set[str]) -> bool:
    """Whether something is decided by what an error says."""
    if isinstance(node, ast.Compare):
        return any(_is_sentence(one, names) for one in (node.left, *node.comparators))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in READS:
        return any(_is_sentence(one, names) for one in (node.func.value, *node.args))
    return False


def offenders(source: str) -> Iterator[int]:
    """The lines of a module that decide by an error's words."""
    for handler in ast.walk(ast.parse(source)):
        if not isinstance(handler, ast.ExceptHandler) or handler.name is None or handler.type is None:
            continue
        if ast.unparse(handler.type) in WITHOUT_CODE:
            continue
        for node in ast.walk(handler):
            if _reads(node, {handler.name}):
                yield node.lineno


# An error's words, and a look into them on the same line.
IN_TYPESCRIPT = re.compile(
    r"/[^/\n]+/[a-z]*\.(?:test|exec)\([^)]*\.(?:wrong|right|message|words)\b"
    r"|\.(?:wrong|right|message|words)\)?\s*(?:===|!==|==|!=)\s*[\"'`]\w"
    r"|\.(?:wrong|message|words)\b[^;\n]*\.(?:includes|startsWith|endsWith|indexOf|match|search|split)\("
)


def test_python_goes_by_codes() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / "src").rglob("*.py"))
        for line in offenders(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_typescript_goes_by_codes() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in sorted((ROOT / "frontend" / "src").rglob("*.ts"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if IN_TYPESCRIPT.search(line)
    ]
    assert found == []


@pytest.mark.parametrize(
    "decides",
    [
        "'locked' in str(error)",
        "error.wrong == 'it is closed'",
        "str(error).startswith('no')",
        "error.wrong.startswith('no')",
        "re.search('closed', error.wrong)",
        "'closed' in str(error).lower()",
        "error.right != ''",
    ],
)
def test_what_the_check_finds(decides: str) -> None:
    assert list(offenders(f"try:\n    act()\nexcept InputError as error:\n    told = {decides}\n")) == [4]


def test_what_the_check_leaves() -> None:
    shown = "f'{error.where}: {error.wrong}'", "error.code == 'no-sitting'", "str(error)[:100]"
    for words in shown:
        assert not list(offenders(f"try:\n    act()\nexcept InputError as error:\n    told = {words}\n"))


@pytest.mark.parametrize(
    "line",
    [
        "if (/closed|handed in|over/.test(said.error.wrong)) void look();",
        'if (error.wrong === "it is closed") look();',
        'return event.words.split("; ").some((words) => words.startsWith("set"));',
        'if (error.message.includes("closed")) look();',
    ],
)
def test_what_the_check_finds_in_typescript(line: str) -> None:
    assert IN_TYPESCRIPT.search(line)
