"""A log of one aircraft is not judged as another's without a word."""

from __future__ import annotations

from pathlib import Path

import pytest

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
        ("zz_oak.csv", "is named as zz_oak.toml is"),
        ("ZZ-OAK 2026.csv", "is named as zz_oak.toml is"),
        ("checks.csv", "does not say which aircraft it is of; it was judged as the log of ZZ-ELM"),
    ],
)
def test_a_log_that_does_not_say_is_told_by_the_names_of_files(name: str, said: str) -> None:
    log = log_from_text(name, f"{HEAD}\n{ROW}\n", "ZZ-ELM")
    assert said in doubt_whose(log, f"logs/{name}", AIRCRAFT / "zz_elm.toml", "ZZ-ELM")
    for own in ("zz_elm.csv", "zz-elm checks 2026.csv"):
        assert doubt_whose(log, f"logs/{own}", AIRCRAFT / "zz_elm.toml", "ZZ-ELM") == ""
