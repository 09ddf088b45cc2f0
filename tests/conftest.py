"""Fixtures for all tests, and how many cases a random test looks at."""

import sys

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


def pytest_collection_finish() -> None:
    """Nothing is flown to collect tests: every process would have to fly, and compile, it."""
    compiler = sys.modules.get("numba.core.dispatcher")
    if compiler is None:
        return
    modules = [module for name, module in sys.modules.items() if name.startswith("lubberline.")]
    values = [one for module in modules for one in vars(module).values()]
    used = sorted({one.__name__ for one in values if isinstance(one, compiler.Dispatcher) and one.signatures})
    if used:
        raise pytest.UsageError(f"used while tests were collected: {', '.join(used)}")
