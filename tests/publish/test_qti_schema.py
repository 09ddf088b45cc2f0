"""Packages against schema files: here a small schema of our own, since the official ones may not be shipped.

It declares what the ASI 3.0 binding says of an item's head, and takes its types from a second file by a
public address, as the official files do.
"""

import builtins
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.errors import InputError
from lubberline.publish.papers.files import check_packages
from lubberline.publish.papers.qti_names import QTI_30

from .made_up_paper import paper, whole

MAIN = f"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns="{QTI_30.question_space}"
  targetNamespace="{QTI_30.question_space}" elementFormDefault="qualified">
  <xs:include schemaLocation="https://schemas.invalid/deep/types.xsd"/>
  <xs:element name="qti-assessment-item" type="Item"/>
</xs:schema>"""
TYPES = f"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns="{QTI_30.question_space}"
  targetNamespace="{QTI_30.question_space}" elementFormDefault="qualified">
  <xs:complexType name="Item"><xs:sequence>
    <xs:any processContents="skip" maxOccurs="unbounded"/></xs:sequence>
    <xs:attribute name="identifier" type="xs:NCName" use="required"/>
    <xs:attribute name="title" type="xs:normalizedString" use="required"/>
    <xs:attribute name="adaptive" type="xs:boolean"/>
    <xs:attribute name="time-dependent" type="xs:boolean" use="required"/>MORE
    <xs:anyAttribute namespace="http://www.w3.org/XML/1998/namespace" processContents="skip"/>
  </xs:complexType>
</xs:schema>"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    pytest.importorskip("lxml", reason="lxml is not installed: pip install 'lubberline[qti]'")
    (tmp_path / "within").mkdir()
    (tmp_path / "asi.xsd").write_text(MAIN)
    (tmp_path / "within" / "types.xsd").write_text(TYPES.replace("MORE", ""))
    return tmp_path


def told(folder: Path) -> list[str]:
    from lubberline.publish.papers.qti_schema import Schemas

    return check_packages([whole(6), paper(*whole(3).items, form="B")], Schemas(folder))


def test_valid_items_are_counted_and_what_has_no_schema_is_said(folder):
    assert told(folder) == [
        "QTI 3.0: 9 of 13 files valid; no schema for imsmanifest.xml, test.xml",
        "QTI 2.1: 0 of 13 files valid; no schema for imsmanifest.xml, items, test.xml",
    ]


def test_what_is_not_valid_is_named_with_its_line(folder):
    needed = '<xs:attribute name="label" type="xs:string" use="required"/>'
    (folder / "within" / "types.xsd").write_text(TYPES.replace("MORE", needed))
    with pytest.raises(InputError, match=r"A/items/q-\w+\.xml, line 2: not valid under asi\.xsd: .*'label'"):
        told(folder)


def test_an_import_that_is_not_there_is_said_and_not_fetched(folder):
    (folder / "within" / "types.xsd").unlink()
    with pytest.raises(InputError, match=r"asi\.xsd: cannot be used: .*every schema it imports"):
        told(folder)


def test_schemas_for_something_else_are_not_taken_for_a_check(folder):
    (folder / "asi.xsd").unlink()
    with pytest.raises(InputError, match=r"it has no schema for QTI 3\.0 or 2\.1"):
        told(folder)


def test_an_empty_folder_and_a_missing_library_are_said(tmp_path, capsys, monkeypatch):
    asked = ["ask", "--blueprint", "none.toml", "--out", str(tmp_path / "out"), "--check-qti", str(tmp_path)]
    assert main(asked) == 2
    assert "it contains no schema" in capsys.readouterr().err
    real = builtins.__import__

    def without(name, *more, **named):
        if name.startswith("lxml"):
            raise ImportError(name)
        return real(name, *more, **named)

    monkeypatch.setattr(builtins, "__import__", without)
    assert main(asked) == 2
    assert "lxml is not installed; install it: pip install 'lubberline[qti]'" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
