"""Whose a log is: what can be said where neither a column nor a line of it names the aircraft."""

from __future__ import annotations

import re
from pathlib import Path

from lubberline.upkeep.records import Log


def doubt_whose(log: Log, log_file: str | Path, aircraft_file: str | Path, aircraft: str) -> str:
    """A sentence for a log that says neither in itself nor by its file's name that it is this aircraft's.

    The name of its file is compared with those of all aircraft files in the folder of this one's.
    """
    written, own = Path(log_file), Path(aircraft_file)
    says_so = any(check.typed.get("aircraft", "").strip() for check in log.checks)
    if says_so or _is_named(written, _plain(own.stem)) or _is_named(written, _plain(aircraft)):
        return ""
    says = f"{written.name} does not say which aircraft it is of"
    right = f"it was judged as the log of {aircraft}. A line '# aircraft = {aircraft}' in it would say so."
    for other in sorted(own.parent.glob("*.toml")):
        if _is_named(written, _plain(other.stem)):
            return f"{says}, and is named as {other.name} is; {right}"
    return f"{says}; {right}"


def _is_named(file: Path, name: str) -> bool:
    return bool(name) and _plain(file.stem).startswith(name)


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.casefold())
