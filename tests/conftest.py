"""Fixtures for all tests, and how many cases a random test looks at."""

import pytest
from hypothesis import settings

from tests.chromium import browser
from tests.postgres import emptied, postgres

__all__ = ["browser", "emptied", "postgres"]

settings.register_profile("few", max_examples=25, deadline=None)
settings.register_profile("many", max_examples=300, deadline=None)


def pytest_configure(config: pytest.Config) -> None:
    """Many cases where the acceptance runs were asked for, few in every other run."""
    settings.load_profile("few" if config.option.markexpr else "many")
