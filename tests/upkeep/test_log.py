"""A log as pilots write it: what each cell is understood to mean, and what is refused, where and why.

Ways of writing a place: ICAO Doc 4444, appendix 2 (2°N and 4-digit minutes, '4620N07805W'), and common
practice, no source, for the others. Units: NIST SP 811, 1 inHg = 3386.389 Pa.
"""

import csv
import io
import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.errors import InputError
from lubberline.upkeep import log_cells as typed
from lubberline.upkeep.log import log_from_text
from lubberline.upkeep.log_cells import COLUMNS
from lubberline.upkeep.records import Check

HEAD = "time_utc,place,indicated,compass,set_at\n"
GOOD = "2026-05-12T09:00Z,N6012.5 E02457.3,357,001,08:45Z\n"


def one(row: str, head: str = HEAD) -> Check:
    log = log_from_text("log.csv", head + row)
    assert log.refused == ()
    return log.checks[0]


def refused(row: str, head: str = HEAD) -> str:
    """The complaint about a row that stands between two good ones, which are kept."""
    after = GOOD.replace("09:00", "10:00").replace("08:45", "09:45")
    log = log_from_text("log.csv", HEAD + GOOD + row + "\n" + after) if head == HEAD else None
    log = log or log_from_text("log.csv", head + row)
    if head == HEAD:
        assert len(log.checks) == 2
    (found,) = log.refused
    assert found.where.startswith("log.csv line 3" if head == HEAD else "log.csv line 2")
    assert found.right
    return f"{found.where}: {found.wrong}; {found.right}"


@pytest.mark.parametrize(
    ("written", "latitude", "longitude"),
    [
        ("N6012.5 E02457.3", 60.208333, 24.955),
        ("60.2083 24.955", 60.2083, 24.955),
        ("-33.9 151.2", -33.9, 151.2),
        ("60 12 30N 24 57 18E", 60.208333, 24.955),
        ("60°12'30\"N 24°57'18\"E", 60.208333, 24.955),
        ("60°12.5'N, 024°57.3'E", 60.208333, 24.955),
        ("N60 12.5 E24 57.3", 60.208333, 24.955),
        ("4620N07805W", 46.333333, -78.083333),
        ("601230N0245718E", 60.208333, 24.955),
        # One degree and 24 minutes; not 124 degrees.
        ("N5130.0 E00124.0", 51.5, 1.4),
        ("S0045.0 W00030.0", -0.75, -0.5),
        ("33S 151E", -33.0, 151.0),
    ],
)
def test_places_as_pilots_write_them(written: str, latitude: float, longitude: float) -> None:
    assert typed.place(written, "x") == pytest.approx((latitude, longitude), abs=1e-4)


@pytest.mark.parametrize(
    "written", ["60.5", "91N 10E", "60 61N 24E", "N60 N24", "home", "N6070.0 E02457.3", "-60N 24E"]
)
def test_no_place(written: str) -> None:
    with pytest.raises(InputError):
        typed.place(written, "x")


@pytest.mark.parametrize(
    ("written", "inhg"), [("4.9", 4.9), ("166 hPa", 4.902), ("16.6 kPa", 4.902), ("124.5mmHg", 4.902)]
)
def test_suction_in_the_units_of_gauges(written: str, inhg: float) -> None:
    assert typed.suction(written, "x") == pytest.approx(inhg, abs=2e-3)


def test_a_row_is_understood_and_kept_as_typed() -> None:
    check = one(GOOD)
    assert (check.indicated_deg, check.compass_deg) == (357.0, 1.0)
    assert check.minutes == pytest.approx(15.0)
    assert check.latitude_deg == pytest.approx(60.208333, abs=1e-5)
    assert datetime.fromtimestamp(check.time_s, UTC).isoformat() == "2026-05-12T09:00:00+00:00"
    assert check.typed["place"] == "N6012.5 E02457.3"
    assert check.typed["compass"] == "001"
    assert math.isnan(check.idle_inhg)


def test_an_offset_is_a_zone_and_midnight_lies_between() -> None:
    check = one("2026-05-12T02:10+02:00,60 24,10,10,23:50Z\n")
    assert datetime.fromtimestamp(check.time_s, UTC).isoformat() == "2026-05-12T00:10:00+00:00"
    assert check.minutes == pytest.approx(20.0)


def test_set_now_begins_the_next_and_is_a_check_of_the_last() -> None:
    text = (
        HEAD
        + "2026-05-12T08:45Z,60 24,100,090,set now\n"
        + "2026-05-12T09:00Z,,092,090,\n"
        + "2026-05-12T09:15Z,,094,091,set now\n"
        + "2026-05-12T09:35Z,,095,091,\n"
    )
    log = log_from_text("log.csv", text)
    assert log.refused == ()
    assert [check.minutes for check in log.checks] == [15.0, 30.0, 20.0]
    assert [check.set_compass_deg for check in log.checks] == [90.0, 90.0, 91.0]


def test_the_first_setting_gives_its_place_to_the_next_row() -> None:
    log = log_from_text("log.csv", HEAD + "2026-05-12T08:45Z,60 24,100,090,now\n2026-05-12T09:00Z,,92,90,\n")
    assert log.checks[0].latitude_deg == 60.0


def test_named_places_and_remarks() -> None:
    text = (
        "# place Home = N4712.3 E00854.0\n# only a remark\n" + HEAD + GOOD.replace("N6012.5 E02457.3", "home")
    )
    (check,) = log_from_text("log.csv", text).checks
    assert check.latitude_deg == pytest.approx(47.205)
    with pytest.raises(InputError, match="line 1"):
        log_from_text("log.csv", "# place Home = nowhere\n" + HEAD + GOOD)


def test_semicolons_with_decimal_commas() -> None:
    head = "time_utc;place;indicated;compass;set_at;suction_cruise\n"
    text = head + "2026-05-12T09:00Z;60,2083 24,955;357,5;001;08:45Z;4,9\n"
    (check,) = log_from_text("log.csv", text).checks
    assert (check.latitude_deg, check.indicated_deg, check.cruise_inhg) == (60.2083, 357.5, 4.9)
    assert check.typed["suction_cruise"] == "4,9"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2026-05-12T09:30Z,60 24,361,001,09:15Z", "indicated: a heading of 361; from 0 to 360"),
        ("2026-05-12T09:30Z,60 24,-1,001,09:15Z", "indicated: a heading of -1"),
        ("2026-05-12T09:30Z,60 24,nan,001,09:15Z", "indicated: 'nan' is not a number"),
        ("2026-05-12T09:30Z,60 24,,001,09:15Z", "indicated: it is empty"),
        ("2026-05-12T09:30Z,60 24,357,001,09:45Z", "set_at: "),
        ("2026-05-12T09:30Z,60 24,357,001,2026-05-12T09:45Z", "set_at: it was set after the check"),
        ("2026-05-12T09:30Z,60 24,357,001,2026-05-01T09:45Z", "set_at: more than a day before"),
        ("2026-05-12T09:30,60 24,357,001,09:15Z", "time_utc: '2026-05-12T09:30' has no zone"),
        ("12.05.2026 09:30,60 24,357,001,09:15Z", "time_utc: '12.05.2026 09:30' is not a time"),
        ("2026-05-12T09:75Z,60 24,357,001,09:15Z", "time_utc: '2026-05-12T09:75Z' is not a time"),
        ("2026-05-12T09:30Z,60 24,357,001,0915", "set_at: "),
        ("2026-05-12T09:00Z,60 24,357,001,08:45Z", "the same time as in row 2"),
        ("2026-05-12T09:30Z,60 24,357,5,001,09:15Z", "a decimal comma needs semicolons"),
        ('2026-05-12T09:30Z,60 24,"357,5",001,09:15Z', "'357,5' has a comma; a point: 357.5"),
        ("2026-05-12T09:30Z,atlantis,357,001,09:15Z", "place: 'atlantis' is not a place"),
    ],
)
def test_what_is_wrong_is_told_and_the_good_rows_stay(row: str, said: str) -> None:
    if said == "set_at: " and "09:45Z" in row:
        # A setting later in the day than the check is that of the day before, more than 23 h ago; it is
        # refused because another setting is known since.
        assert "set again later" in refused(row)
        return
    assert said in refused(row)


def test_two_settings_at_once() -> None:
    head = "time_utc,place,indicated,compass,set_at,set_compass\n"
    text = head + "2026-05-12T09:00Z,60 24,1,1,08:45Z,10\n2026-05-12T09:10Z,60 24,1,1,08:45Z,90\n"
    log = log_from_text("log.csv", text)
    assert len(log.checks) == 1
    assert "it was set to 010" in log.refused[0].wrong
    assert log.refused[0].where == "log.csv line 3, set_at"


def test_another_aircraft_is_not_taken() -> None:
    text = "aircraft," + HEAD + "ZZ-OAK," + GOOD + "ZZ-ELM," + GOOD.replace("09:00", "09:20")
    log = log_from_text("log.csv", text, "ZZ-OAK")
    assert len(log.checks) == 1
    assert "'ZZ-ELM' is another aircraft" in log.refused[0].wrong


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the file is empty"),
        (HEAD, "no row"),
        ("time_utc,indicated\n1,2\n", "no column 'compass'"),
        (HEAD.replace("place", "plaice") + GOOD, "unknown column 'plaice'"),
        (HEAD.replace("place", "compass") + GOOD, "appears twice"),
    ],
)
def test_no_log(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        log_from_text("log.csv", text)


ANY = st.text("0123456789:.,;NESW +-Zx\u0663", max_size=12)
CELLS = {
    "time_utc": st.sampled_from(
        [
            "2026-05-12T09:00Z",
            "2026-05-12T09:20Z",
            "2026-05-13T00:10+02:00",
            "2026-05-12 10:00",
            "0001-01-01T00:00+14:00",
        ]
    )
    | ANY,
    "place": st.sampled_from(["60 24", "N6012.5 E02457.3", "", "x", "99N 1E"]) | ANY,
    "indicated": st.sampled_from(["10", "361", "1e400", "3,5"]) | ANY,
    "compass": st.sampled_from(["12", "360", "-0", ""]),
    "set_at": st.sampled_from(["08:45Z", "set now", "", "23:50Z", "24:10Z"]) | ANY,
    "suction_cruise": st.sampled_from(["4.9", "", "166 hPa", "12", "4 psi", "\u00b2"]),
    "spin_down": st.sampled_from(["8:30", "", "8.5", "8:75", "-1"]),
    "maintenance": st.sampled_from(["", "", "", "filter changed"]),
}


@given(st.lists(st.fixed_dictionaries(CELLS), min_size=1, max_size=6), st.sampled_from(",;\t"))
def test_no_row_is_dropped_without_a_word(rows: list[dict[str, str]], separator: str) -> None:
    assert set(CELLS) <= set(COLUMNS)
    text = io.StringIO()
    writer = csv.DictWriter(text, list(CELLS), delimiter=separator)
    writer.writeheader()
    writer.writerows(rows)
    log = log_from_text("log.csv", text.getvalue())
    for check in log.checks:
        assert 0.0 <= check.indicated_deg < 360.0
        assert 0.0 < check.minutes <= 24.0 * 60.0
        assert abs(check.latitude_deg) <= 90.0
        assert abs(check.longitude_deg) <= 180.0
    assert all(one.where and one.wrong and one.right for one in log.refused)
    taken = {check.row for check in log.checks} | {event.row for event in log.events} | set(log.settings)
    lines = {int(one.where.split("line ")[1].split(",")[0]) for one in log.refused}
    assert taken | lines == set(range(2, len(rows) + 2))
