"""Makes the frozen records: how they came about. Run with the program of the commit that README.md names.

    PYTHONPATH=CHECKOUT/src:. python -m tests.frozen.make_records FOLDER

It is kept to be read, not to be run again: what it would write today are today's records.
"""

from __future__ import annotations

import gzip
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

from lubberline.classroom.made_up import demo_class
from lubberline.questions.locked import read_locked
from lubberline.web.aircraft.codes import make_code
from lubberline.web.aircraft.swinging import keep_swing
from lubberline.web.aircraft.taking_csv import take_csv
from lubberline.web.demo import demo_folder
from lubberline.web.sittings.correcting import correct_answer
from lubberline.web.sittings.starting import asked_of_papers

from lubberline.classroom.lessons import read_lesson, worked
from lubberline.classroom.records import Answer, Asked, Sitting
from lubberline.store.school import School, open_school
from lubberline.web.aircraft import books, correcting
from lubberline.web.aircraft.entries import understood_from
from lubberline.web.aircraft.fleet import Craft, add_aircraft, demo_fleet
from lubberline.web.passphrase import set_passphrase
from lubberline.web.results.exam import exam_of, keep_exam
from tests.postgres import cluster

PASSPHRASE = "four invented words here"
NAMES = ("Mira Tal", "Ole Brandt", "Zoë Ágnes", "Jon 'Skip' O", "Ines; -- drop", "Bo")
OWN = """# The school's own. Invented.
name = "ZZ-YEW"

[heading_indicator]
drive = "suction"
setting = "turns_card"

[suction]
gauge_tap = "instruments"
regulator_inhg = 4.8
"""


def answer(school: School, sitting: Sitting, student: str, asked: Asked, turn: int) -> None:
    """An answer as a phone sends it; every third is changed once, and the first sent twice."""
    number = asked.item.kind == "number"
    count = len(asked.item.options)
    for sending in range(2 if turn % 3 == 0 else 1):
        given = Answer(
            sitting.id,
            student,
            asked.key,
            chosen=-1 if number else (turn + sending) % count,
            value=float(10 * turn + sending) if number else None,
            sent=f"{student[:8]}-{asked.key}-{sending}",
            seconds=20.5 + turn,
        )
        school.record(given)
        if sending == 0 and turn == 0:
            school.record(given)


def paper(school: School, group: str) -> None:
    """A sitting of the demo's locked paper: taken, corrected, one student deleted, closed, marks shown."""
    asked = asked_of_papers(read_locked(demo_folder() / "editing" / "locked.json"))
    sitting = school.add_sitting(group, "paper", "Locked paper", asked, minutes=30.0)
    places = [
        school.enter(sitting.id, name, "" if k else "17", f"digest-{k}", "AB"[k % 2])
        for k, name in enumerate(NAMES)
    ]
    school.give_time(sitting.id, places[1].student, 7.5)
    for k, place in enumerate(places):
        own = [one for one in asked if one.form == place.form]
        for turn, one in enumerate(own[: len(own) - k % 3]):
            answer(school, sitting, place.student, one, turn + k)
    for place in places[:4]:
        school.hand_in(sitting.id, place.student)
    school.move_sitting(sitting.id, closed=True)
    sitting = school.sitting(sitting.id)
    signed = {"by": "An instructor", "why": "read wrongly"}
    correct_answer(school, sitting, places[0].student, {"key": "A2", "after": "B", "field": "", **signed})
    correct_answer(
        school, sitting, places[2].student, {"key": "A3", "after": "1", "field": "points", **signed}
    )
    school.move_sitting(sitting.id, phase="shown")
    school.forget_student(places[5].student)
    still_open = school.add_sitting(group, "paper", "Still open", asked, minutes=45.0)
    place = school.enter(still_open.id, NAMES[0], "17", "digest-open", "A")
    answer(school, still_open, place.student, asked[0], 1)
    school.add_sitting(group, "paper", "On paper", asked[:3], on_paper=True)


def lesson(school: School, group: str) -> None:
    """A lesson that stands at a question, answered by some."""
    read = read_lesson(demo_folder() / "lessons" / "2_wander_and_setting.md")
    asked = worked(read, 0).asked
    sitting = school.add_sitting(group, "lesson", read.title, asked, source=read.text)
    places = [school.enter(sitting.id, name, "", f"phone-{name}") for name in NAMES[1:5]]
    for turn, one in enumerate(asked[:2]):
        step = int(one.key.split("-")[1]) - 1
        school.move_sitting(sitting.id, step=step, phase="open")
        for k, place in enumerate(places[: 4 - turn]):
            answer(school, sitting, place.student, one, turn + k)


def log(school: School) -> None:
    """Entries of an aircraft of the school's own and of one of the demo's, with corrections."""
    craft = add_aircraft(school, OWN)
    text = (demo_folder() / "logs" / "zz_oak.csv").read_text(encoding="utf-8")
    take_csv(school, craft, text)
    entries = school.log_entries(craft.name)
    cells = {**entries[3].typed, "indicated": "201"}
    told = understood_from(cells)
    school.correct_log_entry(entries[3].id, "An instructor", "a digit", cells, told)
    correcting.withdraw(school, craft, entries[5].id, "An instructor", "another aircraft's")
    books.keep_maintenance(school, craft, {"time": "2026-11-20T09:00:00Z", "maintenance": "filter changed"})
    make_code(school, craft)
    swing = (demo_folder() / "swings" / "zz_oak.csv").read_text(encoding="utf-8")
    keep_swing(school, craft, {"pairs": swing, "day": "4 May 2026", "limit": "10"})
    other: Craft = demo_fleet()[1]
    typed = {
        "time_utc": "2026-11-21T10:30:00Z",
        "indicated": "093",
        "compass": "088",
        "set_at": "10:05Z",
        "place": "N4712.0 E00854.0",
        "suction_cruise": "5.0",
        "note": "=bumpy, 'smooth' later",
    }
    school.add_log_entry(other.name, typed, understood_from(typed))


def fill(school: School) -> None:
    """All of it."""
    school.add_made_up_class(demo_class(demo_folder() / "class"))
    group = school.add_group("Autumn evening")
    paper(school, group.id)
    lesson(school, group.id)
    log(school)
    school.set_setting("school_name", "Lakeside (invented)")
    keep_exam(school, exam_of(school))
    set_passphrase(school, PASSPHRASE)


def packed(data: bytes) -> bytes:
    """Compressed, the same bytes for the same data."""
    return gzip.compress(data, 9, mtime=0)


def main() -> None:
    """Writes the three records."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        file, backup = Path(scratch) / "school.sqlite3", Path(scratch) / "records.backup"
        school = open_school(f"sqlite:///{file}")
        fill(school)
        school.backup(backup)
        school.close()
        connection = sqlite3.connect(file)
        connection.execute("pragma wal_checkpoint(truncate)")
        connection.close()
        with cluster() as address:
            shared = open_school(address)
            shared.restore(backup)
            # A backup holds no passphrase: this one is set anew.
            set_passphrase(shared, PASSPHRASE)
            shared.close()
            dump = subprocess.run(
                ["pg_dump", "--no-owner", "--no-privileges", "--rows-per-insert=50", address],
                check=True,
                capture_output=True,
            ).stdout
        (folder / "school.sqlite3.gz").write_bytes(packed(file.read_bytes()))
        (folder / "records.backup").write_bytes(backup.read_bytes())
        # Commands of psql alone; without them any client can load it.
        lines = [line for line in dump.split(b"\n") if not line.startswith((b"\\restrict", b"\\unrestrict"))]
        (folder / "school.sql.gz").write_bytes(packed(b"\n".join(lines)))


if __name__ == "__main__":
    main()
