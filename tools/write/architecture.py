"""Draws the rooms of `src/lubberline` with their imports, and lists them, in `docs/developers/`.

python -m tools.write.architecture
"""

import ast
import re
from pathlib import Path

from benchmarks.tree_size import imported, module_of

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "lubberline"
DOCUMENT = ROOT / "docs" / "developers" / "architecture.md"
PICTURE = DOCUMENT.with_name("rooms.svg")
BEGIN, END = "<!-- rooms: written by tools/write/architecture.py -->\n", "<!-- end of rooms -->\n"
# From the top floor down: a room imports from lower floors only (pyproject.toml holds it to that).
FLOORS = (
    ("commands",),
    ("web",),
    ("publish", "store"),
    ("classroom", "upkeep"),
    ("questions",),
    ("simulation",),
    ("instruments",),
    ("flight",),
    ("earth",),
)
WIDE, HIGH, BOX_WIDE, BOX_HIGH, GAP = 520, 62, 150, 34, 40


def rooms() -> dict[str, set[str]]:
    """Each room, with the rooms that it imports from."""
    paths = sorted(PACKAGE.rglob("*.py"))
    names = {module_of(path, PACKAGE) for path in paths}
    found: dict[str, set[str]] = {name: set() for floor in FLOORS for name in floor}
    for path in paths:
        name = module_of(path, PACKAGE)
        room = name.split(".")[1] if "." in name else ""
        if room in found:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            others = imported(tree, name, path.stem == "__init__", names)
            found[room] |= {other.split(".")[1] for other in others if "." in other} & set(found) - {room}
    return found


def direct(uses: dict[str, set[str]]) -> list[tuple[str, str]]:
    """The arrows that no chain of other arrows tells already."""

    def below(room: str) -> set[str]:
        return uses[room] | {far for near in uses[room] for far in below(near)}

    return [
        (room, other)
        for room in uses
        for other in sorted(uses[room])
        if not any(other in below(third) for third in uses[room] - {other})
    ]


def picture(uses: dict[str, set[str]]) -> str:
    """The rooms, floor by floor, as SVG."""
    at = {
        name: (WIDE / 2 + (column - (len(floor) - 1) / 2) * (BOX_WIDE + GAP), 30 + row * HIGH)
        for row, floor in enumerate(FLOORS)
        for column, name in enumerate(floor)
    }
    lines = []
    for room, other in direct(uses):
        (x1, y1), (x2, y2) = at[room], at[other]
        lines.append(
            f'<line x1="{x1:g}" y1="{y1 + BOX_HIGH / 2:g}" x2="{x2:g}" y2="{y2 - BOX_HIGH / 2 - 2:g}"/>'
        )
    boxes = [
        f'<rect x="{x - BOX_WIDE / 2:g}" y="{y - BOX_HIGH / 2:g}" '
        f'width="{BOX_WIDE}" height="{BOX_HIGH}" rx="4"/>'
        f'<text x="{x:g}" y="{y + 5:g}">{name}</text>'
        for name, (x, y) in at.items()
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH * len(FLOORS)}" role="img">\n'
        "<title>The rooms of Lubberline: each imports from those below it</title>\n"
        "<style>rect{fill:#f4f1ea;stroke:#444}text{font:15px sans-serif;text-anchor:middle;fill:#222}"
        "line{stroke:#666;stroke-width:1.5;marker-end:url(#tip)}</style>\n"
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" '
        'orient="auto"><path d="M0,0L8,4L0,8z" fill="#666"/></marker></defs>\n'
        '<rect width="100%" height="100%" style="fill:#fff;stroke:none"/>\n'
        + "\n".join([*lines, *boxes])
        + "\n</svg>\n"
    )


def table(uses: dict[str, set[str]]) -> str:
    """Each room: what it holds, as it says itself, and what it imports from."""
    rows = ["| room | holds | imports from |", "|---|---|---|"]
    for room, others in uses.items():
        says = (
            ast.get_docstring(ast.parse((PACKAGE / room / "__init__.py").read_text(encoding="utf-8"))) or ""
        )
        rows.append(f"| `{room}` | {says.splitlines()[0]} | {', '.join(sorted(others)) or 'none'} |")
    return "\n".join(rows) + "\n"


def page() -> str:
    """The document with its table of today."""
    text = DOCUMENT.read_text(encoding="utf-8")
    return re.sub(f"(?<={BEGIN}).*?(?={END})", lambda _: table(rooms()), text, flags=re.DOTALL)


if __name__ == "__main__":
    DOCUMENT.write_text(page(), encoding="utf-8")
    PICTURE.write_text(picture(rooms()), encoding="utf-8")
