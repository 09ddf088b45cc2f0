"""Names of settings that more than one room asks for; light, for a page of flights needs no database."""

from __future__ import annotations

import re

SCHOOL_NAME, SIGNED_BY, EXAM = "school_name", "signed_by", "exam"
PASSPHRASE, SESSION_KEY, RECORDS_ID = "passphrase", "session-key", "records-id"
# Which class is the made-up one, and which students and sittings are its own.
DEMO_CLASS, DEMO_OWN = "made-up class", "made-up class, own"
# Which aircraft the school has, and the file, the swing and the code of each by its key.
AIRCRAFT = "aircraft"
MOST_AIRCRAFT = 200
LONGEST_SCHOOL_NAME = 80
AIRCRAFT_FILE, AIRCRAFT_SWING, AIRCRAFT_CODE = "aircraft_file:", "aircraft_swing:", "aircraft_code:"


def aircraft_key(name: str) -> str:
    """A short name of an aircraft for addresses and settings; '' where it has no letters or digits."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40]


def of_aircraft(name: str) -> tuple[str, ...]:
    """The names of an aircraft's settings."""
    key = aircraft_key(name)
    return (AIRCRAFT_FILE + key, AIRCRAFT_SWING + key, AIRCRAFT_CODE + key)
