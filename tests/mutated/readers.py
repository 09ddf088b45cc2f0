"""Every reader of files that people give, in one table: how a changed file is made, read, and used then.

Reading goes as far as the file is used: an aircraft is flown, a blueprint assembled, a lesson's page made, a
backup's pages opened. Using costs more than reading, so only some of the files that read are used.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import msgspec

from lubberline.classroom.answers_csv import read_answers, students_in
from lubberline.classroom.demo_class import read_class
from lubberline.classroom.demo_term import mind_on
from lubberline.classroom.lessons.file import lesson_from_text
from lubberline.classroom.lessons.text import lesson_html
from lubberline.classroom.lessons.timing import timed
from lubberline.classroom.marking import marked
from lubberline.classroom.statistics import item_statistics
from lubberline.commands.statistics import sitting_of
from lubberline.flight.flights import read_flight_bytes
from lubberline.flight.legs.file import parse_legs
from lubberline.flight.legs.motion import fly_legs
from lubberline.flight.motion import Motion
from lubberline.flight.tracks.files import read_fixes
from lubberline.publish.papers.answers import plain_number
from lubberline.publish.papers.files import items_csv
from lubberline.publish.reports.results_tables import items_statistics_csv, marks_csv
from lubberline.publish.reports.upkeep_report import entries_csv
from lubberline.questions.bank_changes import retired_from_text, retired_toml, words_from_text
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.generate import generate
from lubberline.questions.handwritten import items_from_text, written
from lubberline.questions.item import Item
from lubberline.questions.locked_papers import _digest, locked_from_text, locked_text
from lubberline.questions.papers import Paper, assemble
from lubberline.simulation.aircraft import Aircraft, aircraft_from_text
from lubberline.simulation.bench import Bench
from lubberline.simulation.flying import fly
from lubberline.simulation.scenes import FOLDER, scene_from_text
from lubberline.store.fleet import demo_folder
from lubberline.textfile import text_of
from lubberline.upkeep.judge import judge
from lubberline.upkeep.log import log_from_text
from lubberline.upkeep.planning import plan_of
from lubberline.upkeep.routes import route_from_text
from lubberline.upkeep.swing import pairs_from_text, swing_of
from tests.mutated.mutate import (
    bytes_of,
    text_changed,
)
from tests.mutated.mutate_records import locked_changed
from tests.mutated.records import backup_file, database_file, pages_answer, records_opened, restored, used

DEMO = demo_folder()
DAY = date(2026, 5, 12)


@dataclass(frozen=True)
class Reader:
    """A reader of files.

    Attributes:
        name: what it reads.
        make: writes a changed file at a path.
        read: reads it; `InputError` for what is wrong.
        use: does with what was read what the program does with it.
        used_of: of how many that read one is used.
    """

    name: str
    make: Callable[[Path, Random], None]
    read: Callable[[Path], Any]
    use: Callable[[Any], Any] = lambda found: found
    used_of: int = 1


def _texts(*paths: Path) -> list[str]:
    return [path.read_text(encoding="utf-8") for path in paths]


def _maker(kind: str, seeds: Callable[[], Sequence[str]]) -> Callable[[Path, Random], None]:
    kept = cache(seeds)

    def make(path: Path, random: Random) -> None:
        path.write_bytes(bytes_of(text_changed(kind, kept(), random), random))

    return make


def _demo(kind: str, *patterns: str) -> Callable[[Path, Random], None]:
    return _maker(kind, lambda: _texts(*(path for one in patterns for path in sorted(DEMO.glob(one)))))


def _first_lines(count: int, *patterns: str) -> Callable[[], Sequence[str]]:
    found = [path for one in patterns for path in sorted(DEMO.glob(one))]
    return lambda: ["\n".join(text.split("\n")[:count]) + "\n" for text in _texts(*found)]


# Aircraft and flights


@cache
def minute() -> Motion:
    """A flight of a minute."""
    text = 'title = "A minute"\nstart_utc = 2026-05-12T10:00:00Z\nlatitude_deg = 47.0\nlongitude_deg = 8.0\n'
    legs = '[[leg]]\nkind = "straight"\nminutes = 1\n'
    return fly_legs(
        parse_legs("minute.toml", text + "altitude_ft = 3000\nheading_deg = 10\nairspeed_kt = 90\n" + legs)
    )


def _aircraft(path: Path) -> Aircraft:
    return aircraft_from_text(path.name, text_of(path, "an aircraft file (TOML)"))


def _short(motion: Motion) -> None:
    # A day's flight tells no more than an hour's, and takes long.
    if len(motion.samples["time_s"]) < 40_000:
        fly(motion)


LEGS = """title = "Short"
start_utc = 2026-05-12T10:00:00Z
latitude_deg = 47.0
longitude_deg = 8.0
altitude_ft = 3000
heading_deg = 80
airspeed_kt = 90
wind_from_deg = 250
wind_kt = 15

[[leg]]
kind = "straight"
minutes = 1

[[leg]]
kind = "turn"
by_deg = 90
bank_deg = 20

[[leg]]
kind = "rough"
level = "light"

[[leg]]
kind = "climb"
to_altitude_ft = 3500
rate_fpm = 600

[[leg]]
kind = "set"
from = "compass"

[[leg]]
kind = "fault"
name = "pump"
size = 0.5

[[leg]]
kind = "straight"
minutes = 1
"""


def _track_rows() -> list[tuple[str, float, float, float]]:
    return [
        (f"2024-05-01T10:00:{k:02d}Z", 47.0 + 0.0004 * k, 8.0 + 0.0001 * k, 500.0 + k)
        for k in range(0, 40, 2)
    ]


def _csv_track() -> list[str]:
    rows = [f"{time},{lat:.5f},{lon:.5f},{alt},90,10" for time, lat, lon, alt in _track_rows()]
    return ["\n".join(["time_utc,latitude_deg,longitude_deg,altitude_m,groundspeed_kt,track_deg", *rows, ""])]


def _gpx() -> list[str]:
    points = [
        f'<trkpt lat="{lat:.5f}" lon="{lon:.5f}"><ele>{alt}</ele><time>{time}</time></trkpt>'
        for time, lat, lon, alt in _track_rows()
    ]
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    return ["\n".join([head, "<trk><name>A flight</name><trkseg>", *points, "</trkseg></trk>", "</gpx>", ""])]


def _igc() -> list[str]:
    rows = [f"B1000{k:02d}47{24 * k:05d}N008{6 * k:05d}EA00{500 + k}00{520 + k}" for k in range(0, 40, 2)]
    return ["\n".join(["AXXX001", "HFDTE010524", "HFPLTPILOT:NOBODY", *rows, ""])]


def _gpx_route() -> list[str]:
    points = ['<rtept lat="47.2" lon="8.9"><name>Home</name></rtept>', '<rtept lat="47.6" lon="9.8"/>']
    return ["\n".join(['<gpx version="1.1">', "<rte>", *points, "</rte>", "</gpx>"])]


def _route(path: Path) -> Motion:
    return route_from_text(path.name, text_of(path, "a route"), DAY, wind="250/15")


def _plan(motion: Motion) -> None:
    if len(motion.samples["time_s"]) < 40_000:
        plan_of(motion, Aircraft())


# Questions

BLUEPRINT = """title = "Paper"
forms = ["A", "B"]
difficulty_tolerance = 0.2
retired = ["suction-next-check"]

[[topic]]
name = "wander"
recall = 1
apply = 1
codes = ["HI 1"]
"""


def _blueprints() -> list[str]:
    return [BLUEPRINT, *_texts(DEMO / "papers" / "heading_instruments.toml")]


def _assembled(blueprint: Any) -> None:
    if blueprint.count * len(blueprint.forms) <= 12:
        items_csv(assemble(blueprint, 1))


def _printable(items: Sequence[Item]) -> None:
    items_csv([Paper("Title", "A", tuple(items), 0, blueprint_from_text("blueprint.toml", BLUEPRINT))])
    for item in items:
        msgspec.json.encode(item)
        _ = item.id
        if item.answer is not None:
            plain_number(item.answer)


def _locked(path: Path, random: Random) -> None:
    text = locked_changed(_locked_seeds(), random, _digest)
    path.write_bytes(bytes_of(text, random))


@cache
def _locked_seeds() -> tuple[str, ...]:
    papers = locked_from_text("locked.json", (DEMO / "editing" / "locked.json").read_text(encoding="utf-8"))
    return (locked_text([replaced(paper, paper.items[:4]) for paper in papers[:2]]),)


def replaced(paper: Paper, items: Sequence[Item]) -> Paper:
    return msgspec.structs.replace(paper, items=tuple(items))


def _printed(papers: Sequence[Paper]) -> None:
    for paper in papers:
        _printable(paper.items)
    items_csv(papers)


# The class


def _statistics(path: Path) -> Any:
    sitting = sitting_of(str(DEMO / "answers" / "paper.json"))
    text = text_of(path, "a file of answers (CSV)")
    students = students_in(path.name, text)
    return sitting, read_answers(path.name, text, sitting, students), students


def _counted(found: Any) -> None:
    sitting, read, students = found
    if read.answers:
        marks = marked(sitting, read.answers)
        marks_csv(marks, {one.id: one.name for one in students})
        items_statistics_csv(item_statistics(marks))


def _lessons() -> list[str]:
    return [text[:9000] for text in _texts(*sorted(DEMO.glob("lessons/*.md")))]


def _shown(lesson: Any) -> None:
    for step in lesson.steps:
        lesson_html(step.text)
        lesson_html(step.notes)
    timed(lesson)


def _class(folder: Path) -> Any:
    return read_class(folder)


def _class_made(path: Path, random: Random) -> None:
    path.mkdir(exist_ok=True)
    changed = random.choice(("students.toml", "term.toml"))
    for name in ("students.toml", "term.toml"):
        text = (DEMO / "class" / name).read_text(encoding="utf-8")
        data = bytes_of(text_changed("toml", [text], random), random) if name == changed else text.encode()
        (path / name).write_bytes(data)


def _minds(found: Any) -> None:
    for student in found.student:
        for sitting in found.sitting:
            mind_on(student, sitting.at, 0)


# The records


def _scenes() -> list[str]:
    return _texts(*sorted(FOLDER.glob("*.toml"))[:12])


def _run(scene: Any) -> None:
    bench = Bench(scene)
    bench.advance(20)
    bench.frame()


def _text(reading: Callable[[str, str], Any]) -> Callable[[Path], Any]:
    return lambda path: reading(path.name, text_of(path, "a file"))


READERS = (
    Reader("aircraft.toml", _demo("toml", "aircraft/*.toml"), _aircraft, lambda one: fly(minute(), one), 100),
    Reader(
        "legs.toml", _maker("toml", lambda: [LEGS]), _text(parse_legs), lambda one: _short(fly_legs(one)), 50
    ),
    Reader(
        "track.gpx",
        _maker("xml", _gpx),
        lambda one: (read_fixes(one.name, one.read_bytes()), one),
        lambda one: read_flight_bytes(one[1].name, one[1].read_bytes()),
        20,
    ),
    Reader(
        "track.igc",
        _maker("lines", _igc),
        lambda one: (read_fixes(one.name, one.read_bytes()), one),
        lambda one: read_flight_bytes(one[1].name, one[1].read_bytes()),
        20,
    ),
    Reader(
        "track.csv",
        _maker("csv", _csv_track),
        lambda one: (read_fixes(one.name, one.read_bytes()), one),
        lambda one: read_flight_bytes(one[1].name, one[1].read_bytes()),
        20,
    ),
    Reader("scene.toml", _maker("toml", _scenes), _text(scene_from_text), _run, 50),
    Reader("blueprint.toml", _maker("toml", _blueprints), _text(blueprint_from_text), _assembled, 100),
    Reader(
        "items.md",
        _demo("markdown", "editing/questions.md"),
        _text(items_from_text),
        lambda found: (_printable([one.item for one in found]), items_from_text("again.md", written(found))),
        5,
    ),
    Reader(
        "words.toml",
        _demo("toml", "editing/words.toml"),
        _text(words_from_text),
        lambda found: [generate(one, 1) for one in found.values()],
        20,
    ),
    Reader(
        "retired.toml",
        _demo("toml", "editing/retired.toml"),
        _text(retired_from_text),
        lambda found: retired_from_text("again.toml", retired_toml(found)),
    ),
    Reader("locked.json", _locked, _text(locked_from_text), _printed, 3),
    Reader("lesson.md", _maker("markdown", _lessons), _text(lesson_from_text), _shown, 5),
    Reader("class", _class_made, _class, _minds, 3),
    Reader("answers.csv", _maker("csv", _first_lines(40, "answers/answers.csv")), _statistics, _counted, 20),
    Reader(
        "log.csv",
        _maker("csv", _first_lines(12, "logs/*.csv")),
        _text(log_from_text),
        lambda log: log.checks and entries_csv(judge(log, Aircraft()), log),
        100,
    ),
    Reader(
        "swing.csv",
        _demo("csv", "swings/*.csv"),
        _text(pairs_from_text),
        lambda found: [swing_of(pairs) for pairs in found.values()],
        3,
    ),
    Reader("route.csv", _demo("csv", "routes/*.csv"), _route, _plan, 50),
    Reader("route.gpx", _maker("xml", _gpx_route), _route, _plan, 50),
    Reader("records.backup", backup_file, restored, lambda found: pages_answer(*found), 60),
    Reader("school.sqlite3", database_file, records_opened, used, 60),
)
