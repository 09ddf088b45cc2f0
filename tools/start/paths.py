"""Where things are, on each system, in a checkout and in an unpacked pack."""

from __future__ import annotations

import json
import os
import platform
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ROOT / "tools" / "locks"
VENV = ROOT / ".venv"
STAMP = VENV / "lubberline-stamp.json"
LOG = ROOT / ".lubberline" / "start.log"
WHEELS = ROOT / "wheels"
PACK_NOTE = ROOT / "pack.json"
DEMO_OUT = ROOT / "out" / "demo"


def is_pack() -> bool:
    """True in an unpacked pack: everything is installed from the wheels beside start.py."""
    return PACK_NOTE.is_file()


def venv_folder(venv: Path = VENV, system: str = os.name) -> Path:
    """The folder of a virtual environment's programs."""
    return venv / ("Scripts" if system == "nt" else "bin")


def venv_program(name: str, venv: Path = VENV, system: str = os.name) -> Path:
    """A program of a virtual environment, by its name on this system."""
    return venv_folder(venv, system) / (f"{name}.exe" if system == "nt" else name)


def venv_python() -> Path:
    """The environment's Python."""
    return venv_program("python")


def site_packages() -> Path:
    """The environment's folder of installed packages."""
    if os.name == "nt":
        return VENV / "Lib" / "site-packages"
    return VENV / "lib" / f"python{python_version()}" / "site-packages"


def python_version() -> str:
    """The running Python's version as the tables name it, such as 3.11."""
    return f"{sys.version_info.major}.{sys.version_info.minor}"


def system_name() -> str:
    """The running system as the tables name it, such as linux-x86_64, macos-arm64, windows-amd64."""
    system = {"Darwin": "macos"}.get(platform.system(), platform.system().lower())
    return f"{system}-{platform.machine().lower()}"


def pack_system() -> tuple[str, str]:
    """System and Python version that an unpacked pack was made for."""
    note = json.loads(PACK_NOTE.read_text(encoding="utf-8"))
    return note["system"], note["python"]
