"""The Lessons pages: written, kept, previewed and printed; nothing lost, nothing led out of the folder."""

from pathlib import Path
from typing import Any

import pytest

from lubberline.errors import InputError
from lubberline.web.app import create_app
from lubberline.web.callers import Door
from lubberline.web.shelf import DRAFTS, Shelf, digest_of
from tests.classroom.test_lessons import LESSON
from tests.web.caller import Caller

FORM = {"content-type": "application/x-www-form-urlencoded"}


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "home" / "lessons")


@pytest.fixture
def call(shelf: Shelf, catalogue: Any) -> Caller:
    app = create_app(catalogue)
    app.state.shared.shelves.by_kind["lesson"] = shelf
    return Caller(app)


def test_the_demos_lessons_stand_there_and_are_previewed(call: Caller, shelf: Shelf) -> None:
    listed = call.get("/lessons")
    assert listed.status_code == 200
    assert listed.text.count(", demo") == 3
    shown = call.get("/lessons/2_wander_and_setting")
    assert shown.status_code == 200
    assert "Why and how far it wanders" in shown.text
    assert "same-wander-everywhere" in shown.text
    assert not shelf.folder.exists()


def test_what_is_written_is_kept_as_a_draft_until_it_is_saved(call: Caller, shelf: Shelf) -> None:
    assert call.post("/lessons", files={"name": (None, "mine")}).headers["location"] == "/lessons/mine"
    half = LESSON.replace("## Say: Welcome", "## Sing: Welcome")
    shown = call.post("/lessons/mine", data={"text": half})
    assert "mine.md, line 6" in shown.text
    assert "no preview until" in shown.text
    assert shelf.draft("mine") == half
    assert shelf.saved("mine") is None
    # Another browser, another day: the draft is there, and stays until it is saved.
    again = call.get("/lessons/mine")
    assert "## Sing: Welcome" in again.text
    assert "unsaved changes" in again.text
    saved = call.post("/lessons/mine/save", data={"text": LESSON, "based": ""})
    assert saved.headers["location"] == "/lessons/mine?done=saved"
    assert (shelf.folder / "mine.md").read_text(encoding="utf-8") == LESSON
    assert shelf.draft("mine") is None
    assert sorted(path.name for path in shelf.folder.iterdir()) == [DRAFTS, "mine.md"]


def test_a_file_changed_meanwhile_is_not_overwritten(call: Caller, shelf: Shelf) -> None:
    shelf.save("mine", LESSON, "")
    based = digest_of(LESSON)
    (shelf.folder / "mine.md").write_text(LESSON + "\n", encoding="utf-8")
    mine = LESSON.replace("Good **morning**.", "Good evening.")
    refused = call.post("/lessons/mine/save", data={"text": mine, "based": based})
    assert refused.status_code == 422
    assert "changed elsewhere" in refused.text
    assert (shelf.folder / "mine.md").read_text(encoding="utf-8") == LESSON + "\n"
    assert shelf.draft("mine") == mine
    other = call.post("/lessons/mine/save", data={"text": mine, "based": based, "as": "another"})
    assert other.headers["location"] == "/lessons/another?done=saved"
    assert shelf.saved("another") == mine
    # A name that is taken by another file is not overwritten either.
    taken = call.post("/lessons/mine/save", data={"text": LESSON + "\n\n", "based": based, "as": "another"})
    assert taken.status_code == 422
    assert "exists already" in taken.text
    assert shelf.saved("another") == mine


def test_a_demo_lesson_is_saved_as_ones_own(call: Caller, shelf: Shelf) -> None:
    demo = shelf.saved("3_when_it_fails")
    assert demo is not None
    changed = demo.replace("Three aeroplanes", "Our aeroplanes")
    call.post("/lessons/3_when_it_fails/save", data={"text": changed, "based": digest_of(demo)})
    assert shelf.saved("3_when_it_fails") == changed
    assert call.get("/lessons").text.count(", demo") == 2
    assert call.get("/teach").text.count("When the instrument or its suction fails") == 1
    shelf.save("mine", LESSON, "")
    assert "A small lesson" in call.get("/teach").text
    begun = call.post(
        "/teach", files={"lesson": (None, "mine"), "group": (None, ""), "new_group": (None, "Evening")}
    )
    assert begun.status_code == 303
    assert "A small lesson" in call.get(begun.headers["location"]).text


def test_changes_that_cannot_be_kept_are_not_dropped(
    call: Caller, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    call.post("/lessons/mine", data={"text": LESSON})

    def full(*_: object) -> None:
        raise InputError("mine.md", "No space left on device", "make room")

    monkeypatch.setattr(Shelf, "keep_draft", full)
    told = call.post("/lessons/mine/drop", data={"text": LESSON + "\nthe last sentence", "based": ""})
    assert told.status_code == 422
    assert "the last sentence" in told.text
    assert shelf.draft("mine") == LESSON


def test_unsaved_changes_are_dropped_only_when_asked(call: Caller, shelf: Shelf) -> None:
    shelf.save("mine", LESSON, "")
    call.post("/lessons/mine", data={"text": LESSON + "\nmore"})
    assert shelf.draft("mine") is not None
    assert call.post("/lessons/mine/drop", data={"text": LESSON + "\nmore"}).status_code == 303
    assert shelf.text("mine") == LESSON
    # Writing back to what was saved leaves no draft.
    call.post("/lessons/mine", data={"text": LESSON})
    assert shelf.draft("mine") is None


def test_a_lesson_comes_in_and_goes_out_as_a_file(call: Caller, shelf: Shelf) -> None:
    sent = call.post(
        "/lessons", files={"name": (None, "given"), "file": ("../../x.md", LESSON.replace("\n", "\r\n"))}
    )
    assert sent.headers["location"] == "/lessons/given"
    assert shelf.draft("given") == LESSON
    taken = call.post("/lessons/given/file.md", data={"text": LESSON})
    assert taken.text == LESSON
    assert taken.headers["content-disposition"] == 'attachment; filename="given.md"'
    wrong = call.post("/lessons", files={"name": (None, "bytes"), "file": ("x.md", b"\xff\xfe")})
    assert wrong.status_code == 422
    assert "UTF-8" in wrong.text
    assert "exists already" in call.post("/lessons", files={"name": (None, "given")}).text


def test_the_sheets_are_printed(call: Caller, shelf: Shelf) -> None:
    shelf.save("mine", LESSON, "")
    assert "handout.pdf" in call.get("/lessons/mine/print").text
    for sheet in ("handout", "instructor"):
        made = call.get(f"/lessons/mine/print/{sheet}.pdf")
        assert made.headers["content-type"] == "application/pdf"
        assert made.content.startswith(b"%PDF")
    assert call.get("/lessons/mine/print/other.pdf").status_code == 404
    shelf.save("wrong", "# x", "")
    assert "wrong.md, line 1" in call.get("/lessons/wrong/print").text


HOSTILE = [
    "../mine", "..%2fmine", "%2e%2e", "a/b", "a%2fb", ".hidden", "a.md", "A", "a b", "é", "x" * 61, "-a",
    "a%00", "a\\b",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_leads_nowhere_else(call: Caller, shelf: Shelf, name: str, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "mine.md").write_text(LESSON, encoding="utf-8")
    for address in (f"/lessons/{name}", f"/lessons/{name}/print", f"/lessons/{name}/print/handout.pdf"):
        found = call.get(address)
        assert found.status_code in (400, 404, 405, 307), address
        assert "A small lesson" not in found.text
    call.post(f"/lessons/{name}/save", data={"text": LESSON})
    call.post(f"/lessons/{name}", data={"text": LESSON})
    plain = name.replace("%2f", "/").replace("%2e", ".").replace("%00", "\x00")
    assert call.post("/lessons", files={"name": (None, plain)}).status_code in (400, 422)
    shelf.save("ok", LESSON, "")
    sent = call.post("/lessons/ok/save", data={"text": LESSON + "\n", "as": plain})
    assert sent.status_code in (422, 303)
    assert {path.name for path in home.iterdir()} == {"mine.md", "lessons"}
    assert (home / "mine.md").read_text(encoding="utf-8") == LESSON
    kept = {path.name for path in shelf.folder.rglob("*") if path.is_file()}
    assert kept <= {"ok.md"}


def test_html_in_a_lesson_is_text_on_its_page(call: Caller, shelf: Shelf) -> None:
    evil = "<script>alert(1)</script>"
    text = LESSON.replace("Good **morning**.", f"{evil} [x](javascript:alert(1))").replace(
        "A small lesson", f"T {evil}"
    )
    text = (
        text.replace("> Smile.", f"> {evil}")
        .replace("What now?", f"What {evil}?")
        .replace("- [x] Higher", f"- [x] {evil}")
    )
    text = text.replace("because: The", f"because: {evil} The")
    for shown in (
        call.post("/lessons/evil", data={"text": text}),
        call.get("/lessons"),
        call.get("/lessons/evil/print"),
    ):
        assert shown.status_code == 200
        assert evil not in shown.text
        assert 'href="javascript' not in shown.text


def test_huge_and_foreign_requests_are_refused(call: Caller, shelf: Shelf) -> None:
    big = "x" * 300_000
    shelf.save("mine", LESSON, "")
    assert "at most 200 kB" in call.post("/lessons/mine", data={"text": big}).text
    assert call.post("/lessons/mine/save", data={"text": big, "based": digest_of(LESSON)}).status_code == 422
    assert call.post("/lessons/mine", data={"text": "é" * 1_000_000}).status_code == 413
    assert (
        call.post("/lessons", files={"name": (None, "big"), "file": ("x.md", b"x" * 900_000)}).status_code
        == 413
    )
    assert (
        call.post(
            "/lessons/mine/save", content=b"{}", headers={"content-type": "application/json"}
        ).status_code
        == 415
    )
    for headers in (
        {"origin": "https://elsewhere.example"},
        {"sec-fetch-site": "cross-site"},
        {"host": "elsewhere.example"},
    ):
        assert call.post("/lessons/mine/save", data={"text": "gone"}, headers=headers).status_code == 403
    assert shelf.saved("mine") == LESSON


def test_a_disk_that_refuses_leaves_the_old_file(
    call: Caller, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf.save("mine", LESSON, "")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("lubberline.web.shelf.os.fsync", full)
    refused = call.post("/lessons/mine/save", data={"text": LESSON + "more", "based": digest_of(LESSON)})
    assert refused.status_code == 422
    assert "No space left" in refused.text
    assert "more" in refused.text
    assert shelf.saved("mine") == LESSON
    assert [path.name for path in shelf.folder.iterdir() if path.is_file()] == ["mine.md"]


def test_phones_in_the_network_do_not_see_lessons(shelf: Shelf, catalogue: Any) -> None:
    app = create_app(catalogue, door=Door(lan=True, names=frozenset({"school.local"})))
    app.state.shared.shelves.by_kind["lesson"] = shelf
    phone = Caller(app)
    for address in ("/lessons", "/lessons/1_how_it_works", "/lessons/1_how_it_works/print/instructor.pdf"):
        seen = phone.get(address, headers={"host": "school.local:8765"})
        assert seen.status_code == 403, address
        assert "heading indicator works" not in seen.text
