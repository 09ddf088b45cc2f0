"""A QTI package: one zip with manifest, test, questions and drawings."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence

from lubberline.errors import InputError
from lubberline.publish.qti import identifier_of, item_tree, paper_tree
from lubberline.publish.qti_names import Dialect
from lubberline.publish.qti_xml import Node, document, node
from lubberline.questions.item import Item

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
                "a test may hold a question once",
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
        resources.append(_resource(name, dialect.item_type, href, needed))
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


def _resource(identifier: str, kind: str, href: str, needed: Sequence[str]) -> Node:
    return node(
        "resource",
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
