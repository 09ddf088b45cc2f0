"""The school's home: its file, what follows from the place, and its clock."""

from datetime import UTC, date, datetime

import pytest

from lubberline.errors import InputError
from lubberline.flight.home import Home, clock_of, home_from_text, home_rows, home_text
from lubberline.store.fleet import demo_home

SOUTH = Home("Kauri Flat", -43.4, 172.2, 300.0, "Pacific/Auckland", paper="Letter")
NORTH = Home("Lichen Strand", 65.0, 25.4, 50.0, "Europe/Helsinki")
GOOD = 'place = "Kauri Flat"\nlatitude_deg = -43.4\nlongitude_deg = 172.2\n'


def test_a_home_is_read_again_as_it_was_written() -> None:
    for home in (SOUTH, NORTH, demo_home()):
        assert home_from_text("home.toml", home_text(home)) == home


@pytest.mark.parametrize(
    ("text", "where"),
    [
        (GOOD.replace("-43.4", "-91.0"), "home.toml, latitude_deg"),
        (GOOD.replace("172.2", "'east'"), "home.toml, longitude_deg"),
        (GOOD.replace("latitude_deg = -43.4\n", ""), "home.toml, latitude_deg"),
        (GOOD.replace("Kauri Flat", " "), "home.toml, place"),
        (GOOD + 'time_zone = "Pacific/Aukland"', "home.toml, time_zone.*Pacific/Auckland"),
        (GOOD + 'time_zone = "../etc/passwd"', "home.toml, time_zone"),
        (GOOD + 'time_zone = "Pacific"', "home.toml, time_zone"),
        (GOOD + 'time_zone = ""', "home.toml, time_zone"),
        (GOOD + 'paper = "A3"', "home.toml, paper"),
        (GOOD + "papr = 4", "home.toml, papr: unknown key; did you mean 'paper'"),
        (GOOD + "[\nx = 1", "home.toml, line 4"),
    ],
)
def test_a_fault_of_the_file_names_its_field(text: str, where: str) -> None:
    with pytest.raises(InputError, match=where):
        home_from_text("home.toml", text)


def test_the_day_at_home_is_not_the_day_in_utc() -> None:
    # New Zealand is 12 h ahead of UTC in winter, 13 h in summer (IANA time zone database).
    assert SOUTH.day("2026-05-24T22:30:00Z") == "2026-05-25"
    assert SOUTH.time("2026-05-24T22:30:00Z") == "2026-05-25 10:30 NZST"
    assert SOUTH.time(datetime(2026, 12, 24, 22, 30, tzinfo=UTC)) == "2026-12-25 11:30 NZDT"
    assert SOUTH.hour(0.0) == "12:00:00"
    # A zone without letters of its own is named by its distance.
    assert clock_of(Home("x", 0.0, 0.0, time_zone="Asia/Kathmandu").local(0.0)) == "UTC+5:30"


def test_hemisphere_variation_and_dip_follow_from_the_place() -> None:
    # WMM-2025 in southern New Zealand: about 24 E, and the field comes up out of the ground (from memory).
    field = SOUTH.field(date(2026, 5, 25))
    assert field.variation_deg == pytest.approx(24.0, abs=1.0)
    assert field.dip_deg < -65.0
    assert (SOUTH.hemisphere, NORTH.hemisphere) == ("southern", "northern")
    told = dict(home_rows(SOUTH, datetime(2026, 5, 25, tzinfo=UTC)))
    assert told["Dip"].endswith("north end up")
    assert told["Place"] == "Kauri Flat, 43.4 S, 172.2 E, 300 ft"
    assert dict(home_rows(NORTH, datetime(2026, 5, 25, tzinfo=UTC)))["Dip"].endswith("north end down")
