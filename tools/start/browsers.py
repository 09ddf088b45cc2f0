"""Finds an installed Chromium, Chrome or Edge for the browser tests, by name, on three systems."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

NAMES = (
    # Without a window to draw, a page takes far less work.
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "microsoft-edge-stable",
    "msedge",
)
MAC_APPLICATIONS = ("Chromium", "Google Chrome", "Microsoft Edge")
WINDOWS_PLACES = (
    "Chromium/Application/chrome.exe",
    "Google/Chrome/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
WINDOWS_ROOTS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
NONE_FOUND = "No Chromium, Chrome or Edge is installed: the browser tests cannot run here."


def find() -> Path | None:
    """The program of an installed browser, or None. `LUBBERLINE_BROWSER` overrides the search."""
    chosen = os.environ.get("LUBBERLINE_BROWSER")
    if chosen:
        return Path(chosen)
    for name in NAMES:
        found = shutil.which(name)
        if found:
            return Path(found)
    return next((place for place in _usual_places(sys.platform) if place.is_file()), None)


def _usual_places(system: str) -> list[Path]:
    """Where the systems install browsers that are not on the PATH."""
    if system == "darwin":
        roots = [Path("/Applications"), Path.home() / "Applications"]
        return [
            root / f"{name}.app" / "Contents" / "MacOS" / name for root in roots for name in MAC_APPLICATIONS
        ]
    if system == "win32":
        folders = [Path(os.environ[name]) for name in WINDOWS_ROOTS if name in os.environ]
        return [root / place for root in folders for place in WINDOWS_PLACES]
    return []
