"""Checks packages against the official schema files of QTI, from a folder of the user.

The schema files cannot be included in this program: their licence is for registered users only.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from lubberline.errors import InputError
from lubberline.publish.papers.qti_names import Dialect

XSD = "{http://www.w3.org/2001/XMLSchema}"
SCHEMA_LOCATION = "{http://www.w3.org/2001/XMLSchema-instance}schemaLocation"


class Schemas:
    """The schema files of a folder, each compiled when first needed, without using the network."""

    def __init__(self, folder: Path | str) -> None:
        """Read which elements each schema declares.

        Raises:
            InputError: lxml is missing, or the folder has no schema.
        """
        try:
            import lxml.etree
        except ImportError:
            raise InputError(
                "--check-qti", "lxml is not installed", "install it: pip install 'lubberline[qti]'"
            ) from None
        self._etree: Any = lxml.etree
        self.folder = Path(folder)
        self._files = {path.name: path for path in sorted(self.folder.rglob("*.xsd"))}
        if not self._files:
            right = "give a folder with the schema files (.xsd) of QTI, available from 1EdTech"
            raise InputError(str(folder), "it contains no schema", right)
        self._declared = {name: _declared(path) for name, path in self._files.items()}
        self._compiled: dict[str, Any] = {}

    def _schema_for(self, root: ElementTree.Element) -> str:
        """The file that declares a root element; the one named in the document, if there are several."""
        fitting = [name for name, elements in self._declared.items() if root.tag in elements]
        named = root.get(SCHEMA_LOCATION, "").rpartition("/")[2]
        return named if named in fitting else (fitting or [""])[-1]

    def _compile(self, name: str) -> Any:
        if name not in self._compiled:
            parser = self._etree.XMLParser(no_network=True, resolve_entities=False)
            parser.resolvers.add(_resolver(self._etree, self._files))
            try:
                tree = self._etree.parse(str(self._files[name]), parser)
                self._compiled[name] = self._etree.XMLSchema(tree)
            except (self._etree.XMLSyntaxError, self._etree.XMLSchemaParseError) as error:
                raise InputError(
                    str(self._files[name]),
                    f"cannot be used: {str(error)[:300]}",
                    "put the complete schema there, with every schema it imports",
                ) from None
        return self._compiled[name]

    def check(self, files: Mapping[str, bytes]) -> tuple[int, list[str]]:
        """The number of valid files, and the names of those without a schema.

        Raises:
            InputError: for the first invalid file.
        """
        valid, unknown = 0, []
        for name, data in files.items():
            schema = self._schema_for(ElementTree.fromstring(data))
            if not schema:
                unknown.append(name)
                continue
            compiled = self._compile(schema)
            if not compiled.validate(self._etree.fromstring(data)):
                error = compiled.error_log[0]
                raise InputError(
                    f"{name}, line {error.line}",
                    f"not valid under {schema}: {error.message}",
                    "this is an error in the program; please report it",
                )
            valid += 1
        return valid, unknown

    def told(self, packages: Sequence[tuple[Dialect, Mapping[str, bytes]]]) -> list[str]:
        """A line for each dialect's files.

        Raises:
            InputError: for the first invalid file, or if no schema fits any file.
        """
        lines, total = [], 0
        for dialect, files in packages:
            valid, unknown = self.check(files)
            total += valid
            line = f"QTI {dialect.version}: {valid} of {len(files)} files valid"
            kinds = sorted(
                {name.rpartition("/")[2] if "/items/" not in name else "items" for name in unknown}
            )
            lines.append(line + (f"; no schema for {', '.join(kinds)}" if kinds else ""))
        if not total:
            wrong = "it has no schema for QTI 3.0 or 2.1"
            raise InputError(str(self.folder), wrong, "give the folder with the schema files of QTI")
        return lines


def _declared(path: Path) -> set[str]:
    """The top-level elements of a schema, as '{namespace}name'."""
    try:
        root = ElementTree.parse(path).getroot()
    except ElementTree.ParseError:
        return set()
    space = root.get("targetNamespace", "")
    return {f"{{{space}}}{one.get('name')}" for one in root.findall(f"{XSD}element")}


def _resolver(etree: Any, files: Mapping[str, Path]) -> Any:
    """Loads every import and include from the folder, by the last part of its address."""

    class FromFolder(etree.Resolver):  # type: ignore[misc]
        def resolve(self, url: str, _: str, context: Any) -> Any:
            path = files.get(url.rpartition("/")[2])
            return self.resolve_filename(str(path), context) if path else None

    return FromFolder()
