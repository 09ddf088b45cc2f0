"""Every command and every Python example of docs/how-to.md and docs/questions.md is run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.questions.assemble import assemble
from lubberline.questions.blueprint import blueprint_from_text

ROOT = Path(__file__).parents[1]
PAGES = {name: (ROOT / "docs" / name).read_text(encoding="utf-8") for name in ("how-to.md", "questions.md")}
COMMANDS = re.findall(r"^\$ (lubberline .*)$", "\n".join(PAGES.values()), flags=re.MULTILINE)

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
        last = "items.csv" if " ask " in command else "report.pdf"
        assert (checkout / "out" / last).exists()


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 10


@pytest.mark.usefixtures("checkout")
@pytest.mark.parametrize("page", PAGES)
def test_python_example_runs(page: str) -> None:
    example = PAGES[page].split("```python\n")[1].split("```")[0]
    exec(compile(example, f"docs/{page}", "exec"), {})


def test_the_blueprint_shown_can_be_used() -> None:
    shown = PAGES["questions.md"].split("```toml\n")[1].split("```")[0]
    papers = assemble(blueprint_from_text("docs/questions.md", shown), 1)
    assert [len(paper.items) for paper in papers] == [12, 12]
