"""Runs another program quietly: its output goes to the log, and a failure becomes one message."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from tools.start import causes, paths
from tools.start.console import Stop

LAST_LINES = 8


def run(
    command: Sequence[str | Path],
    what: str,
    on_line: Callable[[str], None] | None = None,
    cwd: Path | None = None,
    settings: Mapping[str, str] | None = None,
) -> list[str]:
    """Run a program to its end and return its output's lines; each also goes to `on_line` as it comes.

    `settings` are set in its environment, over what is there.

    Raises:
        Stop: when the program fails: what failed, the known cause or its last lines, and where the log is.
    """
    paths.LOG.parent.mkdir(parents=True, exist_ok=True)
    lines: list[str] = []
    environment = {**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONUTF8": "1", **(settings or {})}
    with (
        paths.LOG.open("a", encoding="utf-8") as log,
        subprocess.Popen(
            [str(part) for part in command],
            cwd=cwd,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
        ) as process,
    ):
        log.write(f"$ {' '.join(str(part) for part in command)}\n")
        for line in process.stdout or ():
            log.write(line)
            lines.append(line.rstrip())
            if on_line:
                on_line(lines[-1])
    if process.returncode:
        raise Stop(_failure(what, lines))
    return lines


def _failure(what: str, lines: list[str]) -> str:
    cause = causes.explain(lines)
    told = cause or "The last lines of its output:\n" + "\n".join(
        f"    {line}" for line in lines[-LAST_LINES:]
    )
    return f"{what} failed. {told}\nThe whole output is in {paths.LOG}"
