"""Every command and every Python example of the instructors' and methods' pages is run."""

import re
import shlex
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.questions.advice import FAULTS, PAPER_FAULTS, advice_on
from lubberline.questions.bank import model_named
from lubberline.questions.bank_changes import read_retired, retired_from_text, words_from_text
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.generate import generate
from lubberline.questions.handwritten import HandwrittenItem, items_from_text, read_items
from lubberline.questions.papers import assemble

ROOT = Path(__file__).parents[1]
# The pages of the records, whose commands need records to work on, are run by tests/store.
PAGES = {
    page.name: page.read_text(encoding="utf-8")
    for page in sorted((ROOT / "docs").glob("[im]*/*.md"))
    if page.name != "records.md"
}
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
        lasts = {"ask": "items.csv", "statistics": "marks.svg", "swing": "card.pdf", "plan": "kneeboard.pdf"}
        lasts["lesson"] = "when_it_fails-handout.pdf"
        last = lasts.get(command.split()[1], "report.pdf")
        assert (checkout / "out" / last).exists()


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 10


EXAMPLES = [
    (name, example.split("```")[0])
    for name, text in PAGES.items()
    for example in text.split("```python\n")[1:]
]


@pytest.mark.usefixtures("checkout")
@pytest.mark.parametrize(("page", "example"), EXAMPLES)
def test_python_example_runs(page: str, example: str) -> None:
    exec(compile(example, f"docs/{page}", "exec"), {})


def shown_in(language: str, place: int) -> str:
    """A block of docs/instructors/questions.md."""
    return PAGES["questions.md"].split(f"```{language}\n")[place + 1].split("```")[0]


def test_the_blueprint_shown_can_be_used() -> None:
    shown = shown_in("toml", 0)
    papers = assemble(blueprint_from_text("docs/instructors/questions.md", shown), 1)
    assert [len(paper.items) for paper in papers] == [12, 12]


def test_the_files_of_an_instructor_shown_can_be_used() -> None:
    (record,) = items_from_text("docs/instructors/questions.md", shown_in("markdown", 0))
    assert advice_on(record.item) == ()
    assert list(words_from_text("docs/instructors/questions.md", shown_in("toml", 1))) == ["wander-rate"]
    retired = retired_from_text("docs/instructors/questions.md", shown_in("toml", 2))
    assert retired.holds(record.item)
    assert retired.holds(generate(model_named("wander-rate"), 1))


def test_every_advice_is_told_of() -> None:
    for fault in (*FAULTS, *PAPER_FAULTS):
        assert f"`{fault}`" in PAGES["questions.md"]


@pytest.mark.parametrize(
    "record", read_items(ROOT / "demo" / "editing" / "questions.md"), ids=lambda r: r.title
)
def test_the_demos_own_questions_follow_the_advice(record: HandwrittenItem) -> None:
    assert advice_on(record.item) == ()


def test_the_demos_retired_question_is_one_of_its_model() -> None:
    retired = read_retired(ROOT / "demo" / "editing" / "retired.toml")
    assert any(retired.holds(generate(model_named("wander-rate"), seed)) for seed in range(200))
