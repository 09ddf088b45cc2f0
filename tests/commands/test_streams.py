"""What is printed to a reader who goes away, to a full disk, and where there are few characters."""

import errno
import io
import os
import sys
from pathlib import Path

import pytest

from lubberline.cli import main

ROOT = Path(__file__).parents[2]
FLIGHT = ROOT / "demo/flights/short_circuit.toml"


class Failing(io.StringIO):
    """A stream whose reader or disk is gone: after so many characters every write fails."""

    def __init__(self, number: int, after: int = 0) -> None:
        super().__init__()
        self.number, self.after = number, after

    def write(self, text: str) -> int:
        if self.tell() + len(text) > self.after:
            raise OSError(self.number, os.strerror(self.number))
        return super().write(text)


@pytest.mark.parametrize(
    ("stream", "code", "said"),
    [
        (Failing(errno.EPIPE), 0, ""),
        (Failing(errno.EPIPE, 100), 0, ""),
        (Failing(errno.ENOSPC), 2, "lubberline: output: the disk is full; send it where it can be written\n"),
        (Failing(errno.ENOSPC, 100), 2, "the disk is full"),
        (Failing(errno.EIO), 2, "input/output error"),
        (None, 2, "it is closed"),
    ],
)
@pytest.mark.parametrize("arguments", [["ideas"], ["wander", "--latitude", "60"], ["--help"]])
def test_output_that_fails_is_no_traceback(
    stream: Failing | None,
    code: int,
    said: str,
    arguments: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(sys, "stdout", stream)
    if stream is not None:
        stream.seek(0)
    assert main(arguments) == code
    err = capsys.readouterr().err
    assert (said in err) if said else (err == "")
    assert err.count("\n") == (1 if said else 0)


@pytest.mark.parametrize("number", [errno.EPIPE, errno.ENOSPC])
def test_files_that_were_asked_for_are_written_all_the_same(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    swing = ["swing", str(ROOT / "demo/swings/zz_oak.csv"), "--out", str(tmp_path / "out")]
    monkeypatch.setattr(sys, "stdout", Failing(number))
    assert main(swing) == (0 if number == errno.EPIPE else 2)
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"swing.json", "card.pdf"}
    assert capsys.readouterr().err.count("\n") == (0 if number == errno.EPIPE else 1)


def test_standard_error_that_is_gone_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    for stream in (None, Failing(errno.EPIPE), Failing(errno.ENOSPC)):
        out = io.StringIO()
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", stream)
        assert main(["wander", "--latitude", "95"]) == 2
        # Python itself prints to standard output where there is no standard error.
        assert out.getvalue() == ""


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [
        ("ascii", "Ubung ? - n'est pas, 5 deg with"),
        ("cp1252", "Übung ? - n’est pas, 5° with"),
        ("utf-8", "Übung Δ − n’est pas, 5° with"),
    ],
)
def test_characters_that_cannot_be_shown_are_replaced(
    encoding: str, shown: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = FLIGHT.read_text(encoding="utf-8").splitlines()
    titled = ['title = "Übung Δ − n’est pas, 5°"' if line.startswith("title") else line for line in lines]
    (tmp_path / "x.toml").write_text("\n".join(titled), encoding="utf-8")
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    assert main(["fly", str(tmp_path / "x.toml")]) == 0
    assert raw.getvalue().decode(encoding).startswith(shown)


def test_a_file_name_that_is_no_text_is_shown_somehow(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stderr", io.TextIOWrapper(raw, encoding="utf-8"))
    assert main(["fly", str(tmp_path / "\udcff.toml")]) == 2
    assert b"?.toml" in raw.getvalue()
