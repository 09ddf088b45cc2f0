"""The Questions pages: read in process, files taken, and used in a browser by hand and without script."""

import io
import json
import re
import tempfile
import zipfile
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from lubberline.publish.papers.answers import key_words
from lubberline.publish.papers.files import contents
from lubberline.questions.bank import TOPICS, models
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.generate import generate
from lubberline.questions.papers import assemble
from lubberline.simulation.misconceptions import ALL
from lubberline.store.fleet import demo_home
from lubberline.web.app import create_app
from lubberline.web.forms import FORM_LIMIT_BYTES
from lubberline.web.questions.items import SAMPLE
from tests.poppler import poppler
from tests.web.access import broken_rules
from tests.web.caller import Caller, pieces
from tests.web.test_browser import SIZES, until

HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(2)>"
SMALL = """title = "A short test"
forms = ["A", "B"]

[[topic]]
name = "wander"
apply = 2
judge = 1
codes = ["ZZ 9"]

[[topic]]
name = "setting"
recall = 2
"""


@pytest.fixture(scope="module")
def ask() -> Caller:
    return Caller(create_app())


class Read(HTMLParser):
    """Texts and attributes of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def refused(html: str) -> str:
    found = re.search(r'id="refused" role="alert">(.*?)</div>', html, re.DOTALL)
    assert found
    return " ".join(unescape(re.sub(r"<[^>]+>", "", found[1])).split())


def made(ask: Caller, **fields: str) -> str:
    answer = ask.post("/questions/paper", data={"blueprint": "own", "text": SMALL, "seed": "5", **fields})
    assert answer.status_code == 200, refused(answer.text)
    return str(answer.text)


def taken(ask: Caller, name: str, **fields: str) -> Any:
    answer = ask.post(
        f"/questions/paper/files/{name}", data={"blueprint": "own", "text": SMALL, "seed": "5", **fields}
    )
    assert answer.status_code == 200
    return answer


def small_papers() -> Any:
    return assemble(blueprint_from_text("blueprint", SMALL), 5, home=demo_home())


def words_of(pdf: bytes) -> str:
    with tempfile.TemporaryDirectory() as scratch:
        return poppler("pdftotext", pdf, Path(scratch))


def test_every_topic_shows_its_models_with_a_fresh_example(ask: Caller) -> None:
    for topic in TOPICS:
        read = Read(ask.get(f"/questions?topic={topic}&seed=3").text)
        shown = [given["id"] for tag, given in read.tags if tag == "article"]
        assert shown == [model.id for model in models().values() if model.topic == topic]
        for name in shown:
            first = generate(models()[name], 3, demo_home()).stem.split("\n\n")[0].split("-")[0]
            assert " ".join(first.split()) in read.text


def test_the_seed_in_the_address_decides_the_numbers(ask: Caller) -> None:
    one, again, other = (ask.get(f"/questions?topic=wander&seed={seed}").text for seed in (3, 3, 4))
    assert one == again
    stems = [re.findall(r'class="stem">(.*?)</p>', html) for html in (one, other)]
    assert stems[0] != stems[1]


def test_a_level_leaves_the_other_levels_out(ask: Caller) -> None:
    read = Read(ask.get("/questions?topic=all&level=judge").text)
    shown = {given["id"] for tag, given in read.tags if tag == "article"}
    assert shown == {model.id for model in models().values() if model.level == "judge"}


@pytest.mark.parametrize(
    ("query", "where"),
    [("topic=wandr", "topic"), ("level=<b>", "level"), ("seed=-1", "seed"), ("seed=2e9", "seed")],
)
def test_a_wrong_address_is_told_and_the_page_stays(ask: Caller, query: str, where: str) -> None:
    answer = ask.get(f"/questions?{query}")
    assert answer.status_code == 422
    assert refused(answer.text).startswith(f"{where}: ")
    assert "New numbers" in answer.text
    assert "<b>" not in answer.text


def test_every_wrong_idea_has_its_mending_its_source_and_its_scene(ask: Caller) -> None:
    html = ask.get("/questions/ideas").text
    read = Read(html)
    links = {given["href"] for tag, given in read.tags if tag == "a"}
    assert [given["id"] for tag, given in read.tags if tag == "article"] == [idea.id for idea in ALL]
    for idea in ALL:
        assert " ".join(idea.mend.split()) in read.text
        assert idea.source.rstrip(".") in read.text
        assert not idea.scene or f"/bench?scene={idea.scene}" in links


def test_wrong_ideas_are_found_by_kind_and_words(ask: Caller) -> None:
    read = Read(ask.get("/questions/ideas?kind=physical&words=dip").text)
    shown = {given["id"] for tag, given in read.tags if tag == "article"}
    assert shown
    assert shown < {idea.id for idea in ALL if idea.kind == "physical"}
    none = ask.get("/questions/ideas?words=zzzz").text
    assert "<article" not in none
    assert "No wrong idea contains these words" in none


def test_the_paper_is_the_one_that_the_makers_make(ask: Caller) -> None:
    read = Read(made(ask))
    paper = small_papers()[0]
    assert "A short test, paper A" in read.text
    for item in paper.items:
        assert item.stem.split("-")[0].split("\n")[0].strip() in read.text
        assert f"expected share wrong {item.difficulty:.2f}" in read.text


def test_the_key_is_in_the_page_only_when_it_is_shown(ask: Caller) -> None:
    hidden, shown = made(ask), made(ask, key="1")
    papers = small_papers()
    assert "Key:" not in hidden
    assert "right" not in re.findall(r'class="(\w+)"', hidden)
    text = Read(shown).text
    marked = re.findall(r'<div class="right">\s*<dt><span class="option-letter">(.)</span>', shown)
    assert marked == [key_words(item) for item in papers[0].items if item.options]
    for item in papers[0].items:
        assert f"Key: {key_words(item)}" in text
        for option in item.options:
            assert " ".join(option.feedback.split()).split("-")[0] in text
    assert all(option.feedback not in unescape(hidden) for item in papers[0].items for option in item.options)
    assert "Codes: ZZ 9" in text


def test_a_form_other_than_the_first_can_be_looked_at(ask: Caller) -> None:
    assert "A short test, paper B" in made(ask, show="B")


def test_a_paper_of_the_list_has_an_address(ask: Caller) -> None:
    sent = {"blueprint": "heading_instruments", "text": "left alone", "seed": "4", "forms": "A B"}
    answer = ask.post("/questions/paper", data=sent)
    assert answer.status_code == 303
    address = answer.headers["location"]
    assert address == "/questions/paper?blueprint=heading_instruments&seed=4&forms=A,B"
    page = ask.get(address)
    assert page.status_code == 200
    assert "30 questions, seed 4" in Read(page.text).text


@pytest.mark.parametrize(
    ("change", "told", "field"),
    [
        ({"text": ""}, "blueprint: the text is empty", "text"),
        ({"text": "title = "}, "blueprint, line 1: not valid TOML", "text"),
        ({"text": SMALL.replace("wander", "wandr")}, "did you mean 'wander'?", "text"),
        ({"text": SMALL.replace("recall = 2", "recal = 2")}, "topic 2, recal: unknown key", "text"),
        ({"seed": "seven"}, "seed: 'seven' is not a seed", "seed"),
        ({"seed": "٣"}, "seed: '٣' is not a seed", "seed"),
        ({"forms": "A, A"}, "blueprint, forms", "forms"),
        ({"forms": "A B C D E F G"}, "at most 6", "forms"),
        ({"jurisdiction": "Atlantis"}, "there are no rules of 'Atlantis'", "jurisdiction"),
        ({"blueprint": "../../etc/passwd"}, "is not in the list", "blueprint"),
    ],
)
def test_what_is_wrong_is_told_with_its_field(
    ask: Caller, change: dict[str, str], told: str, field: str
) -> None:
    sent = {"blueprint": "own", "text": SMALL, "seed": "5", **change}
    for address in ("/questions/paper", "/questions/paper/files/paper_A.pdf"):
        answer = ask.post(address, data=sent, follow_redirects=True)
        if answer.status_code == 303:
            answer = ask.get(answer.headers["location"])
        assert answer.status_code == 422
        assert told in refused(answer.text)
        marked = [given["id"] for _, given in Read(answer.text).tags if given.get("aria-invalid") == "true"]
        assert marked == [field]


def test_forms_of_the_blueprint_itself_are_counted_too(ask: Caller) -> None:
    many = SMALL.replace('["A", "B"]', json.dumps([str(number) for number in range(50)]))
    answer = ask.post("/questions/paper", data={"blueprint": "own", "text": many})
    assert answer.status_code == 422
    assert "at most 6" in refused(answer.text)


def test_a_hostile_blueprint_is_text(ask: Caller) -> None:
    hostile = SMALL.replace("A short test", HOSTILE).replace("ZZ 9", HOSTILE) + f"# </textarea>{HOSTILE}\n"
    for fields in ({"text": hostile, "key": "1"}, {"text": hostile.replace("wander", HOSTILE)}):
        html = ask.post("/questions/paper", data={"blueprint": "own", "forms": "A", **fields}).text
        tags = [tag for tag, _ in Read(html).tags]
        assert tags.count("script") == 1
        assert not any("onerror" in given for _, given in Read(html).tags)
        assert HOSTILE in unescape(html)


def test_every_file_on_the_page_is_the_publishers_own(ask: Caller) -> None:
    read = Read(made(ask))
    names = {
        given["formaction"].rpartition("/")[2]
        for tag, given in read.tags
        if tag == "button" and "/files/" in given.get("formaction", "")
    }
    makers = contents(small_papers(), large_print=True, worksheet=True)
    assert names == {*makers, "all.zip", "candidates.zip"}
    for name in ("paper_B.pdf", "key_A.pdf", "qti30_A.zip", "qti21_B.zip", "items.csv", "worksheet.pdf"):
        answer = taken(ask, name)
        assert answer.content == makers[name]()
        assert answer.headers["content-disposition"] == f'attachment; filename="{name}"'
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_the_zip_keeps_the_key_from_the_candidates_folder(ask: Caller) -> None:
    makers = contents(small_papers(), large_print=True, worksheet=True)
    with zipfile.ZipFile(io.BytesIO(taken(ask, "all.zip").content)) as archive:
        names = archive.namelist()
        given = {name for name in names if name.startswith("candidates/")}
        assert {name.partition("/")[2] for name in names} == set(makers)
        assert not any(re.search("key|qti|csv|solved", name) for name in given)
        texts = {name: " ".join(words_of(archive.read(name)).split()) for name in given}
    with zipfile.ZipFile(io.BytesIO(taken(ask, "candidates.zip").content)) as archive:
        assert {f"candidates/{name}" for name in archive.namelist()} == given
    secrets = {
        secret
        for paper in small_papers()
        for item in paper.items
        for secret in (item.model, *(option.misconception for option in item.options), *item.codes)
        if secret
    }
    assert secrets
    assert not [(name, secret) for name, text in texts.items() for secret in secrets if secret in text]


def test_items_by_hand_stand_on_the_paper_and_in_its_files(ask: Caller) -> None:
    question = "apparent wander of a heading indicator zero?"
    assert question not in Read(made(ask)).text
    for blueprint in ("own", "heading_instruments"):
        read = Read(made(ask, blueprint=blueprint, items=SAMPLE.replace("\n", "\r\n")))
        assert question in read.text
    held = [given for _, given in read.tags if given.get("name") == "items" and given.get("type") == "hidden"]
    assert {given["value"] for given in held} == {SAMPLE}
    printed = words_of(taken(ask, "paper_B.pdf", items=SAMPLE).content)
    assert question in " ".join(printed.split())
    wrong = ask.post("/questions/paper", data={"items": SAMPLE.replace("[x]", "[ ]")})
    assert refused(wrong.text).startswith("items written by hand, line 1: no option is marked as the key")
    assert [given["id"] for _, given in Read(wrong.text).tags if given.get("aria-invalid")] == ["items"]


def test_there_is_no_other_file(ask: Caller) -> None:
    answer = ask.post("/questions/paper/files/key_Z.pdf", data={"blueprint": "own", "text": SMALL})
    assert answer.status_code == 422
    assert "no 'key_Z.pdf'" in refused(answer.text)
    assert ask.post("/questions/paper/files/..%2F..%2Fsecret", data={}).status_code in (400, 404)


def test_only_the_page_itself_may_send_and_not_too_much(ask: Caller) -> None:
    sent = {"blueprint": "own", "text": SMALL}
    foreign = ask("POST", "/questions/paper", data=sent, headers={"origin": "http://elsewhere.example"})
    assert foreign.status_code == 403
    kind = {"content-type": "application/x-www-form-urlencoded"}
    large = ask.post("/questions/paper", content=pieces(2, FORM_LIMIT_BYTES), headers=kind)
    assert large.status_code == 413
    assert ask.post("/questions/paper", json=sent).status_code == 415
    assert ask.post("/questions/paper", content=b"text=%ff", headers=kind).status_code == 422
    full = "x" * 200_001
    too_long = ask.post("/questions/paper", data={"blueprint": "own", "text": full})
    assert too_long.status_code == 422
    assert "under 200 kB" in refused(too_long.text)


@pytest.mark.parametrize(
    "address", ["/questions", "/questions/ideas", "/questions/paper?key=1", "/questions/write"]
)
def test_nothing_is_inline_and_nothing_leaves_this_machine(ask: Caller, address: str) -> None:
    for tag, given in Read(ask.get(address).text).tags:
        assert tag != "style"
        assert "style" not in given
        assert tag != "script" or given.get("src", "").startswith("/static/")
        assert not [name for name in given if name.startswith("on")]
        for name in ("src", "href", "action", "formaction"):
            assert given.get(name, "/").startswith(("/", "#", "data:,", "data:image/svg+xml;base64,"))


PAGES = (
    "questions?topic=setting",
    "questions/ideas",
    "questions/write",
    "questions/paper?key=1",
    "questions/paper?forms=A,A",
)


@pytest.mark.browser
# The dark one is among the long runs.
@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.acceptance)])
def test_no_page_scrolls_sideways_breaks_a_rule_or_asks_outside(
    watched: Any, served: str, scheme: str
) -> None:
    page = watched.page
    page.emulate_media(color_scheme=scheme)
    for address in PAGES:
        page.goto(served + address)
        until(page, "document.documentElement.dataset.script === 'on'")
        for width, height in SIZES.values():
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (address, width)
        page.set_viewport_size({"width": 1366, "height": 768})
        assert broken_rules(page) == [], address
    assert all(request.startswith((served, "data:")) for request in watched.requests)
    assert not [said for said in watched.complaints if "422" not in said]


@pytest.mark.browser
def test_new_numbers_keep_place_and_focus(watched: Any, served: str) -> None:
    page = watched.page
    page.goto(served + "questions?topic=wander&seed=3")
    until(page, "document.documentElement.dataset.script === 'on'")
    before = page.locator("#wander-rate .stem").inner_text()
    page.focus("#new-wander-rate")
    page.keyboard.press("Enter")
    until(page, "location.search.includes('seed=4')")
    assert page.evaluate("document.activeElement.id") == "new-wander-rate"
    assert page.locator("#wander-rate .stem").inner_text() != before
    page.go_back()
    until(page, "document.querySelector('#seed').value === '3'")
    assert page.locator("#wander-rate .stem").inner_text() == before


def paper_from_own_text(page: Any, served: str, title: str) -> None:
    page.goto(served + "questions/paper")
    page.select_option("#blueprint", "own")
    if not page.locator("#text").is_visible():
        page.click("#written summary")
    page.fill("#text", SMALL.replace("A short test", title))
    page.click("#make")
    page.wait_for_selector(f"h1:has-text('{title}, paper A')")


@pytest.mark.browser
@pytest.mark.parametrize("script", [True, False])
def test_a_paper_is_made_shown_and_taken(browser: Any, served: str, tmp_path: Path, script: bool) -> None:
    context = browser.new_context(java_script_enabled=script)
    page = context.new_page()
    page.set_default_timeout(30_000)
    paper_from_own_text(page, served, "Mine")
    page.click("#show-key")
    page.wait_for_selector(".answer >> nth=0")
    page.click("#show-B")
    page.wait_for_selector("h1:has-text('Mine, paper B')")
    assert page.locator(".answer").count() == 5
    with page.expect_download() as coming:
        page.click("button[formaction$='/key_B.pdf']")
    coming.value.save_as(tmp_path / "key.pdf")
    assert "Mine" in words_of((tmp_path / "key.pdf").read_bytes())
    context.close()


@pytest.mark.browser
def test_a_file_is_opened_and_a_wrong_one_is_told(watched: Any, served: str, tmp_path: Path) -> None:
    page = watched.page
    page.goto(served + "questions/paper")
    until(page, "document.documentElement.dataset.script === 'on'")
    file = tmp_path / "mine.toml"
    file.write_text(SMALL, encoding="utf-8")
    page.set_input_files("#file", str(file))
    page.wait_for_selector("h1:has-text('A short test')")
    file.write_text(SMALL.replace("wander", "wandr"), encoding="utf-8")
    page.set_input_files("#file", str(file))
    page.wait_for_selector("#refused p:has-text(\"did you mean 'wander'?\")")
    assert page.locator("#text").input_value() == file.read_text(encoding="utf-8")
