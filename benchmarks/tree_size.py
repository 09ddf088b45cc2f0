"""The size of the tree: files, statements, lines, names, one-use modules, the largest pieces.

    python benchmarks/tree_size.py [SRC]

prints one line a figure for `src/lubberline` (or another checkout's), so that two states of the
tree can be laid side by side. It reads the files and runs none of them.
"""

import ast
import sys
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def module_of(path: Path, package: Path) -> str:
    """The dotted name under which a file is imported."""
    parts = path.relative_to(package.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(tree: ast.Module, name: str, is_package: bool, names: set[str]) -> set[str]:
    """The modules of the package that a module imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = name.split(".")[: len(name.split(".")) - node.level + int(is_package)]
                base = ".".join([*above, *([base] if base else [])])
            found |= {f"{base}.{alias.name}" for alias in node.names} | {base}
    return {one for one in found if one in names}


def docstring_lines(tree: ast.Module) -> int:
    """The lines that docstrings take."""
    lines = 0
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0] if node.body else None
            if (
                isinstance(first, ast.Expr)
                and isinstance(first.value, ast.Constant)
                and isinstance(first.value.value, str)
            ):
                lines += (first.end_lineno or first.lineno) - first.lineno + 1
    return lines


def public_names(tree: ast.Module) -> int:
    """Public functions, classes, constants and methods that a module defines."""
    count = 0
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            count += not node.name.startswith("_")
            if isinstance(node, ast.ClassDef):
                count += sum(
                    isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef)
                    and not inner.name.startswith("_")
                    for inner in node.body
                )
        elif isinstance(node, ast.Assign):
            count += sum(isinstance(t, ast.Name) and not t.id.startswith("_") for t in node.targets)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            count += not node.target.id.startswith("_")
    return count


def main(source: Path) -> None:
    """Print the figures."""
    package = source / "lubberline"
    paths = sorted(package.rglob("*.py"))
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in paths}
    names = {module_of(path, package) for path in paths}
    users: dict[str, set[str]] = defaultdict(set)
    for path, tree in trees.items():
        name = module_of(path, package)
        for other in imported(tree, name, path.stem == "__init__", names):
            if other != name:
                users[other].add(name)
    text = {path: path.read_text(encoding="utf-8").splitlines() for path in paths}
    lines = sum(map(len, text.values()))
    statements = sum(isinstance(node, ast.stmt) for tree in trees.values() for node in ast.walk(tree))
    docs = sum(map(docstring_lines, trees.values()))
    written = [line for all_lines in text.values() for line in all_lines if line.strip()]
    functions = [
        ((node.end_lineno or 0) - node.lineno + 1, f"{path.relative_to(package)}:{node.name}")
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]
    one_use = sorted(
        name
        for path in paths
        if path.stem not in {"__init__", "__main__"} and len(users[name := module_of(path, package)]) == 1
    )
    print(f"modules                 {len(paths)}")
    print(f"  of them __init__      {sum(path.stem == '__init__' for path in paths)}")
    print(f"lines                   {lines}")
    print(f"statements              {statements}")
    print(f"docstring share         {docs / lines:.3f}")
    print(f"mean length of a line   {sum(map(len, written)) / len(written):.1f}")
    print(f"public names            {sum(map(public_names, trees.values()))}")
    print(f"one-use modules         {len(one_use)}")
    print("largest function        {} lines, {}".format(*max(functions)))
    print(
        "largest module          {} lines, {}".format(
            *max((len(t), p.relative_to(package)) for p, t in text.items())
        )
    )
    if "--list" in sys.argv:
        for name in one_use:
            print(name, "<-", *users[name])


if __name__ == "__main__":
    given = [word for word in sys.argv[1:] if not word.startswith("--")]
    main(Path(given[0]) if given else ROOT / "src")
