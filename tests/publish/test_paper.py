"""Papers, answer sheets, keys and worksheets, read with an outside reader of PDF (poppler)."""

import re

import msgspec
import pytest

from lubberline.errors import InputError
from lubberline.publish.papers.sheets import Task, answer_sheet_pdf, key_pdf, paper_pdf, tasks, worksheet_pdf
from lubberline.questions.item import Figure
from lubberline.simulation import CAUTIONS
from tests.poppler import poppler

from .made_up_paper import DIAL, choice, number, paper, statement, whole

SHEETS = {
    "paper": paper_pdf,
    "large print": lambda made: paper_pdf(made, large_print=True),
    "answer sheet": answer_sheet_pdf,
    "large answer sheet": lambda made: answer_sheet_pdf(made, large_print=True),
    "key": key_pdf,
    "worksheet": lambda made: worksheet_pdf(tasks(made.seed), made.title),
    "worksheet, solved": lambda made: worksheet_pdf(tasks(made.seed), made.title, solved=True),
}


@pytest.fixture(params=SHEETS, scope="module")
def sheet(request):
    """A sheet's name and its bytes; made once for all tests."""
    return request.param, SHEETS[request.param](whole(12))


def pages(pdf: bytes, tmp_path) -> list[str]:
    """The text of each page, each on one line."""
    text = poppler("pdftotext", pdf, tmp_path, "-raw")
    return [" ".join(page.split()) for page in text.split("\f")[:-1]]


def test_every_sheet_is_tagged_a4_with_its_fonts_inside(sheet, tmp_path):
    _, pdf = sheet
    told = poppler("pdfinfo", pdf, tmp_path)
    assert re.search(r"Tagged: +yes", told)
    assert re.search(r"Page size: .*\(A4\)", told)
    assert b"pdfuaid" in pdf
    fonts = poppler("pdffonts", pdf, tmp_path).splitlines()[2:]
    assert fonts
    # The columns are: name, type, encoding, emb, sub, uni; the encoding's name has no blank.
    assert all(line.split()[-5:-2] == ["yes", "yes", "yes"] for line in fonts), fonts


def test_every_page_says_the_cautions_and_which_page_it_is(sheet, tmp_path):
    _, pdf = sheet
    found = pages(pdf, tmp_path)
    for count, text in enumerate(found, start=1):
        assert " ".join(CAUTIONS) in text
        assert f"page {count} of {len(found)}" in text


def test_the_same_paper_gives_the_same_bytes(sheet):
    name, pdf = sheet
    assert pdf == SHEETS[name](whole(12))


@pytest.mark.parametrize("name", ["paper", "large print", "answer sheet", "large answer sheet", "worksheet"])
def test_nothing_for_candidates_gives_an_answer_away(name, tmp_path):
    pdf = SHEETS[name](whole(12))
    text = " ".join(pages(pdf, tmp_path)) + poppler("pdfinfo", pdf, tmp_path, "-struct-text")
    assert not re.search(r"idea-|made-up|sine|Key|Half of the hourly|common practice", text)


@pytest.mark.parametrize("large_print", [False, True])
def test_no_question_is_split_over_a_page(large_print, tmp_path):
    made = whole(40)
    found = pages(paper_pdf(made, large_print=large_print), tmp_path)
    for place, item in enumerate(made.items, start=1):
        stem = " ".join(item.stem.split())
        on = [page for page in found if f"{place} {stem}" in page]
        assert len(on) == 1, place
        rest = on[0].split(f"{place} {stem}")[1]
        for option in item.options:
            assert option.text in rest


def test_a_question_higher_than_a_page_is_set_all_the_same(tmp_path):
    wordy = choice(1, words=90, figure=Figure(DIAL, "A dial."))
    text = " ".join(pages(paper_pdf(paper(wordy, choice(2)), large_print=True), tmp_path))
    assert text.count("falls by") == 8


def test_large_print_is_large(tmp_path):
    """18 points: the usual least size of large print (common practice, no source)."""
    boxes = poppler("pdftotext", paper_pdf(paper(choice()), large_print=True), tmp_path, "-bbox")
    word = re.search(r'yMin="([\d.]+)".* yMax="([\d.]+)">perfect<', boxes)
    ordinary = poppler("pdftotext", paper_pdf(paper(choice())), tmp_path, "-bbox")
    small = re.search(r'yMin="([\d.]+)".* yMax="([\d.]+)">perfect<', ordinary)
    height, least = (float(one[2]) - float(one[1]) for one in (word, small))
    assert height / least == pytest.approx(18.0 / 10.5, rel=0.01)


def test_the_answer_sheet_has_a_place_for_every_answer(tmp_path):
    made = paper(*(choice(n) for n in range(1, 81)), number(), statement())
    found = pages(answer_sheet_pdf(made), tmp_path)
    assert len(found) == 2
    text = " ".join(found)
    assert text.count("A B C D") == 80
    assert "81 degrees" in text
    assert "82 A B" in text
    assert "of 82" in text


def test_the_key_says_answer_reason_idea_source_and_whose_rules(tmp_path):
    text = " ".join(pages(key_pdf(whole(12)), tmp_path))
    for words in (
        "Not for candidates",
        "1 B 2 C 3 D 4 A",
        "11 7.1° (6.9 to 7.3)",
        "12 B",
        "Key: B. 15 × sin 1° is the rate.",
        "A falls by 1.5°: Idea 0 leaves out the sine. (idea-0)",
        "14.2: That is the whole hour. (hour-for-half)",
        "Rules of XX.",
        "Common practice, without a published source: 1, 2,",
        "follow those of XX",
        "Codes: HI 3.2.",
        "latitude_deg 1, kind still",
        "with seed 7",
    ):
        assert words in text, words


def test_user_text_is_set_as_it_is(tmp_path):
    nasty = '#read("/etc/passwd") *bold* $x^2$ @ref <label> \x00 #panic("no") // gone'
    made = paper(msgspec.structs.replace(choice(), stem=nasty), title=nasty)
    for make in SHEETS.values():
        assert '#read("/etc/passwd") *bold* $x^2$ @ref <label>' in pages(make(made), tmp_path)[0]


def test_a_drawing_that_is_none_is_refused():
    for svg, words in (("<svg", "not well-formed"), ("<svg viewBox='0 0 0 0'/>", "no size")):
        made = paper(choice(), choice(2, figure=Figure(svg, "A drawing.")))
        with pytest.raises(InputError, match=rf"question 2 \(made-up-choice\): .*{words}"):
            paper_pdf(made)


def test_drawings_have_their_words(tmp_path):
    told = poppler("pdfinfo", paper_pdf(whole(6)), tmp_path, "-struct-text")
    assert told.count("Figure") >= 2


def test_a_solved_worksheet_shows_the_headings(tmp_path):
    given = [Task("Fly east.", 90.0, "East it is."), Task("Fly north.", 360.0, "North it is.")]
    blank = " ".join(pages(worksheet_pdf(given, "Dials"), tmp_path))
    solved = " ".join(pages(worksheet_pdf(given, "Dials", solved=True), tmp_path))
    assert "Fly east." in blank
    assert "090°" not in blank
    assert "090°. East it is." in solved
    assert "360°. North it is." in solved


def test_a_worksheet_asks_for_no_heading_that_it_states(tmp_path):
    stated, asked = (
        Task("The heading indicator reads 140°.", 140.0, "", asks=asks) for asks in (False, True)
    )
    assert "Heading:" not in " ".join(pages(worksheet_pdf([stated], "Dials"), tmp_path))
    assert "Heading:" in " ".join(pages(worksheet_pdf([asked], "Dials"), tmp_path))
    assert [task.asks for task in tasks(3)].count(False) == 3


def test_worksheets_of_the_same_seed_are_the_same():
    assert tasks(3) == tasks(3)
    assert tasks(3) != tasks(4)
    assert len(tasks(3)) == 8
    assert all(0.0 < task.heading_deg <= 360.0 for task in tasks(3))
