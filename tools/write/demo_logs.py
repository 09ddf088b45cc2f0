"""Write the heading checks of the demo's aircraft: `demo/logs/*.csv`.

    python tools/write/demo_logs.py

Every entry comes from the engine: a flight is flown, and the pilot reads card, compass and gauge, rounds them
and now and then misreads one. The estimator is not used.
"""

import csv
import io
import math
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import msgspec
import numpy as np

from lubberline.flight.legs.file import parse_legs
from lubberline.flight.legs.motion import fly_legs
from lubberline.instruments.suction import suction_system_of
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft, FaultEntry, read_aircraft
from lubberline.simulation.flown import Columns, Flown
from lubberline.simulation.flying import fly
from lubberline.simulation.symptoms import symptoms

ROOT = Path(__file__).parents[2]
AIRCRAFT, LOGS = ROOT / "demo" / "aircraft", ROOT / "demo" / "logs"
SEED = 20260501
COLUMNS = (
    "time_utc",
    "indicated",
    "compass",
    "set_at",
    "place",
    "set_compass",
    "groundspeed_kt",
    "track",
    "suction_idle",
    "suction_cruise",
    "spin_down",
    "maintenance",
    "note",
)
FIRST_DAY = datetime(2025, 10, 4, tzinfo=UTC)
EVERY_DAYS = 7.0
# How a pilot reads: to the degree, with so much scatter; a gauge to a tenth.
READING_SD_DEG, COMPASS_SD_DEG, GAUGE_SD_INHG, WATCH_SHARE = 0.7, 1.2, 0.05, 0.04
# One entry in so many has a digit wrong.
SLIP_ONE_IN = 25
SETTLING_S = 60.0


class Story(NamedTuple):
    """What happened to an aircraft over its log.

    Attributes:
        stem: of its files.
        latitude_deg: of its home.
        longitude_deg: of its home.
        flights: how many are in the log.
        fault: what grew, or was there; '' for nothing.
        sizes: of the fault at the first and the last flight.
        maintenance: after which flight somebody worked on it, and the words; -1 for never.
        words: what was written.
    """

    stem: str
    latitude_deg: float
    longitude_deg: float
    flights: int
    fault: str = ""
    sizes: tuple[float, float] = (0.0, 0.0)
    maintenance: int = -1
    words: str = ""


STORIES = (
    Story("zz_oak", 47.2, 8.9, 28, maintenance=11, words="annual inspection, air filter changed"),
    Story("zz_elm", 46.8, 9.6, 28, fault="filter", sizes=(0.6, 0.92)),
    Story("zz_ash", 45.6, 10.4, 28, fault="bearings", sizes=(1.0, 1.0)),
    Story("zz_fir", 68.3, 17.4, 28),
)


def _flight_text(story: Story, start: datetime, random: np.random.Generator) -> str:
    """A flight there and away: taxi, climb, two legs with a setting before each."""
    heading = float(random.integers(0, 36) * 10)
    turn = float(random.choice([-120.0, -80.0, 70.0, 110.0]))
    minutes = [float(random.integers(18, 34)) for _ in range(2)]
    head = (
        f'title = "Flight of {story.stem}"\nstart_utc = {start:%Y-%m-%dT%H:%M:%SZ}\n'
        f"latitude_deg = {story.latitude_deg + random.normal(0.0, 0.4):.3f}\n"
        f"longitude_deg = {story.longitude_deg + random.normal(0.0, 0.6):.3f}\n"
        f"altitude_ft = 1400\nheading_deg = {heading % 360.0:.0f}\nairspeed_kt = 0\n"
        f"wind_from_deg = {random.integers(0, 36) * 10}\nwind_kt = {random.integers(3, 20)}\n"
    )
    legs = (
        'kind = "wait"\nminutes = 9',
        'kind = "set"\nfrom = "compass"',
        'kind = "accelerate"\nto_kt = 75',
        'kind = "climb"\nto_altitude_ft = 4500\nrate_fpm = 700',
        'kind = "accelerate"\nto_kt = 105\nat_g = 0.03',
        'kind = "straight"\nminutes = 2',
        'kind = "set"\nfrom = "compass"',
        f'kind = "straight"\nminutes = {minutes[0]:.0f}',
        f'kind = "turn"\nby_deg = {turn:.0f}\nbank_deg = 20',
        'kind = "straight"\nminutes = 2',
        'kind = "set"\nfrom = "compass"',
        f'kind = "straight"\nminutes = {minutes[1]:.0f}',
    )
    return head + "".join(f"\n[[leg]]\n{leg}\n" for leg in legs)


def _with_fault(aircraft: Aircraft, story: Story, share: float) -> Aircraft:
    """The aircraft as it was at a share of its log; the fault of its file is replaced by the story's."""
    if not story.fault:
        return msgspec.structs.replace(aircraft, fault=())
    size = story.sizes[0] + share * (story.sizes[1] - story.sizes[0])
    return msgspec.structs.replace(aircraft, fault=(FaultEntry(story.fault, round(size, 3)),))


class Reader:
    """A pilot: reads, rounds, and slips now and then."""

    def __init__(self, random: np.random.Generator) -> None:
        self.random = random

    def heading(self, value_deg: float, sd_deg: float) -> str:
        """A heading in three figures."""
        read = round(value_deg + self.random.normal(0.0, sd_deg)) % 360
        return f"{read or 360:03d}"

    def gauge(self, value_inhg: float) -> str:
        """A suction to a tenth."""
        return f"{value_inhg + self.random.normal(0.0, GAUGE_SD_INHG):.1f}"

    def watch(self, value_min: float) -> str:
        """A time as minutes and seconds, to five seconds."""
        seconds = round(value_min * (1.0 + self.random.normal(0.0, WATCH_SHARE)) * 12.0) * 5
        return f"{seconds // 60}:{seconds % 60:02d}"

    def slipped(self, heading: str) -> str:
        """The same heading with a digit wrong, once in many."""
        if self.random.integers(SLIP_ONE_IN):
            return heading
        return f"{(int(heading) + int(self.random.choice([-100, -20, 20, 100, 10]))) % 360 or 360:03d}"


def _place(latitude_deg: float, longitude_deg: float) -> str:
    """As pilots write it: N4712.3 E00854.0."""
    words = []
    for value, letters, width in ((latitude_deg, "NS", 2), (longitude_deg, "EW", 3)):
        tenths = round(abs(value) * 600.0)
        words.append(f"{letters[value < 0]}{tenths // 600:0{width}d}{tenths % 600 / 10.0:04.1f}")
    return " ".join(words)


def _mean_track_deg(trace: Columns, first: int, last: int) -> float:
    track = np.radians(trace["track_deg"][first:last])
    speed = trace["groundspeed_kt"][first:last]
    return math.degrees(math.atan2(float(speed @ np.sin(track)), float(speed @ np.cos(track)))) % 360.0


def _rows_of(flown: Flown, start: datetime, reader: Reader) -> list[dict[str, str]]:
    """Two entries of a flight: just before the second setting in the air, and at its end."""
    trace = flown.trace
    settings = [
        round(float(setting["time_s"])) for setting in flown.summary["settings"] if setting["why"] != "start"
    ]
    # The first setting is on the ground; each of the later ones begins a stretch that ends with a check.
    rows = []
    for place, second in enumerate(settings[1:], start=1):
        later = settings[place + 1] if place + 1 < len(settings) else len(trace["time_s"]) - 1
        # A check is made just before the card is set again, in straight flight.
        at = int(later - 5 if place + 1 < len(settings) else later - 2)
        written = start + timedelta(seconds=at)
        rows.append(
            {
                "time_utc": f"{written:%Y-%m-%dT%H:%MZ}",
                "indicated": reader.heading(float(trace["indicated_heading_deg"][at]), READING_SD_DEG),
                "compass": reader.slipped(reader.heading(float(trace["compass_deg"][at]), COMPASS_SD_DEG)),
                "set_at": f"{start + timedelta(seconds=second):%H:%MZ}",
                "place": _place(float(trace["latitude_deg"][at]), float(trace["longitude_deg"][at])),
                "set_compass": reader.heading(float(trace["compass_deg"][second - 1]), 0.5),
                "groundspeed_kt": f"{float(np.mean(trace['groundspeed_kt'][second:at])):.0f}",
                "track": f"{_mean_track_deg(trace, second, at):03.0f}",
                "suction_cruise": reader.gauge(float(trace["gauge_inhg"][at])),
            }
        )
    rows[0]["suction_idle"] = reader.gauge(float(trace["gauge_inhg"][round(SETTLING_S)]))
    return rows


def entries(story: Story, seed: int = SEED, most: int | None = None) -> list[dict[str, str]]:
    """The log of an aircraft, in order of time; of its first `most` flights alone if that is given."""
    aircraft = read_aircraft(AIRCRAFT / f"{story.stem}.toml")
    random = np.random.default_rng((seed, STORIES.index(story)))
    reader = Reader(random)
    log: list[dict[str, str]] = []
    for number in range(story.flights if most is None else most):
        start = FIRST_DAY + timedelta(
            days=EVERY_DAYS * number + int(random.integers(0, 5)), hours=int(random.integers(8, 15))
        )
        as_it_was = _with_fault(aircraft, story, number / (story.flights - 1))
        motion = fly_legs(parse_legs(f"{story.stem}.toml", _flight_text(story, start, random)))
        rows = _rows_of(fly(motion, as_it_was, seed=int(random.integers(2**31))), start, reader)
        if number % 4 == 1:
            # The rotor's run-down is timed after a run at cruise power, with the watch in the hand.
            seen = symptoms(2400.0, 400.0, suction_system_of(as_it_was), Rotor(), as_it_was.faults_at_start())
            rows[-1]["spin_down"] = reader.watch(seen.run_down_min)
        log += rows
        if number == story.maintenance:
            log.append(
                {"time_utc": f"{start + timedelta(days=1):%Y-%m-%dT10:00Z}", "maintenance": story.words}
            )
    return log


def as_csv(log: list[dict[str, str]]) -> str:
    """The log as the text of its file."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(log)
    return text.getvalue()


def main() -> None:
    """Write all logs."""
    LOGS.mkdir(exist_ok=True)
    for story in STORIES:
        (LOGS / f"{story.stem}.csv").write_text(as_csv(entries(story)), encoding="utf-8")


if __name__ == "__main__":
    main()
