"""A log of one aircraft is not judged as another's without a word."""

from pathlib import Path

import msgspec
import pytest

from lubberline.cli import main
from lubberline.commands import judge as command
from lubberline.errors import InputError
from lubberline.upkeep.log import doubt_whose, log_from_text

HEAD = "time_utc,indicated,compass,set_at,place"
ROW = "2026-01-01T10:00Z,4,2,09:50Z,47N 8E"
AIRCRAFT = Path(__file__).parents[2] / "demo/aircraft"


def test_a_log_of_another_aircraft_is_refused_whether_a_column_or_a_line_names_it() -> None:
    for text in (
        f"# aircraft = ZZ-ELM\n{HEAD}\n{ROW}\n",
        f"{HEAD}\n{ROW}\n# Aircraft=zz-elm\n",
        f"aircraft,{HEAD}\nZZ-ELM,{ROW}\n",
    ):
        with pytest.raises(
            InputError, match=r"(?i)log\.csv: it is the log of zz-elm; give the log of ZZ-OAK"
        ):
            log_from_text("log.csv", text, "ZZ-OAK")
        log = log_from_text("log.csv", text, "ZZ-ELM")
        assert len(log.checks) == 1
        assert doubt_whose(log, "zz_oak.csv", AIRCRAFT / "zz_elm.toml", "ZZ-ELM") == ""


def test_a_row_of_its_own_counts_more_than_the_line_for_all() -> None:
    text = f"# aircraft = ZZ-ELM\naircraft,{HEAD}\n,{ROW}\nZZ-OAK,{ROW.replace('01T', '02T')}\n"
    log = log_from_text("log.csv", text, "ZZ-ELM")
    assert (len(log.checks), len(log.refused)) == (1, 1)
    assert log.refused[0].wrong == "'ZZ-OAK' is another aircraft"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("zz_oak.csv", "its name is that of zz_oak.toml"),
        ("ZZ-OAK 2026.csv", "its name is that of zz_oak.toml"),
        ("checks.csv", "does not name its aircraft; it was judged as that of ZZ-ELM"),
    ],
)
def test_a_log_that_does_not_say_is_told_by_the_names_of_files(name: str, said: str) -> None:
    log = log_from_text(name, f"{HEAD}\n{ROW}\n", "ZZ-ELM")
    assert said in doubt_whose(log, f"logs/{name}", AIRCRAFT / "zz_elm.toml", "ZZ-ELM")
    for own in ("zz_elm.csv", "zz-elm checks 2026.csv"):
        assert doubt_whose(log, f"logs/{own}", AIRCRAFT / "zz_elm.toml", "ZZ-ELM") == ""


class Judged(msgspec.Struct):
    cautions: tuple[str, ...] = ()


def test_the_command_refuses_it_and_tells_of_one_that_does_not_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "checks.csv"
    log.write_text(f"# aircraft = ZZ-ELM\n{HEAD}\n{ROW}\n")
    given = ["judge", str(log), "--aircraft", str(AIRCRAFT / "zz_oak.toml"), "--out", str(tmp_path / "out")]
    # What it is judged to be is another test's.
    monkeypatch.setattr("lubberline.upkeep.judge.judge", lambda *_: Judged())
    monkeypatch.setattr("lubberline.publish.folder.write_together", lambda *_, **__: [])
    monkeypatch.setattr(command, "_say", lambda *_: None)
    assert main(given) == 2
    assert "it is the log of ZZ-ELM; give the log of ZZ-OAK" in capsys.readouterr().err
    log.write_text(f"{HEAD}\n{ROW}\n")
    assert main(given) == 0
    assert "Warning: checks.csv does not name its aircraft" in capsys.readouterr().err
