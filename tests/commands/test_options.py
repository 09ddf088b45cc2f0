"""Every option of every command: a bad value is one line and exit code 2, before anything is done."""

from pathlib import Path

import pytest

from lubberline.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo"
FLIGHT = str(DEMO / "flights/short_circuit.toml")
OAK = str(DEMO / "aircraft/zz_oak.toml")
LOG = str(DEMO / "logs/zz_oak.csv")
BLUEPRINT = str(DEMO / "papers/heading_instruments.toml")
LESSON = str(DEMO / "lessons/1_how_it_works.md")
FLY = ["fly", FLIGHT]
WANDER = ["wander", "--latitude", "45"]
ASK = ["ask", "--blueprint", BLUEPRINT]
JUDGE = ["judge", LOG, "--aircraft", OAK]
PLAN = ["plan", FLIGHT]
SWING = ["swing", str(DEMO / "swings/zz_oak.csv")]
STATISTICS = ["statistics", str(DEMO / "answers/answers.csv"), "--paper", str(DEMO / "answers/paper.json")]
HOME = ["home", "set", "--place", "Here", "--latitude", "1", "--longitude", "1"]
HANDOUT = ["lesson", "handout", LESSON]
# Commands with --out, which cannot do without it (or, fly and home, write nothing without it).
WRITING = (FLY, ASK, JUDGE, PLAN, SWING, STATISTICS, HANDOUT, ["course", "Spring"], ["home"])

BAD: list[tuple[list[str], list[str], str]] = [
    ([], [], "COMMAND"),
    ([], ["flie"], "flie"),
    ([], ["fly"], "FLIGHT"),
    ([], ["fly", "none.toml"], "none.toml"),
    ([], ["fly", "none.gpx"], "none.gpx"),
    *((FLY, ["--seed", bad], "--seed") for bad in ("-1", "x", "1.5", "4294967296", "9" * 5000)),
    *((FLY, ["--ensemble", bad], "--ensemble") for bad in ("0", "-3", "x", "100001", "1e3")),
    *((FLY, ["--set-every", bad], "--set-every") for bad in ("0", "0.4", "1441", "nan", "inf", "x")),
    (FLY, ["--set-from", "gps"], "--set-from"),
    *((FLY, ["--wind", bad], "--wind") for bad in ("strong", "361/5", "240/201", "240", "nan/5")),
    *((FLY, ["--fault", bad], "--fault") for bad in ("motor@3", "pump", "pump@x", "filter=9@3", "pump@1441")),
    (FLY, ["--believe", "x"], "--believe"),
    (FLY, ["--aircraft", "none.toml"], "none.toml"),
    *(([], ["wander", "--latitude", bad], "--latitude") for bad in ("91", "-90", "nan", "x")),
    ([], ["wander"], "--latitude"),
    *((WANDER, ["--groundspeed", bad], "--groundspeed") for bad in ("-1", "701", "nan")),
    *((WANDER, ["--track", bad], "--track") for bad in ("-1", "361", "inf")),
    *((WANDER, ["--minutes", bad], "--minutes") for bad in ("0", "-5", "1441", "nan")),
    ([], ["ask", "--out", "out"], "--blueprint"),
    (["ask"], ["--blueprint", "none.toml", "--out", "out"], "none.toml"),
    (["ask"], ["--locked", "none.json", "--out", "out"], "none.json"),
    *((ASK, ["--out", "out", "--seed", bad], "--seed") for bad in ("-1", "x", "4294967296")),
    *((ASK, ["--out", "out", "--forms", bad], "form") for bad in ("", "A,A", "A,,B", "A/B", "x" * 99)),
    (ASK, ["--out", "out", "--jurisdiction", "??"], "??"),
    *(
        (ASK, ["--out", "out", f"--{one}", "none"], "none")
        for one in ("items", "words", "retired", "check-qti")
    ),
    (["own"], ["--folder", "none"], "none: there is no such folder"),
    (["lesson", "check", LESSON], ["--scenes", "none"], "--scenes"),
    (ASK, ["--out", "out", "--lock", "none/lock.json"], "none/lock.json"),
    (ASK, ["--out", "out", "--lock", "file"], "file: the file exists already"),
    (ASK, ["--out", "out", "--lock", "file/lock.json"], "file/lock.json"),
    *((["open", "--no-open"], ["--port", bad], "--port: '") for bad in ("65536", "99999", "-1", "x", "80.5")),
    (["open", "--no-open"], ["--behind", "http://x"], "--behind"),
    (["open", "--no-open"], ["--behind", "school.example"], "--behind"),
    (["open", "--no-open"], ["--passphrase", "--no-passphrase"], "--no-passphrase"),
    (["open", "--no-open"], ["--lan=yes"], "--lan"),
    (["ideas"], ["--all"], "--all"),
    (["home"], ["set", "none.toml"], "none.toml"),
    (ASK, ["--out", "out", "--home", "none.toml"], "none.toml"),
    (PLAN, ["--out", "out", "--home", "none.toml"], "none.toml"),
    (["lesson", "check", LESSON], ["--home", "none.toml"], "none.toml"),
    (["home"], ["set"], "nothing is given"),
    (HOME, ["--time-zone", "Here"], "time_zone"),
    *((["home", "set"], ["--latitude", bad], "--latitude") for bad in ("90", "x", "nan")),
    *((["home", "set"], ["--suction", bad], "--suction") for bad in ("psi", "")),
    *((["home", "set"], ["--longitude", bad], "--longitude") for bad in ("181", "x")),
    *((["home", "set"], ["--elevation", bad], "--elevation") for bad in ("16001", "nan")),
    (["home", "set"], ["--paper", "A3"], "--paper"),
    (HOME, ["--place", ""], "place"),
    (HOME, ["--regulations", "Atlantis"], "Atlantis"),
    (HOME, ["--aircraft", "ZZ-NIL"], "ZZ-NIL"),
    ([], ["judge", "none.csv", "--aircraft", OAK, "--out", "out"], "none.csv"),
    ([], ["judge", LOG, "--out", "out"], "--aircraft"),
    ([], ["judge", LOG, "--aircraft", "none.toml", "--out", "out"], "none.toml"),
    (JUDGE, ["--out", "out", "--track", "none.gpx"], "none.gpx"),
    *((PLAN, ["--out", "out", "--date", bad], "--date") for bad in ("gestern", "12.5.2026", "2026-02-30")),
    *((PLAN, ["--out", "out", "--limit", bad], "--limit") for bad in ("0.5", "46", "nan", "x")),
    *((PLAN, ["--out", "out", "--kt", bad], "--kt") for bad in ("29", "701", "nan")),
    *((PLAN, ["--out", "out", "--altitude", bad], "--altitude") for bad in ("-1", "60001", "nan")),
    (PLAN, ["--out", "out", "--wind", "strong"], "wind"),
    (PLAN, ["--out", "out", "--log", "none.csv"], "none.csv"),
    (PLAN, ["--out", "out", "--aircraft", "none.toml"], "none.toml"),
    ([], ["plan", "none.csv", "--out", "out"], "none.csv"),
    *((SWING, ["--out", "out", "--date", bad], "--date") for bad in ("gestern", "2026-13-01", "1.5.2026")),
    *((SWING, ["--out", "out", "--limit", bad], "--limit") for bad in ("0", "-1", "91", "nan")),
    ([], ["swing", "none.csv", "--out", "out"], "none.csv"),
    *((STATISTICS, ["--out", "out", "--mark", bad], "--mark") for bad in ("0", "101", "nan", "x")),
    ([], ["statistics", "none.csv", "--paper", STATISTICS[3], "--out", "out"], "none.csv"),
    ([], [*STATISTICS[:2], "--paper", "none.json", "--out", "out"], "none.json"),
    ([], ["lesson"], "check|time|handout"),
    ([], ["lesson", "check", "none.md"], "none.md"),
    *((["lesson", "check", LESSON], ["--seed", bad], "--seed") for bad in ("-1", "x", "4294967296")),
    (["course", "Nobody"], ["--out", "out"], "class"),
    ([], ["records"], "where|backup"),
    ([], ["records", "burn"], "burn"),
    ([], ["records", "restore", "none"], "none"),
    (["demo-class"], ["--remove", "now"], "now"),
    *((command, [], "--out") for command in WRITING if command not in (FLY, ["home"])),
    *((command, ["--out", bad], bad) for command in WRITING for bad in ("file", "file/out", "/dev/null/x")),
    *((command, ["--out", ""], "--out") for command in WRITING),
]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The working folder, with one file in it; the records are in memory."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LUBBERLINE_DATABASE", "memory")
    (tmp_path / "file").write_text("mine")
    return tmp_path


@pytest.mark.parametrize(
    ("command", "given", "words"), BAD, ids=[" ".join([*one[:1], *two])[:50] for one, two, _ in BAD]
)
def test_a_bad_value_is_one_line_and_nothing_is_done(
    command: list[str], given: list[str], words: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*command, *given]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert printed.err.startswith("lubberline: ")
    assert words in printed.err
    assert [path.name for path in folder.iterdir()] == ["file"]
    assert (folder / "file").read_text() == "mine"


def test_no_option_of_any_command_is_left_out() -> None:
    """Each option that takes a value stands above with a bad one; those without a value cannot have one."""
    import argparse

    from lubberline.cli import _parser

    def options(parser: argparse.ArgumentParser, before: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
        found = []
        for action in parser._actions:
            if isinstance(action, argparse._SubParsersAction):
                for name, below in action.choices.items():
                    found += options(below, (*before, name))
            elif action.option_strings and action.nargs != 0:
                found.append((*before[:1], action.option_strings[-1]))
        return found

    tried = {
        ((*command, *given)[0], word)
        for command, given, _ in BAD
        for word in (*command, *given)
        if (*command, *given) and word.startswith("--")
    }
    # Words of a person's own choice: no value is wrong by itself.
    free = {("swing", "--aircraft"), ("records", "--class")}
    assert set(options(_parser())) - free <= tried
