"""A day at the school from the program's start to its end; see `class_day`."""

from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from tests.web import class_day


@pytest.mark.browser
@pytest.mark.acceptance
def test_a_class_day(browser: Any, tmp_path: Path) -> None:
    with ExitStack() as stack:
        day = class_day.Day(browser, tmp_path, stack)
        for hour in class_day.HOURS:
            hour(day)
        assert day.complaints == []
