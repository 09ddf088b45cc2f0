"""Fixtures for all tests."""

from __future__ import annotations

from tests.chromium import browser

__all__ = ["browser"]
