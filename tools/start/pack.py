"""`start.py pack`: one zip that installs with no network, git or Node."""

from __future__ import annotations

import json
import shutil
import tempfile
import zipfile
from pathlib import Path

from tools.start import paths
from tools.start.commands import run
from tools.start.console import Stop, megabytes, say
from tools.start.environment import PIP, prepare

CARRIED = (
    "start.py",
    "README.md",
    "LICENSE",
    "tools/start",
    "tools/__init__.py",
    "demo",
    "tools/locks/run.txt",
    "tools/locks/sizes.json",
)


def make(out: Path) -> Path:
    """Write the pack for this system and this Python into the folder, and return its path.

    Raises:
        Stop: in a pack, or when a wheel is not available.
    """
    if paths.is_pack():
        raise Stop("This is already a pack; copy the zip that it came from.")
    try:
        out.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=out).close()
    except OSError as error:
        raise Stop(f"{out}: {error.strerror}. Name a folder that can be written to.") from None
    prepare()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        _wheels(folder / "wheels")
        ours = next((folder / "wheels").glob("lubberline-*.whl"))
        version = ours.name.split("-")[1]
        _copy(folder)
        note = {"system": paths.system_name(), "python": paths.python_version(), "version": version}
        (folder / paths.PACK_NOTE.name).write_text(json.dumps(note) + "\n", encoding="utf-8")
        name = f"lubberline-{version}-{note['system']}-python{note['python']}"
        path = _zip(folder, out, name)
    say(f"{path}: {megabytes(path.stat().st_size)}. Unpack it anywhere and run 'python3 start.py' in it.")
    return path


def _wheels(folder: Path) -> None:
    say("Collecting the locked wheels for this system.")
    lock = ("--require-hashes", "--requirement", str(paths.LOCKS / "run.txt"))
    strict = ("download", "--only-binary", ":all:", "--no-deps", "--dest", str(folder))
    run([paths.venv_python(), *PIP, *strict, *lock], "Collecting the wheels")
    say("Building Lubberline's own wheel.")
    build = ("wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(folder), str(paths.ROOT))
    run([paths.venv_python(), *PIP, *build], "Building Lubberline's wheel")


def _copy(folder: Path) -> None:
    for name in CARRIED:
        source, target = paths.ROOT / name, folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy2(source, target)


def _zip(folder: Path, out: Path, name: str) -> Path:
    """Zip the folder under one top folder; the file appears only when it is complete."""
    unfinished = out / f"{name}.zip.part"
    try:
        with zipfile.ZipFile(unfinished, "w") as archive:
            for path in sorted(folder.rglob("*")):
                if path.is_file():
                    # Wheels are compressed already.
                    how = zipfile.ZIP_STORED if path.suffix == ".whl" else zipfile.ZIP_DEFLATED
                    archive.write(path, f"{name}/{path.relative_to(folder).as_posix()}", how)
        return unfinished.replace(out / f"{name}.zip")
    finally:
        unfinished.unlink(missing_ok=True)
