"""The two dialects of QTI that are written: the names of one model in 3.0 and in 2.1.

Names of elements and attributes after the Question & Test Interoperability specifications of 1EdTech:
Assessment, Section and Item (ASI) 3.0 and Assessment Test, Section and Item 2.1. The model uses the names
of 2.1; those that are not in the tables (HTML, content packaging, `identifier`) are the same in both.
"""

from __future__ import annotations

from typing import NamedTuple
from xml.etree import ElementTree

from lubberline.publish.figures.svg import FORBIDDEN

ELEMENTS_30 = {
    "assessmentItem": "qti-assessment-item",
    "assessmentItemRef": "qti-assessment-item-ref",
    "assessmentSection": "qti-assessment-section",
    "assessmentTest": "qti-assessment-test",
    "and": "qti-and",
    "baseValue": "qti-base-value",
    "choiceInteraction": "qti-choice-interaction",
    "correct": "qti-correct",
    "correctResponse": "qti-correct-response",
    "defaultValue": "qti-default-value",
    "gte": "qti-gte",
    "isNull": "qti-is-null",
    "itemBody": "qti-item-body",
    "itemSessionControl": "qti-item-session-control",
    "lte": "qti-lte",
    "match": "qti-match",
    "modalFeedback": "qti-modal-feedback",
    "not": "qti-not",
    "or": "qti-or",
    "outcomeDeclaration": "qti-outcome-declaration",
    "outcomeProcessing": "qti-outcome-processing",
    "prompt": "qti-prompt",
    "responseCondition": "qti-response-condition",
    "responseDeclaration": "qti-response-declaration",
    "responseElse": "qti-response-else",
    "responseElseIf": "qti-response-else-if",
    "responseIf": "qti-response-if",
    "responseProcessing": "qti-response-processing",
    "setOutcomeValue": "qti-set-outcome-value",
    "simpleChoice": "qti-simple-choice",
    "sum": "qti-sum",
    "testPart": "qti-test-part",
    "testVariables": "qti-test-variables",
    "textEntryInteraction": "qti-text-entry-interaction",
    "value": "qti-value",
    "variable": "qti-variable",
}
ATTRIBUTES_30 = {
    "baseType": "base-type",
    "expectedLength": "expected-length",
    "maxAttempts": "max-attempts",
    "maxChoices": "max-choices",
    "navigationMode": "navigation-mode",
    "normalMaximum": "normal-maximum",
    "outcomeIdentifier": "outcome-identifier",
    "responseIdentifier": "response-identifier",
    "showFeedback": "show-feedback",
    "showHide": "show-hide",
    "submissionMode": "submission-mode",
    "timeDependent": "time-dependent",
    "variableIdentifier": "variable-identifier",
}


class Dialect(NamedTuple):
    """One version's names.

    Attributes:
        version: as people say it.
        elements: its names of elements that differ from the model.
        attributes: its names of attributes.
        feedback_body: the element that wraps the text of modal feedback; '' where there is none.
        question_space: namespace of items and tests.
        question_schema: public address of its schema.
        package_space: namespace of the manifest.
        package_schema: public address of its schema.
        package: what the manifest calls the package.
        package_version: and its version.
        item_type: what the manifest calls an item.
        test_type: what it calls a test.
    """

    version: str
    elements: dict[str, str]
    attributes: dict[str, str]
    feedback_body: str
    question_space: str
    question_schema: str
    package_space: str
    package_schema: str
    package: str
    package_version: str
    item_type: str
    test_type: str


QTI_30 = Dialect(
    version="3.0",
    elements=ELEMENTS_30,
    attributes=ATTRIBUTES_30,
    feedback_body="qti-content-body",
    question_space="http://www.imsglobal.org/xsd/imsqtiasi_v3p0",
    question_schema="https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqti_asiv3p0_v1p0.xsd",
    package_space="http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1",
    package_schema="https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqtiv3p0_imscpv1p2_v1p0.xsd",
    package="QTI Package",
    package_version="3.0.0",
    item_type="imsqti_item_xmlv3p0",
    test_type="imsqti_test_xmlv3p0",
)
QTI_21 = Dialect(
    version="2.1",
    elements={},
    attributes={},
    feedback_body="",
    question_space="http://www.imsglobal.org/xsd/imsqti_v2p1",
    question_schema="http://www.imsglobal.org/xsd/qti/qtiv2p1/imsqti_v2p1p2.xsd",
    package_space="http://www.imsglobal.org/xsd/imscp_v1p1",
    package_schema="http://www.imsglobal.org/xsd/qti/qtiv2p1/qtiv2p1_imscpv1p2_v1p0.xsd",
    package="QTIv2.1 Package",
    package_version="1.0.0",
    item_type="imsqti_item_xmlv2p1",
    test_type="imsqti_test_xmlv2p1",
)
DIALECTS = (QTI_30, QTI_21)


class Node(NamedTuple):
    """An element: its name in the model, its attributes and its contents."""

    name: str
    attributes: dict[str, str]
    children: tuple[Node | str, ...] = ()


def node(name: str, /, *children: Node | str, **attributes: str) -> Node:
    """Makes a node."""
    return Node(name, attributes, children)


# IEEE 1484.12.3-2005, learning object metadata: the target namespace of its schema, which packages of QTI 2.1
# and 3.0 alike name for it; its names are the same in both dialects.
LOM = "http://ltsc.ieee.org/xsd/LOM"


def _element(tree: Node, dialect: Dialect) -> ElementTree.Element:
    if tree.attributes.get("xmlns") == LOM:
        dialect = dialect._replace(elements={}, attributes={})
    attributes = {
        dialect.attributes.get(name, name): FORBIDDEN.sub("\ufffd", value)
        for name, value in tree.attributes.items()
    }
    element = ElementTree.Element(dialect.elements.get(tree.name, tree.name), attributes)
    last: ElementTree.Element | None = None
    for child in tree.children:
        if isinstance(child, Node):
            last = _element(child, dialect)
            element.append(last)
        elif last is None:
            element.text = (element.text or "") + FORBIDDEN.sub("\ufffd", child)
        else:
            last.tail = (last.tail or "") + FORBIDDEN.sub("\ufffd", child)
    return element


def document(tree: Node, dialect: Dialect, space: str, schema: str) -> bytes:
    """A whole XML document (UTF-8) in a namespace; the same tree gives the same bytes.

    Args:
        tree: the root.
        dialect: whose names are written.
        space: the namespace of all its elements.
        schema: the public address of the namespace's schema.
    """
    root = tree._replace(
        attributes={
            "xmlns": space,
            "xmlns:xsi": "http://www.w3.org/2001/XMLSchema-instance",
            "xsi:schemaLocation": f"{space} {schema}",
            **tree.attributes,
        }
    )
    element = _element(root, dialect)
    _indent(element)
    written: str = ElementTree.tostring(element, "unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{written}\n'.encode()


def _indent(element: ElementTree.Element, depth: int = 1) -> None:
    """Put elements on separate lines, except around text, which would get extra spaces."""
    children = list(element)
    if not children or element.text or any(child.tail for child in children):
        return
    element.text = "\n" + "  " * depth
    for child in children:
        child.tail = "\n" + "  " * depth
        _indent(child, depth + 1)
    children[-1].tail = "\n" + "  " * (depth - 1)
