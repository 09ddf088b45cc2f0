"""The mutants of `mutants.toml`, and where in the sources each one's text stands."""

import ast
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PACKAGE = ROOT / "src" / "lubberline"


@dataclass(frozen=True)
class Mutant:
    """A law broken on purpose; fields as in `mutants.toml`."""

    id: str
    room: str
    law: str
    was: str
    now: str
    first: tuple[str, ...]
    folders: tuple[str, ...]

    @property
    def pattern(self) -> re.Pattern[str]:
        """Its text with any spaces and line breaks between the signs."""
        return re.compile(r"\s*".join(map(re.escape, squeezed(self.was))))

    def likely(self) -> list[str]:
        """The modules of tests whose names hold a word of `first`, by the order of the words."""
        modules = [module for folder in self.folders for module in sorted((ROOT / folder).rglob("test_*.py"))]
        named = [module for word in self.first for module in modules if word in module.stem]
        return list(dict.fromkeys(module.relative_to(ROOT).as_posix() for module in named))


def mutants() -> list[Mutant]:
    """All of them, in the order of the file."""
    table = tomllib.loads((HERE / "mutants.toml").read_text(encoding="utf-8"))
    return [
        Mutant(
            **{name: one[name] for name in ("id", "room", "law", "was", "now")},
            first=tuple(one["first"]),
            folders=tuple(one.get("folders", table["folders"][one["room"]])),
        )
        for one in table["mutant"]
    ]


def squeezed(text: str) -> str:
    """A text without its spaces and line breaks."""
    return "".join(text.split())


@cache
def sources() -> dict[Path, str]:
    """The squeezed text of every module of the package."""
    return {path: squeezed(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}


@cache
def _together() -> str:
    return "\0".join(sources().values())


def standing(mutant: Mutant) -> int:
    """How often a mutant's text stands in the package."""
    return _together().count(squeezed(mutant.was))


def place(mutant: Mutant) -> Path:
    """The module in which a mutant's text stands."""
    wanted = squeezed(mutant.was)
    return next(path for path, text in sources().items() if wanted in text)


def holds_kernel_code(module: str, at: int) -> bool:
    """Whether a place of a module's text may be compiled: in a kernel, or a constant that one may read."""
    line = module.count("\n", 0, at) + 1
    for node in ast.parse(module).body:
        if not node.lineno <= line <= (node.end_lineno or node.lineno):
            continue
        if isinstance(node, ast.FunctionDef):
            return any("kernel" in ast.unparse(decorator) for decorator in node.decorator_list)
        if isinstance(node, ast.ClassDef):
            return not any(
                isinstance(part, ast.FunctionDef) and part.lineno <= line <= (part.end_lineno or part.lineno)
                for part in node.body
            )
    return True


def dependents(path: Path) -> set[Path]:
    """A module of the package and all that import it, directly or through others."""
    importers: dict[Path, set[Path]] = {}
    for module in sources():
        for imported in _imported(module):
            importers.setdefault(imported, set()).add(module)
    found, waiting = {path}, [path]
    while waiting:
        for module in importers.get(waiting.pop(), set()) - found:
            found.add(module)
            waiting.append(module)
    return found


@cache
def _imported(module: Path) -> frozenset[Path]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    stems = [PACKAGE.parent / name.replace(".", "/") for name in names if name.startswith("lubberline")]
    candidates = {*(stem.with_suffix(".py") for stem in stems), *(stem / "__init__.py" for stem in stems)}
    return frozenset(candidates & set(sources()))
