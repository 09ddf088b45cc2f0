"""The school's records, opened when first needed: the Flights page does not need them."""

import contextlib
import logging
import threading
from typing import Any

from lubberline.errors import InputError, Unavailable, UnavailableCode
from lubberline.flight.home import Home
from lubberline.store.database.outage import Outage, unavailable
from lubberline.store.fleet import demo_home
from lubberline.store.school import School

LOG = logging.getLogger(__name__)


def demo_found(school: School) -> dict[str, Any]:
    """Where the demo class is: `here` in the records, or `binned`."""
    binned = next((one for one in school.bin.entries() if one.kind == "demo"), None)
    return {"here": school.demo.find(), "binned": binned}


class Opening:
    """Access to the records.

    Args:
        school: the records, if already open.
        address: of the records to open; by default, as the store chooses.
    """

    def __init__(self, school: School | None = None, address: str | None = None) -> None:
        self._school = school
        self._address = address
        self._lock = threading.Lock()
        self._outage = Outage()
        self._home: Home | None = None

    def __call__(self) -> School:
        """The records, opened at the first request.

        Raises:
            Unavailable: they cannot be opened now; a later try may succeed.
        """
        if self._school is None:
            with self._outage.watched() as tries, self._lock:
                self._outage.check(tries)
                if self._school is None:
                    self._school = self._opened()
        return self._school

    def home(self) -> Home:
        """The school's home; the demo's if none is set, the last one known while they cannot be read."""
        with contextlib.suppress(Unavailable):
            self._home = self().settings.home()
        return self._home or demo_home()

    def has_home(self) -> bool:
        """Whether the school has set a home; true while it cannot be asked, so that nothing is said."""
        try:
            return self().settings.home() is not None
        except Unavailable:
            return True

    def _opened(self) -> School:
        from lubberline.store.school import open_school

        try:
            opened = open_school(self._address, patience_s=0.0)
        except InputError as error:
            # The log says which records these are; whoever asks for a page did not choose them.
            LOG.error("the records cannot be opened: %s", error)
            raise unavailable("unreachable") from None
        except Unavailable as error:
            LOG.warning("the records cannot be opened: %s", "; ".join(getattr(error, "__notes__", ())))
            raise
        opened.watch()
        return opened

    def close(self) -> None:
        """Closes the records if they were opened."""
        with self._lock:
            if self._school is not None:
                self._school.close()
                self._school = None


def away(school: School) -> UnavailableCode | None:
    """Why the records cannot be read or written just now; None when they can."""
    try:
        return school.look_after()
    except Unavailable as error:
        return error.code
