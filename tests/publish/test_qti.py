"""Questions as QTI: against the specification's own names and order, and an outside converter.

Names and order: 1EdTech, Question & Test Interoperability ASI 3.0 and 2.1, information models and bindings.
"""

import io
import os
import re
import zipfile
from xml.etree import ElementTree

import msgspec
import pytest

from lubberline.errors import InputError
from lubberline.publish.papers.qti import MANIFEST, identifier_of, package_files, qti_package
from lubberline.publish.papers.qti_names import ATTRIBUTES_30, DIALECTS, ELEMENTS_30, LOM, QTI_21, QTI_30
from lubberline.questions.bank import models
from lubberline.questions.generate import generate

from .made_up_paper import choice, number, statement, whole

# XML Namespaces 1.0: an identifier is a name without colon.
NCNAME = re.compile(r"[A-Za-z_][\w.\-]*")
HTML = {"p", "img"}
PACKAGING = {"manifest", "metadata", "schema", "schemaversion", "organizations", "resources", "resource"}
PACKAGING |= {"file", "dependency"}


def missing(what: str) -> None:
    """Skips plainly; in CI a missing tool is a failure."""
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)


def local(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def roots(files: dict[str, bytes]) -> dict[str, ElementTree.Element]:
    return {name: ElementTree.fromstring(data) for name, data in files.items() if name.endswith(".xml")}


@pytest.fixture(params=DIALECTS, ids=lambda dialect: dialect.version)
def dialect(request):
    return request.param


def test_the_manifest_says_topic_level_codes_and_difficulty_of_each_question(dialect):
    """The order of elements and the words of the difficulty are those of IEEE 1484.12.1 and 1484.12.3."""
    manifest = roots(package_files(whole().items, "A paper", dialect))[MANIFEST]
    found = {}
    for resource in manifest.iter(f"{{{dialect.package_space}}}resource"):
        for lom in resource.iter(f"{{{LOM}}}lom"):
            assert [local(part) for part in lom][:3] == ["general", "educational", "classification"]
            found[resource.get("identifier")] = " ".join(
                text.strip() for text in lom.itertext() if text.strip()
            )
    assert len(found) == len(whole().items)
    for item in whole().items:
        said = found[identifier_of(item)]
        assert all(word in said for word in (item.topic, item.level, f"{item.difficulty:.2f}", *item.codes))
        assert re.search(r"LOMv1.0 (very )?(easy|medium|difficult)", said)


def test_every_name_is_of_its_dialect(dialect):
    kebab = re.compile(r"[a-z]+(-[a-z]+)*")
    for name, root in roots(package_files(whole().items, "A paper", dialect)).items():
        space = dialect.package_space if name == MANIFEST else dialect.question_space
        for element in root.iter():
            if element.tag.startswith(f"{{{LOM}}}"):
                continue
            assert element.tag.startswith(f"{{{space}}}")
            known = PACKAGING if name == MANIFEST else HTML
            if local(element) not in known:
                assert local(element).startswith("qti-") == (dialect is QTI_30), local(element)
            if dialect is QTI_30 and name != MANIFEST:
                assert all(kebab.fullmatch(key) for key in element.attrib if "}" not in key)


def test_the_table_follows_the_standards_own_rule():
    # ASI 3.0, section on naming: kebab case, and for elements the prefix 'qti-'.
    def kebab(name):
        return re.sub(r"[A-Z]", lambda letter: "-" + letter[0].lower(), name)

    assert {name: f"qti-{kebab(name)}" for name in ELEMENTS_30} == ELEMENTS_30
    assert {name: kebab(name) for name in ATTRIBUTES_30} == ATTRIBUTES_30


def test_parts_stand_in_the_order_of_the_schema(dialect):
    order = ["responseDeclaration", "outcomeDeclaration", "itemBody", "responseProcessing", "modalFeedback"]
    names = [dialect.elements.get(name, name) for name in order]
    for item in (choice(), number(), statement()):
        files = package_files([item], "One", dialect)
        root = ElementTree.fromstring(files[f"items/{identifier_of(item)}.xml"])
        places = [names.index(local(child)) for child in root]
        assert places == sorted(places)


def test_the_manifest_names_every_file_once_and_every_reference_is_there(dialect):
    files = package_files(whole().items, "A paper: week 3", dialect)
    documents = roots(files)
    manifest = documents[MANIFEST]
    hrefs = [one.get("href") for one in manifest.iter() if local(one) == "file"]
    assert sorted([*hrefs, MANIFEST]) == sorted(files)
    resources = {one.get("identifier"): one for one in manifest.iter() if local(one) == "resource"}
    needed = {one.get("identifierref") for one in manifest.iter() if local(one) == "dependency"}
    assert needed <= set(resources)
    assert len(resources) == len(files) - 1
    assert all(NCNAME.fullmatch(name) for name in [*resources, manifest.get("identifier")])
    references = {
        one.get("identifier"): one.get("href") for one in documents["test.xml"].iter() if one.get("href")
    }
    assert len(references) == len(whole().items)
    for name, href in references.items():
        item = documents[href]
        assert item.get("identifier") == name
        assert NCNAME.fullmatch(name)
        for image in (one for one in item.iter() if local(one) == "img"):
            assert image.get("src").removeprefix("../") in files
            assert image.get("alt")


def test_a_package_is_a_zip_of_the_same_bytes_at_any_time(dialect):
    first = qti_package(whole().items, "A paper", dialect)
    assert first == qti_package(whole().items, "A paper", dialect)
    archive = zipfile.ZipFile(io.BytesIO(first))
    assert archive.testzip() is None
    assert archive.namelist()[0] == MANIFEST
    assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_the_same_question_twice_is_refused():
    with pytest.raises(InputError, match="question 3: is the same as question 1"):
        package_files([choice(1), choice(2), choice(1)], "Paper A", QTI_30)


def test_a_candidate_reads_nothing_from_names():
    """File names, identifiers, titles and what is shown say neither model nor key nor wrong idea."""
    files = package_files(whole().items, "A paper", QTI_30)
    for name, root in roots(files).items():
        shown = [name, root.get("identifier", ""), root.get("title", "")]
        body = root.find(f"{{{QTI_30.question_space}}}qti-item-body")
        shown += [] if body is None else [ElementTree.tostring(body, "unicode")]
        for text in shown:
            assert not re.search(r"made-up|idea-|sign|the sine|Wrong\.", text)


def test_awkward_text_stays_text(dialect):
    nasty = msgspec.structs.replace(choice(), stem='a < b & "c" ]]> \x00 <script>\n\nAnd?', drawn={"n": 1.0})
    files = package_files([nasty], 'A <paper> & "more"', dialect)
    root = ElementTree.fromstring(files[f"items/{identifier_of(nasty)}.xml"])
    text = " ".join("".join(root.itertext()).split())
    assert 'a < b & "c" ]]> \ufffd <script>' in text
    assert ElementTree.fromstring(files["test.xml"]).get("title") == 'A <paper> & "more"'


@pytest.mark.parametrize("typed", ["6.9", "7.3", "7.1", "7"])
def test_the_bounds_of_a_number_are_what_a_person_types(typed):
    """7.1 - 0.2 is 6.8999999999999995 and 7.1 + 0.2 is 7.3 or not in binary: typed ends must count."""
    files = package_files([number(7.1, 0.2)], "One", QTI_21)
    root = ElementTree.fromstring(files[f"items/{identifier_of(number(7.1, 0.2))}.xml"])
    space = f"{{{QTI_21.question_space}}}"
    right = root.find(f".//{space}responseIf/{space}and/{space}and")
    low, high = (float(one.text) for one in right.iter(f"{space}baseValue"))
    assert low <= float(typed) <= high
    assert (low, high) == (6.9, 7.3)


def keys(root: ElementTree.Element) -> tuple[str | None, list[str]]:
    """The correct value with the identifiers of the choices, in either dialect."""
    value = next(one.text for one in root.iter() if local(one) in ("value", "qti-value"))
    choices = [one for one in root.iter() if local(one) in ("simpleChoice", "qti-simple-choice")]
    return value, [choice.get("identifier", "") for choice in choices]


def test_an_outside_converter_takes_it_down_and_up_again_without_warnings():
    """qti_convert (citolab-qti-convert, GPL-3.0-only, tests only), by other authors than ours."""
    try:
        import qti_convert
    except ImportError:
        missing("qti_convert is not installed: pip install citolab-qti-convert")
    items = [*whole().items, *(generate(model, 1) for model in models().values())]
    ours_21 = package_files(items, "A paper", QTI_21)
    for name, data in package_files(items, "A paper", QTI_30).items():
        if not name.endswith(".xml") or name == MANIFEST:
            continue
        down = qti_convert.convert_qti3_to_qti21(data)
        assert down.warnings == []
        up = qti_convert.upgrade_qti2_to_qti3(down.xml)
        for text, space in ((down.xml, QTI_21.question_space), (up, QTI_30.question_space)):
            root = ElementTree.fromstring(text.encode() if isinstance(text, str) else text)
            assert root.tag.startswith(f"{{{space}}}")
            if name.startswith("items/"):
                assert keys(root) == keys(ElementTree.fromstring(data))
        theirs = ElementTree.fromstring(down.xml.encode())
        assert shape(theirs) == shape(ElementTree.fromstring(ours_21[name])), name


def shape(element: ElementTree.Element) -> tuple:
    """Names, attributes, text and order of a document, without the address of its schema."""
    attributes = {
        name: value for name, value in element.attrib.items() if not name.endswith("schemaLocation")
    }
    text = " ".join((element.text or "").split())
    return element.tag, attributes, text, [shape(child) for child in element]
