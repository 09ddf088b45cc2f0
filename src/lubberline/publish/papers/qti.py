"""A question, and a test of questions, as a tree that both dialects of QTI are written from.

Structure after Question & Test Interoperability 3.0 and 2.1 (1EdTech): declarations, body, processing,
feedback, in that order. A choice is right when it matches the declared key; a number when it lies between
two bounds (`gte` and `lte`, which read a typed 6.9 as exactly the bound 6.9, where a difference of binary
fractions might not). What is chosen is the outcome that shows that option's feedback.

These trees hold the key: they are for the learning system, never for a candidate's browser.
"""

import hashlib
import io
import re
import zipfile
from collections.abc import Mapping, Sequence

from lubberline.errors import InputError
from lubberline.publish.papers.answers import (
    WIDEST_UPRIGHT,
    number_words,
    paragraphs,
    plain_number,
    range_words,
    right_bounds,
    shape_of,
    slip_bounds,
    unit_words,
)
from lubberline.publish.papers.qti_names import LOM, Dialect, Node, document, node
from lubberline.questions.item import LETTERS, Figure, Item

UPRIGHT_PX, WIDE_PX = 260, 520
LANGUAGE = "en"
RIGHT, WRONG, SLIP = "RIGHT", "WRONG", "SLIP"


def identifier_of(item: Item) -> str:
    """A name that is the same for the same question and tells a candidate nothing about it."""
    return f"q-{hashlib.sha256(item.id.encode()).hexdigest()[:12]}"


def item_tree(item: Item, title: str, figure_href: str, dialect: Dialect) -> Node:
    """One question.

    Args:
        item: of kind 'choice', 'statement' or 'number'.
        title: shown to the candidate.
        figure_href: where its drawing is, from the item's file; '' without one.
        dialect: which wraps the text of feedback or does not.
    """
    key = plain_number(item.answer or 0.0) if item.kind == "number" else LETTERS[item.key]
    return Node(
        "assessmentItem",
        {
            "identifier": identifier_of(item),
            "title": title,
            "adaptive": "false",
            "timeDependent": "false",
            "xml:lang": LANGUAGE,
        },
        (
            node(
                "responseDeclaration",
                node("correctResponse", node("value", key)),
                identifier="RESPONSE",
                cardinality="single",
                baseType="float" if item.kind == "number" else "identifier",
            ),
            _score(normalMaximum="1"),
            node("outcomeDeclaration", identifier="FEEDBACK", cardinality="single", baseType="identifier"),
            _body(item, figure_href),
            _processing(item),
            *_feedback(item, dialect),
        ),
    )


def _score(**more: str) -> Node:
    zero = node("defaultValue", node("value", "0"))
    return node(
        "outcomeDeclaration", zero, identifier="SCORE", cardinality="single", baseType="float", **more
    )


def _body(item: Item, figure_href: str) -> Node:
    *before, asked = paragraphs(item.stem)
    parts = [node("p", text) for text in before]
    picture = [] if item.figure is None else [_picture(item.figure, figure_href, item.id)]
    if item.kind == "number":
        parts += [node("p", asked), *picture]
        entry = node("textEntryInteraction", responseIdentifier="RESPONSE", expectedLength="8")
        return node("itemBody", *parts, node("p", "Answer: ", entry, f" {unit_words(item.unit)}".rstrip()))
    choices = [
        node("simpleChoice", option.text, identifier=letter)
        for letter, option in zip(LETTERS, item.options, strict=False)
    ]
    return node(
        "itemBody",
        *parts,
        *picture,
        node(
            "choiceInteraction",
            node("prompt", asked),
            *choices,
            responseIdentifier="RESPONSE",
            shuffle="false",
            maxChoices="1",
        ),
    )


def _picture(figure: Figure, href: str, where: str) -> Node:
    """A drawing with a size in pixels, since a drawing without one fills the window."""
    shape = shape_of(figure, where)
    width = UPRIGHT_PX if shape <= WIDEST_UPRIGHT else WIDE_PX
    height = max(1, round(width / shape))
    return node("p", node("img", src=href, alt=figure.alt, width=f"{width}", height=f"{height}"))


def _set(outcome: str, base_type: str, value: str) -> Node:
    return node("setOutcomeValue", node("baseValue", value, baseType=base_type), identifier=outcome)


def _processing(item: Item) -> Node:
    if item.kind == "number":
        return node("responseProcessing", _number_condition(item))
    response = node("variable", identifier="RESPONSE")
    test = node("match", response, node("correct", identifier="RESPONSE"))
    right = node("responseIf", test, _set("SCORE", "float", "1"))
    return node(
        "responseProcessing",
        node("responseCondition", right, node("responseElse", _set("SCORE", "float", "0"))),
        node("setOutcomeValue", response, identifier="FEEDBACK"),
    )


def _number_condition(item: Item) -> Node:
    """Right, else one of the slips that wrong ideas lead to, else wrong."""

    def outcome(score: str, feedback: str) -> tuple[Node, Node]:
        return _set("SCORE", "float", score), _set("FEEDBACK", "identifier", feedback)

    slips = [
        node("responseElseIf", _within(slip_bounds(item, slip)), *outcome("0", f"{SLIP}{place}"))
        for place, slip in enumerate(item.slips, start=1)
        if slip.value is not None
    ]
    return node(
        "responseCondition",
        node("responseIf", _within(right_bounds(item)), *outcome("1", RIGHT)),
        *slips,
        node("responseElse", *outcome("0", WRONG)),
    )


def _within(ranges: Sequence[tuple[str, str]]) -> Node:
    """Whether something was written and lies in a range: some systems take an empty answer for 0."""
    response = node("variable", identifier="RESPONSE")
    tests = [
        node(
            "and",
            node("gte", response, node("baseValue", low, baseType="float")),
            node("lte", response, node("baseValue", high, baseType="float")),
        )
        for low, high in ranges
    ]
    test = tests[0] if len(tests) == 1 else node("or", *tests)
    return node("and", node("not", node("isNull", response)), test)


def _said(item: Item) -> list[tuple[str, str]]:
    """Feedback for each answer; the word comes first, so that no colour is needed."""
    if item.kind != "number":
        return [
            (LETTERS[place], f"{'Right' if place == item.key else 'Wrong'}. {option.feedback}")
            for place, option in enumerate(item.options)
        ]
    told = f"Wrong. The answer is {number_words(item)}; {range_words(item)} is accepted."
    slips = [
        (f"{SLIP}{place}", f"Wrong. {slip.feedback}")
        for place, slip in enumerate(item.slips, start=1)
        if slip.value is not None
    ]
    return [(RIGHT, f"Right. {item.reason}"), *slips, (WRONG, f"{told} {item.reason}")]


def _feedback(item: Item, dialect: Dialect) -> list[Node]:
    feedback = []
    for answer, text in _said(item):
        content: tuple[Node, ...] = tuple(node("p", part) for part in paragraphs(text))
        if dialect.feedback_body:
            content = (node(dialect.feedback_body, *content),)
        feedback.append(
            node("modalFeedback", *content, outcomeIdentifier="FEEDBACK", showHide="show", identifier=answer)
        )
    return feedback


def paper_tree(identifier: str, title: str, hrefs: Sequence[tuple[str, str]]) -> Node:
    """A test of questions in their order, in one part that is handed in as a whole.

    The score is the sum; feedback is for afterwards.

    Args:
        identifier: of the test.
        title: shown to the candidate.
        hrefs: each question's identifier and file.
    """
    references = [node("assessmentItemRef", identifier=name, href=href) for name, href in hrefs]
    total = node("sum", node("testVariables", variableIdentifier="SCORE"))
    return node(
        "assessmentTest",
        _score(),
        node(
            "testPart",
            node("itemSessionControl", maxAttempts="1", showFeedback="true"),
            node("assessmentSection", *references, identifier="questions", title="Questions", visible="true"),
            identifier="part",
            navigationMode="nonlinear",
            submissionMode="simultaneous",
        ),
        node("outcomeProcessing", node("setOutcomeValue", total, identifier="SCORE")),
        identifier=identifier,
        title=title,
    )


MANIFEST = "imsmanifest.xml"
TEST = "test.xml"
# The earliest time a zip can name: the same questions give the same bytes on any day.
NO_TIME = (1980, 1, 1, 0, 0, 0)


def _check_distinct(items: Sequence[Item], title: str) -> None:
    seen: dict[str, int] = {}
    for number, item in enumerate(items, start=1):
        if item.id in seen:
            raise InputError(
                f"{title}, question {number}",
                f"is the same as question {seen[item.id]} ({item.id})",
                "use each question only once in a test",
            )
        seen[item.id] = number


def package_files(items: Sequence[Item], title: str, dialect: Dialect) -> dict[str, bytes]:
    """The files of a package by name: manifest, test, 'items/*.xml', 'figures/*.svg'.

    Raises:
        InputError: when a question comes twice.
    """
    _check_distinct(items, title)
    files: dict[str, bytes] = {}
    resources: list[Node] = []
    references: list[tuple[str, str]] = []
    for number, item in enumerate(items, start=1):
        name = identifier_of(item)
        href, figure = f"items/{name}.xml", f"figures/{name}.svg" if item.figure else ""
        tree = item_tree(item, f"Question {number}", f"../{figure}" if figure else "", dialect)
        files[href] = document(tree, dialect, dialect.question_space, dialect.question_schema)
        references.append((name, href))
        needed = [f"figure-{name}"] if item.figure else []
        resources.append(_resource(name, dialect.item_type, href, needed, _metadata(item)))
        if item.figure:
            files[figure] = item.figure.svg.encode("utf-8")
            resources.append(_resource(needed[0], "webcontent", figure, []))
    identifier = "test-" + (re.sub(r"[^A-Za-z0-9]+", "-", title).strip("-").lower() or "paper")
    test = paper_tree(identifier, title, references)
    files[TEST] = document(test, dialect, dialect.question_space, dialect.question_schema)
    resources.insert(0, _resource(identifier, dialect.test_type, TEST, [name for name, _ in references]))
    manifest = _manifest(f"package-{identifier}", resources, dialect)
    files[MANIFEST] = document(manifest, dialect, dialect.package_space, dialect.package_schema)
    return files


# The names of IEEE 1484.12.1 for the difficulty, up to these expected shares of wrong answers.
DIFFICULTIES = {0.2: "very easy", 0.4: "easy", 0.6: "medium", 0.8: "difficult", 1.0: "very difficult"}


def _words(name: str, text: str) -> Node:
    return node(name, node("string", text, language=LANGUAGE))


def _value(name: str, value: str) -> Node:
    return node(name, node("source", "LOMv1.0"), node("value", value))


def _taxa(purpose: str, source: str, taxa: Sequence[Node]) -> Node:
    """A classification by a list of names, such as topics or the codes of a syllabus."""
    paths = [node("taxonPath", _words("source", source), node("taxon", taxon)) for taxon in taxa]
    return node("classification", _value("purpose", purpose), *paths)


def _metadata(item: Item) -> Node:
    """Topic, level, codes and expected difficulty of a question, for the catalogue of a learning system."""
    difficulty = next(name for most, name in DIFFICULTIES.items() if item.difficulty <= most)
    codes = [node("id", code) for code in item.codes]
    lom = node(
        "lom",
        node("general", _words("keyword", item.topic), _words("keyword", item.level)),
        node(
            "educational",
            _value("difficulty", difficulty),
            _words("description", f"Expected share of wrong answers: {item.difficulty:.2f}"),
        ),
        _taxa("discipline", "topic", [_words("entry", item.topic)]),
        *([_taxa("educational objective", "syllabus", codes)] if codes else []),
        xmlns=LOM,
    )
    return node("metadata", lom)


def _resource(
    identifier: str, kind: str, href: str, needed: Sequence[str], metadata: Node | None = None
) -> Node:
    return node(
        "resource",
        *([metadata] if metadata else []),
        node("file", href=href),
        *(node("dependency", identifierref=name) for name in needed),
        identifier=identifier,
        type=kind,
        href=href,
    )


def _manifest(identifier: str, resources: Sequence[Node], dialect: Dialect) -> Node:
    return node(
        "manifest",
        node(
            "metadata",
            node("schema", dialect.package),
            node("schemaversion", dialect.package_version),
        ),
        node("organizations"),
        node("resources", *resources),
        identifier=identifier,
    )


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files as a zip, the manifest first, then by name; without time or owner."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files, key=lambda name: (name != MANIFEST, name)):
            entry = zipfile.ZipInfo(name, NO_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, files[name])
    return held.getvalue()


def qti_package(items: Sequence[Item], title: str, dialect: Dialect) -> bytes:
    """A test of questions as a QTI package (zip).

    It holds the key, for a learning system that keeps it from candidates.

    Raises:
        InputError: when a question comes twice.
    """
    return zipped(package_files(items, title, dialect))
