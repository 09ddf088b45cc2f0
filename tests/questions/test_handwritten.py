"""Items written by hand: what is read, what is refused and where, and that reading undoes writing."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.questions.bank import LEVELS, TOPICS, models
from lubberline.questions.handwritten import PREFIX, items_from_text, read_items, written
from lubberline.questions.slips import mend_of

IDEA = "drift-means-bearings"
GOOD = """# What turns the card

topic: wander
level: recall
codes: HI 3.1, HI 3.2
source: common practice, no source

Look at a perfect gyro
with level wings.

Why does its card move?

- [x] The Earth turns below it.
  The gyro stays;
  the meridian turns.
- [ ] Its bearings wear.
  A perfect gyro has no friction.
  idea: drift-means-bearings
- [ ] It is set too seldom.
  idea: setting-shows-the-fault

## A second item
topic: suction
level: judge
difficulty: 0.75

Is it so?
* [ ] True
  No.
* [X] False
  Yes.
"""


def test_a_file_is_read():
    first, second = items_from_text("own.md", GOOD)
    item = first.item
    assert (first.title, first.line, item.model) == ("What turns the card", 1, "hand-what-turns-the-card")
    assert (item.topic, item.level, item.kind, item.key) == ("wander", "recall", "choice", 0)
    assert item.stem == "Look at a perfect gyro with level wings.\n\nWhy does its card move?"
    assert item.codes == ("HI 3.1", "HI 3.2")
    assert item.reason == item.options[0].feedback == "The gyro stays; the meridian turns."
    assert item.options[1].feedback == "A perfect gyro has no friction."
    assert [option.misconception for option in item.options] == ["", IDEA, "setting-shows-the-fault"]
    assert item.options[2].feedback == mend_of("setting-shows-the-fault")
    assert (second.line, second.item.kind, second.item.key) == (22, "statement", 1)
    assert second.item.difficulty == 0.75
    assert "no source" in second.item.source


def test_no_model_of_the_bank_has_a_name_like_an_item_by_hand():
    assert not [id for id in models() if id.startswith(PREFIX)]


def test_writing_and_reading_again_changes_nothing():
    records = items_from_text("own.md", GOOD)
    again = items_from_text("own.md", written(records))
    assert [(r.title, r.item) for r in again] == [(r.title, r.item) for r in records]
    assert written(again) == written(records)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("- [x] The", "- [ ] The", 1, "no option is marked as the key"),
        ("- [ ] Its", "- [x] Its", 16, "2 options are marked as the key (lines 13 and 16)"),
        ("* [X] False\n  Yes.\n", "", 22, "1 option; write two to 8"),
        ("topic: wander", "topic: wonder", 3, "there is no topic 'wonder'; did you mean 'wander'?"),
        ("topic: wander\n", "", 1, "'topic' is missing"),
        ("level: recall", "level: recal", 4, "did you mean 'recall'?"),
        (f"idea: {IDEA}", "idea: drift-means-bearing", 18, f"did you mean '{IDEA}'?"),
        (f"idea: {IDEA}", f"idea: {IDEA}\n  idea: {IDEA}", 19, "a second idea"),
        ("  the meridian turns.", f"  idea: {IDEA}", 13, "the key has a wrong idea"),
        ("codes: HI 3.1", "code: HI 3.1", 5, "unknown key 'code'; did you mean 'codes'?"),
        ("codes: HI 3.1", "level: apply", 5, "'level' is there already"),
        ("codes: HI 3.1, HI 3.2", "a sentence", 5, "'a sentence' is no line of a head"),
        ("source: common practice, no source", "source:", 6, "'source' has no value"),
        ("# What turns the card", "#", 1, "the title is empty"),
        ("# What turns the card", "# ---", 1, "has no letter"),
        ("# What turns the card", "What turns the card", 1, "text before the first title"),
        ("## A second item", "# What turns the card", 22, "the title is that of line 1"),
        ("Why does its card move?", "- move", 11, "a list entry without a box"),
        ("[ ] Its bearings", "[o] Its bearings", 16, "the box holds 'o'"),
        ("[ ] Its bearings wear.", "[ ]", 16, "the option is empty"),
        ("Its bearings wear.", "the earth turns below it.", 16, "the option is that of line 13"),
        ("  A perfect gyro has", "A perfect gyro has", 17, "belongs to nothing"),
        ("  The gyro stays;\n  the meridian turns.\n", "", 13, "no reason under this option"),
        ("  Yes.\n", "", 30, "no reason under this option"),
        ("difficulty: 0.75", "difficulty: nan", 25, "from 0 (everybody is right) to 1 (nobody)"),
        ("difficulty: 0.75", "difficulty: hard", 25, "difficulty 'hard'"),
        ("difficulty: 0.75", "jurisdiction: QQ", 25, "there is no jurisdiction 'QQ'"),
        ("Is it so?\n", "", 22, "the stem is empty"),
        ("Is it so?", "Is it\x07 so?", 27, "U+0007"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(old, new, line, words):
    assert old in GOOD
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        items_from_text("own.md", GOOD.replace(old, new, 1))
    assert caught.value.where == f"own.md, line {line}"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "there is no item"),
        (b"\xff\xfe#", "UTF-8"),
        (b"#" * 500_001, "too large"),
        (None, "No such file"),
    ],
)
def test_files_that_are_none_are_refused(tmp_path: Path, data: bytes | None, words: str):
    path = tmp_path / "own.md"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(InputError, match=words):
        read_items(path)


def test_marks_of_other_systems_do_no_harm(tmp_path: Path):
    path = tmp_path / "own.md"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert [r.item for r in read_items(path)] == [r.item for r in items_from_text("own.md", GOOD)]


LINES = GOOD.split("\n")


@given(st.lists(st.one_of(st.sampled_from(LINES), st.text(max_size=30)), max_size=40))
def test_any_lines_are_read_or_refused_and_never_crash(lines):
    try:
        records = items_from_text("own.md", "\n".join(lines))
    except InputError:
        return
    assert written(items_from_text("own.md", written(records))) == written(records)


@given(st.integers(0, len(GOOD) - 1), st.integers(0, 12), st.text(max_size=12))
def test_a_good_file_with_one_place_changed_is_read_or_refused(at, length, text):
    try:
        records = items_from_text("own.md", GOOD[:at] + text + GOOD[at + length :])
    except InputError:
        return
    again = items_from_text("own.md", written(records))
    assert [(r.title, r.item) for r in again] == [(r.title, r.item) for r in records]
    for record in records:
        assert record.item.topic in TOPICS
        assert record.item.level in LEVELS
        assert 0 <= record.item.key < len(record.item.options)
