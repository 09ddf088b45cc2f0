"""The invented fleet gets the verdicts it was built to deserve, out of logs that the engine wrote."""

import csv
import io
import json
from functools import cache
from pathlib import Path

import pytest

from lubberline.cli import main
from lubberline.simulation.aircraft import read_aircraft
from lubberline.upkeep.judge import by_rule_of_thumb, judge
from lubberline.upkeep.log import read_log
from lubberline.upkeep.records import Judgement
from tests.frozen.numbers import AIRCRAFT, differences, frozen, plain
from tools.write.demo_logs import LOGS, STORIES, Story, as_csv, entries

DEMO = Path(__file__).parents[2] / "demo"


@cache
def judged(stem: str) -> Judgement:
    aircraft = read_aircraft(DEMO / "aircraft" / f"{stem}.toml")
    return judge(read_log(LOGS / f"{stem}.csv", aircraft.name), aircraft)


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.stem)
def test_every_row_of_the_demos_logs_is_understood(story: Story) -> None:
    log = read_log(LOGS / f"{story.stem}.csv")
    assert log.refused == ()
    assert len(log.checks) == 56


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.stem)
def test_the_logs_are_what_the_builder_writes(story: Story) -> None:
    # The first flights of each; the others follow from the same seed.
    made = as_csv(entries(story, most=2)).splitlines()
    assert len(made) == 5
    assert made == (LOGS / f"{story.stem}.csv").read_text(encoding="utf-8").splitlines()[:5]


@pytest.mark.parametrize("stem", AIRCRAFT)
def test_the_verdicts_and_their_numbers_are_what_they_were(stem: str) -> None:
    assert list(differences(frozen("verdicts")[stem], plain(judged(stem)))) == []


@pytest.mark.parametrize("stem", ["zz_oak", "zz_fir"])
def test_the_healthy_are_not_blamed(stem: str) -> None:
    judgement = judged(stem)
    assert judgement.verdict == "earth"
    assert judgement.faults[0].fault == "healthy"
    own = read_aircraft(DEMO / "aircraft" / f"{stem}.toml").heading_indicator.real_wander_deg_15min
    # Flown at cruise the rotor is faster than 12,000 rpm, so that a little less than the file's is seen.
    assert judgement.estimate.low_deg_15min <= own <= judgement.estimate.high_deg_15min + 0.15


def test_at_68_north_the_rule_of_thumb_blames_what_the_judgement_does_not() -> None:
    log = read_log(LOGS / "zz_fir.csv")
    assert by_rule_of_thumb(log.checks)
    assert judged("zz_fir").verdict == "earth"


def test_the_clogging_filter_is_found_by_its_gauge_though_its_drift_is_within_the_allowance() -> None:
    judgement = judged("zz_elm")
    assert judgement.verdict == "look"
    assert judgement.faults[0].fault == "filter"
    assert judgement.estimate.beyond_limit < 0.5
    assert not by_rule_of_thumb(read_log(LOGS / "zz_elm.csv").checks)


def test_the_worn_bearings_are_found() -> None:
    judgement = judged("zz_ash")
    assert judgement.verdict == "look"
    assert judgement.faults[0].fault == "bearings"
    assert judgement.estimate.low_deg_15min > 3.0


def command(log: Path | str, out: Path, stem: str = "zz_elm") -> int:
    return main(["judge", str(log), "--aircraft", str(DEMO / "aircraft" / f"{stem}.toml"), "--out", str(out)])


def test_the_command_says_and_writes_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(LOGS / "zz_elm.csv", tmp_path / "out") == 0
    said = capsys.readouterr().out
    assert "ZZ-ELM: Have it checked by an engineer" in said
    assert "For teaching only" in said
    assert {path.name for path in (tmp_path / "out").iterdir()} == {
        "judgement.json", "entries.csv", "figure.svg", "report.pdf",
    }  # fmt: skip
    told = json.loads((tmp_path / "out" / "judgement.json").read_text())
    assert told["verdict"] == "look"
    assert told["cautions"]
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out" / "entries.csv").read_text())))
    assert len(rows) == 56
    first = rows[0]
    # As typed beside as understood, and the parts add up to what was seen.
    assert float(first["indicated_deg"]) == float(first["typed_indicated"]) % 360
    parts = ("earth_deg", "travel_deg", "balance_deg", "variation_deg", "deviation_deg", "left_deg")
    for row in rows:
        assert sum(float(row[name]) for name in parts) == pytest.approx(float(row["seen_deg"]), abs=2e-3)


def test_bad_rows_are_listed_and_the_good_ones_judged(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = (LOGS / "zz_elm.csv").read_text().splitlines()
    lines[3] = lines[3].replace(lines[3].split(",")[1], "361", 1)
    lines[6] = lines[6].replace("Z,", ",", 1)
    (tmp_path / "log.csv").write_text("\n".join(lines))
    assert command(tmp_path / "log.csv", tmp_path / "out") == 0
    said = capsys.readouterr().out
    assert "line 4, indicated: a heading of 361; from 0 to 360" in said
    assert "has no zone" in said
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out" / "entries.csv").read_text())))
    assert [row["state"] for row in rows].count("refused") == 2
    assert [row["state"] for row in rows].count("judged") == 54
    assert "361" in next(row for row in rows if row["state"] == "refused")["typed_indicated"]


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        (None, "No such file"),
        ("", "the file is empty"),
        ("indicated,compass\n1,2\n", "time_utc"),
        ("time_utc,indicated,compass,set_at,place\n", "there are no rows"),
        (
            "time_utc,indicated,compass,set_at,place\n2026-01-01T10:00Z,400,2,09:50Z,47N 8E\n",
            "no usable check",
        ),
        (
            "aircraft,time_utc,indicated,compass,set_at,place\nZZ-ASH,2026-01-01T10:00Z,4,2,09:50Z,47N 8E\n",
            "it is the log of ZZ-ASH",
        ),
    ],
)
def test_bad_input_is_one_clear_line_and_nothing_written(
    text: str | None, wrong: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.csv"
    if text is not None:
        path.write_text(text)
    assert command(path, tmp_path / "out") == 2
    error = capsys.readouterr().err
    assert wrong in error
    assert error.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_swing_and_plan_commands_write_their_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pairs = "magnetic_deg,compass_deg\n" + "".join(f"{h},{(h + 2) % 360}\n" for h in range(0, 360, 45))
    (tmp_path / "pairs.csv").write_text(pairs)
    assert main(["swing", str(tmp_path / "pairs.csv"), "--out", str(tmp_path / "a"), "--limit", "1"]) == 0
    assert "EXCEEDS the limit of 1 deg" in capsys.readouterr().out
    assert (tmp_path / "a" / "card.pdf").read_bytes().startswith(b"%PDF")
    flight = str(DEMO / "flights" / "eastbound_60n.toml")
    assert main(["plan", flight, "--date", "2026-05-12", "--out", str(tmp_path / "b")]) == 0
    assert "Set it at 0:00" in capsys.readouterr().out
    assert json.loads((tmp_path / "b" / "plan.json").read_text())["cautions"]
    assert main(["plan", flight, "--date", "12.5.2026", "--out", str(tmp_path / "c")]) == 2
    assert "--date: '12.5.2026' is not a day; write it as 2026-05-12" in capsys.readouterr().err


def test_a_plan_takes_the_wander_that_the_log_tells_and_faults_once(tmp_path: Path) -> None:
    flight = str(DEMO / "flights" / "eastbound_60n.toml")
    aircraft = str(DEMO / "aircraft" / "zz_ash.toml")
    given = [
        "plan",
        flight,
        "--aircraft",
        aircraft,
        "--log",
        str(LOGS / "zz_ash.csv"),
        "--out",
        str(tmp_path / "out"),
    ]
    assert main(given) == 0
    told = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert told["wander"]["source"] == "the aircraft's log"
    # The file says 2.0 at full speed; the worn bearings make 6 of it at cruise, and are flown again here.
    assert told["wander"]["mean_deg_15min"] == pytest.approx(2.0, abs=0.4)
    drift = sum(leg["drift_deg"]["friction"] for leg in told["legs"]) / told["duration_min"] * 15.0
    assert drift == pytest.approx(judged("zz_ash").estimate.mean_deg_15min, rel=0.25)
