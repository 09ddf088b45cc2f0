"""The school's records, opened when they are first asked for: a page of flights needs none."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from lubberline.store.school import School


class LateSchool:
    """Stands where the school will be."""

    def __init__(self, address: str | None = None) -> None:
        self._address = address
        self._lock = threading.Lock()
        self._school: School | None = None

    def __getattr__(self, name: str) -> Any:
        with self._lock:
            if self._school is None:
                from lubberline.store.school import open_school

                self._school = open_school(self._address)
        return getattr(self._school, name)

    def close(self) -> None:
        """Closes the records if they were opened."""
        with self._lock:
            if self._school is not None:
                self._school.close()
                self._school = None


def late_school(address: str | None = None) -> School:
    """A school that opens at its first act."""
    return cast("School", LateSchool(address))
