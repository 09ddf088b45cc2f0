"""Write `tools/locks/`: one hash-checked lock for Python 3.11 to 3.14 and three systems, and its sizes.

    python tools/write/lock.py

needs `uv` and, for the front end's size, `npm` on the PATH. One resolution of pyproject.toml is written
out as requirements files that plain pip reads:

- `run.txt`: what the program needs; `test.txt`: that and the test tools;
- `build.txt`: the build backend; `node.txt`: Node.js from a Python wheel, where the system has none.

`sizes.json` says how many bytes each is on each system, so that `start.py` can say it first, and which
packages have no wheel there. No file names a registry's host.
"""

import json
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.tags import Tag, compatible_tags, cpython_tags, mac_platforms
from packaging.utils import parse_wheel_filename

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ROOT / "tools" / "locks"
PYTHONS = ((3, 11), (3, 12), (3, 13), (3, 14))
EXPORTS = {
    "run": ["--no-default-groups"],
    "test": ["--no-default-groups", "--group", "test"],
    "build": ["--only-group", "build"],
    "node": ["--only-group", "node"],
}
HEADER = "# Written by tools/write/lock.py; edit pyproject.toml and run that again.\n"


def _linux(machine: str) -> list[str]:
    """Platform tags of a system with glibc 2.34, newest first."""
    tags = [f"manylinux_2_{minor}_{machine}" for minor in range(34, 4, -1)]
    return [*tags, f"manylinux2014_{machine}", f"manylinux2010_{machine}", f"manylinux1_{machine}"]


# The names are those that tools/start/sizes.py forms from the running system.
SYSTEMS: dict[str, dict[str, Any]] = {
    "linux-x86_64": {"tags": _linux("x86_64"), "sys_platform": "linux", "npm": ("linux", "x64")},
    "linux-aarch64": {"tags": _linux("aarch64"), "sys_platform": "linux", "npm": ("linux", "arm64")},
    "macos-arm64": {
        "tags": list(mac_platforms((14, 0), "arm64")),
        "sys_platform": "darwin",
        "npm": ("darwin", "arm64"),
    },
    "macos-x86_64": {
        "tags": list(mac_platforms((14, 0), "x86_64")),
        "sys_platform": "darwin",
        "npm": ("darwin", "x64"),
    },
    "windows-amd64": {"tags": ["win_amd64"], "sys_platform": "win32", "npm": ("win32", "x64")},
}


def _tags(python: tuple[int, int], platforms: list[str]) -> list[Tag]:
    interpreter = f"cp{python[0]}{python[1]}"
    return [
        *cpython_tags(python, platforms=platforms),
        *compatible_tags(python, interpreter=interpreter, platforms=platforms),
    ]


def _environment(python: tuple[int, int], sys_platform: str) -> dict[str, str]:
    version = f"{python[0]}.{python[1]}"
    return {
        "python_version": version,
        "python_full_version": f"{version}.0",
        "sys_platform": sys_platform,
        "platform_system": {"linux": "Linux", "darwin": "Darwin", "win32": "Windows"}[sys_platform],
        "os_name": "nt" if sys_platform == "win32" else "posix",
        "implementation_name": "cpython",
        "platform_python_implementation": "CPython",
    }


def _pinned(text: str) -> Iterator[Requirement]:
    for line in text.splitlines():
        if line and not line.startswith(("#", " ")):
            yield Requirement(line.removesuffix("\\").strip())


def _wheels(lock: dict[str, Any]) -> dict[tuple[str, str], list[tuple[str, int]]]:
    """File names and sizes of the wheels of each package and version."""
    return {
        (package["name"], package["version"]): [
            (wheel["url"].rsplit("/", 1)[1], wheel["size"]) for wheel in package.get("wheels", [])
        ]
        for package in lock["package"]
        if "version" in package
    }


def _chosen(wheels: list[tuple[str, int]], tags: list[Tag]) -> int | None:
    """Size of the wheel that pip would take: the one with the first tag in order of preference."""
    rank = {tag: place for place, tag in enumerate(tags)}
    fitting = []
    for name, size in wheels:
        places = [rank[tag] for tag in parse_wheel_filename(name)[3] if tag in rank]
        if places:
            fitting.append((min(places), size))
    return min(fitting)[1] if fitting else None


def _total(
    text: str, lock: dict[str, Any], python: tuple[int, int], system: dict[str, Any]
) -> dict[str, Any]:
    tags = _tags(python, system["tags"])
    environment = _environment(python, system["sys_platform"])
    known = _wheels(lock)
    total, missing = 0, []
    for pin in _pinned(text):
        if pin.marker and not pin.marker.evaluate(environment):
            continue
        version = next(iter(pin.specifier)).version
        size = _chosen(known[pin.name, version], tags)
        if size is None:
            missing.append(pin.name)
        else:
            total += size
    return {"bytes": total, "missing": missing}


def _npm_bytes(system: tuple[str, str]) -> int:
    """Bytes that `npm ci` brings to an empty cache for that system."""
    npm = shutil.which("npm")
    if npm is None:
        sys.exit("npm is not on the PATH; the size of the front end's packages cannot be measured.")
    with tempfile.TemporaryDirectory() as scratch:
        for name in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copy(ROOT / "frontend" / name, scratch)
        cache = Path(scratch, "cache")
        quiet = ["--ignore-scripts", "--no-audit", "--no-fund", "--silent", "--cache", str(cache)]
        subprocess.run([npm, "ci", *quiet, "--os", system[0], "--cpu", system[1]], cwd=scratch, check=True)
        return sum(
            part.stat().st_size for part in (cache / "_cacache" / "content-v2").rglob("*") if part.is_file()
        )


def _resolve() -> tuple[dict[str, Any], dict[str, str]]:
    uv = shutil.which("uv")
    if uv is None:
        sys.exit("uv is not on the PATH; 'pip install uv' brings it.")
    with tempfile.TemporaryDirectory() as scratch:
        shutil.copy(ROOT / "pyproject.toml", scratch)
        subprocess.run([uv, "lock", "--quiet"], cwd=scratch, check=True)
        lock = tomllib.loads(Path(scratch, "uv.lock").read_text(encoding="utf-8"))
        plain = [uv, "export", "--quiet", "--frozen", "--no-header", "--no-annotate", "--no-emit-project"]
        texts = {
            name: subprocess.run(
                [*plain, *chosen], cwd=scratch, check=True, capture_output=True, encoding="utf-8"
            ).stdout
            for name, chosen in EXPORTS.items()
        }
    return lock, texts


def main() -> None:
    lock, texts = _resolve()
    LOCKS.mkdir(exist_ok=True)
    for name, text in texts.items():
        (LOCKS / f"{name}.txt").write_text(HEADER + text, encoding="utf-8", newline="\n")
    sizes: dict[str, dict[str, Any]] = {
        name: {
            "npm": _npm_bytes(system["npm"]),
            **{
                f"{python[0]}.{python[1]}": {
                    part: _total(text, lock, python, system) for part, text in texts.items()
                }
                for python in PYTHONS
            },
        }
        for name, system in SYSTEMS.items()
    }
    (LOCKS / "sizes.json").write_text(json.dumps(sizes, indent=1) + "\n", encoding="utf-8", newline="\n")
    for name, system in sizes.items():
        for version, parts in system.items():
            if version != "npm" and any(part["missing"] for part in parts.values()):
                print(f"{name}, Python {version}: no wheel for", {k: v["missing"] for k, v in parts.items()})


if __name__ == "__main__":
    main()
