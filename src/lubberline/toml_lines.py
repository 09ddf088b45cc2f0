"""The lines of a TOML text: where each table, key and list entry of it begins."""

import re
from collections.abc import Iterator

Path = tuple[str | int, ...]
_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"""|\'\'\'.*?\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\''
    r"|#[^\n]*|[\[\]{},=\n]|[^\s\[\]{},=#\"']+",
    re.DOTALL,
)
_ENDS = ("\n", ",", "]", "}", "")


class _Lines:
    """Reads a text that is valid TOML once, from its first token to its last."""

    def __init__(self, text: str) -> None:
        self.found: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        self._tokens = self._read(text)
        self._next()

    def _read(self, text: str) -> Iterator[tuple[str, int]]:
        line, seen = 1, 0
        for token in _TOKEN.finditer(text):
            line, seen = line + text.count("\n", seen, token.start()), token.start()
            if token[0][0] != "#":
                yield token[0], line

    def _next(self) -> None:
        self._token, self._line = next(self._tokens, ("", 0))

    def document(self) -> None:
        table: Path = ()
        while self._token:
            if self._token == "\n":
                self._next()
            elif self._token == "[":
                table = self._header()
            else:
                self._pair(table)

    def _header(self) -> Path:
        line = self._line
        self._next()
        is_list = self._token == "["
        if is_list:
            self._next()
        *above, last = self._key("]")
        path: Path = ()
        for word in above:
            path = self._inside((*path, word))
        path = (*path, last)
        if is_list:
            self._counts[path] = self._counts.get(path, -1) + 1
            path = (*path, self._counts[path])
            self._next()
        self.found.setdefault(path, line)
        return path

    def _inside(self, path: Path) -> Path:
        """The last entry of a list of tables, or the table itself."""
        return (*path, self._counts[path]) if path in self._counts else path

    def _key(self, end: str) -> list[str]:
        words = []
        while self._token not in (end, ""):
            quoted = self._token[0] in "\"'"
            words += [self._token[1:-1]] if quoted else [word for word in self._token.split(".") if word]
            self._next()
        self._next()
        return words or [""]

    def _pair(self, table: Path) -> None:
        line = self._line
        path = (*table, *self._key("="))
        self.found.setdefault(path, line)
        self._value(path)

    def _value(self, path: Path) -> None:
        if self._token == "[":
            self._entries(path, "]")
        elif self._token == "{":
            self._entries(path, "}")
        else:
            while self._token not in _ENDS:
                self._next()

    def _entries(self, path: Path, end: str) -> None:
        self._next()
        number = 0
        while self._token not in (end, ""):
            if self._token in ("\n", ","):
                self._next()
            elif end == "}":
                self._pair(path)
            else:
                self.found[(*path, number)] = self._line
                self._value((*path, number))
                number += 1
        self._next()


def line_of(text: str, path: Path) -> int:
    """The line, from 1, of what is at a path of a valid TOML text, or of the nearest table around it.

    Args:
        text: of the file.
        path: keys, and places in lists from 0.
    """
    lines = _Lines(text)
    lines.document()
    return next((lines.found[path[:end]] for end in range(len(path), 0, -1) if path[:end] in lines.found), 1)
