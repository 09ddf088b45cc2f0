"""The school's records, opened when they are first asked for: a page of flights needs none."""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING, Any, cast

from lubberline.errors import InputError, Unavailable
from lubberline.store.outage import Outage, unavailable

if TYPE_CHECKING:
    from lubberline.store.school import School

LOG = logging.getLogger(__name__)


class LateSchool:
    """Stands where the school will be."""

    def __init__(self, address: str | None = None) -> None:
        self._address = address
        self._lock = threading.Lock()
        self._school: School | None = None
        self._opening = Outage()

    def __getattr__(self, name: str) -> Any:
        if self._school is None:
            with self._opening.watched() as tries, self._lock:
                self._opening.check(tries)
                self._open()
        return getattr(self._school, name)

    def _open(self) -> None:
        from lubberline.store.school import open_school

        if self._school is not None:
            return
        try:
            opened = open_school(self._address, patience_s=0.0)
        except InputError as error:
            # Whoever asks for a page did not choose the records: the terminal is told which they are.
            LOG.error("the records cannot be opened: %s", error)
            raise unavailable("unreachable") from None
        except Unavailable as error:
            LOG.warning("the records cannot be opened: %s", "; ".join(getattr(error, "__notes__", ())))
            raise
        opened.watch()
        self._school = opened

    def close(self) -> None:
        """Closes the records if they were opened."""
        with self._lock:
            if self._school is not None:
                self._school.close()
                self._school = None


def late_school(address: str | None = None) -> School:
    """A school that opens at its first act."""
    return cast("School", LateSchool(address))
