"""Fixtures for all tests."""

from tests.chromium import browser
from tests.postgres import emptied, postgres

__all__ = ["browser", "emptied", "postgres"]
