"""Tracks in GPX 1.1 (topografix.com/GPX/1/1): the track points of a file, with their lines.

Python's own expat is used for the line numbers it gives. A document type or an entity is refused, so
nothing is ever fetched or expanded.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from xml.parsers import expat

import numpy as np

from lubberline.arrays import Floats
from lubberline.csvfile import number_of
from lubberline.errors import InputError
from lubberline.flight.tracks.fixes import Fixes, checked, seconds_utc, shown
from lubberline.units import KT_MPS

# 1.0 writes track points alike, so old files fly as well.
VERSIONS = ("1.1", "1.0")
POINT_TEXTS = ("time", "ele", "speed", "course")
RIGHT = "a GPX 1.1 file with <trk><trkseg><trkpt lat= lon=> and a <time> in each point"


@dataclass
class Elements:
    """The elements of a GPX file, read in order; what is wanted of them is taken by `begin` and `words`."""

    source: str
    inside: list[str] = field(default_factory=list)
    blank_lines: int = 0
    # The text is decoded already, so whatever encoding the file declares no longer holds.
    parser: expat.XMLParserType = field(default_factory=lambda: expat.ParserCreate("utf-8"))

    @property
    def line(self) -> int:
        """The line of the file that is being read."""
        return self.parser.CurrentLineNumber + self.blank_lines

    @property
    def where(self) -> str:
        """File and line."""
        return f"{self.source} line {self.line}"

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Take the beginning of an element, the last one of `inside`."""

    def words(self, data: str) -> None:
        """Take what is written in the element that was begun last."""

    def _refuse(self, *_: object) -> None:
        raise InputError(
            self.where, "the file declares a document type or an entity", "GPX needs neither; remove it"
        )

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self.inside.append(name.rpartition(":")[2])
        self.begin(self.inside[-1], attributes)

    def read(self, text: str, right: str) -> None:
        """Read the text of a file.

        Raises:
            InputError: no well-formed XML, or one with a document type or an entity, which are not expanded.
        """
        self.blank_lines = text[: len(text) - len(text.lstrip())].count("\n")
        self.parser.buffer_text = True
        self.parser.StartDoctypeDeclHandler = self.parser.EntityDeclHandler = self._refuse
        self.parser.StartElementHandler, self.parser.CharacterDataHandler = self._start, self.words
        self.parser.EndElementHandler = lambda _: self.inside.pop()
        try:
            self.parser.Parse(text.strip().encode(), True)
        except expat.ExpatError as why:
            where = f"{self.source} line {why.lineno + self.blank_lines}"
            raise InputError(
                where,
                f"not well-formed XML ({expat.ErrorString(why.code)})",
                right,
            ) from None


@dataclass
class _Reading(Elements):
    """The track points of a file."""

    title: str = ""
    tracks: int = 0
    current: dict[str, str] = field(default_factory=dict)
    points: list[dict[str, str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        if len(self.inside) == 1 and name != "gpx":
            raise InputError(self.where, f"the outermost element is <{name[:40]}>", RIGHT)
        if len(self.inside) == 1 and (version := attributes.get("version", "")) not in VERSIONS:
            raise InputError(
                f"{self.where}, version",
                f"GPX version {shown(version)}",
                "use version 1.1",
            )
        if len(self.inside) > 100:
            raise InputError(self.where, "elements nested a hundred deep", RIGHT)
        if name == "trk":
            self.tracks += 1
        elif name == "trkpt":
            for axis in ("lat", "lon"):
                if axis not in attributes:
                    raise InputError(self.where, f"a track point without {axis}", RIGHT)
            self.current = {"lat": attributes["lat"], "lon": attributes["lon"]}
            self.points.append(self.current)
            self.lines.append(self.line)

    def words(self, data: str) -> None:
        inside = self.inside
        if inside[-1] in POINT_TEXTS and "trkpt" in inside:
            self.current[inside[-1]] = self.current.get(inside[-1], "") + data
        elif inside[-2:] == ["trk", "name"] and self.tracks == 1:
            self.title += data


def _time(point: dict[str, str], where: str) -> tuple[float, bool]:
    """Seconds since 1970, and whether the zone was left out."""
    text = point.get("time", "").strip()
    if not text:
        raise InputError(
            f"{where}, time",
            "a track point without a time",
            "record the track with its times",
        )
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"{where}, time",
            f"found {shown(text)}",
            "a time as 2024-05-01T10:00:00Z",
        ) from None
    bare = moment.tzinfo is None
    return seconds_utc(moment.replace(tzinfo=UTC) if bare else moment, f"{where}, time"), bare


def _optional(reading: _Reading, name: str, factor: float) -> Floats:
    values = np.full(len(reading.points), np.nan)
    for i, point in enumerate(reading.points):
        text = point.get(name, "").strip()
        if text:
            values[i] = factor * number_of(text, f"{reading.source} line {reading.lines[i]}, {name}")
    return values


def _altitudes(reading: _Reading, time_s: Floats, warnings: list[str]) -> Floats:
    values = _optional(reading, "ele", 1.0)
    missing = np.isnan(values)
    if missing.all():
        warnings.append(f"{reading.source}: no <ele> in any track point; flown at 0 m above the sea")
        return np.zeros(len(values))
    if missing.any():
        line = reading.lines[int(np.argmax(missing))]
        warnings.append(
            f"{reading.source} line {line}: {missing.sum()} track points have no <ele>; "
            "interpolated between their neighbours"
        )
        values[missing] = np.interp(time_s[missing], time_s[~missing], values[~missing])
    return values


def read_gpx(source: str, text: str) -> Fixes:
    """The fixes of all tracks and segments of a GPX file, in the order of the file.

    Ground speed (m/s) and course (deg) are taken where points carry `speed` and `course`, in GPX 1.0 or
    in an extension.

    Raises:
        InputError: not GPX 1.1, no track points, a point without place or time, a document type.
    """
    reading = _Reading(source)
    reading.read(text, RIGHT)
    if not reading.points:
        raise InputError(source, "no track points (<trkpt>) in the file", RIGHT)
    warnings: list[str] = []
    table = np.empty((len(reading.points), 4))
    for i, (point, line) in enumerate(zip(reading.points, reading.lines, strict=True)):
        where = f"{source} line {line}"
        table[i, :2] = _time(point, where)
        table[i, 2:] = [number_of(point[axis], f"{where}, {axis}") for axis in ("lat", "lon")]
    time_s, without_zone, latitude_deg, longitude_deg = table.T
    if bare := int(without_zone.sum()):
        warnings.append(f"{source}: {bare} times without a zone; taken as UTC, as GPX prescribes")
    if reading.tracks > 1:
        warnings.append(f"{source}: {reading.tracks} tracks in the file; flown one after the other")
    return checked(
        Fixes(
            source=source,
            time_utc_s=time_s,
            latitude_deg=latitude_deg,
            longitude_deg=longitude_deg,
            altitude_m=_altitudes(reading, time_s, warnings),
            groundspeed_kt=_optional(reading, "speed", 1.0 / KT_MPS),
            track_deg=_optional(reading, "course", 1.0),
            line=np.array(reading.lines, dtype=np.int64),
            title=reading.title.strip()[:80] or source,
            warnings=tuple(warnings),
        )
    )
