"""Tracks in GPX 1.1 (topografix.com/GPX/1/1): the track points of a file, with their lines.

Python's own expat is used for the line numbers it gives. A document type or an entity is refused, so
nothing is ever fetched or expanded.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from xml.parsers import expat

import numpy as np

from lubberline.arrays import Floats
from lubberline.errors import InputError
from lubberline.flight.tracks.fixes import Fixes, checked, number, seconds_utc, shown
from lubberline.units import KT_MPS

# 1.0 writes track points alike, so old files fly as well.
VERSIONS = ("1.1", "1.0")
POINT_TEXTS = ("time", "ele", "speed", "course")
RIGHT = "a GPX 1.1 file with <trk><trkseg><trkpt lat= lon=> and a <time> in each point"


@dataclass
class _Reading:
    """What the parser has seen so far; one per file."""

    source: str
    parser: expat.XMLParserType
    blank_lines: int = 0
    title: str = ""
    tracks: int = 0
    inside: list[str] = field(default_factory=list)
    texts: dict[str, str] = field(default_factory=dict)
    current: dict[str, str] = field(default_factory=dict)
    points: list[dict[str, str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    @property
    def line(self) -> int:
        return self.parser.CurrentLineNumber + self.blank_lines

    @property
    def where(self) -> str:
        return f"{self.source} line {self.line}"

    def refuse_doctype(self, *_: object) -> None:
        raise InputError(
            self.where, "the file declares a document type or an entity", "GPX needs neither; remove it"
        )

    def start(self, name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition(":")[2]
        if not self.inside:
            self.check_root(local, attributes)
        self.inside.append(local)
        if len(self.inside) > 100:
            raise InputError(self.where, "elements nested a hundred deep", RIGHT)
        if local == "trk":
            self.tracks += 1
        elif local == "trkpt":
            for axis in ("lat", "lon"):
                if axis not in attributes:
                    raise InputError(self.where, f"a track point without {axis}", RIGHT)
            self.current = {"lat": attributes["lat"], "lon": attributes["lon"]}
            self.points.append(self.current)
            self.lines.append(self.line)

    def check_root(self, local: str, attributes: dict[str, str]) -> None:
        if local != "gpx":
            raise InputError(self.where, f"the outermost element is <{local[:40]}>", RIGHT)
        version = attributes.get("version", "")
        if version not in VERSIONS:
            raise InputError(f"{self.where}, version", f"GPX version {shown(version)}", "version 1.1 is read")

    def text(self, data: str) -> None:
        inside = self.inside
        if inside[-1] in POINT_TEXTS and "trkpt" in inside:
            self.current[inside[-1]] = self.current.get(inside[-1], "") + data
        elif inside[-2:] == ["trk", "name"] and self.tracks == 1:
            self.title += data

    def end(self, _name: str) -> None:
        self.inside.pop()


def _parse(source: str, text: str) -> _Reading:
    # The text is decoded already, so whatever encoding the file declares no longer holds.
    parser = expat.ParserCreate("utf-8")
    reading = _Reading(source, parser, blank_lines=text[: len(text) - len(text.lstrip())].count("\n"))
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = reading.refuse_doctype
    parser.EntityDeclHandler = reading.refuse_doctype
    parser.StartElementHandler = reading.start
    parser.EndElementHandler = reading.end
    parser.CharacterDataHandler = reading.text
    try:
        parser.Parse(text.lstrip().encode(), True)
    except expat.ExpatError as why:
        raise InputError(
            f"{source} line {why.lineno + reading.blank_lines}",
            f"not well-formed XML ({expat.ErrorString(why.code)})",
            RIGHT,
        ) from None
    if not reading.points:
        raise InputError(source, "no track points (<trkpt>) in the file", RIGHT)
    return reading


def _time(point: dict[str, str], where: str) -> tuple[float, bool]:
    """Seconds since 1970, and whether the zone was left out."""
    text = point.get("time", "").strip()
    if not text:
        raise InputError(f"{where}, time", "a track point without a time", "record the track with its times")
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(f"{where}, time", f"found {shown(text)}", "a time as 2024-05-01T10:00:00Z") from None
    bare = moment.tzinfo is None
    return seconds_utc(moment.replace(tzinfo=UTC) if bare else moment, f"{where}, time"), bare


def _optional(reading: _Reading, name: str, factor: float) -> Floats:
    values = np.full(len(reading.points), np.nan)
    for i, point in enumerate(reading.points):
        text = point.get(name, "").strip()
        if text:
            values[i] = factor * number(text, f"{reading.source} line {reading.lines[i]}, {name}")
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
            "taken in between their neighbours"
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
    reading = _parse(source, text)
    warnings: list[str] = []
    count = len(reading.points)
    time_s, latitude_deg, longitude_deg = np.empty(count), np.empty(count), np.empty(count)
    bare = 0
    for i, (point, line) in enumerate(zip(reading.points, reading.lines, strict=True)):
        where = f"{source} line {line}"
        time_s[i], without_zone = _time(point, where)
        bare += without_zone
        latitude_deg[i] = number(point["lat"], f"{where}, lat")
        longitude_deg[i] = number(point["lon"], f"{where}, lon")
    if bare:
        warnings.append(f"{source}: {bare} times without a zone; taken as UTC, as GPX has it")
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
