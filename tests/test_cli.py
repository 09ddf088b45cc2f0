"""The command line: what it prints, what it writes, and how it refuses."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from lubberline import __version__
from lubberline.cli import main
from lubberline.simulation.flown import LEDGER_COLUMNS, TRACE_COLUMNS

ROOT = Path(__file__).parents[1]
SHORT = str(ROOT / "demo/flights/short_circuit.toml")
OAK = str(ROOT / "demo/aircraft/zz_oak.toml")


def run(*arguments: str) -> int:
    return main(arguments)


def test_fly_writes_every_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert (
        run(
            "fly",
            SHORT,
            "--aircraft",
            OAK,
            "--believe",
            "no-earth-wander",
            "--ensemble",
            "3",
            "--out",
            str(out),
        )
        == 0
    )
    names = {path.name for path in out.iterdir()}
    assert {
        "trace.csv",
        "ledger.csv",
        "compass_ledger.csv",
        "summary.json",
        "figure.svg",
        "report.pdf",
    } <= names
    assert {"ensemble.csv", "believed_no-earth-wander.csv"} <= names
    assert (out / "trace.csv").read_text().splitlines()[0] == ",".join(TRACE_COLUMNS)
    assert (out / "ledger.csv").read_text().splitlines()[0] == ",".join(LEDGER_COLUMNS)
    assert (out / "report.pdf").read_bytes().startswith(b"%PDF")
    summary = json.loads((out / "summary.json").read_text())
    assert summary["field_model"].startswith("WMM-2025")
    assert summary["versions"]["lubberline"] == __version__
    printed = capsys.readouterr()
    assert summary["sentence"] in printed.out
    assert "teaching only" in printed.out
    assert "Of 3 such instruments" in printed.out


def test_written_ledger_sums_to_the_written_error(tmp_path: Path) -> None:
    """From the files alone, as a user would check it; each of 13 columns is rounded to 0.001 deg."""
    run("fly", SHORT, "--aircraft", OAK, "--out", str(tmp_path))
    ledger = np.genfromtxt(tmp_path / "ledger.csv", delimiter=",", names=True)
    trace = np.genfromtxt(tmp_path / "trace.csv", delimiter=",", names=True, dtype=None, encoding="utf-8")
    total = sum(ledger[name] for name in LEDGER_COLUMNS[1:-1])
    apart = (total - trace["heading_error_deg"] + 180.0) % 360.0 - 180.0
    assert np.max(np.abs(apart)) < 0.01


def test_wander_on_the_blackboard(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("wander", "--latitude", "60", "--groundspeed", "120") == 0
    printed = capsys.readouterr().out
    assert "-13.026" in printed
    assert "-3.449" in printed


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["fly", "none.toml"], "none.toml"),
        (["fly", "none.gpx"], "none.gpx"),
        (["fly", SHORT, "--aircraft", "none.toml"], "none.toml"),
        (["fly", SHORT, "--fault", "motor@3"], "--fault"),
        (["fly", SHORT, "--believe", "x"], "--believe"),
        (["fly", SHORT, "--wind", "strong"], "--wind"),
        (["fly", SHORT, "--ensemble", "0"], "--ensemble"),
        (["fly", SHORT, "--seed", "-4"], "--seed"),
        (["wander", "--latitude", "91"], "latitude"),
        (["wander", "--latitude", "45", "--minutes", "nan"], "--minutes"),
        (["fly"], "FLIGHT"),
        ([], "COMMAND"),
    ],
)
def test_bad_input_is_one_clear_line_and_exit_code_2(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    out = tmp_path / "out"
    extra = ["--out", str(out)] if arguments[:1] == ["fly"] and len(arguments) > 1 else []
    assert run(*arguments, *extra) == 2
    error = capsys.readouterr().err
    assert words in error
    assert "Traceback" not in error
    assert not out.exists()


def test_out_that_is_a_file_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    taken = tmp_path / "taken"
    taken.write_text("mine")
    assert run("fly", SHORT, "--out", str(taken)) == 2
    assert taken.read_text() == "mine"
    assert "file" in capsys.readouterr().err


def test_ideas_lists_every_one(capsys: pytest.CaptureFixture[str]) -> None:
    from lubberline.simulation.misconceptions import FLOWN

    assert run("ideas") == 0
    printed = capsys.readouterr().out
    assert all(idea.id in printed for idea in FLOWN)


def test_it_runs_as_a_module_of_python(capfd: pytest.CaptureFixture[str]) -> None:
    done = subprocess.run([sys.executable, "-m", "lubberline", "--version"], check=False)
    assert done.returncode == 0
    assert capfd.readouterr().out == f"lubberline {__version__}\n"
