"""A small tree of the question model, and its bytes as XML in one of the dialects."""

from __future__ import annotations

from typing import NamedTuple
from xml.etree import ElementTree

from lubberline.publish.qti_names import Dialect
from lubberline.publish.svg import FORBIDDEN


class Node(NamedTuple):
    """An element by its name in the model, its attributes, and what is in it."""

    name: str
    attributes: dict[str, str]
    children: tuple[Node | str, ...] = ()


def node(name: str, /, *children: Node | str, **attributes: str) -> Node:
    """A node, written shortly."""
    return Node(name, attributes, children)


def _element(tree: Node, dialect: Dialect) -> ElementTree.Element:
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
    """Put elements on lines of their own, except where there is text between them: it would grow blanks."""
    children = list(element)
    if not children or element.text or any(child.tail for child in children):
        return
    element.text = "\n" + "  " * depth
    for child in children:
        child.tail = "\n" + "  " * depth
        _indent(child, depth + 1)
    children[-1].tail = "\n" + "  " * (depth - 1)
