"""The rooms of the front end: pages use what is shared, never each other; a page's style reaches it alone."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
SOURCES = ROOT / "frontend" / "src"
PAGES = SOURCES / "pages"
WEB = ROOT / "src" / "lubberline" / "web"
IMPORTED = re.compile(r"""(?:from|import)\s*\(?\s*["'](\.[^"']+)["']""")
STYLES = re.compile(r"""@import\s+["']([^"']+)["']""")
# Pages without a script and style of their own say nothing, and have those of this one.
PLAIN = "plain"


def name(path: Path) -> str:
    return path.relative_to(SOURCES).as_posix()


def imports(path: Path) -> list[Path]:
    found = (IMPORTED if path.suffix == ".ts" else STYLES).findall(path.read_text(encoding="utf-8"))
    return [(path.parent / one).resolve() for one in found if one.startswith(".")]


def room(path: Path) -> str:
    """The page that a file belongs to; '' for what is shared."""
    return path.relative_to(PAGES).parts[0] if path.is_relative_to(PAGES) else ""


def sources() -> list[Path]:
    return [path for ending in ("ts", "css") for path in sorted(SOURCES.rglob(f"*.{ending}"))]


def test_pages_import_what_is_shared_and_never_another_page() -> None:
    wrong = [
        f"{name(path)} imports {name(other)}"
        for path in sources()
        for other in imports(path)
        if room(other) and room(other) != room(path)
    ]
    assert not wrong, "\n".join(wrong)
    assert len(sources()) > 100


def test_every_import_leads_to_a_file_and_none_in_a_circle() -> None:
    graph = {path: imports(path) for path in sources()}
    missing = [
        f"{name(path)}: {other}" for path, others in graph.items() for other in others if not other.is_file()
    ]
    assert not missing, "\n".join(missing)
    done: set[Path] = set()

    def walk(path: Path, way: tuple[Path, ...]) -> None:
        assert path not in way, " -> ".join(name(one) for one in (*way[way.index(path) :], path))
        if path not in done:
            for other in graph.get(path, []):
                walk(other, (*way, path))
            done.add(path)

    for path in graph:
        walk(path, ())


def test_a_page_loads_its_own_style_and_scripts_load_no_other() -> None:
    wrong = []
    for path in SOURCES.rglob("*.ts"):
        for one in re.findall(r"""import\s+["']([^"']+\.css)["']""", path.read_text(encoding="utf-8")):
            if (one, path.name, path.parent.parent) != ("./style.css", "main.ts", PAGES):
                wrong.append(f"{name(path)} imports {one}")
    for folder in PAGES.iterdir():
        has = (folder / "style.css").is_file()
        if has and 'import "./style.css";' not in (folder / "main.ts").read_text(encoding="utf-8"):
            wrong.append(f"{name(folder)} does not load its style")
        if any(folder.rglob("*.css")) and not has:
            wrong.append(f"{name(folder)} has sheets, but no style.css")
    assert not wrong, "\n".join(wrong)


def scripts() -> dict[str, set[str]]:
    """By name of a page's script and style, the folders of the templates that ask for it."""
    found: dict[str, set[str]] = {}
    for path in WEB.rglob("*.html"):
        for one in re.findall(r"{% block script %}([^{]*?){% endblock %}", path.read_text(encoding="utf-8")):
            if one:
                found.setdefault(one, set()).add(path.parent.name)
    # Where it is one of two, as on the page of a refusal, the other is none.
    return found


def test_each_style_reaches_the_pages_of_one_folder() -> None:
    asked = scripts()
    folders = {path.name for path in PAGES.iterdir()}
    assert set(asked) == folders
    shared = {one: rooms for one, rooms in asked.items() if one != PLAIN and len(rooms) > 1}
    assert not shared


def test_a_document_loads_the_common_style_and_its_own_and_nothing_more() -> None:
    loaded = {
        path.relative_to(WEB).as_posix(): found
        for path in WEB.rglob("*.html")
        if (found := re.findall(r"/static/([^\"]*)", path.read_text(encoding="utf-8")))
    }
    own = ["{{ script }}.css", "{% block script %}{% endblock %}.js"]
    assert loaded == {"templates/document.html": ["base.css", *own]}
