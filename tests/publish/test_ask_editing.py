"""`lubberline ask` with questions written by hand, other words, retired questions and locked papers."""

import csv
import io
from pathlib import Path

import msgspec
import pytest

from lubberline.cli import main
from lubberline.errors import InputError
from lubberline.questions.bank import model_named
from lubberline.questions.bank_changes import Retired, words_from_text
from lubberline.questions.blueprint import Blueprint, blueprint_from_text
from lubberline.questions.handwritten import is_handwritten, items_from_text
from lubberline.questions.item import Item
from lubberline.questions.papers import assemble

BLUEPRINT = """title = "A short paper"
forms = ["A", "B"]
[[topic]]
name = "wander"
apply = 3
codes = ["W"]
"""
WITH_OWN = BLUEPRINT + "own = 2\n"


def by_hand(title: str, topic: str = "wander", more: str = "") -> str:
    head = f"# {title}\ntopic: {topic}\nlevel: apply\n{more}"
    return f"{head}\nWhy is {title} so?\n\n- [x] by day\n  So.\n- [ ] by night\n  No.\n\n"


def own(*titles: str, topic: str = "wander") -> list[Item]:
    text = "".join(by_hand(title, topic) for title in titles)
    return [record.item for record in items_from_text("own.md", text)]


def read(text: str) -> Blueprint:
    return blueprint_from_text("b.toml", text)


def models_in(items: tuple[Item, ...]) -> list[str]:
    return [item.model for item in items if is_handwritten(item)]


def test_without_rows_for_them_all_stand_at_the_end_of_every_paper():
    for paper in assemble(read(BLUEPRINT), 1, own=own("one", "two", topic="suction")):
        assert [is_handwritten(item) for item in paper.items] == [False] * 3 + [True] * 2
        assert models_in(paper.items) == ["hand-one", "hand-two"]
        assert [item.codes for item in paper.items] == [("W",)] * 3 + [()] * 2


def test_rows_for_them_are_filled_with_other_ones_in_each_paper():
    there = own("one", "two", "three", "four", "five")
    papers = assemble(read(WITH_OWN), 1, own=there)
    used = [name for paper in papers for name in models_in(paper.items)]
    assert [len(models_in(paper.items)) for paper in papers] == [2, 2]
    assert len(set(used)) == 4
    assert all(item.codes == ("W",) for paper in papers for item in paper.items)
    assert papers == assemble(read(WITH_OWN), 1, own=there)
    assert papers != assemble(read(WITH_OWN), 2, own=there)


def test_papers_with_them_are_still_about_equally_hard():
    there = [
        msgspec.structs.replace(item, difficulty=difficulty)
        for item, difficulty in zip(own("one", "two", "three", "four"), (0.4, 0.5, 0.45, 0.5), strict=True)
    ]
    wide = read(WITH_OWN.replace("apply = 3", "apply = 6\nrecall = 1"))
    for seed in range(6):
        one, other = assemble(wide, seed, own=there)
        assert abs(one.difficulty - other.difficulty) <= wide.difficulty_tolerance


def test_too_few_of_them_are_told_with_how_many_it_takes():
    for there in (own("one", "two", "three"), own("a", "b", "c", "d", topic="suction")):
        with pytest.raises(InputError, match="2 in each of 2 forms need 4") as caught:
            assemble(read(WITH_OWN), 1, own=there)
        assert caught.value.where == "blueprint, topic 'wander', own"


def test_total_counts_them():
    assert read("total = 5\n" + WITH_OWN).count == 5
    with pytest.raises(InputError, match="3, but the topics add up to 5"):
        read("total = 3\n" + WITH_OWN)


def test_what_is_retired_is_not_asked():
    plain = assemble(read(BLUEPRINT), 1)
    item, model = plain[0].items[0].id, plain[1].items[1].model
    for seed in range(1, 30):
        papers = assemble(
            read(BLUEPRINT), seed, retired=Retired((model,), (item, "hand-one")), own=own("one", "two")
        )
        asked = [it for paper in papers for it in paper.items]
        assert not [it for it in asked if it.id == item or it.model in (model, "hand-one")]
        assert sum(it.model == "hand-two" for it in asked) == 2
    first = assemble(read(BLUEPRINT), 1, retired=Retired((), (item,)))
    assert item not in [it.id for paper in first for it in paper.items]


def test_other_words_are_printed_where_the_model_is_asked():
    plain = assemble(read(BLUEPRINT), 1)
    old = plain[0].items[0]
    stem = model_named(old.model).words.stem + " Think."
    changed = words_from_text("w.toml", f"[{old.model}]\nstem = '''{stem}'''")
    for before, after in zip(plain, assemble(read(BLUEPRINT), 1, changed=changed), strict=True):
        assert [item.id for item in before.items] == [item.id for item in after.items]
        assert [item.stem.endswith(" Think.") for item in after.items] == [
            item.model == old.model for item in before.items
        ]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("b.toml").write_text(BLUEPRINT)
    Path("own.md").write_text(by_hand("one") + by_hand("two", more="codes: X\n").replace("by night", "never"))
    return tmp_path


def ask(*given: str) -> int:
    return main(["ask", *given])


def test_a_locked_paper_prints_the_same_bytes(folder, capsys):
    assert (
        ask("--blueprint", "b.toml", "--items", "own.md", "--seed", "3", "--out", "out", "--lock", "l.json")
        == 0
    )
    told = capsys.readouterr().out
    assert "Advice: own.md, line 12, option B: 'never': such words" in told
    assert "wrote l.json" in told
    assert {path.name for path in folder.iterdir()} == {"b.toml", "own.md", "out", "l.json"}
    Path("b.toml").unlink()
    Path("own.md").unlink()
    assert ask("--locked", "l.json", "--out", "again") == 0
    for path in (folder / "out").iterdir():
        assert path.read_bytes() == (folder / "again" / path.name).read_bytes()
    rows = list(csv.DictReader(io.StringIO((folder / "again" / "items.csv").read_text("utf-8-sig"))))
    assert [row["model"] for row in rows if row["form"] == "B"][3:] == ["hand-one", "hand-two"]
    assert [row["codes"] for row in rows if row["form"] == "B"][3:] == ["W", "X"]


def test_what_is_left_out_is_told(folder, capsys):
    Path("b.toml").write_text(BLUEPRINT + "own = 1\n")
    Path("own.md").write_text(by_hand("one") + by_hand("two") + by_hand("three", "suction"))
    assert ask("--blueprint", "b.toml", "--items", "own.md", "--out", "out") == 0
    told = capsys.readouterr().out
    assert told.count("is in none of the papers") == 1
    assert "Note: own.md, line 23: 'three' is in none of the papers." in told


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["--blueprint", "b.toml", "--lock", "own.md"], "own.md: the file exists already"),
        (["--blueprint", "b.toml", "--items", "none.md"], "none.md: cannot be read (No such file"),
        (["--blueprint", "b.toml", "--items", "b.toml"], "b.toml, line 1: text before the first title"),
        (["--blueprint", "b.toml", "--words", "own.md"], "own.md, line 2: not valid TOML"),
        (["--blueprint", "b.toml", "--retired", "b.toml"], "b.toml, title: unknown key"),
        (["--blueprint", "b.toml", "--lock", "none/l.json"], "none/l.json: its folder does not exist"),
        (["--locked", "b.toml"], "b.toml: not a file of locked papers"),
        (["--locked", "l.json", "--seed", "0"], "--seed: it cannot be used with locked papers"),
        (["--locked", "l.json", "--items", "own.md"], "--items: it cannot be used with locked papers"),
    ],
)
def test_bad_orders_write_nothing(folder, capsys, given, words):
    before = {path.name for path in folder.iterdir()}
    assert ask(*given, "--out", "out") == 2
    assert words in capsys.readouterr().err
    assert {path.name for path in folder.iterdir()} == before


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("given", [[], ["--blueprint", "b.toml", "--locked", "l.json"]])
def test_one_of_blueprint_and_locked_is_given(given):
    assert ask(*given, "--out", "out") == 2
