"""Every command and every Python example of docs/how-to.md is run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from lubberline.cli import main

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "docs" / "how-to.md").read_text()
COMMANDS = re.findall(r"^\$ (lubberline .*)$", TEXT, flags=re.MULTILINE)

TRACK = "time_utc,latitude_deg,longitude_deg,altitude_m\n" + "".join(
    f"2026-06-21T09:{k // 60:02d}:{k % 60:02d}Z,{50 + k * 0.0005:.6f},{8 + k * 0.0001:.6f},1500\n"
    for k in range(0, 1500, 5)
)


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that looks like the root of a checkout, to write into freely."""
    (tmp_path / "demo").symlink_to(ROOT / "demo")
    (tmp_path / "track.csv").write_text(TRACK)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("command", COMMANDS)
def test_command_runs(command: str, checkout: Path) -> None:
    assert main(shlex.split(command)[1:]) == 0
    if "--out" in command:
        assert (checkout / "out" / "report.pdf").exists()


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 8


@pytest.mark.usefixtures("checkout")
def test_python_example_runs() -> None:
    example = TEXT.split("```python\n")[1].split("```")[0]
    exec(compile(example, "docs/how-to.md", "exec"), {})
