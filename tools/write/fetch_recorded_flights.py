"""Fetch real recorded flights for the tests: sample data inside the wheel of the PyPI package `traffic`.

The wheel alone is downloaded (version and hash pinned), opened as a zip and never installed. Its samples
are lists of broadcast positions in JSON; some are written out as our own CSV. Everything stays in a
cache folder outside the tree: `LUBBERLINE_CACHE` if set, else the user's cache folder.

    python -m tools.write.fetch_recorded_flights          fetch, convert and list
"""

import gzip
import json
import zipfile
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tools.write.pinned_wheel import CannotFetch, cache_folder, pinned_wheel

__all__ = ["FLIGHTS", "CannotFetch", "recorded_flights"]

VERSION = "2.13"
SHA256 = "5e0cd61d931d03103294361542188f08f959a55e862d5cba80ab61291021e66c"
SAMPLES = "traffic/data/samples/"
FT_M = 0.3048
COLUMNS = ("latitude", "longitude", "altitude", "groundspeed", "track")


@dataclass(frozen=True)
class Recorded:
    """One flight of the wheel: our name for it, its sample, its kind, and every how many rows are kept."""

    name: str
    sample: str
    kind: str
    every: int = 1


FLIGHTS = (
    Recorded("glider_franconia", "gliders/franconia", "glider"),
    Recorded("glider_oxford", "gliders/oxford_cambridge", "glider"),
    Recorded("glider_sisteron", "gliders/sisteron", "glider"),
    Recorded("helicopter_st_gallen", "ambulances/rega_sg", "helicopter"),
    Recorded("helicopter_toulouse", "ambulances/samu31", "helicopter"),
    Recorded("light_aircraft_berlin", "featured/easter_rabbit", "light aircraft"),
    Recorded("survey_toulouse", "surveys/pixair_toulouse", "light twin"),
    Recorded("calibration_kiruna", "calibration/kiruna", "twin turboprop"),
    Recorded("calibration_perth", "calibration/perth", "twin turboprop"),
    # One row a second, but filled in between: every tenth is enough, and some say the aircraft's own roll.
    Recorded("parabolas_biscay", "featured/zero_gravity", "airliner", every=10),
)


def fetch_wheel(folder: Path) -> Path:
    """The wheel with the samples, from the cache or downloaded."""
    return pinned_wheel(folder, "traffic", VERSION, SHA256)


def _rows(wheel: Path, sample: str) -> list[dict[str, Any]]:
    """Rows with a position and an altitude, in order of time (one sample stands backwards)."""
    with zipfile.ZipFile(wheel) as opened:
        table: list[dict[str, Any]] = json.loads(gzip.decompress(opened.read(f"{SAMPLES}{sample}.json.gz")))
    whole = [row for row in table if None not in (row["latitude"], row["longitude"], row["altitude"])]
    return sorted(whole, key=lambda row: row["timestamp"])


def _written(path: Path, lines: list[str]) -> None:
    scratch = path.with_suffix(".part")
    scratch.write_text("\n".join(lines) + "\n", encoding="utf-8")
    scratch.replace(path)


def _csv(rows: list[dict[str, Any]]) -> list[str]:
    lines = ["time_utc,latitude_deg,longitude_deg,pressure_altitude_m,groundspeed_kt,track_deg"]
    for row in rows:
        moment = datetime.fromtimestamp(row["timestamp"] / 1000.0, UTC)
        speed, track = ("" if row[name] is None else f"{row[name]:g}" for name in ("groundspeed", "track"))
        place = f"{row['latitude']:.7f},{row['longitude']:.7f},{row['altitude'] * FT_M:.1f}"
        lines.append(f"{moment:%Y-%m-%dT%H:%M:%SZ},{place},{speed},{track}")
    return lines


def convert(wheel: Path, folder: Path) -> dict[str, Path]:
    """Write the flights as our CSV; also the roll that an aircraft itself reported, where it did."""
    written = {}
    for flight in FLIGHTS:
        path = folder / f"{flight.name}.csv"
        rows = _rows(wheel, flight.sample)
        start = rows[0]["timestamp"]
        if rows[0].get("roll") is not None:
            rolls = [f"{(row['timestamp'] - start) / 1000.0:g},{row['roll']:g}" for row in rows]
            _written(path.with_suffix(".roll"), ["time_s,roll_deg", *rolls])
        _written(path, _csv(rows[:: flight.every]))
        written[flight.name] = path
    return written


def recorded_flights() -> dict[str, Path]:
    """Our CSV of each flight in `FLIGHTS`, fetched if need be.

    Raises:
        CannotFetch: not cached, and no way to the package index.
    """
    folder = cache_folder("recorded_flights")
    return convert(fetch_wheel(folder), folder)


def main() -> None:
    """Fetch, convert and list."""
    for flight, path in zip(FLIGHTS, recorded_flights().values(), strict=True):
        lines = path.read_text(encoding="utf-8").splitlines()
        first, last = (datetime.fromisoformat(lines[row].split(",")[0]) for row in (1, -1))
        hours = (last - first).total_seconds() / 3600.0
        counted = f"{len(lines) - 1:5} fixes {hours:5.2f} h"
        print(f"{flight.name:22} {flight.kind:15} {counted}  {first:%Y-%m-%d}  {path}")


if __name__ == "__main__":
    main()
