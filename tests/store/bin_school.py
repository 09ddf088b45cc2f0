"""A school of two classes to delete from, at a moment that a test chooses."""

import json
from datetime import UTC, datetime

import pytest

from lubberline.classroom.records import Answer, Correction
from lubberline.store.bin import contents
from lubberline.store.school import School
from lubberline.store.settings import AIRCRAFT, AIRCRAFT_CODE, AIRCRAFT_FILE
from tests.store.made import Taught, taught

OWN_CRAFT = "ZZ-ELM"


START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def school_of_two(school: School) -> tuple[Taught, Taught]:
    """Two classes with answers, corrections and places held by browsers; two aircraft with a log."""
    both = taught(school), taught(school)
    for n, one in enumerate(both):
        for k, student in enumerate(one.students):
            for sitting, key in ((one.lesson, "step-2"), (one.paper, "A1")):
                school.answers.record(Answer(sitting.id, student.id, key, k, sent=f"first {n} {k}"))
                school.answers.record(
                    Answer(sitting.id, student.id, key, k + 1, sent=f"second {n} {k}", seconds=7.3)
                )
            school.answers.record(
                Answer(one.paper.id, student.id, "A2", value=k + 0.1, sent=f"number {n} {k}")
            )
            school.answers.correct(
                Correction(one.paper.id, student.id, "A1", "N", "", "w", "points", "0", "1")
            )
        school.answers.correct(Correction(one.paper.id, "", "A2", "N", "", "w", "struck", "counts", "struck"))
        school.sittings.enter(one.paper.id, "From a phone", "", f"digest {n}", "A")
    school.settings.put(AIRCRAFT, json.dumps(["zz-oak", "zz-elm", "zz-ash"]))
    for other in ("ZZ-OAK", "ZZ-ASH"):
        school.settings.put(f"{AIRCRAFT_FILE}{other.lower()}", f'name = "{other}"')
    school.settings.put(f"{AIRCRAFT_FILE}zz-elm", f'name = "{OWN_CRAFT}"')
    school.settings.put(f"{AIRCRAFT_CODE}zz-elm", "ABCDEFGH")
    for aircraft in (OWN_CRAFT, "ZZ-OAK", OWN_CRAFT):
        entry = school.log.add(aircraft, {"indicated": "270"}, {"time_utc": "2026-03-01T10:00:00Z"})
        school.log.correct(entry.id, "N", "misread", {"indicated": "271"}, {"indicated_deg": 271.0})
    return both


def at(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    monkeypatch.setattr(contents, "now_utc", lambda: moment.strftime("%Y-%m-%dT%H:%M:%SZ"))
