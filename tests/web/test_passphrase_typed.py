"""The passphrase as it is typed before the pages are served."""

import io

import pytest

from lubberline.errors import InputError
from lubberline.web import serve as serving


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("stdin", [None, io.StringIO(""), Terminal()])
def test_nothing_to_read_it_from_is_one_sentence(stdin, monkeypatch):
    def ended(_):
        raise EOFError

    monkeypatch.setattr("sys.stdin", stdin)
    monkeypatch.setattr(serving.getpass, "getpass", ended)
    with pytest.raises(InputError, match="passphrase: nothing was typed; type it at a terminal, or set LUBB"):
        serving.typed("A passphrase: ")


def test_without_a_terminal_it_is_a_line_of_input(monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("four words for it\r\nmore\n"))
    assert serving.typed("A passphrase: ") == "four words for it"
