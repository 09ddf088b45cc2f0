"""Papers for the Questions page, made in memory, and their files."""

import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from urllib.parse import urlencode

import msgspec

from lubberline.errors import InputError
from lubberline.flight.home import Home
from lubberline.publish.papers.files import contents
from lubberline.publish.papers.qti import zipped
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.handwritten import items_from_text
from lubberline.questions.item import Item
from lubberline.questions.papers import Paper, assemble, with_school_items
from lubberline.web.catalogue import Choice, chosen, demo_papers

TEXT_LIMIT_BYTES = 200_000
MOST_FORMS = 6
GREATEST_SEED = 2**31 - 1
OWN = "own"
LONGEST_LETTERS = 40

Fields = Mapping[str, str]
# Only these may be given to a candidate: they contain no answers.
FOR_CANDIDATES = re.compile(r"(paper|answer_sheet)_[A-Za-z0-9]{1,8}(_large_print)?\.pdf|worksheet\.pdf")
ITEMS = "items written by hand"
ALL, CANDIDATES = "all.zip", "candidates.zip"

# Each row of the page's table: its title, and the name of its file for a form.
PER_FORM: dict[str, tuple[tuple[str, str], ...]] = {
    "candidates": (
        ("Paper", "paper_{form}.pdf"),
        ("Answer sheet", "answer_sheet_{form}.pdf"),
        ("Paper, large print", "paper_{form}_large_print.pdf"),
        ("Sheet, large print", "answer_sheet_{form}_large_print.pdf"),
    ),
    "instructor": (
        ("Key", "key_{form}.pdf"),
        ("QTI 3.0", "qti30_{form}.zip"),
        ("QTI 2.1", "qti21_{form}.zip"),
    ),
}
FOR_ALL: dict[str, tuple[tuple[str, str], ...]] = {
    "candidates": (
        ("Worksheet, blank dials", "worksheet.pdf"),
        ("Everything for candidates, zip", CANDIDATES),
    ),
    "instructor": (
        ("Worksheet, solved", "worksheet_solved.pdf"),
        ("Table of all items, CSV", "items.csv"),
        ("Everything, zip", ALL),
    ),
}


class PaperAsked(msgspec.Struct, frozen=True, kw_only=True):
    """The request for one set of papers.

    Attributes:
        blueprint: name of a blueprint of the list, `OWN` for the text; '' for the first of the list.
        text: the blueprint's own text, read when `blueprint` is `OWN`.
        items: items written by hand, in Markdown, that belong to the papers; '' for none.
        seed: of all draws.
        forms: letters of the forms; none for those of the blueprint.
        jurisdiction: whose rules; '' for the blueprint's.
        show: letter of the form on the page; '' for the first.
        key: whether the key is shown.
    """

    blueprint: str = ""
    text: str = ""
    items: str = ""
    seed: int = 1
    forms: tuple[str, ...] = ()
    jurisdiction: str = ""
    show: str = ""
    key: bool = False

    def address(self) -> str:
        """The address of these papers; own texts have none."""
        pairs = [
            ("blueprint", self.blueprint),
            ("seed", str(self.seed)),
            ("forms", ",".join(self.forms)),
            ("jurisdiction", self.jurisdiction),
            ("show", self.show),
            ("key", "1" if self.key else ""),
        ]
        return "/questions/paper?" + urlencode([pair for pair in pairs if pair[1]], safe=",")


def whole_seed(text: str) -> int:
    """A seed from its text; 1 for an empty one.

    Raises:
        InputError: not a whole number in the range of seeds.
    """
    text = text.strip() or "1"
    if not re.fullmatch(r"[0-9]{1,10}", text) or int(text) > GREATEST_SEED:
        raise InputError(
            "seed", f"'{text[:30]}' is not a seed", f"enter a whole number from 0 to {GREATEST_SEED}"
        )
    return int(text)


def next_seed(seed: int) -> int:
    """Another seed, for new numbers."""
    return (seed + 1) % (GREATEST_SEED + 1)


def form_letters(text: str) -> tuple[str, ...]:
    """Letters of forms as people write them: 'A, B' or 'A B'.

    Raises:
        InputError: more than the page makes at a time.
    """
    letters = tuple(part[:LONGEST_LETTERS] for part in re.split(r"[,;\s]+", text.strip()) if part)
    return few_forms(letters)


def few_forms(letters: tuple[str, ...]) -> tuple[str, ...]:
    """The same letters.

    Raises:
        InputError: more than the page makes at a time.
    """
    if len(letters) > MOST_FORMS:
        raise InputError("forms", f"{len(letters)} forms", f"at most {MOST_FORMS} at once on this page")
    return letters


def paper_asked(fields: Fields) -> PaperAsked:
    """The request for papers in the fields of an address or a form.

    Raises:
        InputError: an invalid seed or forms.
    """
    return PaperAsked(
        blueprint=fields.get("blueprint", ""),
        text=fields.get("text", ""),
        items=fields.get("items", ""),
        seed=whole_seed(fields.get("seed", "")),
        forms=form_letters(fields.get("forms", "")),
        jurisdiction=fields.get("jurisdiction", ""),
        show=fields.get("show", ""),
        key=fields.get("key", "") == "1",
    )


@cache
def shelf() -> tuple[Choice, ...]:
    """The blueprints of the demo."""
    return demo_papers()


def text_of(asked: PaperAsked) -> tuple[str, str]:
    """Name and text of the blueprint asked for.

    Raises:
        InputError: no such name in the list, or a text that is empty or too long.
    """
    if asked.blueprint != OWN:
        choice = chosen("blueprint", asked.blueprint, shelf())
        return f"{choice.name}.toml", choice.read()
    if not asked.text.strip():
        raise InputError("blueprint", "the text is empty", "write one, or choose one from the list")
    if len(asked.text.encode("utf-8", "replace")) > TEXT_LIMIT_BYTES:
        raise InputError("blueprint", "too large for a blueprint", "choose a file under 200 kB")
    return "blueprint", asked.text


def own_items(asked: PaperAsked) -> list[Item]:
    """The items written by hand in a request.

    Raises:
        InputError: an error in their text, with its line.
    """
    if not asked.items.strip():
        return []
    if len(asked.items.encode("utf-8", "replace")) > TEXT_LIMIT_BYTES:
        raise InputError(ITEMS, "too large for a file of items", "choose a file under 200 kB")
    return [record.item for record in items_from_text(ITEMS, asked.items)]


def papers_of(asked: PaperAsked, home: Home, of_school: Sequence[Item] = ()) -> tuple[Paper, ...]:
    """The papers asked for, at home unless their blueprint says otherwise.

    The school's own items fill rows of the blueprint that ask for such.

    Raises:
        InputError: an error in the blueprint, the items written by hand, the forms or the jurisdiction.
    """
    source, text = text_of(asked)
    blueprint = blueprint_from_text(source, text, asked.jurisdiction or None)
    if not asked.forms:
        few_forms(blueprint.forms)
    own = with_school_items(blueprint, own_items(asked), of_school)
    return assemble(blueprint, asked.seed, asked.forms, own=own, drawn=of_school, home=home)


def shown_of(papers: Sequence[Paper], letter: str) -> Paper:
    """The form of that letter, the first when there is none."""
    return next((paper for paper in papers if paper.form == letter), papers[0])


def _stem(asked: PaperAsked) -> str:
    return asked.blueprint if asked.blueprint not in ("", OWN) else "papers"


def file_of(asked: PaperAsked, name: str, home: Home, of_school: Sequence[Item] = ()) -> tuple[str, bytes]:
    """Name and bytes of one file of the papers asked for, made in memory.

    Raises:
        InputError: no such file, or an error in the request.
    """
    makers = contents(papers_of(asked, home, of_school), large_print=True, worksheet=True)
    if name in (ALL, CANDIDATES):
        data = zipped({path: make() for path, make in _in_folders(makers, name).items()})
        return f"{_stem(asked)}_{name}", data
    if name not in makers:
        raise InputError("file", f"these papers have no '{name[:60]}'", "choose one on the page")
    return name, makers[name]()


def _in_folders(makers: dict[str, Callable[[], bytes]], name: str) -> dict[str, Callable[[], bytes]]:
    """All files in two folders, or only those for candidates."""
    given = {file: make for file, make in makers.items() if FOR_CANDIDATES.fullmatch(file)}
    if name == CANDIDATES:
        return given
    kept = {f"instructor/{file}": make for file, make in makers.items() if file not in given}
    return {**{f"candidates/{file}": make for file, make in given.items()}, **kept}
