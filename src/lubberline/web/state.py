"""What the application keeps while it runs, in one typed object."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from lubberline.web.rate_limit import Tries

if TYPE_CHECKING:
    from lubberline.web.bench.rooms import Rooms
    from lubberline.web.catalogue import Catalogue
    from lubberline.web.flights.engine import Flying, Uploads
    from lubberline.web.heard import Heard
    from lubberline.web.kit import Page
    from lubberline.web.lessons.shelf import Shelf
    from lubberline.web.records import Opening
    from lubberline.web.school.backup import HeldBackup
    from lubberline.web.sides import Door
    from lubberline.web.teach.lines import Hub
    from lubberline.web.teach.phone import AnswerQueue


@dataclass(kw_only=True)
class State:
    """What the pages share beside the records.

    Attributes:
        pages: all that are registered.
        door: how far the school is open.
        records: opens the school's records.
        catalogue: what may be chosen and flown.
        uploads: flights that the browser gave.
        flying: the engine behind the Flights page.
        rooms: the benches that are open.
        lessons: the shelf of lessons.
        heard: the phones that are heard.
        answer_queue: answers of a lesson on their way to the records.
        hub: who watches which lesson.
        held_backup: the backup that was sent to be restored.
        login_tries: passphrases: each takes a while to check anyway.
        log_tries: codes of aircraft's logs: there are 31^8, and guesses are few all the same.
        code_tries: codes of sittings: some for a class that mistypes, too few to guess one of 729 million.
        join_tries: places that one device may take: a class behind one address, none that fills a class.
    """

    pages: tuple[Page, ...]
    door: Door
    records: Opening
    catalogue: Catalogue
    uploads: Uploads
    flying: Flying
    rooms: Rooms
    lessons: Shelf
    heard: Heard
    answer_queue: AnswerQueue
    hub: Hub
    held_backup: HeldBackup
    login_tries: Tries = field(default_factory=lambda: Tries(5, 2, 20, 6))
    log_tries: Tries = field(default_factory=lambda: Tries(10, 4, 60, 30))
    code_tries: Tries = field(default_factory=lambda: Tries(20, 20, 300, 120))
    join_tries: Tries = field(default_factory=lambda: Tries(400, 30, 1000, 600))
